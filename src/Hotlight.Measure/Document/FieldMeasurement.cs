using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>The sides of a field, as seen on the stored image.</summary>
public enum FieldSide
{
    /// <summary>Top.</summary>
    Top,

    /// <summary>Right.</summary>
    Right,

    /// <summary>Bottom.</summary>
    Bottom,

    /// <summary>Left.</summary>
    Left,
}

/// <summary>What ends the field at a side.</summary>
public enum FieldEdge
{
    /// <summary>A collimator's shadow, with a penumbra and scatter beyond it.</summary>
    Beam,

    /// <summary>A region of one constant value put over the image afterwards.</summary>
    Mask,

    /// <summary>The exposed field reaches the edge of the stored image.</summary>
    Receptor,
}

/// <summary>One side of the field.</summary>
public sealed record FieldSideMeasurement
{
    /// <summary>Which side.</summary>
    public required FieldSide Side { get; init; }

    /// <summary>What ends the field there.</summary>
    public required FieldEdge Edge { get; init; }

    /// <summary>Angle to the image axis, in degrees, positive clockwise.</summary>
    public required double TiltDegrees { get; init; }

    /// <summary>One standard deviation of the tilt, in degrees; absent for a receptor edge, which is exact.</summary>
    public double? TiltDegreesUncertainty { get; init; }

    /// <summary>One standard deviation of the side's position across itself, in pixels.</summary>
    public double? PositionPixelsUncertainty { get; init; }
}

/// <summary>The exposed field.</summary>
public sealed record FieldMeasurement
{
    /// <summary>The field as a polygon, clockwise from the upper left; four corners when it is a rectangle.</summary>
    public required IReadOnlyList<PixelPoint> Outline { get; init; }

    /// <summary>Area in mm² at the receptor; absent where spacing is unknown.</summary>
    public double? AreaMm2 { get; init; }

    /// <summary>One standard deviation of the area, in mm².</summary>
    public double? AreaMm2Uncertainty { get; init; }

    /// <summary>Area as a share of the stored image, 0 to 100.</summary>
    public required double AreaPercentOfImage { get; init; }

    /// <summary>One standard deviation of the share, in points.</summary>
    public double? AreaPercentOfImageUncertainty { get; init; }

    /// <summary>The sides: top, right, bottom, left.</summary>
    public required IReadOnlyList<FieldSideMeasurement> Sides { get; init; }
}
