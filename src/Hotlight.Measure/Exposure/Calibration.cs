using Hotlight.Imaging;

namespace Hotlight.Measure.Exposure;

/// <summary>How stored values follow air kerma at the receptor, for one receptor and read-out, as found from flat exposures of known kerma.</summary>
/// <remarks>
/// <para>Linear: modality value = Offset + Gain · K. Logarithmic: modality value = Offset + Gain · log10(K). Square root: modality value = Offset + Gain · √K. K in µGy of the calibration beam.</para>
/// </remarks>
public sealed record Calibration
{
    /// <summary>The relation.</summary>
    public required PixelRelationship Relationship { get; init; }

    /// <summary>Modality value per unit (µGy, log10 µGy or √µGy); negative when more exposure gives a lower value; never 0.</summary>
    public required double Gain { get; init; }

    /// <summary>Modality value at K = 0 (linear, square root) or K = 1 µGy (logarithmic).</summary>
    public double Offset { get; init; }

    /// <summary>Relative standard uncertainty of K from the fit and from the kerma meter, in percent; null when not known.</summary>
    public double? KermaUncertaintyPercent { get; init; }

    /// <summary>Which receptor, when, by whom the calibration was made; for the reader.</summary>
    public string? Note { get; init; }
}
