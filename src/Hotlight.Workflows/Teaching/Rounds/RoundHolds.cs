using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>The cases that rounds read: nobody's answers to them are shown before the round's are.</summary>
public sealed class RoundHolds : IReadingHold
{
    private readonly ILessonStore lessons;
    private readonly TimeProvider clock;

    /// <summary>Creates it.</summary>
    /// <param name="lessons">Where rounds are kept.</param>
    /// <param name="clock">Tells the time.</param>
    public RoundHolds(ILessonStore lessons, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        ArgumentNullException.ThrowIfNull(clock);
        this.lessons = lessons;
        this.clock = clock;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyDictionary<Guid, ReadingHold>> HeldAsync(CancellationToken cancellation = default)
    {
        IReadOnlyList<Lesson> open = await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Round, IsEnded = false }, cancellation);
        var held = new Dictionary<Guid, ReadingHold>();
        DateTimeOffset now = clock.GetUtcNow();
        foreach (Lesson lesson in open)
        {
            try
            {
                Round round = Round.Of(lesson);
                if (!round.IsShownAt(now))
                {
                    foreach (Guid caseId in round.Body.CaseIds)
                    {
                        held.TryAdd(caseId, new ReadingHold(round.Id, round.Title));
                    }
                }
            }
            catch (RoundRefusedException)
            {
                // A later version kept it: that one holds its cases.
            }
        }

        return held;
    }
}
