using Hotlight.Core;

namespace Hotlight.Statistics.Distributions;

/// <summary>A quantile with its interval.</summary>
/// <param name="Fraction">Share of the values at or below it, such as 0.5 for the median.</param>
/// <param name="Value">The quantile, between neighbouring values in proportion.</param>
/// <param name="Interval">Interval of the true quantile, between two of the values; cannot-tell with too few.</param>
/// <param name="Count">Number of values.</param>
/// <param name="Method">Method and source.</param>
public sealed record QuantileEstimate(double Fraction, double Value, Figure<Interval> Interval, long Count, StatisticalMethod Method);
