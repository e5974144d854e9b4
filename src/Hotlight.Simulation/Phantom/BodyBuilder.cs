using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>Collects the bones and landmarks of a part, drawn in the part's own frame of a right side.</summary>
/// <param name="part">Name of the part, with everything that changes the bones' own shapes, such as "wrist/Adult": bones are drawn once for each.</param>
internal sealed class BodyBuilder(string part)
{
    private static readonly ConcurrentDictionary<string, Lazy<Shape>> Drawn = new();

    public List<Bone> Bones { get; } = [];

    public Dictionary<string, Vector3> Landmarks { get; } = [];

    /// <summary>The pose that newly added bones, shapes and landmarks take within the part's frame, for a joint that is bent.</summary>
    public Pose Joint { get; set; } = Pose.Identity;

    public Shape Place(Shape shape) => new Posed(Joint, shape);

    public Vector3 Place(Vector3 point) => Joint.ToOuter(point);

    public Vector3 Turn(Vector3 direction) => Joint.TurnToOuter(direction);

    /// <summary>Names a point of the part that moves with the present joint.</summary>
    public void Mark(string landmark, Vector3 point) => Landmarks.Add(landmark, Place(point));

    /// <summary>A long bone: cortex and spongy share run along an axis given in the bone's frame.</summary>
    /// <param name="name">Name of the bone, unique within the part.</param>
    /// <param name="draw">Draws its outer surface; called once for each part and size, so it must not depend on the joints.</param>
    /// <param name="from">Where the axis begins.</param>
    /// <param name="to">Where the axis leads.</param>
    /// <param name="cortexMm">Thickness of the cortex against the distance from <paramref name="from"/> along the axis, in mm.</param>
    /// <param name="spongyShare">Share of bone in the interior against the same distance, 0 to 1.</param>
    /// <param name="grainAcrossMm">Size of a grain cell across the axis, in mm.</param>
    /// <param name="grainAlongMm">Size of a grain cell along the axis, in mm.</param>
    public void Long(string name, Func<Shape> draw, Vector3 from, Vector3 to, Curve cortexMm, Curve spongyShare, float grainAcrossMm = 0.33f, float grainAlongMm = 1.0f)
        => Bones.Add(new Bone
        {
            Name = name,
            Surface = Draw(name, draw),
            Pose = Joint,
            AxisOrigin = from,
            Axis = Vector3.Normalize(to - from),
            CortexMm = cortexMm,
            SpongyShare = spongyShare,
            GrainAcrossMm = grainAcrossMm,
            GrainAlongMm = grainAlongMm,
        });

    /// <summary>A short bone: even cortex and spongy interior.</summary>
    public void Short(string name, Func<Shape> draw, double cortexMm = 0.5, double spongyShare = 0.25, Vector3? grain = null, float grainAcrossMm = 0.28f)
        => Bones.Add(new Bone
        {
            Name = name,
            Surface = Draw(name, draw),
            Pose = Joint,
            AxisOrigin = Vector3.Zero,
            Axis = Vector3.Normalize(grain ?? Vector3.UnitY),
            CortexMm = Curve.Constant(cortexMm),
            SpongyShare = Curve.Constant(spongyShare),
            GrainAcrossMm = grainAcrossMm,
            GrainAlongMm = 1.8f * grainAcrossMm,
            GrainDepth = 0.8f,
        });

    public static Vector3 V(double x, double y, double z) => new((float)x, (float)y, (float)z);

    /// <summary>A turn about an axis through a point, for a joint.</summary>
    /// <param name="hinge">A point of the axis.</param>
    /// <param name="axis">Its direction, of any length.</param>
    /// <param name="degrees">Right-handed about the axis.</param>
    public static Pose About(Vector3 hinge, Vector3 axis, double degrees)
    {
        Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.Normalize(axis), (float)(degrees * Math.PI / 180));
        Pose pose = new(Vector3.Zero, Vector3.Transform(Vector3.UnitX, turn), Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn));
        return pose with { Origin = hinge - pose.TurnToOuter(hinge) };
    }

    private Shape Draw(string name, Func<Shape> draw)
        => Drawn.GetOrAdd(part + "/" + name, _ => new Lazy<Shape>(draw)).Value;
}
