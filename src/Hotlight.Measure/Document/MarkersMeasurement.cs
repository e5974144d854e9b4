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
    /// <summary>The letter it reads as, "L" or "R".</summary>
    public required string Letter { get; init; }

    /// <summary>Lead or drawn.</summary>
    public required MarkerKind Kind { get; init; }

    /// <summary>Whether it reads only from behind: mirrored first, then turned.</summary>
    public required bool Mirrored { get; init; }

    /// <summary>Clockwise rotation of the letter from upright, in degrees, -180 to 180.</summary>
    public required double RotationDegrees { get; init; }

    /// <summary>Its centre, in pixels.</summary>
    public required PixelPoint Center { get; init; }

    /// <summary>Whether its centre lies in the field's outline.</summary>
    public required bool InsideField { get; init; }

    /// <summary>Whether it lies over anatomy.</summary>
    public required bool OverAnatomy { get; init; }
}
