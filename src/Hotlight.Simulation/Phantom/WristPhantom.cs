using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right wrist with hand and forearm. Own frame: x radial, y distal, z dorsal, origin at the head of the capitate, in mm.</summary>
/// <remarks>Proportions are common anatomical knowledge, no source; shapes are drawn for this project.</remarks>
internal sealed class WristPhantom : PartPhantom
{
    private static readonly Pose Palm = new(Vector3.Zero, -Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ);

    public override string Name => "wrist";

    public override IReadOnlyList<JointRange> Joints { get; } = [];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        new("pa", Palm, "wristCentre", "wrist-pa"),
        new("lateral", Palm.Within(Pose.Turned(Vector3.Zero, 0, 90, 0)), "wristCentre", "wrist-lateral"),
    ];

    protected override Body Draw(PartForm form)
    {
        BodyBuilder wrist = new($"wrist/{form.Size}");
        wrist.Mark("wristCentre", V(0, 2, 0));
        Radius(wrist);
        Ulna(wrist);
        Carpus(wrist);
        Metacarpals(wrist);

        Shape forearm = new Loft(
            false,
            new Section(-190, -50, 40, -30, 26),
            new Section(-140, -44, 34, -27, 23),
            new Section(-80, -36, 27, -22, 19),
            new Section(-30, -34, 27.5, -20, 18.5),
            new Section(-5, -33.5, 28, -20, 18),
            new Section(20, -36.5, 33, -21, 16),
            new Section(45, -42, 37, -20, 15),
            new Section(75, -46.5, 38, -17, 14.5),
            new Section(150, -47, 37, -12, 13));
        Shape thumb = new SmoothUnion(
            8,
            new TaperedCapsule(V(19, 14, -9), V(45, 56, -19), 15, 12.5f),
            new TaperedCapsule(V(45, 56, -19), V(57, 86, -22), 12, 11),
            new TaperedCapsule(V(57, 86, -22), V(63, 108, -22), 10.5f, 8.5f));
        Shape skin = new SmoothUnion(22, forearm, thumb);
        return new Body
        {
            Bones = wrist.Bones,
            Landmarks = wrist.Landmarks,
            Skin = wrist.Place(skin),
            Muscle = wrist.Place(new Inset(skin, 2.6f)),
            FatPads = wrist.Place(new Ellipsoid(V(4, -38, -9.5), V(15, 17, 1.3))),
            Fibres = wrist.Turn(Vector3.UnitY),
            FatPlanes = 0.13f,
        };
    }

    private static void Radius(BodyBuilder wrist)
    {
        Shape block = new Plate(
            [
                (0.5, -200), (1, -150), (2, -110), (2.5, -75), (1.5, -52), (-1, -40), (-5, -31), (-9, -25.5), (-10.2, -22), (-9.7, -19.5), (-10.6, -16.6),
                (-8, -14.2), (-3, -12.5), (3, -10.3), (8, -7.6), (13, -4.8), (17, -1.9), (20, -0.6), (21.8, -4), (21.9, -9), (21.4, -15),
                (20, -24), (17.6, -36), (16.3, -50), (16, -75), (15.6, -110), (14.5, -150), (13.5, -200),
            ],
            new Curve((-200, -6.5), (-90, -6), (-55, -6.5), (-35, -8.5), (-20, -10.5), (-10, -9.5), (0, -6)),
            new Curve((-200, 5.5), (-90, 5.5), (-55, 6), (-35, 8.5), (-20, 11), (-12, 10.5), (0, 6)),
            new Curve((-90, 5.5), (-50, 5.5), (-25, 5), (-12, 3.2), (0, 3)),
            0.4);
        Shape fossa = new SmoothUnion(
            3,
            new Posed(Pose.Turned(V(9.6, 8.6, -1), 0, 0, 25), new Ellipsoid(Vector3.Zero, V(16, 16.4, 17.5))),
            new Ellipsoid(V(-3.6, -2.6, -1), V(8.6, 12.4, 16)));
        wrist.Long(
            "radius",
            () => new SmoothCut(0.8f, block, fossa),
            V(8, -200, 0),
            V(8, 0, 0),
            new Curve((0, 3), (130, 2.9), (150, 2.2), (165, 1.1), (178, 0.75), (190, 0.95)),
            new Curve((0, 0.01), (125, 0.02), (150, 0.07), (168, 0.16), (182, 0.21), (190, 0.3), (200, 0.3)));
    }

    private static void Ulna(BodyBuilder wrist)
    {
        Shape block = new Plate(
            [
                (-27, -200), (-26.5, -150), (-26, -110), (-25.3, -75), (-24.6, -50), (-25.4, -37), (-27.4, -28), (-28.4, -21), (-28.3, -15.5), (-27.2, -12.3), (-25.6, -12.6),
                (-24.6, -16), (-22, -17.3), (-17.5, -16.9), (-14, -18), (-12.9, -21.5), (-13.5, -26.5), (-15.6, -34), (-16.4, -50), (-15.6, -75), (-14.6, -110), (-14, -150), (-14, -200),
            ],
            new Curve((-110, -6), (-60, -5.2), (-35, -5.5), (-22, -7.4), (-16, -6.2), (-12, 0)),
            new Curve((-110, 5.5), (-60, 5), (-35, 5.5), (-22, 7.6), (-16, 7), (-12, 5.5)),
            new Curve((-60, 4.6), (-30, 5), (-18, 3.2), (-12, 2.2)),
            0.4);
        wrist.Long(
            "ulna",
            () => block,
            V(-20, -200, 0),
            V(-20, 0, 0),
            new Curve((0, 2.8), (130, 2.5), (155, 1.9), (168, 1), (180, 0.7)),
            new Curve((0, 0.01), (130, 0.03), (158, 0.1), (170, 0.17), (185, 0.24)));
    }

    private static void Carpus(BodyBuilder wrist)
    {
        Shape capitateHead = new Ellipsoid(V(-0.8, 8.2, 0.5), V(8.2, 9.6, 9.4));
        wrist.Short(
            "scaphoid",
            () => new Plate(
                [(4.6, 0.2), (4.4, -4.2), (5.6, -7.2), (8.6, -7.9), (12.6, -5.4), (16.2, -1.6), (18.8, 2.6), (20, 6.8), (18.4, 9.7), (14.8, 10.2), (10.6, 9.2), (7.6, 6.6), (5.4, 3.4)],
                new Curve((-8, -6), (0, -8.5), (6, -12), (10, -12)),
                new Curve((-8, 7), (0, 5), (6, 0), (10, -1)),
                Curve.Constant(4.6), 0.3, 0.55),
            0.5,
            0.27);
        wrist.Short(
            "lunate",
            () => new SmoothCut(
                0.8f,
                new Plate(
                    [(2.7, -1), (2.6, -5.4), (0.9, -9.2), (-3.4, -11.4), (-8.2, -10.4), (-11.2, -7), (-11, -2.8), (-8.6, 0.4), (-4, 2.8), (0.6, 1.8)],
                    -9,
                    8.4,
                    4.2,
                    0.55),
                capitateHead),
            0.5,
            0.27);
        wrist.Short(
            "triquetrum",
            () => new Plate([(-13.2, -5.6), (-12.6, -0.6), (-13, 4), (-16.4, 7.2), (-21, 7.4), (-23, 3.4), (-21.6, -1.8), (-17.4, -6.4)], -6.5, 7, 4.4, 0.8));
        wrist.Short("pisiform", () => new Ellipsoid(V(-18.4, 1.2, -13), V(5.4, 6.6, 4.8)), 0.7, 0.24);
        wrist.Short(
            "capitate",
            () => new Plate(
                [(-2.4, 1.1), (1.4, 1.2), (4.4, 4), (5.4, 8), (5.2, 12.4), (6.7, 17.5), (7.5, 23.4), (5, 26.2), (0, 26.8), (-4.6, 25.6), (-5.5, 20), (-5.3, 13), (-6, 8), (-5, 3.6)],
                new Curve((0, -6.5), (8, -8), (14, -7), (26, -9.5)),
                new Curve((0, 7), (8, 9), (26, 9.5)),
                Curve.Constant(4.6), 0.3, 0.6));
        Shape hamateBody = new Plate(
            [(-7.6, 4.6), (-7.2, 10), (-7, 17), (-7.2, 23.6), (-11.4, 24.9), (-17, 24.2), (-21.4, 21.6), (-21.2, 17.4), (-18.6, 12.2), (-14.6, 8.4), (-10.4, 5)],
            new Curve((4, -5), (14, -7), (24, -7.5)),
            new Curve((4, 6), (14, 9), (24, 9)),
            Curve.Constant(4.2), 0.3, 0.6);
        Shape hook = new TaperedCapsule(V(-14.2, 17, -5), V(-12.2, 16.4, -12.5), 4.4f, 3.4f);
        wrist.Short("hamate", () => new SmoothUnion(3, hamateBody, hook));
        wrist.Short(
            "trapezoid",
            () => new Plate([(7.6, 12.6), (10, 11.2), (13.4, 12), (15.8, 15.2), (15.8, 20.2), (13.6, 24), (10.2, 25.2), (8.8, 22.4), (8, 17.4)], -4.5, 9, 3.6, 0.8));
        wrist.Short(
            "trapezium",
            () => new Plate([(14.6, 12.2), (17.6, 10.6), (21.8, 10.8), (26, 14.6), (28.6, 19), (26.8, 22.4), (22.6, 23.6), (18.4, 23.4), (15.2, 19)], -12, 2.5, 4, 0.8));
    }

    private static void Metacarpals(BodyBuilder wrist)
    {
        Metacarpal(wrist, "first metacarpal", V(27.2, 24.6, -8), V(47.5, 66, -19), 15.5, 9.4, 14.5, V(-0.5, 0.3, 0.8));
        Metacarpal(wrist, "first proximal phalanx", V(48.5, 69, -20), V(60, 96, -22), 14, 8, 10.5, V(-0.5, 0.3, 0.8));
        Metacarpal(wrist, "second metacarpal", V(13, 24.6, 0.5), V(22.5, 93, 1), 17, 8.8, 15.5, Vector3.UnitZ);
        Metacarpal(wrist, "third metacarpal", V(1, 26.6, 1), V(2.5, 94, 2), 14.5, 8.6, 15.5, Vector3.UnitZ);
        Metacarpal(wrist, "fourth metacarpal", V(-10.4, 24.9, 1), V(-16.5, 84, 1.5), 12, 7.4, 13.5, Vector3.UnitZ);
        Metacarpal(wrist, "fifth metacarpal", V(-18.6, 23.8, -0.5), V(-34, 76, -1), 13.5, 7.6, 13, Vector3.UnitZ);
        for (int ray = 0; ray < 4; ray++)
        {
            double[] tips = [22.8, 2.7, -17.2, -35];
            double[] bases = [95.2, 96.2, 86.2, 77.8];
            double[] lean = [0.1, 0, -0.1, -0.25];
            Metacarpal(wrist, $"proximal phalanx {ray + 2}", V(tips[ray], bases[ray], 1), V(tips[ray] + (40 * lean[ray]), bases[ray] + 40, -3), 15, 9, 11.5, Vector3.UnitZ);
        }
    }

    private static void Metacarpal(BodyBuilder wrist, string name, Vector3 from, Vector3 to, double baseMm, double shaftMm, double headMm, Vector3 dorsal)
    {
        double length = Vector3.Distance(from, to);
        Shape shape = new Loft(
            false,
            Section.Oval(0, baseMm * 0.3, baseMm * 0.34),
            Section.Oval(0.8, baseMm * 0.43, baseMm * 0.42),
            Section.Oval(3.5, baseMm * 0.5, baseMm * 0.5, 0, 0.2),
            Section.Oval(8, baseMm * 0.44, baseMm * 0.44, 0, 0.6),
            Section.Oval(length * 0.28, shaftMm * 0.57, shaftMm * 0.55, 0, 1.6),
            Section.Oval(length * 0.5, shaftMm * 0.5, shaftMm * 0.52, 0, 2.2),
            Section.Oval(length * 0.7, shaftMm * 0.56, shaftMm * 0.56, 0, 1.5),
            Section.Oval(length - 8, headMm * 0.49, headMm * 0.47, 0, 0),
            Section.Oval(length - 4, headMm * 0.47, headMm * 0.47, 0, -0.6),
            Section.Oval(length - 1.2, headMm * 0.33, headMm * 0.33, 0, -0.6),
            Section.Oval(length, headMm * 0.08, headMm * 0.08, 0, -0.6));
        Pose pose = Pose.Along(from, to, dorsal);
        wrist.Long(
            name,
            () => new Posed(pose, shape),
            from,
            to,
            new Curve((0, 0.75), (6, 0.8), (length * 0.3, 1.7), (length * 0.5, 2.1), (length * 0.72, 1.4), (length - 8, 0.6), (length, 0.7)),
            new Curve((0, 0.27), (6, 0.2), (length * 0.3, 0.05), (length * 0.55, 0.02), (length * 0.75, 0.09), (length - 6, 0.22), (length, 0.26)));
    }
}
