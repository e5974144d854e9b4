using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>One bone: its surface, the thickness of its cortex and the share of bone in its spongy interior along an axis. All in the bone's own frame, in mm.</summary>
internal sealed class Bone
{
    public required string Name { get; init; }

    /// <summary>The outer surface in the bone's own frame. It does not depend on the joints, so what is made of it can be kept while the part is moved.</summary>
    public required Shape Surface { get; init; }

    /// <summary>Where the bone lies in the part's frame.</summary>
    public Pose Pose { get; init; } = Pose.Identity;

    /// <summary>Origin and direction of the axis along which <see cref="CortexMm"/> and <see cref="SpongyShare"/> run, in the bone's own frame.</summary>
    public Vector3 AxisOrigin { get; init; }

    public Vector3 Axis { get; init; } = Vector3.UnitY;

    public Curve CortexMm { get; init; } = Curve.Constant(0.6);

    /// <summary>Share of the interior that is cortical bone, 0 to 1.</summary>
    public Curve SpongyShare { get; init; } = Curve.Constant(0.2);

    /// <summary>Depth of the grain's modulation of the spongy share.</summary>
    public float GrainDepth { get; init; } = 1.2f;

    /// <summary>Size of a grain cell across and along the axis, in mm.</summary>
    public float GrainAcrossMm { get; init; } = 0.42f;

    public float GrainAlongMm { get; init; } = 0.9f;

    /// <summary>Height of the surface's natural unevenness, in mm.</summary>
    public float UnevenMm { get; init; } = 0.18f;
}

/// <summary>A straight piece of a vessel or strand, denser than what surrounds it; radii in mm.</summary>
internal readonly record struct Strand(Vector3 From, Vector3 To, float FromRadius, float ToRadius);

/// <summary>One station of a <see cref="Tube"/>: a point of its middle line, half its height across the long axis of its section and half its thickness, in mm.</summary>
internal readonly record struct TubeStation(Vector3 Point, float HalfHeight, float HalfThickness);

/// <summary>A long curved bone of elliptic section, such as a rib: compact outside, spongy inside.</summary>
internal sealed record Tube(IReadOnlyList<TubeStation> Stations, Vector3 HeightAxis, float CortexMm, float SpongyShare);

/// <summary>A part of the body, its joints set: bones, soft tissue and air in the part's own frame, and where that frame lies in the room.</summary>
internal sealed record Body
{
    /// <summary>The part's frame in the room; identity until the part is placed. A mirrored frame makes the other side of the body.</summary>
    public Pose Placement { get; init; } = Pose.Identity;

    public List<Bone> Bones { get; init; } = [];

    /// <summary>Skin: everything within it that is nothing else is fat.</summary>
    public required Shape Skin { get; init; }

    /// <summary>Muscle, tendon, organs.</summary>
    public required Shape Muscle { get; init; }

    /// <summary>Fat within the muscle, or null.</summary>
    public Shape? FatPads { get; init; }

    /// <summary>Lungs and airways, or null.</summary>
    public Shape? Air { get; init; }

    /// <summary>Density of <see cref="Air"/> relative to soft tissue.</summary>
    public double AirDensityShare { get; init; } = 0.26;

    /// <summary>Bowel gas and the like: air proper within the muscle, or null.</summary>
    public Shape? Gas { get; init; }

    public List<Strand> Strands { get; init; } = [];

    public List<Tube> Tubes { get; init; } = [];

    /// <summary>Named points that positioning is judged by, in the part's frame, in mm.</summary>
    public Dictionary<string, Vector3> Landmarks { get; init; } = [];

    /// <summary>Cell of the grids on which skin, muscle and air are kept, in mm.</summary>
    public float SoftCellMm { get; init; } = 2.2f;

    /// <summary>Direction of muscle fibres, for the fat planes between them.</summary>
    public Vector3 Fibres { get; init; } = Vector3.UnitY;

    /// <summary>How much of the muscle is fat planes, 0 to 1.</summary>
    public float FatPlanes { get; init; } = 0.12f;

    /// <summary>A landmark in the room, in mm.</summary>
    /// <exception cref="KeyNotFoundException">The part has no such landmark.</exception>
    public Vector3 LandmarkInRoom(string name) => Placement.ToOuter(Landmarks[name]);
}
