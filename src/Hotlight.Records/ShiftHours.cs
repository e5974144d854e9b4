namespace Hotlight.Records;

/// <summary>When the shifts of a day begin; each lasts until the next begins. Immutable.</summary>
/// <remarks>The usual hours are common practice, no source; a clinic sets its own.</remarks>
public sealed record ShiftHours
{
    /// <summary>Early from 06:30, late from 14:00, night from 22:00.</summary>
    public static ShiftHours Usual { get; } = new();

    /// <summary>When the early shift begins.</summary>
    public TimeOnly Early { get; init; } = new(6, 30);

    /// <summary>When the late shift begins.</summary>
    public TimeOnly Late { get; init; } = new(14, 0);

    /// <summary>When the night shift begins.</summary>
    public TimeOnly Night { get; init; } = new(22, 0);

    /// <summary>Why these cannot be the hours of a day, one sentence; null: they can.</summary>
    public string? Fault
    {
        get
        {
            TimeSpan late = Late - Early, night = Night - Early;
            return Early == Late || Late == Night || night < late
                ? $"The shifts must begin one after the other: early {Early:HH\\:mm}, late {Late:HH\\:mm}, night {Night:HH\\:mm} do not."
                : null;
        }
    }

    /// <summary>The shift of a time of day.</summary>
    /// <param name="time">The time.</param>
    public Shift At(TimeOnly time)
        => time.IsBetween(Early, Late) ? Shift.Early : time.IsBetween(Late, Night) ? Shift.Late : Shift.Night;
}
