using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Distributions;

/// <summary>How the deviation indices of many exposures lie.</summary>
/// <param name="Count">Exposures with an index.</param>
/// <param name="Missing">Exposures without one, out of all.</param>
/// <param name="Mean">Mean deviation index.</param>
/// <param name="StandardDeviation">Standard deviation (n − 1); 0 for one value.</param>
/// <param name="Quantiles">The quantiles asked for, in their order.</param>
/// <param name="Outside">For each band asked for: the shares below, above and outside it.</param>
/// <param name="Histogram">Bars from the lowest to the highest value without a gap.</param>
public sealed record DeviationIndexSummary(long Count, EventCount Missing, double Mean, double StandardDeviation, IReadOnlyList<QuantileEstimate> Quantiles, IReadOnlyList<BandShare> Outside, IReadOnlyList<HistogramBin> Histogram)
{
    /// <summary>Sums up deviation indices.</summary>
    /// <remarks>
    /// <para>Method: quantile at (n − 1)q between neighbours (definition 7 of Hyndman and Fan, Am Stat 1996;50:361); its interval from the l-th to the u-th value, with P(B &lt; l) ≤ α/2 and P(B ≥ u) ≤ α/2 for B binomial(n, q), covers at least its level (David and Nagaraja, Order Statistics, section 7.1). Shares by Wilson.</para>
    /// <para>On a band's edge is inside.</para>
    /// </remarks>
    /// <param name="values">Deviation indices, finite.</param>
    /// <param name="missing">Exposures without an index, 0 or more.</param>
    /// <param name="level">Level of the intervals as a fraction.</param>
    /// <param name="fractions">Quantiles wanted, each in (0, 1); null: 5, 25, 50, 75 and 95 %.</param>
    /// <param name="bands">Half widths of the bands about 0, above 0; null: 1 and 3, the action bands of AAPM Report 116.</param>
    /// <param name="binWidth">Width of the bars, above 0; edges at its whole multiples.</param>
    /// <returns>The summary; cannot-tell without values.</returns>
    /// <exception cref="ArgumentException">A value is not finite or a parameter is out of its range.</exception>
    public static Figure<DeviationIndexSummary> Of(IReadOnlyCollection<double> values, long missing = 0, double level = 0.95, IReadOnlyList<double>? fractions = null, IReadOnlyList<double>? bands = null, double binWidth = 0.5)
    {
        ArgumentNullException.ThrowIfNull(values);
        Tails.CheckedLevel(level);
        Preconditions.AboveZero(binWidth);
        if (values.Any(value => !double.IsFinite(value)))
        {
            throw new ArgumentException("Every deviation index must be finite.", nameof(values));
        }

        EventCount without = new(missing, missing + values.Count);
        if (values.Count == 0)
        {
            return Figure<DeviationIndexSummary>.CannotTell("No exposure here has a deviation index.");
        }

        double[] sorted = [.. values];
        Array.Sort(sorted);
        double mean = sorted.Average();
        double deviation = sorted.Length > 1 ? Math.Sqrt(sorted.Sum(value => (value - mean) * (value - mean)) / (sorted.Length - 1)) : 0;
        QuantileEstimate[] quantiles = [.. (fractions ?? [0.05, 0.25, 0.5, 0.75, 0.95]).Select(fraction => QuantileIntervals.OfSorted(sorted, fraction, level))];
        BandShare[] outside = [.. (bands ?? [1, 3]).Select(band => BandShare.Of(sorted, Preconditions.AboveZero(band, "a band"), level))];
        return Figure<DeviationIndexSummary>.Measured(new DeviationIndexSummary(sorted.Length, without, mean, deviation, quantiles, outside, Bars(sorted, binWidth)));
    }

    private static List<HistogramBin> Bars(double[] sorted, double width)
    {
        long first = (long)Math.Floor(sorted[0] / width);
        long last = (long)Math.Floor(sorted[^1] / width);
        if (last - first >= 10_000)
        {
            throw new ArgumentException($"Bars of {width} from {sorted[0]} to {sorted[^1]} would be more than 10,000; take wider ones.", nameof(width));
        }

        long[] counts = new long[last - first + 1];
        foreach (double value in sorted)
        {
            counts[(long)Math.Floor(value / width) - first]++;
        }

        return [.. counts.Select((count, index) => new HistogramBin((first + index) * width, (first + index + 1) * width, count))];
    }
}
