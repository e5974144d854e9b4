namespace Hotlight.Statistics.Trends;

/// <summary>A test that values neither rise nor fall with time.</summary>
/// <param name="Score">S: pairs that rise less pairs that fall.</param>
/// <param name="Tau">Kendall's τ_b, −1 to 1.</param>
/// <param name="Test">The test.</param>
public sealed record TrendTest(long Score, double Tau, TestResult Test);
