using Hotlight.Core;

namespace Hotlight.Measure.Landmarks;

/// <summary>A length in the image, with one standard deviation.</summary>
/// <remarks>In mm only where spacing is known. Not: a length in the patient, which is shorter by the magnification.</remarks>
public sealed record ImageLength
{
    /// <summary>The length in pixels.</summary>
    public required double Pixels { get; init; }

    /// <summary>One standard deviation, in pixels.</summary>
    public required double PixelsUncertainty { get; init; }

    /// <summary>The length in mm at the receptor; null where spacing is not known.</summary>
    public double? Mm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    public double? MmUncertainty { get; init; }
}

/// <summary>An angle, with one standard deviation.</summary>
public sealed record ImageAngle
{
    /// <summary>The angle, in degrees.</summary>
    public required double Degrees { get; init; }

    /// <summary>One standard deviation, in degrees.</summary>
    public required double DegreesUncertainty { get; init; }
}

/// <summary>A straight line, with its uncertainty.</summary>
public sealed record ImageLine
{
    /// <summary>The point of the line nearest to the middle of what it was fitted to.</summary>
    public required PixelPoint Middle { get; init; }

    /// <summary>Direction of the line in pixels, 0 to 180 degrees: 0 along +x, 90 down the rows.</summary>
    public required double DirectionDegrees { get; init; }

    /// <summary>One standard deviation, in degrees.</summary>
    public required double DirectionDegreesUncertainty { get; init; }

    /// <summary>One standard deviation of the line's place across itself, at <see cref="Middle"/>, in pixels.</summary>
    public required double OffsetPixelsUncertainty { get; init; }

    /// <summary>Root mean square distance of the points from the line, in pixels; 0 for two points.</summary>
    public required double ResidualPixels { get; init; }
}

/// <summary>A circle, with its uncertainty.</summary>
/// <remarks>Where rows and columns are not equally apart, the circle is round in mm and not in pixels; its centre is a place in the image all the same.</remarks>
public sealed record ImageCircle
{
    /// <summary>The centre.</summary>
    public required PixelPoint Center { get; init; }

    /// <summary>One standard deviation of the centre along x, in pixels.</summary>
    public required double CenterXPixelsUncertainty { get; init; }

    /// <summary>One standard deviation of the centre along y, in pixels.</summary>
    public required double CenterYPixelsUncertainty { get; init; }

    /// <summary>The radius; in pixels it is given along the rows.</summary>
    public required ImageLength Radius { get; init; }
}
