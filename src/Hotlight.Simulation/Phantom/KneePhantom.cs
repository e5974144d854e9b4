using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right knee. Own frame: x medial, y proximal, z anterior, origin at the middle of the joint space, in mm.</summary>
/// <remarks>Bicondylar width about 80 mm, condyle depth about 60 mm (Anat Res Int 2012:679658 gives 88.6 and 61.1 for men, 78.5 and 55.9 for women); other proportions are common anatomical knowledge, no source.</remarks>
internal sealed class KneePhantom : PartPhantom
{
    private const float ChildScale = 0.74f;

    private static readonly Vector3 PatellaApex = V(-2, 12, 38);
    private static readonly Vector3 Tuberosity = V(-3.5, -41, 26);
    private static readonly ConcurrentDictionary<double, Pose> PatellaAt = new();

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
        float scale = form.Size == BodySize.Child ? ChildScale : 1;
        KneeBones drawn = KneeBones.Of(form.Size);
        double bendDegrees = Setting(form, "kneeFlexion");

        // A share of the bend goes to the leg so that the knee stays upright in the image. Poses are those of the grown-up.
        Pose leg = About(Vector3.Zero, Vector3.UnitX, -0.42 * bendDegrees);
        Pose thigh = About(V(0, 23, -14), Vector3.UnitX, -bendDegrees).Within(leg);
        Pose patella = Patella(bendDegrees).Within(leg);
        Dictionary<string, Pose> joints = new() { ["leg"] = leg, ["thigh"] = thigh, ["patella"] = patella };
        BodyBuilder knee = new($"knee/{form.Size}");
        foreach (LimbBone bone in drawn.Bones)
        {
            knee.Joint = Scaled(joints[bone.Segment], scale);
            bone.AddTo(knee, scale);
        }

