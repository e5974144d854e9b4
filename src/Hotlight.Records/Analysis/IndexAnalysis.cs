using Hotlight.Core;
using Hotlight.Statistics.Distributions;
using Hotlight.Statistics.Proportions;
using Hotlight.Statistics.Trends;

namespace Hotlight.Records.Analysis;

/// <summary>How the deviation indices of some exposures lie.</summary>
/// <param name="Key">What the exposures share; null: not told, or all.</param>
/// <param name="Exposures">Patients' exposures.</param>
/// <param name="WithIndex">Those with a deviation index.</param>
/// <param name="Missing">Share of the exposures without an exposure index.</param>
/// <param name="Median">Median deviation index with its interval; within a bin of the log the values are taken as evenly spread.</param>
/// <param name="MeanAndDeviation">Mean and standard deviation, from the same.</param>
/// <param name="BeyondOne">Share of those with an index, rounded to 0.1, beyond ±1.0.</param>
/// <param name="BeyondThree">The same beyond ±3.0.</param>
/// <param name="AboveOne">Share above +1.0.</param>
/// <param name="BelowOne">Share below −1.0.</param>
/// <param name="Bins">Count in each bin of 0.1.</param>
public sealed record IndexFigures(
    string? Key,
    long Exposures,
    long WithIndex,
    Figure<ProportionEstimate> Missing,
    Figure<QuantileEstimate> Median,
    Figure<IndexMoments> MeanAndDeviation,
    Figure<ProportionEstimate> BeyondOne,
    Figure<ProportionEstimate> BeyondThree,
    Figure<ProportionEstimate> AboveOne,
    Figure<ProportionEstimate> BelowOne,
    IReadOnlyDictionary<int, long> Bins)
{
    private const string NoIndex = "No exposure here has a deviation index.";

    /// <summary>Works out the figures of a spread.</summary>
    /// <param name="spread">The spread.</param>
    public static IndexFigures Of(IndexSpread spread)
    {
        ArgumentNullException.ThrowIfNull(spread);
        long count = spread.Bins.Values.Sum();
        Figure<ProportionEstimate> Share(Func<int, bool> outside) => ProportionIntervals.Wilson(new EventCount(spread.Bins.Where(bin => outside(bin.Key)).Sum(bin => bin.Value), count));
        return new IndexFigures(
            spread.Key,
            spread.Exposures,
            count,
            ProportionIntervals.Wilson(new EventCount(spread.Missing, spread.Exposures)),
            count == 0 ? Figure<QuantileEstimate>.CannotTell(NoIndex) : Figure<QuantileEstimate>.Measured(QuantileIntervals.OfRanked(count, Ranked(spread), 0.5)),
            Moments(spread, count),
            Share(bin => Math.Abs(bin) > 10),
            Share(bin => Math.Abs(bin) > 30),
            Share(bin => bin > 10),
            Share(bin => bin < -10),
            spread.Bins);
    }

    /// <summary>The values of a spread by their place, each bin's evenly spread over it.</summary>
    private static Func<long, double> Ranked(IndexSpread spread)
    {
        KeyValuePair<int, long>[] bins = [.. spread.Bins.Where(bin => bin.Value > 0).OrderBy(bin => bin.Key)];
        long[] before = new long[bins.Length];
        for (int place = 1; place < bins.Length; place++)
        {
            before[place] = before[place - 1] + bins[place - 1].Value;
        }

        return rank =>
        {
            int found = Array.BinarySearch(before, rank);
            found = found < 0 ? ~found - 1 : found;
            (int bin, long count) = bins[found];
            return (bin - 0.5 + ((rank - before[found] + 0.5) / count)) * IndexSpread.BinWidth;
        };
    }

    private static Figure<IndexMoments> Moments(IndexSpread spread, long count)
    {
        if (count == 0)
        {
            return Figure<IndexMoments>.CannotTell(NoIndex);
        }

        double mean = spread.Bins.Sum(bin => bin.Key * IndexSpread.BinWidth * bin.Value) / count;
        double squares = spread.Bins.Sum(bin => Math.Pow((bin.Key * IndexSpread.BinWidth) - mean, 2) * bin.Value);
        return Figure<IndexMoments>.Measured(new IndexMoments(mean, count > 1 ? Math.Sqrt(squares / (count - 1)) : 0));
    }
}

/// <summary>Mean and spread of deviation indices.</summary>
/// <param name="Mean">Mean.</param>
/// <param name="StandardDeviation">Standard deviation (n − 1); 0 for one value.</param>
public sealed record IndexMoments(double Mean, double StandardDeviation);

/// <summary>How deviation indices move over the months.</summary>
/// <param name="Key">What the exposures share, such as the receptor; null: all.</param>
/// <param name="Months">Months with an index, in order.</param>
/// <param name="Figures">Their figures, as many.</param>
/// <param name="Creep">Slope over the months' medians.</param>
public sealed record IndexTrend(string? Key, IReadOnlyList<LogPeriod> Months, IReadOnlyList<IndexFigures> Figures, Figure<DoseCreep> Creep)
{
    /// <summary>Fewest exposures with an index of a month that counts: the median of fewer says little.</summary>
    public const int FewestOfAMonth = 10;

    /// <summary>Works it out from spreads by month.</summary>
    /// <param name="key">What the exposures share; null: all.</param>
    /// <param name="byMonth">Spreads by <see cref="LogDimension.Month"/>.</param>
    public static IndexTrend Of(string? key, IReadOnlyList<IndexSpread> byMonth)
    {
        ArgumentNullException.ThrowIfNull(byMonth);
        (LogPeriod Month, IndexFigures Figures)[] months = [.. byMonth
            .Where(spread => spread.Key is not null)
            .Select(spread => (LogPeriod.Of(LogDimension.Month, spread.Key!), IndexFigures.Of(spread)))
            .Where(pair => pair.Item2.WithIndex >= FewestOfAMonth)
            .OrderBy(pair => pair.Item1.From)];
        double[] times = [.. months.Select(pair => (double)((pair.Month.From.Year * 12) + pair.Month.From.Month))];
        return new IndexTrend(key, [.. months.Select(pair => pair.Month)], [.. months.Select(pair => pair.Figures)], DoseCreep.Of(times, [.. months.Select(pair => pair.Figures.Median.Value!.Value)]));
    }
}
