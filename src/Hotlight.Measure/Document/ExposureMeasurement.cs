using System.Text.Json.Serialization;
using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>What an exposure figure rests on.</summary>
public enum ExposureBasis
{
    /// <summary>The header's own figures.</summary>
    Header,

    /// <summary>The pixels and a known relation to exposure.</summary>
    Pixels,

    /// <summary>A figure the reader gave.</summary>
    Reader,
}

/// <summary>The receptor's exposure.</summary>
public sealed record ExposureMeasurement
{
    /// <summary>What the figures rest on.</summary>
    public required ExposureBasis Basis { get; init; }

    /// <summary>Exposure index, IEC 62494-1: 100 per µGy.</summary>
    public required double ExposureIndex { get; init; }

    /// <summary>One standard deviation.</summary>
    public double? ExposureIndexUncertainty { get; init; }

    /// <summary>Target exposure index; absent where none is known.</summary>
    public double? TargetExposureIndex { get; init; }

    /// <summary>10·log10(EI / EI_T); absent where no target is known.</summary>
    public double? DeviationIndex { get; init; }

    /// <summary>One standard deviation.</summary>
    public double? DeviationIndexUncertainty { get; init; }

    /// <summary>Whether the header's own three figures agree with the formula within 0.1; null where it does not carry all three.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public bool? HeaderAgrees { get; init; }

    /// <summary>Air kerma at the receptor in the calibration beam, in µGy.</summary>
    public required double ReceptorAirKermaMicrogray { get; init; }

    /// <summary>One standard deviation, in µGy.</summary>
    public double? ReceptorAirKermaMicrograyUncertainty { get; init; }

    /// <summary>The older indicator it was turned from, by the form of its scale; null for an exposure index.</summary>
    public string? Indicator { get; init; }

    /// <summary>That indicator's value.</summary>
    public double? IndicatorValue { get; init; }

    /// <summary>Pixel value of the value of interest (IEC 62494-1): the median over the relevant image region. Only from pixels; evidence.</summary>
    public int? ValueOfInterestPixelValue { get; init; }

    /// <summary>The relevant image region: outlines of the anatomy in the field, as closed polygons. Only from pixels; evidence for drawing.</summary>
    public IReadOnlyList<IReadOnlyList<PixelPoint>>? RelevantRegion { get; init; }

    /// <summary>How the figure came about, one sentence.</summary>
    public string? Explanation { get; init; }
}
