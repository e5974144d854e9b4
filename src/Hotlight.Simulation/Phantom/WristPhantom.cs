using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right hand and wrist with the forearm. Own frame: x radial, y distal, z dorsal, origin at the head of the capitate, in mm.</summary>
/// <remarks>Proportions without a source beside them are common anatomical knowledge; shapes are drawn for this project.</remarks>
internal sealed class WristPhantom : PartPhantom
{
    /// <summary>Hand length of a child of eight over an adult's; common knowledge, no source.</summary>
    private const double ChildFactor = 0.76;

    private static readonly Pose Palm = new(Vector3.Zero, -Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ);
    private static readonly Pose Edge = Palm.Within(Pose.Turned(Vector3.Zero, 0, 90, 0));
    private static readonly Pose Half = Palm.Within(Pose.Turned(Vector3.Zero, 0, 45, 0));
    private static readonly WristCarpus Bones = new();

    public override string Name => "wrist";

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("fingerFlexion", 0, 0, 80, "Bends the joints of the four fingers towards the palm."),
        new("fingerFan", 0, 0, 16, "Bends each finger more than its neighbour on the ulnar side, so that they lie apart in a lateral view."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        new("pa", Palm, "wristCentre", "wrist-pa"),
        new("oblique", Half, "wristCentre", "wrist-oblique"),
        new("lateral", Edge, "wristCentre", "wrist-lateral"),
        new("hand-pa", Palm, "handCentre", "hand-pa"),
        new("hand-oblique", Half, "handCentre", "hand-oblique"),
        new("hand-lateral", Edge, "handCentre", "hand-lateral") { Joints = new Dictionary<string, double> { ["fingerFan"] = 14 } },
    ];

    protected override Body Draw(PartForm form)
    {
        UpperLimbDrawing wrist = new("wrist", form.Size, ChildFactor);
        wrist.MarkFree("wristCentre", V(0, 2, 0));
        wrist.MarkFree("handCentre", V(1.5, 88, 0));
        Forearm(wrist);
        Carpus(wrist);
        List<Shape> digits = WristHand.Draw(wrist, Bones, Pose.Identity, Setting(form, "fingerFlexion"), Setting(form, "fingerFan"));
        wrist.Joint = Pose.Identity;
        if (!wrist.IsChild)
        {
            Sesamoids(wrist);
        }

        float thick = (float)(0.75 + (0.25 * form.Habitus));
        Shape forearm = new QuadrantLoft(
            new(-205, -50, 40, -31 * thick, 27 * thick, 0, 0),
            new(-140, -44, 34, -28 * thick, 24 * thick, 0, 0),
            new(-80, -36.5, 27.5, -23 * thick, 19.5 * thick, -3, 0),
            new(-40, -34.5, 27, -20.5 * thick, 18.5 * thick, -3, 0, 2.2),
            new(-12, -34, 28.5, -19.5, 18, -3, 0, 2.3),
            new(8, -34, 31, -20, 16.5, -4, 0, 2.3),
            new(26, -36.5, 34, -21, 15, -4, 0, 2.3),
            new(48, -41, 36, -19.5, 14, -4, 0, 2.3),
            new(74, -45.5, 37, -17, 13, -4, 0, 2.4),
            new(86, -45, 36, -15.5, 12.4, -4, 0, 2.4),
            new(93, -42, 34, -14, 11, -4, 0, 2.2),
            new(98, -35, 30, -10, 8, -4, 0, 2));
        Shape thenar = new SmoothUnion(10, new Ellipsoid(V(20, 34, -15), V(15, 26, 12)), new Ellipsoid(V(-25, 34, -12), V(13, 30, 11)));
        Shape skin = wrist.Sized(new SmoothUnion(11, [forearm, thenar, .. digits]));
        return new Body
        {
            Bones = wrist.Bones,
            Landmarks = wrist.Landmarks,
            Skin = skin,
            Muscle = new Inset(skin, 2.3f * wrist.Factor * (float)form.Habitus),
            FatPads = wrist.Sized(new SmoothUnion(
                3,
                new Ellipsoid(V(4, -38, -10.6), V(14, 17, 1.3)),
                new TaperedCapsule(V(20, -2, -4), V(24, 12, -7), 1.3f, 1f))),
            SoftCellMm = 1.6f,
            Fibres = Vector3.UnitY,
            FatPlanes = 0.13f,
        };
    }

