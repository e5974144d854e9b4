using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>Stochastic noise over soft tissue.</summary>
public sealed record MottleMeasurement
{
    /// <summary>Standard deviation of stochastic noise over the mean signal, in percent.</summary>
    public required double RelativeNoisePercent { get; init; }

    /// <summary>One standard deviation, in percentage points.</summary>
    public double? RelativeNoisePercentUncertainty { get; init; }

    /// <summary>Mean signal over the standard deviation of the noise.</summary>
    public required double SignalToNoise { get; init; }

    /// <summary>Whether the noise is visible by the stated rule.</summary>
    public required bool Visible { get; init; }

    /// <summary>One standard deviation of the noise as it is shown on a calibrated display that the image fills, averaged to the size the eye sees best, in just-noticeable differences; <see cref="Visible"/> from 2.</summary>
    public double? ShownNoiseJnd { get; init; }

    /// <summary>The scale the signal was in: "linear signal" or "pixel values".</summary>
    public string? Scale { get; init; }

    /// <summary>The places it was measured at: squares over soft tissue, as their centres. Evidence for drawing.</summary>
    public IReadOnlyList<PixelPoint> Places { get; init; } = [];

    /// <summary>Side of each square, in pixels.</summary>
    public int? PlaceSidePixels { get; init; }
}
