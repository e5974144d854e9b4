namespace Hotlight.Statistics.Proportions;

/// <summary>Cohen's h: the difference of two rates on a scale where it means the same near 0 as near a half.</summary>
/// <param name="H">2·asin√p₂ − 2·asin√p₁, in radians, −π to π.</param>
/// <param name="Interval">Interval from the variance 1/n₁ + 1/n₂ of the transformed rates.</param>
/// <param name="Word">Cohen's word for its size: a convention, not a test.</param>
/// <param name="Method">Method and source.</param>
public sealed record EffectSize(double H, Interval Interval, string Word, StatisticalMethod Method);
