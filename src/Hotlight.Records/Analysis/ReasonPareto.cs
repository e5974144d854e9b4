using Hotlight.Core;
using Hotlight.Statistics.Pareto;

namespace Hotlight.Records.Analysis;

/// <summary>Rejects by reason, the most common first.</summary>
/// <param name="Rejected">All rejects.</param>
/// <param name="WithoutReason">Those without a reason; a bar of their own.</param>
/// <param name="Rows">The bars; the name of a reason, or <see cref="NotTold"/>.</param>
public sealed record ReasonPareto(long Rejected, long WithoutReason, Figure<IReadOnlyList<ParetoRow>> Rows)
{
    /// <summary>Name of the bar of rejects without a reason.</summary>
    public const string NotTold = "";

    /// <summary>Makes it from counts by reason.</summary>
    /// <param name="byReason">Counts by <see cref="LogDimension.Reason"/>: rejects only.</param>
    public static ReasonPareto Of(IReadOnlyList<LogCount> byReason)
    {
        ArgumentNullException.ThrowIfNull(byReason);
        ReasonCount[] reasons = [.. byReason.Where(count => count.Rejected > 0).Select(count => new ReasonCount(count.Keys[0] ?? NotTold, count.Rejected))];
        return new ReasonPareto(reasons.Sum(reason => reason.Events), reasons.Where(reason => reason.Name == NotTold).Sum(reason => reason.Events), ParetoTables.Of(reasons));
    }
}
