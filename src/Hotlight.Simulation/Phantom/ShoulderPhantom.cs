using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right shoulder with the upper arm, the shoulder blade, the collar bone and the upper chest. Own frame: x lateral, y up, z to the front, origin at the centre of the humeral head, in mm.</summary>
internal sealed class ShoulderPhantom : PartPhantom
{
    /// <summary>Breadth of the shoulders of a child of eight over an adult's; common knowledge, no source.</summary>
    private const double ChildFactor = 0.7;

    /// <summary>Where the body's middle plane lies.</summary>
    private const double MidlineX = -172;

    /// <summary>The arm moves neither the lung nor the ribs.</summary>
    private static readonly Lazy<Shape> RightLung = new(Lung);

    private static readonly ConcurrentDictionary<float, Lazy<List<Tube>>> RibsOf = new();

    public override string Name => "shoulder";

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("armRotation", 0, -20, 90, "Turns the arm inwards; at 0 the greater tubercle lies in profile on the lateral side."),
        new("armAbduction", 10, 0, 90, "Lifts the arm to the side; the shoulder blade stays."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Right shoulder seen from the front: lateral on the viewer's left.
        new("ap", new Pose(Vector3.Zero, -Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "glenohumeralCentre", "shoulder-ap-external-rotation"),
        new("ap-internal", new Pose(Vector3.Zero, -Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "glenohumeralCentre", "shoulder-ap-internal-rotation")
        {
            Joints = new Dictionary<string, double> { ["armRotation"] = 85 },
        },

        // The tube looks along the blade from its medial border; the front is on the viewer's left.
        new("scapular-y", Sideways(), "glenohumeralCentre", "scapular-y") { Joints = new Dictionary<string, double> { ["armRotation"] = 40, ["armAbduction"] = 4 } },

        // From the armpit upwards, 25 degrees to the middle: lateral on the viewer's left, front at the top.
        new("axial", Upwards(), "glenohumeralCentre", "shoulder-inferosuperior-axial") { Joints = new Dictionary<string, double> { ["armAbduction"] = 85 } },
    ];

    protected override Body Draw(PartForm form)
    {
        UpperLimbDrawing shoulder = new("shoulder", form.Size, ChildFactor);
        shoulder.MarkFree("glenohumeralCentre", V(-22, 2, 0));
        double abduction = Setting(form, "armAbduction");
        Pose arm = About(Vector3.Zero, Vector3.UnitZ, abduction);
        shoulder.Joint = About(Vector3.Zero, Vector3.UnitY, -Setting(form, "armRotation")).Within(arm);
        Humerus(shoulder);
        shoulder.Joint = ShoulderBones.Scapular;
        Scapula(shoulder);
        shoulder.Joint = Pose.Identity;
        Clavicle(shoulder);

        float thick = (float)(0.7 + (0.3 * form.Habitus));
        Shape skin = Skin(arm, thick);
        Body body = new()
        {
            Bones = shoulder.Bones,
            Landmarks = shoulder.Landmarks,
            Skin = shoulder.Sized(skin),
            Muscle = shoulder.Sized(new Inset(skin, 5.5f * (float)form.Habitus)),
            FatPads = shoulder.Sized(new Posed(arm, new TaperedCapsule(V(26, 18, 0), V(34, -14, 0), 2, 1.4f))),
            Air = shoulder.Sized(RightLung.Value),
            SoftCellMm = 3,
            Fibres = Vector3.Normalize(V(-0.5, -1, 0)),
            FatPlanes = 0.08f,
        };
        body.Tubes.AddRange(RibsOf.GetOrAdd(shoulder.Factor, factor => new Lazy<List<Tube>>(() => Ribs(factor))).Value);
        return body;
    }

    private static Pose Sideways()
    {
        Vector3 medial = -ShoulderBones.Scapular.X;
        Vector3 front = ShoulderBones.Scapular.Z;
        return Rows(-front, -Vector3.UnitY, medial);
    }

    private static Pose Upwards()
    {
        float c = MathF.Cos(25 * MathF.PI / 180);
        float s = MathF.Sin(25 * MathF.PI / 180);
        return Rows(new Vector3(-c, -s, 0), -Vector3.UnitZ, new Vector3(s, -c, 0));
    }

    /// <summary>The pose whose room axes are the given directions of the part.</summary>
    private static Pose Rows(Vector3 x, Vector3 y, Vector3 z)
        => new(Vector3.Zero, new Vector3(x.X, y.X, z.X), new Vector3(x.Y, y.Y, z.Y), new Vector3(x.Z, y.Z, z.Z));

    private static Shape Skin(Pose arm, float thick)
    {
        Shape torso = new QuadrantLoft(
            new(-330, MidlineX - 150, MidlineX + 150, -108 * thick, 104 * thick, MidlineX, -5, 2.4),
            new(-240, MidlineX - 156, MidlineX + 156, -110 * thick, 108 * thick, MidlineX, -5, 2.5),
            new(-150, MidlineX - 162, MidlineX + 162, -112 * thick, 108 * thick, MidlineX, -8, 2.6),
            new(-80, MidlineX - 165, MidlineX + 165, -108 * thick, 92 * thick, MidlineX, -10, 2.5),
            new(-30, MidlineX - 160, MidlineX + 160, -102 * thick, 74 * thick, MidlineX, -16, 2.4),
            new(10, MidlineX - 150, MidlineX + 150, -98 * thick, 56, MidlineX, -20, 2.3),
            new(40, MidlineX - 130, MidlineX + 130, -90 * thick, 42, MidlineX, -24, 2.2),
            new(58, MidlineX - 96, MidlineX + 96, -76, 34, MidlineX, -22, 2),
            new(76, MidlineX - 66, MidlineX + 66, -58, 32, MidlineX, -16, 2));
        Shape neck = new TaperedCapsule(V(MidlineX, 50, -10), V(MidlineX, 180, 4), 54, 56);
        Shape cap = new SmoothUnion(14, new Ellipsoid(V(2, 4, -9), V(47, 52, 56 * thick)), new Ellipsoid(V(-36, 22, -24), V(58, 37, 57 * thick)));
        Shape limb = new Posed(arm, new QuadrantLoft(
            new(-270, -36 * thick, 56 * thick, -44 * thick, 44 * thick, 10, 0),
            new(-180, -36 * thick, 56 * thick, -46 * thick, 46 * thick, 10, 0),
            new(-110, -34 * thick, 56 * thick, -47 * thick, 47 * thick, 10, 0),
            new(-50, -30 * thick, 52 * thick, -48 * thick, 48 * thick, 10, 0),
            new(-10, -26, 47, -44, 44, 8, 0),
            new(20, -18, 36, -34, 34, 6, 0),
            new(36, -6, 18, -14, 14, 6, 0)));
        return new SmoothUnion(18, torso, neck, cap, limb);
    }

    private static Shape Lung() => new QuadrantLoft(
        new(-330, MidlineX + 14, MidlineX + 118, -82, 72, MidlineX + 60, -10, 2.5),
        new(-220, MidlineX + 16, MidlineX + 120, -84, 70, MidlineX + 60, -10, 2.4),
        new(-140, MidlineX + 18, MidlineX + 113, -82, 60, MidlineX + 60, -12, 2.3),
        new(-80, MidlineX + 18, MidlineX + 98, -76, 44, MidlineX + 56, -16, 2.2),
        new(-35, MidlineX + 20, MidlineX + 80, -66, 24, MidlineX + 50, -20, 2),
        new(0, MidlineX + 22, MidlineX + 63, -54, 4, MidlineX + 44, -24, 2),
        new(18, MidlineX + 28, MidlineX + 51, -42, -10, MidlineX + 40, -26, 2),
        new(25, MidlineX + 34, MidlineX + 44, -32, -20, MidlineX + 39, -26, 2));

    private static void Humerus(UpperLimbDrawing shoulder)
    {
        shoulder.Long(
            "humerus",
            ShoulderBones.Humerus,
            V(9, 26, 0),
            V(9, -255, 0),
            [(0, 0.7), (26, 0.6), (52, 0.9), (76, 2), (110, 3.6), (150, 4.2), (280, 4.4)],
            [(0, 0.22), (26, 0.19), (30, 0.19), (32, 0.24), (34, 0.18), (56, 0.1), (90, 0.03), (130, 0.01)],
            [new GrowthPlate("proximal epiphysis", V(8, -15, 0), V(-0.12, 1, 0), 2.4f, 1)]);
        shoulder.Mark("humeralHeadTop", "humerus", V(-2, 25, -1));
        shoulder.Mark("humeralHeadMedial", "humerus", V(-25, 2, -4));
        shoulder.Mark("greaterTubercle", "humerus", V(30, -2, -2));
        shoulder.Mark("greaterTubercleTop", "humerus", V(17, 20, -4));
        shoulder.Mark("lesserTubercle", "humerus", V(3.6, -5, 27));
        shoulder.Mark("surgicalNeckLateral", "humerus", V(25, -45, 0));
    }

    private static void Scapula(UpperLimbDrawing shoulder)
    {
        bool child = shoulder.IsChild;
        shoulder.Short("scapula", () => ShoulderBones.Scapula(child), 0.9, 0.22, Vector3.UnitX, 0.2f);
        shoulder.Mark("glenoidCentre", "scapula", V(-28, 0, 0));
        shoulder.Mark("glenoidAnteriorRim", "scapula", V(-22.5, -6, 15.4));
        shoulder.Mark("glenoidPosteriorRim", "scapula", V(-22.5, -6, -15.4));
        shoulder.Mark("glenoidSuperiorRim", "scapula", V(-22, 19, 0));
        shoulder.Mark("glenoidInferiorRim", "scapula", V(-20.5, -23, 0));
        shoulder.Mark("coracoidTip", "scapula", V(-18, 8, 44));
        shoulder.Mark("acromionTip", "scapula", child ? V(-3, 41, -12) : V(2, 48, 10));
        shoulder.Mark("acromialAngle", "scapula", V(-12, 31, -46));
        shoulder.Mark("inferiorAngle", "scapula", V(-113, -120, 2));
        shoulder.Mark("superiorAngle", "scapula", V(-115, 42, 2));
        shoulder.Mark("lateralBorder", "scapula", V(-69, -66, 5));
        shoulder.Mark("medialBorder", "scapula", V(-131, -50, 1));
    }

    private static void Clavicle(UpperLimbDrawing shoulder)
    {
        shoulder.Long(
            "clavicle",
            ShoulderBones.Clavicle,
            V(-14, 42, -10),
            V(-160, 25, 25),
            [(0, 0.7), (14, 1), (34, 2), (70, 2.5), (110, 2), (135, 0.8), (160, 0.6)],
            [(0, 0.22), (24, 0.16), (44, 0.08), (90, 0.07), (120, 0.13), (160, 0.2)]);
        shoulder.Mark("clavicleLateralEnd", "clavicle", V(-14, 42, -12));
        shoulder.Mark("clavicleMedialEnd", "clavicle", V(-163, 23, 25));
    }

    /// <summary>The first seven ribs of this side, round the lung.</summary>
    private static List<Tube> Ribs(float factor)
    {
        List<Tube> ribs = [];
        double[] heads = [22, 2, -20, -43, -67, -92, -118];
        double[] drops = [34, 58, 76, 90, 100, 108, 114];
        double[] halves = [58, 80, 96, 107, 114, 118, 120];
        double[] fronts = [20, 36, 50, 60, 66, 70, 72];
        for (int rib = 0; rib < heads.Length; rib++)
        {
            List<TubeStation> stations = [];
            const int Pieces = 48;
            for (int piece = 0; piece <= Pieces; piece++)
            {
                double share = piece / (double)Pieces;
                double turn = (10 + (150 * share)) * Math.PI / 180;
                double back = -64 - (5 * Math.Min(rib, 4));
                double middle = (fronts[rib] + back) / 2;
                double x = MidlineX + (halves[rib] * Math.Pow(Math.Sin(turn), turn < Math.PI / 2 ? 0.86 : 1));
                double y = heads[rib] - (drops[rib] * Math.Pow(share, 1.25));
                double z = middle + ((back - middle) * Math.Sign(Math.Cos(turn)) * Math.Pow(Math.Abs(Math.Cos(turn)), 0.85));
                float height = (float)((rib == 0 ? 8 : 6.4) * (0.78 + (0.22 * Math.Min(1, share * 4))));
                stations.Add(new TubeStation(V(x, y, z) * factor, height * factor, (float)(3.4 - (0.4 * share)) * factor));
            }

            Vector3 up = Vector3.Normalize(V(rib == 0 ? 0.5 : 0.1, 1, rib < 2 ? 0.5 : 0.12));

            ribs.Add(new Tube(stations, up, 0.85f * factor, 0.13f));
        }

        return ribs;
    }
}
