using Hotlight.Core;

namespace Hotlight.Technique.Dose;

/// <summary>Where a dose figure comes from.</summary>
public enum DoseBasis
{
    /// <summary>Kerma-area product of the header or of the console.</summary>
    KermaAreaProduct,

    /// <summary>Entrance dose of the header or of the console.</summary>
    EntranceDose,

    /// <summary>Technique and the output of this tube.</summary>
    TubeOutput,

    /// <summary>Technique and the output of an ordinary tube.</summary>
    TypicalOutput,
}

/// <summary>Kerma-area product.</summary>
/// <param name="DgyCm2">Kerma-area product, in dGy·cm².</param>
/// <param name="UncertaintyDgyCm2">One standard deviation, in dGy·cm².</param>
/// <param name="From">Where it comes from.</param>
/// <param name="How">How it was worked out, one sentence.</param>
public sealed record KermaAreaProduct(double DgyCm2, double UncertaintyDgyCm2, DoseBasis From, string How);

/// <summary>Air kerma at the skin where the beam enters.</summary>
/// <param name="Mgy">Air kerma, in mGy.</param>
/// <param name="UncertaintyMgy">One standard deviation, in mGy.</param>
/// <param name="From">Where it comes from.</param>
/// <param name="How">How it was worked out, one sentence.</param>
public sealed record SkinKerma(double Mgy, double UncertaintyMgy, DoseBasis From, string How);

/// <summary>Dose quantities of one exposure; each is measured or cannot be told.</summary>
/// <remarks>They say how much radiation went in. They are no effective dose and no risk: those need a model of the patient.</remarks>
public sealed record ExposureDose
{
    /// <summary>Kerma-area product: air kerma times area of the beam, the same at every distance.</summary>
    public required Figure<KermaAreaProduct> KermaAreaProduct { get; init; }

    /// <summary>Incident air kerma: at the skin, without what the patient scatters back.</summary>
    public required Figure<SkinKerma> IncidentAirKerma { get; init; }

    /// <summary>Entrance surface air kerma: at the skin, with backscatter.</summary>
    public required Figure<SkinKerma> EntranceSurfaceAirKerma { get; init; }
}

/// <summary>What a dose is worked out from. Null: not known.</summary>
public sealed record DoseInput
{
    /// <summary>Kerma-area product of the header (0018,115E) or of the console, in dGy·cm².</summary>
    public double? KermaAreaProductDgyCm2 { get; init; }

    /// <summary>Entrance dose of the header (0040,8302) or of the console, in mGy.</summary>
    public double? EntranceDoseMgy { get; init; }

    /// <summary>Tube current times time, in mAs.</summary>
    public double? Mas { get; init; }

    /// <summary>Tube voltage, in kVp.</summary>
    public double? TubeVoltageKvp { get; init; }

    /// <summary>Distance from the source to the receptor, in mm.</summary>
    public double? SourceImageDistanceMm { get; init; }

    /// <summary>Distance from the source to the skin (0018,1111), in mm; null: from the distance to the receptor, the thickness and the gap.</summary>
    public double? SourceSkinDistanceMm { get; init; }

    /// <summary>Thickness of the part, in mm.</summary>
    public double? PartThicknessMm { get; init; }

    /// <summary>Gap between the part and the receptor (table top, tray), in mm; null: not known.</summary>
    public double? PartReceptorGapMm { get; init; }

    /// <summary>Area of the field at the receptor, in mm².</summary>
    public double? FieldAreaMm2 { get; init; }

    /// <summary>Output of the tube; null: not known.</summary>
    public TubeOutput? Output { get; init; }
}

/// <summary>Figures that doses are worked out with.</summary>
public sealed record DoseSettings
{
    /// <summary>The default settings.</summary>
    public static DoseSettings Default { get; } = new();

    /// <summary>Backscatter factor: entrance surface air kerma over incident air kerma. The middle of what a published model gives for diagnostic beams and fields, 1.1 to 1.7. [benmakhlouf-2013]</summary>
    public double BackscatterFactor { get; init; } = 1.4;

    /// <summary>One standard deviation of it: an even spread over 1.1 to 1.7.</summary>
    public double BackscatterUncertainty { get; init; } = 0.6 / 3.4641016151377544;

    /// <summary>One relative standard deviation of a recorded dose quantity, in percent: an indication may be off by 35 % either way, from memory of the standard; over √3. [iec-60601-2-54]</summary>
    public double RecordedUncertaintyPercent { get; init; } = 35 / 1.7320508075688772;

    /// <summary>One standard deviation of the distance to the skin where it is worked out, in mm. [hotlight-rule]</summary>
    public double SkinDistanceUncertaintyMm { get; init; } = 20;
}
