using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Agreement;

/// <summary>A reader's agreement with the rest in one period.</summary>
/// <param name="Period">The period's name.</param>
/// <param name="Agreement">Cases on which the reader gave the rest's most common answer, with a Wilson interval; cannot-tell without cases.</param>
/// <param name="WithoutMajority">Cases left out because the rest had no single most common answer.</param>
public sealed record PeriodAgreement(string Period, Figure<ProportionEstimate> Agreement, int WithoutMajority);

/// <summary>How a reader's agreement with the rest moves over periods.</summary>
/// <param name="Reader">Name or pseudonym.</param>
/// <param name="Periods">Agreement by period, in order.</param>
/// <param name="FirstToLast">Difference between the last and the first period that have cases.</param>
/// <param name="Trend">Cochran-Armitage test that the agreement is the same in all periods.</param>
/// <param name="AdjustedPValue">The test's p by Holm's method over all readers tested; null without a test.</param>
public sealed record ReaderDrift(string Reader, IReadOnlyList<PeriodAgreement> Periods, Figure<DifferenceEstimate> FirstToLast, Figure<TestResult> Trend, double? AdjustedPValue)
{
    /// <summary>Drift of every reader of a table.</summary>
    /// <remarks>
    /// <para>Method: for each case, the most common answer of all other readers; where two are equally common the case is left out. Agreement by period with Wilson's interval; first to last by Newcombe's; trend by Cochran-Armitage over period numbers t: z = Σ t(x_t − n_t·p̄)/√(p̄(1 − p̄)(Σ n_t·t² − (Σ n_t·t)²/N)) (Armitage, Biometrics 1955;11:375). p over readers by Holm, Scand J Stat 1979;6:65.</para>
    /// <para>It says that a reader and the rest moved apart, not which of them moved, nor who is right.</para>
    /// </remarks>
    /// <param name="table">The readings.</param>
    /// <param name="periods">Index of each case's period, as many as cases.</param>
    /// <param name="names">Names of the periods, in order of time.</param>
    /// <param name="level">Level of the intervals as a fraction.</param>
    /// <exception cref="ArgumentException">The periods are not as many as the cases or lie outside the names.</exception>
    public static IReadOnlyList<ReaderDrift> Of(ReadingTable table, IReadOnlyList<int> periods, IReadOnlyList<string> names, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        ArgumentNullException.ThrowIfNull(periods);
        ArgumentNullException.ThrowIfNull(names);
        if (periods.Count != table.Cases.Count || periods.Any(period => period < 0 || period >= names.Count))
        {
            throw new ArgumentException($"Each of {table.Cases.Count} cases needs a period in [0, {names.Count - 1}].", nameof(periods));
        }

        ReaderDrift[] all = [.. Enumerable.Range(0, table.Readers.Count).Select(reader => One(table, reader, periods, names, level))];
        ReaderDrift[] tested = [.. all.Where(drift => drift.Trend.IsMeasured).OrderBy(drift => drift.Trend.Value!.PValue)];
        double worst = 0;
        Dictionary<ReaderDrift, double> adjusted = new(ReferenceEqualityComparer.Instance);
        for (int rank = 0; rank < tested.Length; rank++)
        {
            worst = Math.Max(worst, Math.Min(1, (tested.Length - rank) * tested[rank].Trend.Value!.PValue));
            adjusted[tested[rank]] = worst;
        }

        return [.. all.Select(drift => adjusted.TryGetValue(drift, out double p) ? drift with { AdjustedPValue = p } : drift)];
    }

    private static ReaderDrift One(ReadingTable table, int reader, IReadOnlyList<int> periods, IReadOnlyList<string> names, double level)
    {
        long[] agreed = new long[names.Count];
        long[] total = new long[names.Count];
        int[] open = new int[names.Count];
        for (int index = 0; index < table.Cases.Count; index++)
        {
            IReadOnlyList<int?> categories = table.Cases[index].Categories;
            if (categories[reader] is not { } own)
            {
                continue;
            }

            (int Category, int Count)[] others = [.. categories.Where((category, other) => other != reader && category is not null)
                .GroupBy(category => category!.Value).Select(group => (group.Key, group.Count())).OrderByDescending(pair => pair.Item2)];
            if (others.Length == 0)
            {
                continue;
            }

            if (others.Length > 1 && others[0].Count == others[1].Count)
            {
                open[periods[index]]++;
                continue;
            }

            total[periods[index]]++;
            agreed[periods[index]] += own == others[0].Category ? 1 : 0;
        }

        EventCount[] counts = [.. agreed.Zip(total, (events, all) => new EventCount(events, all))];
        PeriodAgreement[] rows = [.. counts.Select((count, period) => new PeriodAgreement(names[period], count.Total == 0
            ? Figure<ProportionEstimate>.CannotTell("No case here was read by this reader and settled by the rest.")
            : ProportionIntervals.Wilson(count, level), open[period]))];
        int[] filled = [.. Enumerable.Range(0, counts.Length).Where(period => counts[period].Total > 0)];
        Figure<DifferenceEstimate> difference = filled.Length < 2
            ? Figure<DifferenceEstimate>.CannotTell("Fewer than two periods have cases, so there is no drift to see.")
            : ProportionComparison.Difference(counts[filled[0]], counts[filled[^1]], level);
        return new ReaderDrift(table.Readers[reader], rows, difference, ProportionTrend(counts), null);
    }

    private static Figure<TestResult> ProportionTrend(EventCount[] counts)
    {
        double n = counts.Sum(count => count.Total);
        double events = counts.Sum(count => count.Events);
        if (counts.Count(count => count.Total > 0) < 2)
        {
            return Figure<TestResult>.CannotTell("Fewer than two periods have cases, so there is no drift to see.");
        }

        double pooled = events / n;
        if (pooled is <= 0 or >= 1)
        {
            return Figure<TestResult>.CannotTell("The reader agrees with the rest on all cases or on none, so there is no drift to see.");
        }

        double score = counts.Select((count, period) => period * (count.Events - (count.Total * pooled))).Sum();
        double first = counts.Select((count, period) => (double)count.Total * period).Sum();
        double second = counts.Select((count, period) => (double)count.Total * period * period).Sum();
        double z = score / Math.Sqrt(pooled * (1 - pooled) * (second - (first * first / n)));
        return Figure<TestResult>.Measured(new TestResult(Tails.NormalBeyond(z), z, "The reader's agreement with the rest is the same in all periods.", (long)n, new StatisticalMethod("Cochran-Armitage test of trend", "Armitage, Biometrics 1955;11:375 (from memory)")));
    }
}
