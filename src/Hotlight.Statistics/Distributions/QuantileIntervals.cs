using Hotlight.Core;

namespace Hotlight.Statistics.Distributions;

/// <summary>Quantiles with intervals that assume nothing of the values' distribution.</summary>
public static class QuantileIntervals
{
    /// <summary>A quantile of values of any order.</summary>
    /// <remarks>Method: see <see cref="DeviationIndexSummary.Of"/>.</remarks>
    /// <param name="values">The values, finite.</param>
    /// <param name="fraction">Share at or below, in (0, 1).</param>
    /// <param name="level">Level as a fraction.</param>
    /// <returns>The quantile; cannot-tell without values. Its interval cannot be told with too few.</returns>
    public static Figure<QuantileEstimate> Of(IReadOnlyCollection<double> values, double fraction, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(values);
        if (values.Any(value => !double.IsFinite(value)))
        {
            throw new ArgumentException("Every value must be finite.", nameof(values));
        }

        double[] sorted = [.. values];
        Array.Sort(sorted);
        return sorted.Length == 0
            ? Figure<QuantileEstimate>.CannotTell("There are no values.")
            : Figure<QuantileEstimate>.Measured(OfSorted(sorted, fraction, level));
    }

    /// <summary>A quantile of sorted values.</summary>
    /// <param name="sorted">Rising values, at least one.</param>
    /// <param name="fraction">Share at or below, in (0, 1).</param>
    /// <param name="level">Level as a fraction.</param>
    internal static QuantileEstimate OfSorted(double[] sorted, double fraction, double level) => OfRanked(sorted.Length, place => sorted[place], fraction, level);

    /// <summary>A quantile of values that are told by their place: of millions only a few are looked at.</summary>
    /// <remarks>Method: see <see cref="DeviationIndexSummary.Of"/>.</remarks>
    /// <param name="count">How many values there are, at least one.</param>
    /// <param name="at">The value at a place among the rising values, from 0; finite, and never less than the one before.</param>
    /// <param name="fraction">Share at or below, in (0, 1).</param>
    /// <param name="level">Level as a fraction.</param>
    public static QuantileEstimate OfRanked(long count, Func<long, double> at, double fraction, double level = 0.95)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        ArgumentNullException.ThrowIfNull(at);
        Preconditions.Within(fraction, 1e-9, 1 - 1e-9);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        long n = count;
        double place = (n - 1) * fraction;
        long below = (long)Math.Floor(place);
        double value = below + 1 < n ? at(below) + ((place - below) * (at(below + 1) - at(below))) : at(below);

        // Lower: the largest l with P(B ≤ l − 1) ≤ tail; upper: the least u with P(B ≤ u − 1) ≥ 1 − tail; ranks from 1.
        long lower = Tails.Quantile(k => Tails.BinomialAtMost(k, n, fraction), n, tail);
        if (Tails.BinomialAtMost(lower, n, fraction) <= tail)
        {
            lower++;
        }

        long upper = Tails.Quantile(k => Tails.BinomialAtMost(k, n, fraction), n, 1 - tail) + 1;
        Figure<Interval> interval = lower < 1 || upper > n
            ? Figure<Interval>.CannotTell($"{n} values are too few for an interval of this quantile.")
            : Figure<Interval>.Measured(new Interval(at(lower - 1), at(upper - 1), level));
        return new QuantileEstimate(fraction, value, interval, n, new StatisticalMethod("Quantile with an interval between order statistics", "David and Nagaraja, Order Statistics, 3rd edition 2003, section 7.1 (from memory)"));
    }
}
