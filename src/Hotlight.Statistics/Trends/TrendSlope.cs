namespace Hotlight.Statistics.Trends;

/// <summary>A robust line through values in time.</summary>
/// <param name="Slope">Median slope, in the values' unit for one unit of time.</param>
/// <param name="Interval">Interval of the true slope.</param>
/// <param name="Intercept">Median of values − slope · time.</param>
/// <param name="Count">Number of points.</param>
/// <param name="Method">Method and source.</param>
public sealed record TrendSlope(double Slope, Interval Interval, double Intercept, int Count, StatisticalMethod Method);
