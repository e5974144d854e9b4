namespace Hotlight.Statistics;

/// <summary>An interval for a figure, in the figure's own unit.</summary>
/// <param name="Lower">Lower end.</param>
/// <param name="Upper">Upper end.</param>
/// <param name="Level">Share of such intervals that hold the true figure in the long run, as a fraction such as 0.95; the method says whether about or at least.</param>
public sealed record Interval(double Lower, double Upper, double Level)
{
    /// <summary>Whether a value lies in the closed interval.</summary>
    /// <param name="value">The value, in the interval's unit.</param>
    public bool Contains(double value) => value >= Lower && value <= Upper;
}
