using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Objects;

/// <summary>One closed surface of one material in the beam.</summary>
/// <param name="Mesh">Surface in a frame of its own, in mm.</param>
/// <param name="Pose">Where it is: in the part's frame where it moves with the part, else in the room.</param>
/// <param name="Material">Name of what fills it.</param>
/// <param name="Share">Factor of the path length; negative for a hollow.</param>
/// <param name="MovesWithPart">Whether it is fixed to the part.</param>
internal sealed record BeamItem(TriangleMesh Mesh, Pose Pose, string Material, float Share, bool MovesWithPart);

/// <summary>Draws the things that get into the beam: clothing, jewellery, casts, shields, implants, slabs. Sizes are common ones, no source.</summary>
internal static class ForeignObjects
{
    /// <summary>The surfaces of one object.</summary>
    /// <param name="thing">What the scene says.</param>
    /// <param name="body">The placed part, or null.</param>
    /// <exception cref="ArgumentException">It needs a part or a bone that is not there; the message is one sentence.</exception>
    public static IReadOnlyList<BeamItem> Build(SceneObject thing, Body? body)
    {
        return thing.Kind switch
        {
            "ring" => Ring(thing, body),
            "zip" => Zip(thing, body),
            "pin" => Pin(thing, body),
            "necklace" => Necklace(thing, body),
            "button" => [Item(thing, body, Button(thing), "polyethylene")],
            "wire" => Wire(thing, body),
            "electrode" => Electrode(thing, body),
            "cast" => Cast(thing, body ?? throw new ArgumentException("A cast needs a part to go round.", nameof(thing))),
            "shield" => [Item(thing, body, Sheet(thing.LengthMm ?? 180, thing.WidthMm ?? 140, thing.ThicknessMm ?? 0.5), "lead")],
            "screw-plate" => [Item(thing, body, ScrewPlate(thing), "titanium")],
            "slab" => [Item(thing, body, SolidMeshes.Cuboid(Centred(thing.LengthMm ?? 300, thing.WidthMm ?? 300, thing.ThicknessMm ?? 100)), "water")],
            _ => throw new ArgumentException($"There is no object '{thing.Kind}'.", nameof(thing)),
        };
    }

    private static Box Centred(double x, double y, double z) => new(new Vector3((float)(-x / 2), (float)(-y / 2), (float)(-z / 2)), new Vector3((float)(x / 2), (float)(y / 2), (float)(z / 2)));

    private static Vector3 Offset(SceneObject thing) => new((float)thing.CentreMm[0], (float)thing.CentreMm[1], (float)thing.CentreMm[2]);

    private static Bone BoneOf(SceneObject thing, Body? body)
    {
        if (body is null)
        {
            throw new ArgumentException($"A {thing.Kind} at a bone needs a part.", nameof(thing));
        }

        return body.Bones.FirstOrDefault(bone => bone.Name == thing.Bone)
            ?? throw new ArgumentException($"The part has no bone '{thing.Bone}'. It has: {string.Join(", ", body.Bones.Select(bone => bone.Name))}.", nameof(thing));
    }

    /// <summary>Middle of a bone along its axis and the axis, in the part's frame.</summary>
    private static (Vector3 Middle, Vector3 Axis) MiddleOf(Bone bone)
    {
        Box bounds = bone.Surface.Bounds;
        Vector3 centre = (bounds.Minimum + bounds.Maximum) / 2;
        Vector3 middle = bone.AxisOrigin + (Vector3.Dot(centre - bone.AxisOrigin, bone.Axis) * bone.Axis);
        return (bone.Pose.ToOuter(middle), bone.Pose.TurnToOuter(bone.Axis));
    }

