using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A right foot with the ankle and the lower third of the leg. Own frame: x medial, y proximal, z along the foot to the toes, origin on top of the talar dome, in mm.</summary>
/// <remarks>Proportions are common anatomical knowledge, no source, where no figure is given beside them.</remarks>
internal sealed class FootPhantom : PartPhantom
{
    private const float ChildScale = 0.77f;

    private static readonly float Cosine = (float)Math.Cos(FootBones.MortiseDegrees * Math.PI / 180);
    private static readonly float Sine = (float)Math.Sin(FootBones.MortiseDegrees * Math.PI / 180);

    // The ankle's axis along the central ray, the lateral side on the receptor, toes to the viewer's left.
    private static readonly Pose Sideways = new(Vector3.Zero, new Vector3(Sine, 0, Cosine), -Vector3.UnitY, new Vector3(-Cosine, 0, Sine));

    public override string Name => "foot";

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("ankleDorsiflexion", 0, -35, 20, "Raises the foot against the resting leg."),
        new("legForward", 0, -40, 20, "Leans the leg forwards over the resting foot."),
        new("toeExtension", 0, -20, 40, "Raises the toes at the ball of the foot."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Right foot from the front: lateral on the viewer's left, the foot's long axis upright.
        new("ankle-ap", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "ankleCentre", "ankle-ap"),

        // Leg and foot turned inwards until both malleoli are as far from the receptor.
        new("ankle-mortise", new Pose(Vector3.Zero, new Vector3(Cosine, 0, -Sine), -Vector3.UnitY, new Vector3(Sine, 0, Cosine)), "ankleCentre", "ankle-mortise"),
        new("ankle-lateral", Sideways, "medialMalleolusCentre", "ankle-lateral"),

        // Sole on a wedge of 10 degrees, toes raised: the same as the tube angled to the heel by that much.
        new("foot-dp", Soled(10, 0), "thirdMetatarsalBase", "foot-dp") { Joints = new Dictionary<string, double> { ["legForward"] = -35 } },

        // Lateral side raised by 35 degrees.
        new("foot-oblique", Soled(0, 35), "thirdMetatarsalBase", "foot-oblique") { Joints = new Dictionary<string, double> { ["legForward"] = -35 } },
        new("foot-lateral", Sideways, "medialCuneiformCentre", "foot-lateral"),
    ];

    protected override Body Draw(PartForm form)
    {
        float scale = form.Size == BodySize.Child ? ChildScale : 1;
        FootBones drawn = FootBones.Of(form.Size);
        BodyBuilder foot = new($"foot/{form.Size}");
        Vector3 axis = FootBones.Mortise.X;
        Vector3 hinge = scale * V(0, -20, 0);
        double toes = Setting(form, "toeExtension");
        Pose leg = About(hinge, axis, Setting(form, "legForward"));
        Pose sole = About(hinge, axis, -Setting(form, "ankleDorsiflexion"));
        Dictionary<string, Pose> joints = new() { ["leg"] = leg, ["foot"] = sole };
        for (int toe = 0; toe < 5; toe++)
        {
            joints[$"toe{toe + 1}"] = About(scale * FootBones.Heads[toe], Vector3.UnitX, -toes).Within(sole);
        }

        foreach (LimbBone bone in drawn.Bones)
        {
            foot.Joint = joints[bone.Segment];
            bone.AddTo(foot, scale);
        }

        Mark(foot, drawn, joints, scale);
        (Shape skin, Shape muscle, Shape fat) = Soft(drawn.ToePaths, joints, scale, (float)form.Habitus);
        return new Body
        {
            Bones = foot.Bones,
            Landmarks = foot.Landmarks,
            Skin = skin,
            Muscle = muscle,
            FatPads = fat,
            Fibres = leg.TurnToOuter(Vector3.UnitY),
            FatPlanes = 0.1f,
            SoftCellMm = 1.8f,
        };
    }

    /// <summary>The sole towards the receptor, toes up in the image, hallux to the viewer's left for a right foot.</summary>
    private static Pose Soled(double toesRaisedDegrees, double lateralRaisedDegrees)
    {
        Pose flat = new(Vector3.Zero, -Vector3.UnitX, Vector3.UnitZ, -Vector3.UnitY);
        return flat.Within(About(Vector3.Zero, Vector3.UnitY, -lateralRaisedDegrees)).Within(About(Vector3.Zero, Vector3.UnitX, -toesRaisedDegrees));
    }

