using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right knee. Own frame: x medial, y proximal, z anterior, origin at the middle of the joint space, in mm.</summary>
/// <remarks>Bicondylar width about 80 mm, condyle depth about 60 mm (Anat Res Int 2012:679658 gives 88.6 and 61.1 for men, 78.5 and 55.9 for women); other proportions are common anatomical knowledge, no source.</remarks>
internal sealed class KneePhantom : PartPhantom
{
    public override string Name => "knee";

    public override IReadOnlyList<JointRange> Joints { get; } = [new("kneeFlexion", 0, 0, 100, "Bends the knee.")];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Right leg seen from the front: lateral on the viewer's left.
        new("ap", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "jointCentre", "knee-ap"),

        // Lateral side on the receptor, anterior to the viewer's left, medial towards the tube.
        new("lateral", new Pose(Vector3.Zero, Vector3.UnitZ, -Vector3.UnitY, -Vector3.UnitX), "jointCentre", "knee-lateral")
        {
            Joints = new Dictionary<string, double> { ["kneeFlexion"] = 30 },
        },
    ];

    protected override Body Draw(PartForm form)
    {
        float bendDegrees = (float)Setting(form, "kneeFlexion");

        // A share of the bend goes to the leg so that the knee stays upright in the image.
        BodyBuilder knee = new($"knee/{form.Size}") { Joint = About(Vector3.Zero, -0.42f * bendDegrees) };
        Pose lower = knee.Joint;
        knee.Mark("jointCentre", Vector3.Zero);
        Tibia(knee);
        Fibula(knee);
        Vector3 hinge = V(0, 23, -14);
        knee.Joint = About(hinge, -bendDegrees).Within(lower);
        Femur(knee);
        Shape thigh = knee.Place(new Loft(
            false,
            new Section(-6, -50, 50, -46, 40),
            new Section(25, -51, 51, -49, 46),
            new Section(60, -54, 53, -53, 51),
            new Section(110, -63, 58, -62, 57),
            new Section(220, -76, 68, -76, 66)));
        Shape quadriceps = knee.Place(new TaperedCapsule(V(-3, 62, 38), V(-6, 130, 40), 6, 16));
        knee.Joint = About(hinge, -0.72f * bendDegrees).Within(lower);
        Shape cap = knee.Place(new Ellipsoid(V(-2, 34, 34), V(36, 36, 20)));
        Patella(knee);
        Vector3 patellaTip = knee.Place(V(-2, 12, 38));
        knee.Joint = lower;
        Shape leg = knee.Place(new Loft(
            false,
            new Section(-230, -50, 50, -70, 33),
            new Section(-150, -54, 54, -70, 34),
            new Section(-90, -53, 52, -62, 34),
            new Section(-45, -50, 49, -53, 36),
            new Section(-10, -50, 50, -49, 39),
            new Section(14, -48, 48, -46, 38)));
        Shape skin = new SmoothUnion(26, leg, thigh, cap);
        Shape tendon = new TaperedCapsule(patellaTip, knee.Place(V(-2, -40, 26)), 3.2f, 3.6f);
        return new Body
        {
            Bones = knee.Bones,
            Landmarks = knee.Landmarks,
            Skin = skin,
            Muscle = new SmoothUnion(5, new Inset(skin, 6.5f), quadriceps, tendon),
            FatPads = knee.Place(new SmoothUnion(4, new Ellipsoid(V(-1, 0, 25), V(17, 12, 6)), new Ellipsoid(V(0, 66, 18), V(15, 12, 4)), new Ellipsoid(V(0, 40, -44), V(16, 30, 7)))),
            Fibres = knee.Turn(Vector3.UnitY),
            FatPlanes = 0.16f,
        };
    }

    private static Pose About(Vector3 hinge, float degrees)
    {
        Pose turn = Pose.Turned(Vector3.Zero, degrees, 0, 0);
        return turn with { Origin = hinge - turn.TurnToOuter(hinge) };
    }

    private static void Femur(BodyBuilder knee)
    {
        // Seen from the side: local x is anterior, y proximal, z medial.
        Pose side = new(Vector3.Zero, Vector3.UnitZ, Vector3.UnitY, Vector3.UnitX);
        (double X, double Y)[] medial =
        [
            (25, 33), (24.5, 24), (21, 13), (13, 5.5), (3, 2.4), (-8, 2.2), (-20, 5.5), (-30, 13), (-36.5, 24), (-36, 35), (-30, 43.5), (-21, 48), (-14, 54), (-12, 64), (8, 66), (16, 56), (22, 45),
        ];
        (double X, double Y)[] lateral =
        [
            (29, 35), (28, 24), (23.5, 13.5), (15, 6.5), (4, 3.4), (-8, 3.4), (-20, 7), (-29, 14), (-34.5, 24), (-34, 34), (-28.5, 42), (-20, 47), (-14, 54), (-12, 64), (8, 66), (18, 57), (25, 46),
        ];
        Shape medialCondyle = new Posed(side, new Plate(medial, Curve.Constant(8), new Curve((0, 32), (10, 38), (28, 40), (46, 35), (60, 23)), Curve.Constant(10)));
        Shape lateralCondyle = new Posed(side, new Plate(lateral, new Curve((0, -32), (10, -37.5), (28, -39.5), (46, -34), (60, -27)), Curve.Constant(-8), Curve.Constant(9.5)));
        Shape trochlea = new Loft(
            true,
            new Section(14, -22, 22, -6, 15),
            new Section(20, -30, 30, -14, 21),
            new Section(32, -36, 36, -22, 23),
            new Section(45, -33, 34.5, -21, 20),
            new Section(60, -25, 23, -14, 15),
            new Section(80, -17, 9, -9, 10));
        Shape shaft = new Loft(
            false,
            new Section(52, -29, 29, -15, 16),
            new Section(64, -26, 22, -14.5, 15.5),
            new Section(85, -24.5, 14, -14, 15),
            new Section(120, -24, 6.5, -14, 16),
            new Section(160, -27.5, 1, -13, 17.5),
            new Section(240, -35, -6, -11, 19));
        Shape notch = new SmoothUnion(4, new TaperedCapsule(V(0, -6, -44), V(0, 25, -26), 10.5f, 9.5f), new TaperedCapsule(V(0, 16, -12), V(0, 2, 2), 9.5f, 6));
        Shape groove = new TaperedCapsule(V(0.5, 12, 34.5), V(0.5, 52, 37.5), 10, 9);
        Shape whole = new SmoothUnion(
            7,
            medialCondyle,
            lateralCondyle,
            trochlea,
            shaft,
            new Ellipsoid(V(38, 28, -5), V(5.5, 9, 9)),
            new Ellipsoid(V(-36.5, 26, -6), V(5.5, 8, 8)),
            new Ellipsoid(V(33, 45, -10), V(5, 8, 7)));
        knee.Long(
            "femur",
            () => new SmoothCut(2, whole, notch, groove),
            V(0, 0, 0),
            V(-6, 240, 0),
            new Curve((0, 0.9), (30, 0.75), (58, 1.0), (80, 2.2), (110, 4.4), (150, 5.8), (240, 6.5)),
            new Curve((0, 0.2), (12, 0.165), (40, 0.13), (70, 0.07), (100, 0.03), (140, 0.01)),
            0.45f,
            1.3f);
    }

    private static void Tibia(BodyBuilder knee)
    {
        Shape body = new Loft(
            true,
            new Section(-46, -18, 18.5, -17, 16),
            new Section(-32, -27, 28.5, -22.5, 21),
            new Section(-20, -36, 37, -25.5, 22.5),
            new Section(-12, -38.6, 39.2, -26.5, 22.5),
            new Section(-7.5, -38.4, 39.2, -26.5, 21.5),
            new Section(-4.9, -36.6, 37.4, -25, 19.5),
            new Section(-3.4, -33.5, 34.5, -22.5, 17),
            new Section(-2.6, -29, 30, -19, 13));
        Shape shaft = new Loft(
            false,
            new Section(-250, -11, 12, -12, 13),
            new Section(-180, -12, 13, -13, 15),
            new Section(-120, -14, 15, -15, 17),
            new Section(-80, -17.5, 18, -18, 20),
            new Section(-50, -22.5, 23, -21.5, 22),
            new Section(-30, -28.5, 29.5, -23, 21.5));
        Shape whole = new SmoothUnion(
            6,
            body,
            shaft,
            new Ellipsoid(V(-3, -40, 20.5), V(10, 15, 7)),
            new TaperedCapsule(V(6.5, -9, -3), V(4.6, 2.6, -2), 6.5f, 1.3f),
            new TaperedCapsule(V(-6.5, -9, -6), V(-5.2, 1.6, -5), 6, 1.4f));
        Shape medialPlateau = new Ellipsoid(V(22, 36, -3), V(24, 40.4, 42));
        Shape lateralPlateau = new Ellipsoid(V(-21.5, 40, -4), V(22, 43.6, 60));
        knee.Long(
            "tibia",
            () => new SmoothCut(1.5f, whole, medialPlateau, lateralPlateau),
            V(0, 0, 0),
            V(0, -250, 0),
            new Curve((0, 1.0), (8, 1.3), (14, 0.8), (45, 1.2), (75, 2.6), (110, 4.2), (160, 5.5)),
            new Curve((0, 0.28), (9, 0.21), (25, 0.14), (50, 0.09), (80, 0.04), (120, 0.01)),
            0.45f,
            1.3f);
    }

    private static void Fibula(BodyBuilder knee)
    {
        Shape body = new SmoothUnion(
            4,
            new Loft(
                false,
                Section.Round(-250, 6.2, -33, -16),
                Section.Round(-110, 5.6, -36, -20),
                Section.Round(-60, 5.4, -37.5, -24),
                Section.Oval(-44, 6.6, 7, -37.5, -24.5),
                Section.Oval(-32, 10.2, 10.5, -36.5, -24.5),
                Section.Oval(-24, 10.6, 11, -35.8, -24.5),
                Section.Oval(-18.5, 7.5, 8, -36.2, -25.5),
                Section.Oval(-15, 3.4, 3.6, -37.2, -27),
                Section.Oval(-13.8, 0.6, 0.6, -37.4, -27)));
        knee.Long(
            "fibula",
            () => body,
            V(-36, -14, -24),
            V(-34, -250, -18),
            new Curve((0, 0.8), (22, 0.9), (45, 1.8), (80, 2.6)),
            new Curve((0, 0.2), (25, 0.13), (50, 0.04), (80, 0.01)));
    }

    private static void Patella(BodyBuilder knee)
    {
        Shape body = new Plate(
            [(0, 57.5), (9, 56.5), (17, 52), (21.5, 44), (21.5, 36), (17, 26), (9, 15.5), (0, 10.5), (-9, 15.5), (-18, 26), (-22, 36), (-22, 44), (-17.5, 52), (-9, 56.5)],
            new Curve((10, 31), (22, 29), (35, 27.5), (50, 29.5), (58, 33)),
            new Curve((10, 40), (22, 46.5), (38, 49), (52, 47.5), (58, 43)),
            new Curve((10, 4.5), (30, 8), (58, 5)),
            0.4);
        knee.Short("patella", () => new Posed(new Pose(V(-2, 0, -2.5), Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ), body), 0.65, 0.12, Vector3.UnitY, 0.42f);
    }
}