    /// <summary>A frame whose x lies along the image's turned x and z towards the tube: at the bone's middle in the part's frame, or over the receptor.</summary>
    private static (Pose Pose, bool Moves) Frame(SceneObject thing, Body? body)
    {
        (float sin, float cos) = MathF.SinCos((float)(thing.TurnDegrees * Math.PI / 180));
        Pose flat = new(Offset(thing), new Vector3(cos, sin, 0), new Vector3(-sin, cos, 0), Vector3.UnitZ);
        if (thing.Bone is null)
        {
            return (flat, false);
        }

        // The image's directions as the part sees them.
        (Vector3 middle, _) = MiddleOf(BoneOf(thing, body));
        Pose placement = body!.Placement;
        Vector3 room = placement.ToOuter(middle) + Offset(thing);
        Vector3 Back(Vector3 direction) => new(Vector3.Dot(direction, placement.X), Vector3.Dot(direction, placement.Y), Vector3.Dot(direction, placement.Z));
        return (new Pose(placement.ToLocal(room), Back(flat.X), Back(flat.Y), Back(flat.Z)), true);
    }

    private static BeamItem Item(SceneObject thing, Body? body, TriangleMesh mesh, string material, float share = 1)
    {
        (Pose pose, bool moves) = Frame(thing, body);
        return new BeamItem(mesh, pose, thing.Material ?? material, share, moves);
    }

    private static IReadOnlyList<BeamItem> Ring(SceneObject thing, Body? body)
    {
        if (thing.Bone is null)
        {
            // A ring beside the hand lies flat.
            return [Item(thing, body, SolidMeshes.Torus(Vector3.Zero, Vector3.UnitZ, (float)((thing.LengthMm ?? 20) / 2), 1.1f), "gold")];
        }

        (Vector3 middle, Vector3 axis) = MiddleOf(BoneOf(thing, body));
        Vector3 hint = MathF.Abs(axis.Z) < 0.9f ? Vector3.UnitZ : Vector3.UnitX;
        Vector3 side = Vector3.Normalize(Vector3.Cross(axis, hint));
        Vector3 front = Vector3.Cross(side, axis);
        middle += (float)thing.CentreMm[1] * axis;

        // As wide as the skin round the bone, which a ring presses in a little; away from the bone it may lie off centre.
        const int Directions = 24;
        Vector3 centre = Vector3.Zero;
        List<Vector3> rim = [];
        for (int k = 0; k < Directions; k++)
        {
            (float sin, float cos) = MathF.SinCos(2 * MathF.PI * k / Directions);
            Vector3 direction = (cos * side) + (sin * front);
            float reach = 0;
            while (reach < 40 && body!.Skin.Distance(middle + (reach * direction)) < -0.8f)
            {
                reach += 0.25f;
            }

            rim.Add(middle + (reach * direction));
            centre += rim[^1] / Directions;
        }

        float radius = rim.Average(point => Vector3.Distance(point, centre));
        if (radius is < 3 or > 39)
        {
            throw new ArgumentException($"A ring does not fit round '{thing.Bone}'; choose a phalanx.", nameof(thing));
        }

        return [new BeamItem(SolidMeshes.Torus(centre, axis, radius + 0.5f, 1.1f), Pose.Identity, thing.Material ?? "gold", 1, true)];
    }

    private static IReadOnlyList<BeamItem> Zip(SceneObject thing, Body? body)
    {
        float length = (float)(thing.LengthMm ?? 140);
        List<BeamItem> items = [];
        int teeth = (int)(length / 1.8f);
        for (int k = 0; k < teeth; k++)
        {
            float y = (-length / 2) + (1.8f * k);
            float x = k % 2 == 0 ? -0.9f : 0.9f;
            items.Add(Item(thing, body, SolidMeshes.Cuboid(new Box(new Vector3(x - 1.5f, y, -0.7f), new Vector3(x + 1.5f, y + 1.1f, 0.7f))), "brass"));
        }

        Shape slider = new SmoothUnion(1, new TaperedCapsule(new Vector3(0, length / 2, 1.6f), new Vector3(0, (length / 2) + 6, 1.6f), 3.6f, 2.6f));
        items.Add(Item(thing, body, ShapeMesher.FromShape(slider, 0.6f), "brass"));
        items.Add(Item(thing, body, SolidMeshes.Torus(new Vector3(0, (length / 2) + 13, 2), Vector3.UnitZ, 3.6f, 0.8f, 48, 16), "brass"));
        return items;
    }

