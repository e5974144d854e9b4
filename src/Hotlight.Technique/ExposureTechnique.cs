namespace Hotlight.Technique;

/// <summary>How an exposure is made. Null: not known.</summary>
public sealed record ExposureTechnique
{
    /// <summary>Tube current times time, in mAs.</summary>
    public double? Mas { get; init; }

    /// <summary>Tube voltage, in kV peak.</summary>
    public double? TubeVoltageKvp { get; init; }

    /// <summary>Tube current, in mA.</summary>
    public double? TubeCurrentMa { get; init; }

    /// <summary>Distance from the source to the receptor along the central ray, in mm.</summary>
    public double? SourceImageDistanceMm { get; init; }

    /// <summary>Grid ratio, strip height over interspace width, such as 8 for 8:1; 0: no grid.</summary>
    public double? GridRatio { get; init; }

    /// <summary>Thickness of the part along the central ray, in mm.</summary>
    public double? PartThicknessMm { get; init; }

    /// <summary>Key of the cast or splint in <see cref="TechniqueRules.Casts"/>; "none": no cast.</summary>
    public string? Cast { get; init; }

    /// <summary>Angle between the central ray and the normal of the receptor, in degrees.</summary>
    public double? TubeAngleDegrees { get; init; }

    /// <summary>mAs of a tube current and a time: mA · s. [reciprocity]</summary>
    /// <param name="tubeCurrentMa">Tube current, in mA, above 0.</param>
    /// <param name="exposureTimeMs">Exposure time, in ms, above 0.</param>
    public static double MasOf(double tubeCurrentMa, double exposureTimeMs)
        => Core.Preconditions.AboveZero(tubeCurrentMa) * Core.Preconditions.AboveZero(exposureTimeMs) / 1000;
}

/// <summary>What the next exposure is to undo or to change. Null: stays as it is.</summary>
public sealed record TechniqueRequest
{
    /// <summary>Deviation index to bring back to 0 (IEC 62494-1).</summary>
    public double? DeviationIndex { get; init; }

    /// <summary>One standard deviation of the deviation index.</summary>
    public double? DeviationIndexUncertainty { get; init; }

    /// <summary>New distance from the source to the receptor, in mm.</summary>
    public double? SourceImageDistanceMm { get; init; }

    /// <summary>New tube angle, in degrees.</summary>
    public double? TubeAngleDegrees { get; init; }

    /// <summary>New grid ratio; 0: no grid.</summary>
    public double? GridRatio { get; init; }

    /// <summary>New thickness of the part, in mm.</summary>
    public double? PartThicknessMm { get; init; }

    /// <summary>New cast or splint, a key of <see cref="TechniqueRules.Casts"/>; "none": no cast.</summary>
    public string? Cast { get; init; }

    /// <summary>New tube voltage, in kV peak.</summary>
    public double? TubeVoltageKvp { get; init; }

    /// <summary>Whether anything is asked for.</summary>
    public bool IsEmpty => DeviationIndex is null && SourceImageDistanceMm is null && TubeAngleDegrees is null && GridRatio is null
        && PartThicknessMm is null && Cast is null && TubeVoltageKvp is null;

    /// <summary>The request that undoes this one on the technique it led to.</summary>
    /// <remarks>The factors multiply to 1, except where a rule that shifts the voltage (a cast, or thickness by voltage) meets a voltage asked for: then only nearly, because shifts add and the voltage rule multiplies.</remarks>
    /// <param name="from">The technique this request was made on.</param>
    public TechniqueRequest Undo(ExposureTechnique from)
    {
        ArgumentNullException.ThrowIfNull(from);
        return new TechniqueRequest
        {
            DeviationIndex = DeviationIndex is { } index ? -index : null,
            DeviationIndexUncertainty = DeviationIndexUncertainty,
            SourceImageDistanceMm = SourceImageDistanceMm is null ? null : from.SourceImageDistanceMm,
            TubeAngleDegrees = TubeAngleDegrees is null ? null : from.TubeAngleDegrees ?? 0,
            GridRatio = GridRatio is null ? null : from.GridRatio,
            PartThicknessMm = PartThicknessMm is null ? null : from.PartThicknessMm,
            Cast = Cast is null ? null : from.Cast ?? TechniqueRules.NoCast,
            TubeVoltageKvp = TubeVoltageKvp is null ? null : from.TubeVoltageKvp,
        };
    }
}

/// <summary>The technique cannot be worked out from what was given; the message is one sentence that says what is missing or wrong.</summary>
/// <param name="sentence">The sentence.</param>
public sealed class UnusableTechniqueException(string sentence) : Exception(sentence);
