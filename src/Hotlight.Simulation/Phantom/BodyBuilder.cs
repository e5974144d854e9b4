using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>Collects the bones of a part drawn in its own anatomical frame and places them in the room.</summary>
internal sealed class BodyBuilder(Pose root)
{
    public List<Bone> Bones { get; } = [];

    /// <summary>The pose that newly added bones take within the part's frame, for a joint that is bent.</summary>
    public Pose Joint { get; set; } = Pose.Identity;

    public Shape Place(Shape shape) => new Posed(Joint.Within(root), shape);

    public Vector3 Place(Vector3 point) => root.ToOuter(Joint.ToOuter(point));

    public Vector3 Turn(Vector3 direction) => root.TurnToOuter(Joint.TurnToOuter(direction));

    /// <summary>A long bone: cortex and spongy share run along an axis given in the part's frame.</summary>
    public void Long(string name, Shape shape, Vector3 from, Vector3 to, Curve cortexMm, Curve spongyShare, float grainAcrossMm = 0.33f, float grainAlongMm = 1.0f)
        => Bones.Add(new Bone
        {
            Name = name,
            Surface = Place(shape),
            AxisOrigin = Place(from),
            Axis = Vector3.Normalize(Turn(to - from)),
            CortexMm = cortexMm,
            SpongyShare = spongyShare,
            GrainAcrossMm = grainAcrossMm,
            GrainAlongMm = grainAlongMm,
        });

    /// <summary>A short bone: even cortex and spongy interior.</summary>
    public void Short(string name, Shape shape, double cortexMm = 0.5, double spongyShare = 0.25, Vector3? grain = null, float grainAcrossMm = 0.28f)
        => Bones.Add(new Bone
        {
            Name = name,
            Surface = Place(shape),
            AxisOrigin = Place(Vector3.Zero),
            Axis = Vector3.Normalize(Turn(grain ?? Vector3.UnitY)),
            CortexMm = Curve.Constant(cortexMm),
            SpongyShare = Curve.Constant(spongyShare),
            GrainAcrossMm = grainAcrossMm,
            GrainAlongMm = 1.8f * grainAcrossMm,
            GrainDepth = 0.8f,
        });

    public static Vector3 V(double x, double y, double z) => new((float)x, (float)y, (float)z);
}