    private static IReadOnlyList<BeamItem> Pin(SceneObject thing, Body? body)
    {
        // A safety pin: one arm, a coil of one turn, the other arm with its clasp.
        float length = (float)(thing.LengthMm ?? 34);
        List<SweepStation> wire = [];
        void At(float x, float y, float z) => wire.Add(new SweepStation(new Vector3(x, y, z), 0.45f, 0.45f));
        for (int k = 0; k <= 8; k++)
        {
            At((length * (0.5f - (k / 8f))) + 2.2f, -3.4f + (0.05f * k), 0);
        }

        for (int k = 0; k <= 30; k++)
        {
            float angle = (-MathF.PI / 2) - (3 * MathF.PI * k / 30);
            At((-length / 2) + (2.6f * MathF.Cos(angle)), 2.6f * MathF.Sin(angle) * 1.05f, -0.5f + (1.4f * k / 30));
        }

        for (int k = 1; k <= 8; k++)
        {
            At((-length / 2) + (length * k / 8f), 2.9f, 1);
        }

        Shape clasp = new TaperedCapsule(new Vector3((length / 2) + 1, -3.2f, 0.4f), new Vector3((length / 2) + 1, 3, 0.7f), 1.6f, 1.6f);
        return
        [
            Item(thing, body, SolidMeshes.Tube(wire, Vector3.UnitZ, 12), "steel"),
            Item(thing, body, ShapeMesher.FromShape(clasp, 0.4f), "steel", 0.5f),
        ];
    }

    private static IReadOnlyList<BeamItem> Necklace(SceneObject thing, Body? body)
    {
        // Links along a hanging curve, every second one turned on edge, and a pendant.
        float width = (float)(thing.LengthMm ?? 110);
        List<BeamItem> items = [];
        float steps = MathF.Ceiling(width * 0.75f);
        for (int k = 0; k <= steps; k++)
        {
            float t = (2 * k / steps) - 1;
            Vector3 place = new(t * width / 2, (0.62f * width * (1 - (t * t))) - (0.31f * width), 0);
            Vector3 axis = k % 2 == 0 ? Vector3.UnitZ : Vector3.Normalize(new Vector3(2 * t * 1.24f, 1, 0));
            items.Add(Item(thing, body, SolidMeshes.Torus(place, axis, 1.3f, 0.4f, 24, 10), "gold"));
        }

        items.Add(Item(thing, body, SolidMeshes.Cylinder(new Vector3(0, (0.31f * width) + 7, -0.6f), new Vector3(0, (0.31f * width) + 7, 0.6f), 6, 48), "gold"));
        return items;
    }

    private static TriangleMesh Button(SceneObject thing)
    {
        float radius = (float)((thing.LengthMm ?? 12) / 2);
        return ShapeMesher.FromDistance(
            point =>
            {
                float across = MathF.Sqrt((point.X * point.X) + (point.Y * point.Y));
                float half = across > radius * 0.72f ? 1.5f : 0.9f;
                float distance = MathF.Max(across - radius, MathF.Abs(point.Z) - half);
                float hole = new Vector2(MathF.Abs(point.X) - (radius * 0.25f), MathF.Abs(point.Y) - (radius * 0.25f)).Length() - (radius * 0.13f);
                return MathF.Max(distance, -hole);
            },
            Centred(2 * radius, 2 * radius, 3),
            0.3f);
    }

    private static IReadOnlyList<BeamItem> Wire(SceneObject thing, Body? body)
    {
        float length = (float)(thing.LengthMm ?? 260);
        SweepStation[] Course(float radius) => [.. Enumerable.Range(0, 49).Select(k =>
        {
            float t = (k / 24f) - 1;
            return new SweepStation(new Vector3(t * length / 2, (0.09f * length * MathF.Sin(2.6f * t)) + (0.03f * length * t * t), 0), radius, radius);
        })];
        TriangleMesh core = SolidMeshes.Tube(Course(0.5f), Vector3.UnitZ, 12);
        return
        [
            Item(thing, body, SolidMeshes.Tube(Course(1.4f), Vector3.UnitZ, 16), "polyethylene"),
            Item(thing, body, core, "polyethylene", -1) with { Material = "polyethylene" },
            Item(thing, body, core, "copper", 0.6f),
        ];
    }

