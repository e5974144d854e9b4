namespace Hotlight.Statistics;

/// <summary>A test of a null hypothesis.</summary>
/// <param name="PValue">Two-sided p: chance, if the hypothesis were true, of data at least as far from it; 0 to 1.</param>
/// <param name="Statistic">The test's statistic (a chi-square or a z, as the method says); null for an exact test, which has none.</param>
/// <param name="Hypothesis">What was tested, in one sentence.</param>
/// <param name="Total">Number of observations used.</param>
/// <param name="Method">Method and source.</param>
public sealed record TestResult(double PValue, double? Statistic, string Hypothesis, long Total, StatisticalMethod Method);
