using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A pelvis with both hips, on its back. Own frame: x to the patient's left, y up, z to the front, origin midway between the hips, in mm.</summary>
/// <remarks>Neck-shaft angle 127 degrees (129.2 on average in 375 femora: Clin Orthop 2009;467:876), hips 176 mm apart; other proportions are common anatomical knowledge, no source.</remarks>
internal sealed class PelvisPhantom : PartPhantom
{
    /// <summary>The neck points forwards against the knee's axis by this much, so that this much internal rotation lays it flat.</summary>
    public const double AnteversionDegrees = 15;

    private const float ChildScale = 0.68f;
    private static readonly Pose Supine = new(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ);
    private static readonly Dictionary<string, double> Inwards = new() { ["hipRotation"] = 15 };
    private static readonly Dictionary<string, double> Frog = new() { ["hipRotation"] = -30, ["hipAbduction"] = 42, ["hipFlexion"] = 45 };

    public override string Name => "pelvis";

    protected override bool DiffersBySeed => true;

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("hipRotation", 0, -30, 30, "Turns both thighs inwards."),
        new("hipAbduction", 0, -5, 45, "Moves both thighs apart."),
        new("hipFlexion", 0, 0, 60, "Raises both thighs to the front."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // On the back, the patient's left on the viewer's right, thighs turned inwards.
        new("ap", Supine, "pelvisCentre", "pelvis-ap") { Joints = Inwards },
        new("frog", Supine, "hipsCentre", "pelvis-ap-frog") { Joints = Frog },
        new("hip-ap", Supine, "rightFemoralNeck", "hip-ap") { Joints = Inwards },
        new("hip-frog", Supine, "rightFemoralNeck", "hip-frog-lateral") { Joints = Frog },
    ];

    protected override Body Draw(PartForm form)
    {
        float scale = form.Size == BodySize.Child ? ChildScale : 1;
        PelvisBones drawn = PelvisBones.Of(form.Size);
        BodyBuilder pelvis = new($"pelvis/{form.Size}");
        Pose left = Thigh(Setting(form, "hipRotation"), Setting(form, "hipAbduction"), Setting(form, "hipFlexion"));
        Dictionary<string, Pose> sides = new() { ["left"] = Pose.Identity, ["right"] = PelvisBones.Mirror };
        foreach (LimbBone bone in drawn.Middle)
        {
            bone.AddTo(pelvis, scale);
        }

        foreach ((string side, Pose mirror) in sides)
        {
            pelvis.Joint = mirror;
            (drawn.Hip with { Name = side + drawn.Hip.Name }).AddTo(pelvis, scale);
            pelvis.Joint = Scaled(left, scale).Within(mirror);
            foreach (LimbBone bone in drawn.Thighs)
            {
                (bone with { Name = side + bone.Name }).AddTo(pelvis, scale);
            }
        }

        Mark(pelvis, drawn, sides, left, scale);
        (Shape skin, Shape muscle) = Soft(left, (float)form.Habitus);
        Shape gas = Gas(form.Seed);
        return new Body
        {
            Bones = pelvis.Bones,
            Landmarks = pelvis.Landmarks,
            Skin = scale == 1 ? skin : new Scaled(scale, skin),
            Muscle = scale == 1 ? muscle : new Scaled(scale, muscle),
            Gas = scale == 1 ? gas : new Scaled(scale, gas),
            FatPlanes = 0.16f,
            SoftCellMm = 3,
        };
    }

    private static Pose Scaled(Pose pose, float scale) => pose with { Origin = scale * pose.Origin };

    /// <summary>The left femur's frame in the pelvis.</summary>
    private static Pose Thigh(double inwardsDegrees, double apartDegrees, double raisedDegrees)
    {
        // Turned about its own length first, then raised about the cross axis, then moved outwards. With no inward turn the neck points forwards.
        Pose turned = About(Vector3.Zero, Vector3.UnitY, AnteversionDegrees - inwardsDegrees);
        Pose raised = turned.Within(About(Vector3.Zero, Vector3.UnitX, -raisedDegrees));
        Pose apart = raised.Within(About(Vector3.Zero, Vector3.UnitZ, apartDegrees));
        return apart with { Origin = PelvisBones.Hip0 };
    }

    private static (Shape Skin, Shape Muscle) Soft(Pose left, float habitus)
    {
        float grown = (habitus - 1) * 60;
        Shape trunk = new Loft(
            true,
            new Section(-104, -44, 44, -56, 22),
            new Section(-98, -76, 76, -74, 38),
            new Section(-84, -112, 112, -90, 52),
            new Section(-58, -158 - (0.5f * grown), 158 + (0.5f * grown), -104, 66),
            new Section(-20, -176 - (0.6f * grown), 176 + (0.6f * grown), -114, 74),
            new Section(20, -176 - (0.7f * grown), 176 + (0.7f * grown), -114 - (0.3f * grown), 80 + (0.4f * grown)),
            new Section(80, -166 - (0.8f * grown), 166 + (0.8f * grown), -108 - (0.3f * grown), 88 + (0.8f * grown)),
            new Section(140, -156 - grown, 156 + grown, -100 - (0.4f * grown), 92 + grown),
            new Section(230, -152 - grown, 152 + grown, -96 - (0.4f * grown), 94 + grown));

        // The thigh follows the femur's shaft; its own turn does not show on the skin.
        Vector3 down = left.TurnToOuter(PelvisBones.Shaft);
        Vector3 start = left.ToOuter(V(34, -30, -8));
        Pose along = Pose.Along(start + (230 * down), start, Vector3.UnitZ);
        Shape thigh = new Posed(along, new Loft(
            false,
            new Section(0, -70 - (0.5f * grown), 70 + (0.5f * grown), -72 - (0.5f * grown), 68 + (0.5f * grown)),
            new Section(110, -80 - (0.6f * grown), 76 + (0.6f * grown), -82 - (0.6f * grown), 72 + (0.5f * grown)),
            new Section(190, -82 - (0.6f * grown), 76 + (0.6f * grown), -88 - (0.6f * grown), 70 + (0.5f * grown)),
            new Section(240, -72, 66, -86, 60),
            new Section(262, -50, 48, -66, 46)));
        Shape right = new Posed(PelvisBones.Mirror, thigh);
        Shape thighs = new SmoothUnion(3, thigh, right);
        Shape skin = new SmoothUnion(30, trunk, thighs);
        float layer = 15 + (0.35f * grown);
        return (skin, new Inset(skin, MathF.Max(5, layer)));
    }