        Mark(knee, drawn, joints, scale);
        (Shape skin, Shape muscle, Shape fat) = Soft(joints, (float)form.Habitus);
        return new Body
        {
            Bones = knee.Bones,
            Landmarks = knee.Landmarks,
            Skin = scale == 1 ? skin : new Scaled(scale, skin),
            Muscle = scale == 1 ? muscle : new Scaled(scale, muscle),
            FatPads = scale == 1 ? fat : new Scaled(scale, fat),
            Fibres = leg.TurnToOuter(Vector3.UnitY),
            FatPlanes = 0.16f,
        };
    }

    private static Pose Scaled(Pose pose, float scale) => pose with { Origin = scale * pose.Origin };

    /// <summary>Where the patella lies on a bent knee, in the leg's frame: its tendon keeps its length and its back keeps its distance from the femur.</summary>
    private static Pose Patella(double bendDegrees)
    {
        if (bendDegrees == 0)
        {
            return Pose.Identity;
        }

        return PatellaAt.GetOrAdd(bendDegrees, _ =>
        {
            Shape femur = KneeBones.Of(BodySize.Adult).Whole["femur"];
            Pose thigh = About(V(0, 23, -14), Vector3.UnitX, -bendDegrees);
            float atRest = Gap(femur, Pose.Identity, Pose.Identity);
            float tendon = Vector3.Distance(PatellaApex, Tuberosity);

            // More turn lifts the apex off the tuberosity; the tendon says how far.
            // On its way round, the patella leans with its upper pole towards the femur, along the trochlea.
            double spin = 9 * Math.Sin(Math.PI * Math.Min(bendDegrees, 90) / 90);
            double low = 0;
            double high = bendDegrees;
            Pose found = Pose.Identity;
            for (int round = 0; round < 20; round++)
            {
                double turn = 0.5 * (low + high);
                found = Resting(femur, thigh, turn, spin, atRest);
                if (Vector3.Distance(found.ToOuter(PatellaApex), Tuberosity) > tendon)
                {
                    high = turn;
                }
                else
                {
                    low = turn;
                }
            }

            return found;
        });
    }

    /// <summary>The patella turned about the condyles' middle, then moved along its own depth until its gap to the femur is the resting one.</summary>
    private static Pose Resting(Shape femur, Pose thigh, double turnDegrees, double spinDegrees, float gap)
    {
        Pose turned = About(V(-2, 36, 38), Vector3.UnitX, -spinDegrees).Within(About(V(0, 23, -14), Vector3.UnitX, -turnDegrees));
        float near = -30;
        float far = 20;
        for (int round = 0; round < 14; round++)
        {
            float move = 0.5f * (near + far);
            Pose moved = turned with { Origin = turned.Origin + (move * turned.Z) };
            if (Gap(femur, thigh, moved) < gap)
            {
                near = move;
            }
            else
            {
                far = move;
            }
        }

        return turned with { Origin = turned.Origin + (far * turned.Z) };
    }

    private static float Gap(Shape femur, Pose thigh, Pose patella)
    {
        float least = float.MaxValue;
        foreach ((float x, float z) in (ReadOnlySpan<(float, float)>)[(-20, 33.5f), (-14, 30.5f), (-8, 28.4f), (-2.4f, 26.8f), (4, 29.4f), (10, 31.6f), (16, 34.4f)])
        {
            for (float y = 20; y <= 54; y += 4)
            {
                float back = z + (0.013f * (y - 36.5f) * (y - 36.5f));
                least = MathF.Min(least, femur.Distance(thigh.ToLocal(patella.ToOuter(new Vector3(x, y, back)))));
            }
        }

        return least;
    }

    private static (Shape Skin, Shape Muscle, Shape Fat) Soft(Dictionary<string, Pose> joints, float habitus)
    {
        float grown = (habitus - 1) * 26;
        Pose lower = joints["leg"];
        Pose upper = joints["thigh"];
        Shape thigh = new Posed(upper, new Loft(
            false,
            new Section(-6, -50, 50, -46, 40),
            new Section(25, -51, 51, -49, 46),
            new Section(60, -54 - (0.4f * grown), 53 + (0.4f * grown), -53 - (0.4f * grown), 51),
            new Section(110, -63 - grown, 58 + grown, -62 - grown, 57 + grown),
            new Section(262, -80 - grown, 70 + grown, -80 - grown, 68 + grown)));
        Shape quadriceps = new Posed(upper, new TaperedCapsule(V(-3, 72, 32), V(-8, 140, 36), 6, 17));
        Shape cap = new Posed(joints["patella"], new Ellipsoid(V(-2, 34, 34), V(36, 36, 20)));
        Shape leg = new Posed(lower, new Loft(
            false,
            new Section(-262, -48 - grown, 48 + grown, -70 - grown, 33),
            new Section(-150, -54 - grown, 54 + grown, -70 - grown, 34),
            new Section(-90, -53 - grown, 52 + grown, -62 - grown, 34),
            new Section(-45, -52 - (0.4f * grown), 49 + (0.4f * grown), -53 - (0.4f * grown), 36),
            new Section(-10, -51, 50, -49, 39),
            new Section(14, -48, 48, -46, 38)));
        Shape fibularHead = new Posed(lower, new TaperedCapsule(V(-36, -22, -22), V(-31, -60, -26), 17, 18));
        Shape skin = new SmoothUnion(26, leg, fibularHead, thigh, cap);
        Vector3 apex = joints["patella"].ToOuter(V(-2, 13, 39.5));
        Vector3 tuberosity = lower.ToOuter(V(-3.5, -41, 26));
        Vector3 crown = joints["patella"].ToOuter(V(-3, 56, 39));
        Shape muscle = new SmoothUnion(
            4,
            new Inset(skin, 6.5f + (0.5f * grown)),
            quadriceps,
            new TaperedCapsule(apex, tuberosity, 3, 3.2f),
            new TaperedCapsule(crown, upper.ToOuter(V(-4, 88, 33)), 3.4f, 4));

        // Fat behind the patellar tendon, above the patella on both sides of the joint's recess, and behind the knee.
        Vector3 hoffa = Vector3.Lerp(apex, tuberosity, 0.3f);
        Vector3 behind = Vector3.Lerp(Vector3.Lerp(apex, tuberosity, 0.45f), lower.ToOuter(V(-1, 4, 16)), 0.62f);
        Shape fat = new SmoothUnion(
            4,
            new TaperedCapsule(hoffa + (9 * Direction(apex, tuberosity)) + lower.TurnToOuter(V(9, 0, -9)), behind + lower.TurnToOuter(V(9, 0, 0)), 6.5f, 6.5f),
            new TaperedCapsule(hoffa + (9 * Direction(apex, tuberosity)) + lower.TurnToOuter(V(-11, 0, -9)), behind + lower.TurnToOuter(V(-11, 0, 0)), 6.5f, 6.5f),
            new Posed(upper, new TaperedCapsule(V(-2, 66, 20.5), V(-4, 92, 18.5), 3.6f, 2.2f)),
            new TaperedCapsule(crown + joints["patella"].TurnToOuter(V(0, 3, -6.5)), upper.ToOuter(V(-3, 76, 28)), 2.6f, 1.4f),
            new Posed(upper, new Ellipsoid(V(0, 62, -32), V(15, 34, 8))),
            new Posed(lower, new Ellipsoid(V(0, 6, -45), V(13, 26, 6))));
        return (skin, muscle, fat);
    }

    private static Vector3 Direction(Vector3 from, Vector3 to) => Vector3.Normalize(to - from);

    private static void Mark(BodyBuilder knee, KneeBones drawn, Dictionary<string, Pose> joints, float scale)
    {
        void Segment(string segment) => knee.Joint = Scaled(joints[segment], scale);
        void On(string landmark, string bone, Vector3 near) => knee.Mark(landmark, scale * LimbBone.OnSurface(drawn.Whole[bone], near));
        void End(string landmark, string bone, Vector3 near, Vector3 direction) => knee.Mark(landmark, scale * LimbBone.Furthest(drawn.Whole[bone], near, direction));
        Segment("leg");
        knee.Mark("jointCentre", Vector3.Zero);
        End("medialTibialPlateauEdge", "tibia", V(39, -9, -3), Vector3.UnitX);
        End("lateralTibialPlateauEdge", "tibia", V(-39, -10, -2), -Vector3.UnitX);
        On("medialTibialPlateau", "tibia", V(22.5, -4, -3));
        On("lateralTibialPlateau", "tibia", V(-22, -3.5, -3));
        On("tibialPlateauAnterior", "tibia", V(6, -5, 22));
        On("tibialPlateauPosterior", "tibia", V(14, -9, -28));
        End("medialTibialSpine", "tibia", V(5, 3, -1), Vector3.UnitY);
        End("lateralTibialSpine", "tibia", V(-5.6, 2, -4), Vector3.UnitY);
        On("tibialTuberosity", "tibia", V(-4, -38, 26));
        End("fibularHeadApex", "fibula", V(-39.4, -13.5, -27), Vector3.UnitY);
        On("fibularHeadMedialBorder", "fibula", V(-28, -29, -25));
        End("fibularHeadLateralBorder", "fibula", V(-48.4, -28, -25), -Vector3.UnitX);
        On("lateralTibialMetaphysis", "tibia", V(-32.5, -27, -6));
        Segment("thigh");
        End("medialFemoralCondyleDistal", "femur", V(24, 2, -4), -Vector3.UnitY);
        End("lateralFemoralCondyleDistal", "femur", V(-23, 3, -4), -Vector3.UnitY);
        End("medialFemoralCondylePosterior", "femur", V(24, 28, -36), -Vector3.UnitZ);
        End("lateralFemoralCondylePosterior", "femur", V(-24, 28, -34), -Vector3.UnitZ);
        End("medialFemoralEpicondyle", "femur", V(44, 28, -4), Vector3.UnitX);
        End("lateralFemoralEpicondyle", "femur", V(-42, 28, -6), -Vector3.UnitX);
        On("adductorTubercle", "femur", V(40, 47, -8));
        On("trochlearGroove", "femur", V(-1, 32, 26));
        On("intercondylarNotchRoof", "femur", V(0, 16, 0));
        knee.Mark("femoralShaftNear", scale * V(-2.6, 70, 0.3));
        knee.Mark("femoralShaftFar", scale * V(-5.7, 98, 0.6));
        Segment("patella");
        End("patellaApex", "patella", V(-2, 10.5, 38), -Vector3.UnitY);
        End("patellaBase", "patella", V(-3, 57.5, 38), Vector3.UnitY);
        End("patellaMedial", "patella", V(20, 40, 38), Vector3.UnitX);
        End("patellaLateral", "patella", V(-23, 40, 37), -Vector3.UnitX);
        End("patellaPosteriorRidge", "patella", V(-2.4, 37, 26.8), -Vector3.UnitZ);
    }
}
