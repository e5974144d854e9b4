using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Pareto;

/// <summary>Orders reasons by how often they occur: docs/methods/repeat-statistics.md#pareto.</summary>
public static class ParetoTables
{
    /// <summary>Reasons from the most common on, each with its share, the share so far, and whether its lead over the next is more than chance.</summary>
    /// <remarks>
    /// <para>Method: Wilson interval of each share. The lead: of the x₁ + x₂ events of two neighbours, x₁ is binomial with chance ½ if both are equally common; exact two-sided test. Neighbours are picked by their counts, so a small p is a little too small.</para>
    /// <para>Each event has one reason. Where one may have several, the shares are of reasons given, not of repeats.</para>
    /// </remarks>
    /// <param name="reasons">Reasons, each named once; ties keep the order given.</param>
    /// <param name="level">Level of the intervals as a fraction.</param>
    /// <returns>The rows; cannot-tell when there is no event.</returns>
    /// <exception cref="ArgumentException">A reason occurs twice or has events below 0.</exception>
    public static Figure<IReadOnlyList<ParetoRow>> Of(IReadOnlyList<ReasonCount> reasons, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(reasons);
        if (reasons.Select(reason => reason.Name).Distinct(StringComparer.Ordinal).Count() != reasons.Count || reasons.Any(reason => reason.Events < 0))
        {
            throw new ArgumentException("Each reason is named once and has 0 or more events.", nameof(reasons));
        }

        long total = reasons.Sum(reason => reason.Events);
        if (total == 0)
        {
            return Figure<IReadOnlyList<ParetoRow>>.CannotTell("There are no events, so there are no reasons to order.");
        }

        ReasonCount[] ordered = [.. reasons.OrderByDescending(reason => reason.Events)];
        List<ParetoRow> rows = [];
        long soFar = 0;
        for (int index = 0; index < ordered.Length; index++)
        {
            soFar += ordered[index].Events;
            Figure<TestResult> ahead = index + 1 < ordered.Length
                ? Lead(ordered[index].Events, ordered[index + 1].Events)
                : Figure<TestResult>.CannotTell("There is no next reason.");
            rows.Add(new ParetoRow(ordered[index].Name, ProportionIntervals.Wilson(new EventCount(ordered[index].Events, total), level).Value!, (double)soFar / total, ahead));
        }

        return Figure<IReadOnlyList<ParetoRow>>.Measured(rows);
    }

    private static Figure<TestResult> Lead(long more, long fewer)
        => more == 0
            ? Figure<TestResult>.CannotTell("Neither reason has an event.")
            : Figure<TestResult>.Measured(new TestResult(Math.Min(1, 2 * Tails.BinomialAtMost(fewer, more + fewer, 0.5)), null, "This reason and the next are equally common.", more + fewer, new StatisticalMethod("Exact binomial test", "Clopper and Pearson, Biometrika 1934;26:404 (from memory)")));
}
