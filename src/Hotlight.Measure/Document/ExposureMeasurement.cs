using System.Text.Json.Serialization;

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

    /// <summary>How the figure came about, one sentence.</summary>
    public string? Explanation { get; init; }
}
