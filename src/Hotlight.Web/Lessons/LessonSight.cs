using Hotlight.Workflows.Readings;

namespace Hotlight.Web.Lessons;

/// <summary>Says whether something may be made of a case to learn from: others may not learn its answers by it while it is read blind.</summary>
internal static class LessonSight
{
    /// <summary>Why nothing can be made of a case now, one sentence; null where it can.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="readings">The readings.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public static async Task<string?> RefusalAsync(Guid caseId, ReadingWorkflow readings, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(readings);
        return await readings.FindAsync(caseId, cancellation) is not null ? "This is made of a case, not of one reader's own reading of it."
            : await readings.MayBeBlindAsync(caseId, cancellation) ? "This case is read blind; handouts and walk-throughs are made of it once the blind reading has ended."
            : null;
    }
}
