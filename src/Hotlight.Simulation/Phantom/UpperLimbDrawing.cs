using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>Where a bone is still open in a child: the plane of its growth plate.</summary>
/// <param name="Epiphysis">Name of the bony centre beyond the plate.</param>
/// <param name="Origin">A point of the plate on the shaft's side, in mm of the adult's drawing.</param>
/// <param name="Outward">Direction from the shaft to the centre.</param>
/// <param name="GapMm">Width of the plate, in mm of the adult's drawing.</param>
/// <param name="InsetMm">How far the centre stays within the adult's outline, where it is still cartilage; infinite where the centre has not appeared.</param>
internal sealed record GrowthPlate(string Epiphysis, Vector3 Origin, Vector3 Outward, float GapMm = 1.6f, float InsetMm = 0.8f)
{
    /// <summary>The bony centre fills no more than this, in mm of the adult's drawing; null where it fills all beyond the plate.</summary>
    public Shape? Within { get; init; }
}

/// <summary>Draws bones of the upper limb in an adult's mm. A child's are smaller by one factor, with open growth plates and thinner cortex.</summary>
/// <param name="part">Name of the part.</param>
/// <param name="size">Adult or child.</param>
/// <param name="childFactor">Length of a child's bones over an adult's.</param>
internal sealed class UpperLimbDrawing(string part, BodySize size, double childFactor)
{
    private readonly BodyBuilder builder = new($"{part}/{size}");

    public bool IsChild { get; } = size == BodySize.Child;

    /// <summary>Lengths of this size over the adult's.</summary>
    public float Factor { get; } = size == BodySize.Child ? (float)childFactor : 1;

    public List<Bone> Bones => builder.Bones;

    public Dictionary<string, Vector3> Landmarks => builder.Landmarks;

    /// <summary>Where the bones drawn next lie, in the adult's mm.</summary>
    public Pose Joint { get; set; } = Pose.Identity;

    /// <summary>A long bone with its growth plates; see <see cref="BodyBuilder.Long"/>. Curves are in the adult's mm.</summary>
    public void Long(
        string name,
        Func<Shape> draw,
        Vector3 from,
        Vector3 to,
        (double At, double Mm)[] cortexMm,
        (double At, double Share)[] spongyShare,
        IReadOnlyList<GrowthPlate>? plates = null,
        float grainAcrossMm = 0.33f,
        float grainAlongMm = 1.0f)
    {
        double thinner = IsChild ? 0.8 : 1;
        Curve cortex = new([.. cortexMm.Select(each => (each.At * Factor, each.Mm * Factor * thinner))]);
        Curve spongy = new([.. spongyShare.Select(each => (each.At * Factor, each.Share))]);
        Each(name, draw, plates ?? [], (piece, shape) => builder.Long(piece, shape, from * Factor, to * Factor, cortex, spongy, grainAcrossMm, grainAlongMm));
    }

    /// <summary>A short bone; see <see cref="BodyBuilder.Short"/>. A child's is smaller by the cartilage that is not yet bone.</summary>
    public void Short(string name, Func<Shape> draw, double cortexMm = 0.5, double spongyShare = 0.25, Vector3? grain = null, float cartilageMm = 1.6f)
    {
        Func<Shape> whole = IsChild ? () => new Inset(draw(), cartilageMm) : draw;
        Each(name, whole, [], (piece, shape) => builder.Short(piece, shape, cortexMm * Factor, spongyShare, grain));
    }

    /// <summary>Names a point on the surface of a bone: the nearest to one given in the bone's frame in the adult's mm.</summary>
    public void Mark(string landmark, string bone, Vector3 near)
    {
        Vector3 point = near * Factor;
        Bone found = Bones.Where(each => each.Name == bone || each.Name.StartsWith(bone + ",", StringComparison.Ordinal))
            .MinBy(each => MathF.Abs(each.Surface.Distance(point)))!;
        Landmarks.Add(landmark, found.Pose.ToOuter(Onto(found.Surface, point)));
    }

    /// <summary>Names a point that lies on no bone, in the frame of <see cref="Joint"/> in the adult's mm.</summary>
    public void MarkFree(string landmark, Vector3 point) => Landmarks.Add(landmark, Joint.ToOuter(point) * Factor);

    /// <summary>Soft tissue drawn in the part's frame in the adult's mm, at this size.</summary>
    public Shape Sized(Shape shape) => IsChild ? new Scaled(Factor, shape) : shape;

    /// <summary>The nearest point of a surface, by steps along its slope.</summary>
    private static Vector3 Onto(Shape surface, Vector3 point)
    {
        const float H = 0.05f;
        for (int step = 0; step < 24; step++)
        {
            float distance = surface.Distance(point);
            Vector3 slope = new(
                surface.Distance(point + (H * Vector3.UnitX)) - surface.Distance(point - (H * Vector3.UnitX)),
                surface.Distance(point + (H * Vector3.UnitY)) - surface.Distance(point - (H * Vector3.UnitY)),
                surface.Distance(point + (H * Vector3.UnitZ)) - surface.Distance(point - (H * Vector3.UnitZ)));
            slope /= 2 * H;
            point -= 0.8f * distance * slope / MathF.Max(0.25f, slope.LengthSquared());
        }

        return point;
    }

    private void Each(string name, Func<Shape> draw, IReadOnlyList<GrowthPlate> plates, Action<string, Func<Shape>> add)
    {
        builder.Joint = Joint with { Origin = Joint.Origin * Factor };
        if (!IsChild)
        {
            add(name, draw);
            return;
        }

        add(name, () => new Scaled(Factor, plates.Aggregate(draw(), (shape, plate) => new SmoothShared(0.8f, shape, new HalfSpace(plate.Origin, plate.Outward)))));
        foreach (GrowthPlate plate in plates.Where(plate => float.IsFinite(plate.InsetMm)))
        {
            Vector3 outward = Vector3.Normalize(plate.Outward);
            add(
                $"{name}, {plate.Epiphysis}",
                () =>
                {
                    Shape beyond = new HalfSpace(plate.Origin + (plate.GapMm * outward), -outward);
                    Shape centre = new SmoothShared(2.4f, new Inset(draw(), plate.InsetMm), beyond);
                    return new Scaled(Factor, plate.Within is null ? centre : new SmoothShared(2.4f, centre, plate.Within));
                });
        }
    }
}
