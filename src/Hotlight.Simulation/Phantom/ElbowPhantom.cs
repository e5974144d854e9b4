using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right elbow bent to 90 degrees, medial side on the receptor. Own frame: x along the forearm to the hand, y along the arm to the shoulder, z to the lateral side, origin at the middle of the trochlea, in mm.</summary>
/// <remarks>Proportions are common anatomical knowledge, no source; shapes are drawn for this project.</remarks>
internal sealed class ElbowPhantom : PartPhantom
{
    public override string Name => "elbow";

    public override IReadOnlyList<JointRange> Joints { get; } = [];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        new("lateral", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "trochleaCentre", "elbow-lateral"),
    ];

    protected override Body Draw(PartForm form)
    {
        BodyBuilder elbow = new($"elbow/{form.Size}");
        elbow.Mark("trochleaCentre", Vector3.Zero);
        Humerus(elbow);
        Ulna(elbow);
        Radius(elbow);

        // The forearm's loft runs along x: its own y is the forearm, its own x points to the shoulder.
        Pose alongForearm = new(Vector3.Zero, Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        Shape forearm = new Posed(alongForearm, new Loft(
            false,
            new Section(-44, -22, 18, -22, 20),
            new Section(-30, -36, 30, -32, 30),
            new Section(0, -42, 40, -38, 37),
            new Section(40, -43, 43, -40, 41),
            new Section(80, -41, 40, -38, 39),
            new Section(140, -36, 30, -32, 32),
            new Section(230, -30, 22, -26, 26)));
        Shape arm = new Loft(
            false,
            new Section(-30, -28, 20, -30, 30),
            new Section(0, -36, 34, -37, 37),
            new Section(30, -39, 38, -38, 38),
            new Section(70, -44, 41, -39, 39),
            new Section(130, -52, 47, -44, 44),
            new Section(220, -58, 52, -50, 50));
        Shape skin = new SmoothUnion(30, forearm, arm);
        return new Body
        {
            Bones = elbow.Bones,
            Landmarks = elbow.Landmarks,
            Skin = elbow.Place(skin),
            Muscle = elbow.Place(new Inset(skin, 5)),
            FatPads = elbow.Place(new SmoothUnion(2, new TaperedCapsule(V(7.5, 13, -4), V(5.5, 25, -2), 3.4f, 1.6f), new TaperedCapsule(V(22, 22, 6), V(70, 14, 8), 1.4f, 1.2f))),
            Fibres = elbow.Turn(Vector3.Normalize(V(1, 0.2, 0))),
            FatPlanes = 0.16f,
        };
    }

    private static void Humerus(BodyBuilder elbow)
    {
        // Trochlea and capitulum: turned about an axis that runs to the lateral side.
        Pose spool = new(Vector3.Zero, Vector3.UnitX, Vector3.UnitZ, Vector3.UnitY);
        Shape condyles = new Posed(spool, new Loft(
            false,
            Section.Round(-24, 11.6),
            Section.Round(-21.5, 13.4),
            Section.Round(-18, 13.2),
            Section.Round(-10, 9.6),
            Section.Round(-3, 11.2),
            Section.Round(0.5, 11.4),
            Section.Round(3.5, 10.6),
            Section.Round(10, 11.4, 1, 0),
            Section.Round(16, 9.4, 1.2, 0),
            Section.Round(20, 5.2, 0, 0),
            Section.Round(21.5, 2, 0, 0)));
        Shape shaft = new Loft(
            false,
            new Section(24, -14.5, -2, -17, 16),
            new Section(36, -17, -1, -16, 15),
            new Section(55, -20, -0.5, -13, 13),
            new Section(90, -22, -0.5, -11.5, 11.5),
            new Section(140, -23, -0.5, -11.5, 11.5),
            new Section(240, -25, 0, -12, 12));
        Shape medialPillar = new SmoothUnion(5, new TaperedCapsule(V(-3, 4, -19), V(-11, 36, -9), 7, 6), new TaperedCapsule(V(-5, 6, -22), V(-8, 9, -32), 7, 4.6f));
        Shape lateralPillar = new SmoothUnion(5, new TaperedCapsule(V(-2, 4, 13), V(-11, 36, 8), 7, 6), new TaperedCapsule(V(-3, 6, 17), V(-5, 9, 24), 6.5f, 4.6f));
        Shape web = new Plate([(3, 6), (1.5, 14), (-4, 26), (-14, 28), (-15, 22), (-11, 12), (-5, 6)], -16, 13, 4);
        Shape whole = new SmoothUnion(4, condyles, shaft, medialPillar, lateralPillar, web);
        Shape fossae = new SmoothUnion(1, new Ellipsoid(V(-17.5, 16, -9), V(11.5, 9.5, 10)), new Ellipsoid(V(6.5, 17.5, -8), V(9, 7, 9)), new Ellipsoid(V(7.5, 16, 9), V(7, 5, 7)));
        elbow.Long(
            "humerus",
            () => new SmoothCut(1.5f, whole, fossae),
            V(-10, -14, 0),
            V(-12, 240, 0),
            new Curve((0, 0.8), (24, 0.8), (42, 1.3), (60, 2.6), (90, 3.8), (200, 4.2)),
            new Curve((0, 0.22), (22, 0.19), (45, 0.08), (70, 0.02)));
    }

    private static void Ulna(BodyBuilder elbow)
    {
        // Drawn from the side: local y is along the forearm, local x to the shoulder.
        Pose side = new(Vector3.Zero, Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        (double X, double Y)[] lateral =
        [
            (4.5, 13.4), (4.8, 16), (1.5, 18.4), (-3.5, 21), (-7, 27), (-8.6, 38), (-9.5, 60), (-9.5, 100), (-8.5, 150), (-7.5, 240),
            (-19.5, 240), (-21.5, 150), (-24, 100), (-26, 60), (-27.8, 38), (-29, 18), (-28.6, 3), (-27, -9), (-22, -19.5), (-13, -25.5), (-2, -27.5), (8, -26.5),
            (15, -22), (17.6, -16.8), (15.4, -13), (9.5, -11.4), (2, -12.6), (-4.5, -11.6), (-10, -7.6), (-12.4, -1), (-11, 5.2), (-7.4, 9.4), (-2, 11.9),
        ];
        Shape body = new Plate(
            lateral,
            new Curve((-28, -20), (-5, -22), (15, -22), (35, -19), (70, -17), (120, -15), (240, -12)),
            new Curve((-28, -1), (-5, 1), (15, 1), (35, -3), (70, -4), (120, -2), (240, 3)),
            new Curve((-28, 7), (-14, 4), (12, 3.4), (30, 6), (60, 6.5)),
            0.35);
        elbow.Long(
            "ulna",
            () => new Posed(side, body),
            V(-28, 0, 0),
            V(240, 0, 0),
            new Curve((0, 1.1), (28, 1.1), (50, 1.6), (80, 2.8), (130, 3.4)),
            new Curve((0, 0.2), (28, 0.18), (50, 0.1), (80, 0.03), (120, 0.01)));
    }

    private static void Radius(BodyBuilder elbow)
    {
        // Along the forearm: its own y is the forearm's x, its own x points to the shoulder, z lateral.
        Pose along = new(V(0, 0, 10.5), Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        Shape body = new SmoothUnion(
            4,
            new Loft(
                false,
                Section.Round(13.4, 9.6, 0.3),
                Section.Round(14.4, 11, 0.3),
                Section.Round(17, 11.6, 0.3),
                Section.Round(20.5, 11.3, 0.2),
                Section.Round(24, 9, 0),
                Section.Round(28, 7.4, -0.5),
                Section.Round(34, 7, -1.5),
                Section.Round(46, 7.6, -3),
                Section.Round(70, 7, -4.5, -1),
                Section.Round(120, 7.2, -4, -2),
                Section.Round(240, 8, -2, -6)),
            new TaperedCapsule(V(-4.5, 40, -4), V(-5.5, 47, -4), 5, 5));
        Shape cup = new Ellipsoid(V(0.3, 2.2, 0), V(13, 13, 13));
        elbow.Long(
            "radius",
            () => new SmoothCut(1, new Posed(along, body), new Posed(along, cup)),
            V(13, 0, 10),
            V(240, 0, 8),
            new Curve((0, 0.9), (10, 0.9), (18, 1.7), (35, 2.2), (60, 3.0)),
            new Curve((0, 0.26), (10, 0.18), (20, 0.08), (40, 0.05), (60, 0.01)));
    }
}