    private static (Shape Skin, Shape Muscle, Shape Fat) Soft(Vector3[][] paths, Dictionary<string, Pose> joints, float scale, float habitus)
    {
        float grown = (habitus - 1) * 14;
        float small = (habitus - 1) * 4;
        Shape shin = new Loft(
            false,
            new Section(-34, -40, 34, -50, 28),
            new Section(-18, -44, 37, -50, 36),
            new Section(0, -43.5 - small, 37.5 + small, -49 - small, 37 + small),
            new Section(20, -42 - small, 36 + small, -49 - small, 36 + small),
            new Section(50, -41 - grown, 34 + grown, -51 - grown, 32.5f + grown),
            new Section(90, -43 - grown, 35 + grown, -55 - grown, 30 + grown),
            new Section(150, -48 - grown, 41 + grown, -64 - grown, 27 + grown),
            new Section(262, -58 - grown, 52 + grown, -82 - grown, 30 + grown));
        Vector3 medial = FootBones.Mortise.ToOuter(V(25, -5, 2));
        Vector3 lateral = FootBones.Mortise.ToOuter(V(-30, -12, -8));
        Shape ankles = new SmoothUnion(6, new Ellipsoid(medial, V(11, 17, 15)), new Ellipsoid(lateral, V(12, 20, 15)));

        // Along the foot: local y to the toes, z dorsal.
        Pose lie = new(Vector3.Zero, -Vector3.UnitX, Vector3.UnitZ, Vector3.UnitY);
        Shape body = new Posed(lie, new Loft(
            false,
            new Section(-67, -14, 12, -78, -46),
            new Section(-63, -22, 21, -86, -38),
            new Section(-54, -28, 29, -91, -26),
            new Section(-38, -31, 35, -93, -16),
            new Section(-10, -33, 38, -93, 2),
            new Section(15, -34, 39.5, -92, 0),
            new Section(35, -36, 46, -91, -4),
            new Section(60, -39, 49.5, -91, -11),
            new Section(85, -42, 50, -91, -22),
            new Section(110, -44, 50, -92, -38),
            new Section(130, -46, 48.5, -93, -49),
            new Section(146, -44, 45, -93, -53),
            new Section(157, -36, 38, -91, -64),
            new Section(163, -31, 32, -88, -67),
            new Section(166, -20, 20, -84, -71)));
        Shape ball = new Posed(lie, new Loft(true, new Section(-58, -20, 22, -91.5, -60), new Section(-20, -26, 36, -91.5, -58), new Section(60, -33, 43, -91, -60), new Section(110, -39, 47, -91.5, -62), new Section(138, -40, 42, -92, -66), new Section(147, -35, 34, -91, -70), new Section(152, -22, 18, -87, -75)));
        List<Shape> toes = [];
        double[] radii = [11.5, 8.2, 7.8, 7.6, 8];
        for (int toe = 0; toe < 5; toe++)
        {
            // The pulp lies on the plantar side of the bone and reaches beyond its tip.
            Vector3[] path = paths[toe];
            Vector3 pulp = V(0, -2, 0);
            float radius = (float)radii[toe];
            List<Shape> pieces = [];
            for (int k = 1; k < path.Length; k++)
            {
                pieces.Add(new TaperedCapsule(path[k - 1] + pulp, path[k] + pulp, k == 1 ? radius + 1.5f : radius, k == path.Length - 1 ? radius * (toe == 0 ? 1 : 0.88f) : radius));
            }

            toes.Add(new Posed(Unscaled(joints[$"toe{toe + 1}"], scale), new SmoothUnion(5, [.. pieces])));
        }

        Pose sole = Unscaled(joints["foot"], scale);
        Pose leg = Unscaled(joints["leg"], scale);
        Shape soled = new SmoothUnion(5, [new Posed(sole, new SmoothUnion(10, body, ball)), .. toes]);
        Shape skin = new SmoothUnion(14, soled, new Posed(leg, new SmoothUnion(5, shin, ankles)));
        Shape achilles = new Posed(leg, new TaperedCapsule(V(-3, 110, -48), V(-3, -20, -45.5), 5, 3.6f));
        Shape pad = new Posed(sole, new Ellipsoid(V(-2, -94, -42), V(44, 16, 34)));
        Shape muscle = new SmoothUnion(3, new SmoothCut(10, new Inset(skin, 3.6f + (2 * small)), pad), achilles);
        Shape fat = new SmoothUnion(
            3,
            new Posed(leg, new Loft(false, new Section(-28, -8, 4, -44, -38), new Section(-20, -15, 10, -45, -32), new Section(-6, -18, 13, -44, -29), new Section(15, -17, 12, -42.5, -28), new Section(45, -13, 8, -42.5, -32), new Section(80, -8, 4, -43.5, -38), new Section(105, -4, -1, -44, -42))),
            new Posed(sole, new Ellipsoid(V(4, -14, 26), V(10, 5, 5))));
        return scale == 1 ? (skin, muscle, fat) : (new Scaled(scale, skin), new Scaled(scale, muscle), new Scaled(scale, fat));
    }