    /// <summary>Gas in the bowel, differing between people.</summary>
    private static Shape Gas(ulong seed)
    {
        ulong state = seed * 0x9E3779B97F4A7C15;
        float Next()
        {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            return (state >> 40) / (float)(1 << 24);
        }

        List<Shape> bubbles = [];

        // Caecum and ascending colon on the patient's right, descending and sigmoid on the left, rectum in the middle.
        (Vector3 At, float Spread, int Count, float Radius)[] loops =
        [
            (V(-98, 88, 30), 26, 16, 8), (V(-96, 150, 30), 24, 10, 9), (V(98, 100, 24), 22, 9, 8), (V(62, 52, 30), 30, 9, 9), (V(8, 30, -14), 26, 12, 10), (V(-20, 140, 50), 60, 8, 8),
        ];
        foreach ((Vector3 at, float spread, int count, float radius) in loops)
        {
            Vector3 place = at + (0.4f * spread * V(Next() - 0.5, Next() - 0.5, 0));
            for (int k = 0; k < count; k++)
            {
                Vector3 next = at + (spread * V((2 * Next()) - 1, (2 * Next()) - 1, (0.6 * Next()) - 0.3));
                float size = radius * (0.5f + (0.7f * Next()));
                bubbles.Add(new Ellipsoid(Vector3.Lerp(place, next, 0.75f), V(size, size * (0.6 + (0.5 * Next())), size * 0.8)));
                place = next;
            }
        }

        return new SmoothUnion(5, [.. bubbles]);
    }

    private static void Mark(BodyBuilder pelvis, PelvisBones drawn, Dictionary<string, Pose> sides, Pose left, float scale)
    {
        Shape hip = drawn.Whole["hipBone"];
        Shape femur = drawn.Whole["femur"];
        Shape sacrum = drawn.Whole["sacrum"];
        pelvis.Joint = Pose.Identity;
        pelvis.Mark("pelvisCentre", scale * V(0, 40, 0));
        pelvis.Mark("hipsCentre", Vector3.Zero);
        pelvis.Mark("symphysisCentre", scale * V(0, -48, 40));
        pelvis.Mark("coccyxTip", scale * V(0, -38.4, -29.6));
        pelvis.Mark("sacralCrest", scale * LimbBone.OnSurface(sacrum, V(0, 60, -80)));
        pelvis.Mark("sacralPromontory", scale * LimbBone.OnSurface(sacrum, V(0, 86, -8)));
        foreach ((string side, Pose mirror) in sides)
        {
            pelvis.Joint = mirror;
            void On(string name, Vector3 near) => pelvis.Mark(side + name, scale * LimbBone.OnSurface(hip, near));
            void End(string name, Vector3 near, Vector3 direction) => pelvis.Mark(side + name, scale * LimbBone.Furthest(hip, near, Vector3.Normalize(direction)));
            End("AnteriorSuperiorIliacSpine", V(122, 74, 50), V(0.2, -0.1, 1));
            End("IliacCrest", V(100, 154, -8), Vector3.UnitY);
            End("IliacWingLateral", V(143, 110, 20), Vector3.UnitX);
            End("IliacWingMedial", V(45, 70, -60), -Vector3.UnitX);
            End("IschialTuberosity", V(58, -87, -20), -Vector3.UnitY);
            End("IschialSpine", V(54, -12, -42), V(-1, 0, -0.6));
            On("SymphysisUpper", V(10, -24, 42));
            On("SymphysisMargin", V(2.4, -46, 40));
            On("ObturatorForamenMedial", V(24, -52, 34));
            On("ObturatorForamenLateral", V(54, -50, -14));
            On("ObturatorForamenUpper", V(44, -32, 30));
            On("ObturatorForamenLower", V(38, -76, 12));
            On("AcetabularRoof", PelvisBones.Hip0 + V(4, 27, 0));
            On("AcetabularRim", PelvisBones.Hip0 + V(17, 23, -2));
            pelvis.Joint = Scaled(left, scale).Within(mirror);
            void Thigh(string name, Vector3 near, Vector3 direction) => pelvis.Mark(side + name, scale * LimbBone.Furthest(femur, near, Vector3.Normalize(direction)));
            pelvis.Mark(side + "FemoralHeadCentre", Vector3.Zero);
            pelvis.Mark(side + "FemoralNeck", scale * V(20, -19, 0));
            Thigh("GreaterTrochanterTip", V(53, 3, -6), Vector3.UnitY);
            Thigh("GreaterTrochanterLateral", V(68, -24, 0), Vector3.UnitX);
            Thigh("LesserTrochanter", V(21, -72, -24), V(-0.6, 0, -1));
            pelvis.Mark(side + "FemoralShaftMedial", scale * LimbBone.OnSurface(femur, V(20.6, -82, 2)));
        }
    }
}