    private static IReadOnlyList<BeamItem> Electrode(SceneObject thing, Body? body) =>
    [
        Item(thing, body, SolidMeshes.Cylinder(new Vector3(0, 0, -0.8f), new Vector3(0, 0, 0.2f), 19, 64), "polyethylene"),
        Item(thing, body, SolidMeshes.Cylinder(new Vector3(0, 0, 0.2f), new Vector3(0, 0, 0.6f), 5, 48), "steel") with { Material = "steel" },
        Item(thing, body, SolidMeshes.Cylinder(new Vector3(0, 0, 0.6f), new Vector3(0, 0, 3.4f), 2, 32), "steel") with { Material = "steel" },
    ];

    private static IReadOnlyList<BeamItem> Cast(SceneObject thing, Body body)
    {
        float thickness = (float)(thing.ThicknessMm ?? 6);
        const float Padding = 3;
        TriangleMesh At(float gap) => ShapeMesher.FromDistance(
            point => body.Skin.Distance(point) - gap,
            body.Skin.Bounds.Grown(gap + 2),
            MathF.Max(2, body.SoftCellMm));
        string material = thing.Material ?? "plaster";
        return [new BeamItem(At(Padding + thickness), Pose.Identity, material, 1, true), new BeamItem(At(Padding), Pose.Identity, material, -1, true)];
    }

    private static TriangleMesh Sheet(double lengthMm, double widthMm, double thicknessMm)
    {
        // Rounded corners; thin, so drawn as a stack of two outlines rather than meshed from a distance.
        const float Radius = 14;
        List<Vector2> outline = [];
        for (int corner = 0; corner < 4; corner++)
        {
            float cx = (corner is 0 or 3 ? 1 : -1) * (float)Math.Max(1, (lengthMm / 2) - Radius);
            float cy = (corner < 2 ? 1 : -1) * (float)Math.Max(1, (widthMm / 2) - Radius);
            for (int k = 0; k <= 8; k++)
            {
                (float sin, float cos) = MathF.SinCos(((corner * 90) + (90f * k / 8)) * MathF.PI / 180);
                outline.Add(new Vector2(cx + (Radius * cos), cy + (Radius * sin)));
            }
        }

        int count = outline.Count;
        float half = (float)(thicknessMm / 2);
        Vector3[] vertices = new Vector3[(2 * count) + 2];
        for (int k = 0; k < count; k++)
        {
            vertices[k] = new Vector3(outline[k], -half);
            vertices[count + k] = new Vector3(outline[k], half);
        }

        vertices[2 * count] = new Vector3(0, 0, -half);
        vertices[(2 * count) + 1] = new Vector3(0, 0, half);
        List<int> corners = [];
        for (int k = 0; k < count; k++)
        {
            int next = (k + 1) % count;
            corners.AddRange([k, next, count + next, k, count + next, count + k, next, k, 2 * count, count + k, count + next, (2 * count) + 1]);
        }

        return new TriangleMesh(vertices, [.. corners]);
    }

    private static TriangleMesh ScrewPlate(SceneObject thing)
    {
        float half = (float)((thing.LengthMm ?? 70) / 2);

        // Corners about 5 mm apart all round: the curve through them swings out where they are uneven.
        int steps = Math.Max(2, (int)(half / 2.5f));
        (double X, double Y)[] along = [.. Enumerable.Range(0, steps + 1).Select(step => ((double)(-half + (2 * half * step / steps)), 5.0))];
        Shape plate = new Plate([.. along.Select(corner => (corner.X, -5.0)), (half + 3.5, -3), (half + 3.5, 3), .. along.Reverse(), (-half - 3.5, 3), (-half - 3.5, -3)], -1.6, 1.6, 1);
        List<Shape> parts = [plate];
        int screws = Math.Max(2, (int)(half / 7));
        for (int k = 0; k < screws; k++)
        {
            float x = -half + 4 + (((2 * half) - 8) * k / (screws - 1));
            parts.Add(new TaperedCapsule(new Vector3(x, 0, 1), new Vector3(x, 0, -20), 1.75f, 1.5f));
        }

        return ShapeMesher.FromShape(new SmoothUnion(0.4f, [.. parts]), 0.45f);
    }
}
