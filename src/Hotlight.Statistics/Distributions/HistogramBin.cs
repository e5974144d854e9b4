namespace Hotlight.Statistics.Distributions;

/// <summary>One bar of a histogram.</summary>
/// <param name="Lower">Lower edge, which belongs to it.</param>
/// <param name="Upper">Upper edge, which belongs to the next.</param>
/// <param name="Count">Values in it.</param>
public sealed record HistogramBin(double Lower, double Upper, long Count);