    private static void Forearm(UpperLimbDrawing wrist)
    {
        wrist.Long(
            "radius",
            Bones.Radius,
            V(8, -205, 0),
            V(8, 0, 0),
            [(0, 3), (130, 2.9), (152, 2.2), (168, 1.1), (182, 0.6), (192, 0.55), (205, 0.7)],
            [(0, 0.01), (128, 0.02), (152, 0.07), (170, 0.15), (184, 0.18), (185.4, 0.19), (186.2, 0.24), (187, 0.19), (205, 0.27)],
            [new GrowthPlate("distal epiphysis", V(6, -19, 0), V(-0.06, 1, 0), 1.8f, 1.6f)]);
        wrist.Mark("radialStyloid", "radius", V(20.6, -1.4, -1));
        wrist.Mark("radiusUlnarCorner", "radius", V(-9.6, -12.6, 0));
        wrist.Mark("radiusCentre", "radius", V(0.5, -10, 0));
        wrist.Mark("radiusPalmarRim", "radius", V(3, -8, -9));
        wrist.Mark("radiusDorsalRim", "radius", V(3, -4.5, 8.4));
        wrist.Mark("listerTubercle", "radius", V(4, -12, 12));
        wrist.Mark("sigmoidNotch", "radius", V(-9.4, -17, 0));
        wrist.Long(
            "ulna",
            () => Bones.Ulna,
            V(-20, -205, 0),
            V(-20, 0, 0),
            [(0, 2.8), (130, 2.5), (158, 1.8), (172, 0.9), (184, 0.55)],
            [(0, 0.01), (130, 0.03), (158, 0.1), (172, 0.16), (190, 0.22)],
            [new GrowthPlate("distal epiphysis", V(-20, -21.6, 0), Vector3.UnitY, 2.2f, 1.9f)]);
        wrist.Mark("ulnarStyloid", "ulna", V(-25, -9.4, 3.4));
        wrist.Mark("ulnarHead", "ulna", V(-11.9, -18, 0));
    }

    private static void Carpus(UpperLimbDrawing wrist)
    {
        wrist.Short("scaphoid", () => Bones.Scaphoid, 0.36, 0.25);
        wrist.Mark("scaphoidTubercle", "scaphoid", V(19, 8, -15));
        wrist.Mark("scaphoidProximalPole", "scaphoid", V(7, -8.8, 0));
        wrist.Short("lunate", () => Bones.Lunate, 0.36, 0.26);
        wrist.Mark("lunatePalmarHorn", "lunate", V(-4.4, 3, -9.6));
        wrist.Mark("lunateDorsalHorn", "lunate", V(-4.4, 2.6, 7.6));
        wrist.Short("triquetrum", () => Bones.Triquetrum, 0.36, 0.25);
        if (!wrist.IsChild)
        {
            wrist.Short("pisiform", WristCarpus.Pisiform, 0.36, 0.24);
            wrist.Mark("pisiformPalmar", "pisiform", V(-18, 2, -15));
        }

        wrist.Short("capitate", () => Bones.Capitate, 0.36, 0.25);
        wrist.Mark("capitateHead", "capitate", V(-0.6, 1, 0));
        wrist.Mark("capitatePalmar", "capitate", V(0, 14, -9));
        wrist.Short("hamate", () => Bones.Hamate, 0.36, 0.24);
        wrist.Mark("hamateHook", "hamate", V(-11.4, 16.8, -17));
        wrist.Short("trapezoid", () => Bones.Trapezoid, 0.34, 0.25);
        wrist.Short("trapezium", () => Bones.Trapezium, 0.36, 0.25);
    }

    private static void Sesamoids(UpperLimbDrawing wrist)
    {
        Ray thumb = WristHand.Rays[0];
        Pose first = Pose.Along(thumb.Base, thumb.Base + thumb.Directions[0], thumb.Dorsal);
        wrist.Short("radial sesamoid", () => new Posed(first, new Ellipsoid(V(4.2, 40, -9.6), V(2.2, 2.9, 1.9))), 0.5, 0.3);
        wrist.Short("ulnar sesamoid", () => new Posed(first, new Ellipsoid(V(-4, 40.5, -9.6), V(2.4, 2.8, 1.9))), 0.5, 0.3);
        Ray little = WristHand.Rays[4];
        Pose fifth = Pose.Along(little.Base, little.Base + little.Directions[0], little.Dorsal);
        wrist.Short("fifth sesamoid", () => new Posed(fifth, new Ellipsoid(V(-2, 45.4, -8.6), V(1.6, 2, 1.4))), 0.5, 0.3);
    }
}