    private static Pose Unscaled(Pose pose, float scale) => pose with { Origin = pose.Origin / scale };

    private static void Mark(BodyBuilder foot, FootBones drawn, Dictionary<string, Pose> joints, float scale)
    {
        foot.Joint = joints["leg"];
        foot.Mark("ankleCentre", Vector3.Zero);
        void On(string landmark, string bone, Vector3 near)
        {
            Shape surface = drawn.Whole[bone];
            foot.Mark(landmark, scale * LimbBone.OnSurface(surface, near));
        }

        void End(string landmark, string bone, Vector3 near, Vector3 direction)
        {
            Shape surface = drawn.Whole[bone];
            foot.Mark(landmark, scale * LimbBone.Furthest(surface, near, direction));
        }

        Pose mortise = FootBones.Mortise;
        foot.Mark("medialMalleolusCentre", scale * mortise.ToOuter(V(25, -5, 1)));
        End("medialMalleolusTip", "tibia", mortise.ToOuter(V(23, -17, 6)), -Vector3.UnitY);
        End("lateralMalleolusTip", "fibula", mortise.ToOuter(V(-28, -28, -10)), -Vector3.UnitY);
        On("tibialPlafondMedial", "tibia", mortise.ToOuter(V(10, 3, 0)));
        On("tibialPlafondLateral", "tibia", mortise.ToOuter(V(-10, 3, 0)));
        On("tibialPlafondAnterior", "tibia", mortise.ToOuter(V(0, -2, 18)));
        On("tibialPlafondPosterior", "tibia", mortise.ToOuter(V(0, -8, -20)));
        On("tibiaAnteriorTubercle", "tibia", mortise.ToOuter(V(-22, 8, 14)));
        On("tibiaPosteriorTubercle", "tibia", mortise.ToOuter(V(-20, 8, -17)));
        On("tibiaIncisura", "tibia", mortise.ToOuter(V(-19, 10, -3)));
        On("fibulaMedialBorder", "fibula", mortise.ToOuter(V(-21, 10, -6)));
        On("fibulaAnteriorBorder", "fibula", mortise.ToOuter(V(-29, 10, 3)));
        On("fibulaPosteriorBorder", "fibula", mortise.ToOuter(V(-29, 10, -19)));
        foot.Joint = joints["foot"];
        On("talarDomeMedialTop", "talus", mortise.ToOuter(V(11.5, 0, 0)));
        On("talarDomeLateralTop", "talus", mortise.ToOuter(V(-11.5, 0, 0)));
        On("talusMedialFacet", "talus", mortise.ToOuter(V(15, -8, 2)));
        On("talusLateralFacet", "talus", mortise.ToOuter(V(-15.5, -8, -4)));
        End("talusLateralProcess", "talus", mortise.ToOuter(V(-21, -35, 6)), -mortise.X);
        End("talarHead", "talus", V(9.5, -29, 41), Vector3.UnitZ);
        End("calcanealTuberosity", "calcaneus", V(-2, -52, -59), -Vector3.UnitZ);
        End("calcaneusPlantar", "calcaneus", V(0, -76, -44), -Vector3.UnitY);
        On("calcaneusCuboidFacet", "calcaneus", V(-14, -54, 28));
        End("navicularTuberosity", "navicular", V(31, -42, 40), Vector3.UnitX);
        foot.Mark("medialCuneiformCentre", scale * V(18, -46, 68));
        foot.Mark("thirdMetatarsalBase", scale * LimbBone.OnSurface(drawn.Whole["thirdMetatarsal"], V(-10, -33, 80)));
        End("fifthMetatarsalBase", "fifthMetatarsal", V(-40, -60, 54), -Vector3.UnitZ);
        string[] names = ["first", "second", "third", "fourth", "fifth"];
        for (int ray = 0; ray < 5; ray++)
        {
            End(names[ray] + "MetatarsalHead", names[ray] + "Metatarsal", FootBones.Heads[ray] + V(0, 0, 7), Vector3.UnitZ);
        }

        for (int toe = 0; toe < 5; toe++)
        {
            foot.Joint = joints[$"toe{toe + 1}"];
            End(toe == 0 ? "halluxTip" : names[toe] + "ToeTip", names[toe] + "DistalPhalanx", FootBones.Heads[toe] + V(0, 0, toe == 0 ? 64 : 50 - (4 * toe)), Vector3.UnitZ);
        }
    }
}
