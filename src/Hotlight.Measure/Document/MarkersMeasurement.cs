using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>How a marker came into the image.</summary>
public enum MarkerKind
{
    /// <summary>Radiopaque, exposed with the patient: it has noise, blur and scatter.</summary>
    Lead,

    /// <summary>Drawn into the pixels afterwards.</summary>
    Annotation,
}

/// <summary>The side markers in the image.</summary>
public sealed record MarkersMeasurement
{
    /// <summary>The markers, most certain first; empty where none was found.</summary>
    public required IReadOnlyList<FoundMarker> Found { get; init; }
}

/// <summary>One side marker.</summary>
public sealed record FoundMarker
{
    /// <summary>The side it stands for, "L" or "R": the letter it reads as, or the side that the clinic gave its word.</summary>
    public required string Letter { get; init; }

    /// <summary>The clinic's word it reads as, in capitals; absent for a letter.</summary>
    public string? Word { get; init; }

    /// <summary>Lead or drawn.</summary>
    public required MarkerKind Kind { get; init; }

    /// <summary>Probability of <see cref="Kind"/>, 0.5 to 1.</summary>
    public double? KindConfidence { get; init; }

    /// <summary>Whether it reads only from behind: mirrored first, then turned.</summary>
    public required bool Mirrored { get; init; }

    /// <summary>Clockwise rotation of the letter from upright, in degrees, -180 to 180.</summary>
    public required double RotationDegrees { get; init; }

    /// <summary>One standard deviation of the rotation, in degrees; absent for a word.</summary>
    public double? RotationDegreesUncertainty { get; init; }

    /// <summary>Its centre, in pixels.</summary>
    public required PixelPoint Center { get; init; }

    /// <summary>Height of the letter, in pixels.</summary>
    public double? HeightPixels { get; init; }

    /// <summary>Height of the letter at the receptor, in mm; absent where spacing is unknown.</summary>
    public double? HeightMm { get; init; }

    /// <summary>Corners of the letter's box, in pixels: upper left, upper right, lower right, lower left, as the letter reads.</summary>
    public IReadOnlyList<PixelPoint>? Corners { get; init; }

    /// <summary>Probability that this letter, or word, is there and this way round, 0 to 1.</summary>
    public double? Confidence { get; init; }

    /// <summary>Whether a lead letter stands out so little above the noise that it may be an after-image of an earlier exposure; absent for a drawn one.</summary>
    public bool? Faint { get; init; }

    /// <summary>Whether its centre lies in the field's outline; where the field cannot be told, in the picture.</summary>
    public required bool InsideField { get; init; }

    /// <summary>Whether the field's or the picture's edge cuts it.</summary>
    public bool? CutByEdge { get; init; }

    /// <summary>Whether it lies over anatomy.</summary>
    public required bool OverAnatomy { get; init; }

    /// <summary>Whether it lies over bone or another dense part, where it is hard to read.</summary>
    public bool? OverDenseAnatomy { get; init; }

    /// <summary>Whether its letter is the laterality of the header; absent where the header names no side, or both.</summary>
    public bool? AgreesWithHeader { get; init; }

    /// <summary>Whether it lies on its own side of the patient, by the header's patient orientation; absent where that does not say where right and left are, or for a part of one side.</summary>
    public bool? OnItsSide { get; init; }
}
