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

    /// <summary>What the figure is averaged over: "soft tissue" (bone told by the map), "soft tissue by its signal" (what lets more through than a threshold), "anatomy" (bone included) or "places" (the squares alone).</summary>
    public string? Over { get; init; }

    /// <summary>The noise by thickness: at the signals that a tenth, half and nine tenths of the counted tissue do not reach. Only where the signal is linear.</summary>
    public IReadOnlyList<NoiseAtSignal>? BySignal { get; init; }

    /// <summary>Exponent of the variance over the signal, ln(variance) by ln(signal): 1 for counted quanta alone, less where read-out noise counts. Only where the signal is linear.</summary>
    public double? VarianceExponent { get; init; }

    /// <summary>Air kerma, RQA5, at which a receptor that counts every photon would show this noise at low frequencies, in µGy: "as noisy as". At the median signal of the counted tissue. Only where the signal is linear and the spacing known.</summary>
    public double? IdealReceptorKermaMicrogray { get; init; }

    /// <summary>One standard deviation, in µGy.</summary>
    public double? IdealReceptorKermaMicrograyUncertainty { get; init; }

    /// <summary>Relative noise that a receptor which counts every photon would show, through the same blur, at the exposure that is known; only where that is known.</summary>
    public double? QuantumLimitPercent { get; init; }

    /// <summary>The places it was measured at: squares over soft tissue, as their centres. Evidence for drawing.</summary>
    public IReadOnlyList<PixelPoint> Places { get; init; } = [];

    /// <summary>Side of each square, in pixels.</summary>
    public int? PlaceSidePixels { get; init; }
}

/// <summary>Relative noise at one signal.</summary>
/// <param name="Signal">Mean linear signal, in µGy with a calibration, otherwise in the file's own units.</param>
/// <param name="RelativeNoisePercent">Standard deviation over the signal, in percent.</param>
public sealed record NoiseAtSignal(double Signal, double RelativeNoisePercent);
