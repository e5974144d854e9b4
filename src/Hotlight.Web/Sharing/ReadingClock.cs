namespace Hotlight.Web.Sharing;

/// <summary>How long a reader has worked on a case: the time between one act and the next, without pauses.</summary>
/// <remarks>A pause is longer than <see cref="LongestPause"/>; of a pause that much is counted, since looking takes time too.</remarks>
public sealed class ReadingClock
{
    /// <summary>Most that is counted between two acts.</summary>
    public static readonly TimeSpan LongestPause = TimeSpan.FromSeconds(60);

    private readonly TimeProvider clock;
    private long? last;

    /// <summary>Starts with what was counted before.</summary>
    /// <param name="clock">Tells the time.</param>
    /// <param name="counted">Counted before, 0 or more.</param>
    public ReadingClock(TimeProvider clock, TimeSpan counted)
    {
        ArgumentNullException.ThrowIfNull(clock);
        ArgumentOutOfRangeException.ThrowIfLessThan(counted, TimeSpan.Zero);
        this.clock = clock;
        Counted = counted;
    }

    /// <summary>What is counted so far.</summary>
    public TimeSpan Counted { get; private set; }

    /// <summary>The reader did something.</summary>
    public void Act()
    {
        // Not the wall clock: that may jump.
        long now = clock.GetTimestamp();
        if (last is { } before)
        {
            TimeSpan passed = clock.GetElapsedTime(before, now);
            Counted += passed < LongestPause ? passed : LongestPause;
        }

        last = now;
    }
}
