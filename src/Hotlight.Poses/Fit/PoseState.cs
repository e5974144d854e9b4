namespace Hotlight.Poses;

/// <summary>One pose: everything that says where the part's points fall on the image. Angles as the lab's scenes have them, lengths in mm from where the central ray is taken to meet the receptor.</summary>
public sealed record PoseState
{
    /// <summary>Turn about the image's y axis from what the view demands, in degrees; positive brings the edge on the viewer's right towards the tube (for a left side: as its mirror image).</summary>
    public required double TurnDegrees { get; init; }

    /// <summary>Turn about the image's x axis, in degrees; positive brings the lower end towards the tube.</summary>
    public required double TiltDegrees { get; init; }

    /// <summary>Turn in the receptor's plane, in degrees, clockwise (for a left side: as its mirror image).</summary>
    public required double LeanDegrees { get; init; }

    /// <summary>The fitted joints by name, in degrees.</summary>
    public required IReadOnlyDictionary<string, double> Joints { get; init; }

    /// <summary>Where the view's centring point lies, to the right of the central ray's place on the receptor, in mm.</summary>
    public required double CentreRightMm { get; init; }

    /// <summary>The same, downwards.</summary>
    public required double CentreDownMm { get; init; }

    /// <summary>Height of the centring point over the receptor, in mm.</summary>
    public required double CentreHeightMm { get; init; }

    /// <summary>Size along the part's own x, y and z over the phantom's; 1 for the phantom's.</summary>
    public required IReadOnlyList<double> AxisSizes { get; init; }

    /// <summary>Where the plumb line from the source meets the receptor, to the right of the central ray's assumed place, in mm.</summary>
    public required double SourceRightMm { get; init; }

    /// <summary>The same, downwards.</summary>
    public required double SourceDownMm { get; init; }

    /// <summary>Height of the source over the receptor, in mm.</summary>
    public required double SourceHeightMm { get; init; }

    /// <summary>Distance of pixel centres at the receptor, in mm.</summary>
    public required double SpacingMm { get; init; }
}
