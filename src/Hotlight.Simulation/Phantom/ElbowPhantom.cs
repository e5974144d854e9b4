using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right elbow with arm and forearm. Own frame: y along the arm to the shoulder, x to the front of the arm (along the forearm when the elbow is bent to 90 degrees), z to the lateral side, origin at the middle of the trochlea, in mm.</summary>
internal sealed class ElbowPhantom : PartPhantom
{
    /// <summary>Length of the forearm of a child of eight over an adult's; common knowledge, no source.</summary>
    private const double ChildFactor = 0.74;

    private static readonly ElbowBones Bones = new();

    public override string Name => "elbow";

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("elbowFlexion", 90, 0, 140, "Bends the elbow; 0 is straight."),
        new("forearmPronation", 90, 0, 140, "Turns the radius about the ulna; 0 is supinated, 90 has the thumb side up in a lateral view."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Medial side on the receptor, forearm to the viewer's right.
        new("lateral", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "trochleaCentre", "elbow-lateral"),

        // Right arm seen from the front, palm up: lateral on the viewer's left.
        new("ap", new Pose(Vector3.Zero, Vector3.UnitZ, -Vector3.UnitY, -Vector3.UnitX), "trochleaCentre", "elbow-ap")
        {
            Joints = new Dictionary<string, double> { ["elbowFlexion"] = 0, ["forearmPronation"] = 0 },
        },
    ];

    protected override Body Draw(PartForm form)
    {
        UpperLimbDrawing elbow = new("elbow", form.Size, ChildFactor);
        Pose forearm = About(Vector3.Zero, Vector3.UnitZ, Setting(form, "elbowFlexion") - 90);
        Pose turned = About(ElbowBones.TurningAxis.Head, ElbowBones.TurningAxis.Wrist - ElbowBones.TurningAxis.Head, -Setting(form, "forearmPronation")).Within(forearm);
        elbow.MarkFree("trochleaCentre", Vector3.Zero);
        Humerus(elbow);
        elbow.Joint = forearm;
        Ulna(elbow);
        elbow.Joint = turned;
        Radius(elbow);

        float thick = (float)(0.7 + (0.3 * form.Habitus));
        Shape skin = Skin(forearm, thick);
        return new Body
        {
            Bones = elbow.Bones,
            Landmarks = elbow.Landmarks,
            Skin = elbow.Sized(skin),
            Muscle = elbow.Sized(new Inset(skin, 4.6f * (float)form.Habitus)),
            FatPads = elbow.Sized(new SmoothUnion(
                2,
                new TaperedCapsule(V(9, 15, -4), V(3.4, 31, -2), 3.6f, 1.5f),
                new TaperedCapsule(V(8.6, 15, 9), V(3.6, 28, 5), 3f, 1.4f),
                new Ellipsoid(V(-15.5, 21, -4), V(4, 7, 7)),
                new Posed(forearm, new TaperedCapsule(V(24, 17, 10), V(72, 8, 14), 1.3f, 1.1f)))),
            Fibres = Vector3.Normalize(forearm.TurnToOuter(Vector3.UnitX) - (0.9f * Vector3.UnitY)),
            FatPlanes = 0.09f,
        };
    }

    private static Shape Skin(Pose forearm, float thick)
    {
        // The forearm's loft runs along x: its own y is the forearm, its own x the front.
        Pose along = new Pose(Vector3.Zero, Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ).Within(forearm);
        Shape lower = new Posed(along, new QuadrantLoft(
            new(-36, -14, -2, -8, 8, -8),
            new(-26, -26, 6, -20, 18, -8),
            new(-10, -37, 22, -32, 30, -8),
            new(20, -43 * thick, 36 * thick, -41 * thick, 41 * thick, -8, 2),
            new(50, -43 * thick, 38 * thick, -42 * thick, 46 * thick, -6, 3),
            new(85, -40 * thick, 35 * thick, -39 * thick, 45 * thick, -6, 4),
            new(140, -35 * thick, 28 * thick, -33 * thick, 39 * thick, -6, 5),
            new(245, -29, 19, -28, 37, -6, 6)));
        Shape upper = new QuadrantLoft(
            new(-36, -16, 0, -10, 8, -8),
            new(-26, -24, 10, -22, 18, -9),
            new(-8, -31, 24, -35, 31, -10),
            new(14, -36, 34 * thick, -43, 38, -8),
            new(36, -38 * thick, 38 * thick, -42 * thick, 40 * thick, -6),
            new(75, -44 * thick, 42 * thick, -42 * thick, 42 * thick, -6, 1),
            new(130, -53 * thick, 48 * thick, -42 * thick, 48 * thick, -6, 3),
            new(245, -58 * thick, 54 * thick, -42 * thick, 60 * thick, -6, 9));
        Shape point = new Posed(forearm, new TaperedCapsule(V(-6, -26, -5), V(30, -24, -3), 12, 16));
        return new SmoothUnion(14, lower, upper, point);
    }

