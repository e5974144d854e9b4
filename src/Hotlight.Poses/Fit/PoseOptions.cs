namespace Hotlight.Poses;

/// <summary>What else is known of an exposure whose pose is fitted.</summary>
public sealed record PoseOptions
{
    /// <summary>Tilt of the tube about the image's x axis, in degrees: positive sends the central ray towards the image's top.</summary>
    public double TubeTowardTopDegrees { get; init; }

    /// <summary>Tilt of the tube about the image's y axis, in degrees: positive sends the central ray towards the right.</summary>
    public double TubeTowardRightDegrees { get; init; }
}
