namespace Hotlight.Statistics.Proportions;

/// <summary>How many times as high the second rate is as the first.</summary>
/// <param name="First">The first count.</param>
/// <param name="Second">The second count.</param>
/// <param name="Ratio">Second rate over first, above 0.</param>
/// <param name="Interval">Interval of the true ratio.</param>
/// <param name="Method">Method and source.</param>
public sealed record RiskRatioEstimate(EventCount First, EventCount Second, double Ratio, Interval Interval, StatisticalMethod Method);