    private static void Humerus(UpperLimbDrawing elbow)
    {
        elbow.Long(
            "humerus",
            Bones.Humerus,
            V(-8, -14, 0),
            V(-12, 245, 12),
            [(0, 0.7), (24, 0.7), (44, 1.1), (62, 2.4), (90, 3.8), (200, 4.2)],
            [(0, 0.22), (22, 0.17), (45, 0.08), (70, 0.02), (100, 0.01)],
            [
                new GrowthPlate("capitulum", V(2, 5.5, 12), V(0.45, -1, 0.1), 2.2f, 1) { Within = new Ellipsoid(V(1, -1.4, 12.6), V(10, 10, 8.6)) },
                new GrowthPlate("medial epicondyle", V(-8, 16, -25.5), V(0, -0.35, -1), 2, 1.4f),
                new GrowthPlate("lateral epicondyle", V(-6, 13, 23), V(0, -0.4, 1), 2, float.PositiveInfinity),
            ]);
        elbow.Mark("medialEpicondyle", "humerus", V(-8.5, 16, -39));
        elbow.Mark("lateralEpicondyle", "humerus", V(-6, 14, 29));
        elbow.Mark("capitulumAnterior", "humerus", V(12, 0, 12.8));
        elbow.Mark("capitulumDistal", "humerus", V(0.8, -12, 12.8));
        if (!elbow.IsChild)
        {
            elbow.Mark("trochleaMedialLip", "humerus", V(2, -13, -15));
            elbow.Mark("trochleaGroove", "humerus", V(1, -9, -5));
        }

        elbow.Mark("anteriorHumeralCortex", "humerus", V(1, 70, 0));
    }

    private static void Ulna(UpperLimbDrawing elbow)
    {
        elbow.Long(
            "ulna",
            () => Bones.Ulna,
            V(-28, -20, 0),
            V(245, -20, 0),
            [(0, 0.8), (32, 0.9), (56, 1.5), (84, 2.8), (130, 3.4)],
            [(0, 0.2), (30, 0.18), (54, 0.1), (84, 0.03), (120, 0.01)],
            [new GrowthPlate("olecranon", V(-8.5, -20, 0), V(-1, 0.1, 0), 2, float.PositiveInfinity)]);
        elbow.Mark("coronoidTip", "ulna", V(14, 12, -5));
        elbow.Mark("olecranonTip", "ulna", elbow.IsChild ? V(-9, -10, -5) : V(-16, -9, -5));
        elbow.Mark("olecranonPosterior", "ulna", V(3, -34, -5));
    }

    private static void Radius(UpperLimbDrawing elbow)
    {
        elbow.Long(
            "radius",
            ElbowBones.Radius,
            V(10, 0, 12.8),
            V(245, -4, 26),
            [(0, 0.7), (10, 0.7), (20, 1.5), (38, 2.0), (62, 2.9), (235, 2.9)],
            [(0, 0.25), (10, 0.17), (20, 0.08), (40, 0.06), (64, 0.01)],
            [new GrowthPlate("head", V(17.6, 0, 12.8), -Vector3.UnitX, 1.8f, 1.2f)]);
        elbow.Mark("radialHeadAnterior", "radius", V(15, 12, 12.8));
        elbow.Mark("radialHeadPosterior", "radius", V(15, -12, 12.8));
        elbow.Mark("radialHeadLateral", "radius", V(15, 0, 25));
        elbow.Mark("radialHeadMedial", "radius", V(15, 0, 1));
        elbow.Mark("radialHeadCentre", "radius", V(13.4, 0, 12.8));
        elbow.Mark("radialTuberosity", "radius", V(39, -2, 0));
    }
}
