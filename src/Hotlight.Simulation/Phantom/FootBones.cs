using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;
using static Hotlight.Simulation.Shapes.Outline;

namespace Hotlight.Simulation.Phantom;

/// <summary>The bones of a right lower leg's end and foot as drawn: x medial, y proximal, z along the foot, origin on top of the talar dome, in mm of the grown-up.</summary>
/// <remarks>Neighbours are cut by each other's surfaces grown by the joint's width, so that articular surfaces run parallel.</remarks>
internal sealed class FootBones
{
    /// <summary>The ankle's axis is turned outwards against the foot by this much; internal rotation by 15 to 20 degrees is what the mortise view demands.</summary>
    public const double MortiseDegrees = 16;

    private static readonly Lazy<FootBones> Grown = new(() => new FootBones(false));
    private static readonly Lazy<FootBones> Growing = new(() => new FootBones(true));

    private readonly List<LimbBone> bones = [];
    private readonly bool child;

    private FootBones(bool child)
    {
        this.child = child;
        Draw();
    }

    public IReadOnlyList<LimbBone> Bones => bones;

    /// <summary>Every bone's whole surface, also where a growing bone is in two pieces.</summary>
    public Dictionary<string, Shape> Whole { get; } = [];

    /// <summary>Middle lines of the five toes, from the metatarsal's head to the tip.</summary>
    public Vector3[][] ToePaths { get; } = new Vector3[5][];

    /// <summary>Middles of the heads of the five metatarsals.</summary>
    public static Vector3[] Heads { get; } = [V(25, -71, 141), V(6, -72, 144), V(-8.5, -73.5, 138), V(-22.5, -75, 130), V(-36.5, -76.5, 119)];

    /// <summary>The ankle's own frame: x along its axis to the medial malleolus, z forwards.</summary>
    public static Pose Mortise { get; } = About(Vector3.Zero, Vector3.UnitY, -MortiseDegrees);

    public static FootBones Of(BodySize size) => size == BodySize.Child ? Growing.Value : Grown.Value;

    private static Shape Beyond(Shape bone, float gapMm) => new Inset(bone, -gapMm);

    private void Draw()
    {
        Shape calcaneus = Calcaneus();
        Shape talus = Talus(calcaneus);
        Shape tibia = Tibia(talus);
        Shape fibula = new SmoothCut(1.5f, new Posed(Mortise, Fibula()), Beyond(talus, 2.8f), Beyond(tibia, 1.6f));
        Whole["fibula"] = fibula;
        Tarsus(calcaneus, talus, tibia, fibula);
        Rays();
    }

    private Shape Calcaneus()
    {
        Outline side = FromSide(
        [
            (27.5, -41), (22, -39), (15.5, -40.5), (10, -43.5), (5.5, -45), (1, -42.5), (-4.5, -37.5), (-11.5, -32), (-19, -28.5), (-26, -28.5), (-32, -32), (-40, -35.5), (-48, -37.5), (-54, -38.5),
            (-58, -43), (-59.5, -50), (-59, -58), (-57.5, -66), (-53.5, -72.5), (-47, -76), (-40.5, -75.5), (-35, -72), (-27, -68.5), (-16, -66), (-5, -64.5), (6, -63.5), (15, -63.5), (22, -63.5), (27.5, -60), (29, -54), (28.5, -47),
        ]);
        Outline above = FromAbove(
        [
            (-9, -60), (1, -60), (10, -57), (13, -47), (11, -33), (9, -18), (8, -4), (5, 8), (0, 17), (-2, 26), (-6, 30), (-14, 30), (-22, 28), (-24.5, 20), (-22.5, 8), (-21.5, -6), (-20, -20), (-18.5, -34), (-17.5, -48), (-15, -57),
        ]);
        Outline front = FromFront(
        [
            (-19, -28), (-6, -26), (8, -29), (10.5, -37), (10, -48), (12, -60), (12.5, -70), (7, -76), (-4, -77), (-14, -75), (-21, -69), (-25, -58), (-25.5, -46), (-23, -35),
        ]);
        Shape body = new Silhouettes(8, side, above, front);
        Shape shelf = new SmoothUnion(4, new Ellipsoid(V(9, -40, 4), V(10, 5.5, 10)), new Ellipsoid(V(2, -44, 6), V(8, 7, 14)));
        Shape whole = new SmoothUnion(8, body, shelf);
        Whole["calcaneus"] = whole;
        return whole;
    }

    private Shape Talus(Shape calcaneus)
    {
        Outline side = FromSide(
        [
            (-26.5, -23), (-24, -18), (-20, -12.5), (-15.2, -7), (-8.8, -2.1), (0, 0), (8.8, -2.1), (15.2, -7), (19.5, -13), (22, -18), (22.5, -25), (19, -33), (13, -38), (6, -42), (0, -41), (-8, -38), (-19, -34), (-26, -29),
        ]);
        Outline front = FromFront(
        [
            (-13.8, -0.2), (-7, -0.7), (0, -1), (7, -0.6), (13.6, -0.1), (14.6, -3), (15, -9), (15.2, -17), (15.6, -26), (14, -35), (5, -44), (-8, -44), (-18, -42), (-22.5, -36), (-20.5, -28), (-17, -18), (-15.2, -9), (-14.8, -3),
        ]);
        Outline above = FromAbove(
        [
            (-14, 20), (-6, 24), (6, 24), (14.4, 20), (14.2, 8), (13, -6), (11.5, -16), (7, -25), (0, -29), (-6, -27), (-12.5, -18), (-17, -6), (-21.5, 2), (-22, 9), (-17.5, 14),
        ]);
        Shape body = new Posed(Mortise, new Silhouettes(3.5f, side, front, above));
        Shape neck = new TaperedCapsule(V(-1, -24, 8), V(7, -27, 27), 10, 9.4f);
        Shape head = new SmoothUnion(4, new Ellipsoid(V(9.5, -29, 28.5), V(14.5, 11.8, 12.5)), new Ellipsoid(V(8, -28, 22), V(11.5, 10, 12)));
        Shape whole = new SmoothCut(1.5f, new SmoothUnion(8, body, neck, head), Beyond(calcaneus, 2.6f));
        Whole["talus"] = whole;
        return whole;
    }

    private Shape Tibia(Shape talus)
    {
        Outline front = FromFront(
        [
            (-14, 262), (-13.5, 220), (-13, 180), (-12.8, 140), (-13.2, 105), (-14.5, 75), (-17, 48), (-20, 28), (-22.3, 14), (-22.5, 5), (-20.5, -1), (-14, -3), (0, -3), (10, -3), (16, -4), (21, -8), (26, -9.5), (29.5, -9), (32, 0), (31.5, 9), (28, 24), (23, 44), (18.5, 68), (15.5, 95), (14, 130), (13.8, 170), (14, 215), (14, 262),
        ]);
        Outline side = FromSide(
        [
            (-13, 262), (-13, 220), (-13.2, 180), (-13.6, 140), (-14.6, 100), (-16.5, 65), (-19, 38), (-21.5, 18), (-22.8, 5), (-22.2, -2.5), (-20, -6.8), (-15, -7.2), (0, -4), (11, -4), (16.5, -2.8), (19.6, 2.5), (20, 11), (18, 26), (15.5, 48), (14, 80), (13.5, 120), (14, 170), (14.5, 215), (14.5, 262),
        ]);
        Outline above = FromAbove([(-23, 8), (-21.5, 17), (-14, 20), (0, 20.5), (12, 19.5), (24, 15), (31.5, 8), (32, -3), (26, -13), (16, -20), (3, -23), (-9, -22.5), (-19, -18), (-19.5, -8), (-18.5, 0)]);
        Shape body = new Silhouettes(6, front, side, above);
        Outline malleolusFront = FromFront([(18.6, 10), (18.4, 2), (18.2, -6), (19.5, -13), (23, -17.5), (27, -15.5), (30, -9), (31.6, 0), (31, 8), (27, 20), (21, 20)]);
        Outline malleolusSide = FromSide([(-13, 14), (-12, 2), (-9, -7), (-4.5, -11), (1, -15), (6, -17.5), (10.5, -14.5), (13.5, -6), (15, 4), (13.5, 14), (8, 22), (-7, 22)]);
        Shape malleolus = new Silhouettes(5, malleolusFront, malleolusSide);
        Shape plafond = new TaperedCapsule(V(-60, -20, 0), V(-4, -20, 0), 22.4f, 22.4f);
        Shape whole = new SmoothUnion(3, new Posed(Mortise, body), new Posed(Mortise, malleolus));
        whole = new SmoothCut(1.2f, whole, Beyond(talus, 2.7f), new Posed(Mortise, plafond));
        Whole["tibia"] = whole;
        return whole;
    }

    private static Shape Fibula()
    {
        Outline front = FromFront(
        [
            (-36.5, 262), (-36.8, 210), (-37, 160), (-37, 110), (-37, 70), (-36.6, 40), (-36.8, 20), (-38, 6), (-38.6, -4), (-37.5, -14), (-34.5, -22), (-30, -27.5), (-26.5, -27), (-23, -21), (-19.8, -13), (-18, -5), (-18.6, 4), (-21, 16), (-23.6, 36), (-25, 65), (-25.3, 110), (-25.2, 160), (-25, 210), (-24.5, 262),
        ]);
        Outline side = FromSide(
        [
            (-19, 262), (-19.5, 210), (-20, 160), (-19.6, 110), (-18.4, 70), (-17.6, 40), (-18, 18), (-19.2, 2), (-19.6, -10), (-18, -20), (-13.5, -26.5), (-8, -27.5), (-2, -23), (2.4, -13), (4, -2), (3.2, 8), (0, 20), (-3.5, 36), (-5.6, 62), (-6.6, 110), (-7, 160), (-7, 210), (-6.5, 262),
        ]);
        return new Silhouettes(7, front, side);
    }

    private void Tarsus(Shape calcaneus, Shape talus, Shape tibia, Shape fibula)
    {
        // Navicular: a boat over the talar head, with its tuberosity on the medial and plantar side.
        Outline navicularAbove = FromAbove([(-12, 40), (-9, 50), (-1, 55), (9, 56.5), (19, 54), (27, 48), (31, 40), (30, 32), (25, 31), (18, 34), (10, 36), (0, 33), (-8, 33)]);
        Outline navicularFront = FromFront([(-11, -28), (-5, -21), (4, -17), (13, -18), (21, -23), (28, -32), (32, -42), (29, -50), (21, -49), (12, -49), (3, -48), (-6, -43), (-11, -36)]);
        Outline navicularSide = FromSide([(32, -27), (37, -18), (46, -19), (54, -24), (57, -33), (56, -43), (50, -50), (40, -51), (33, -46), (30, -38)]);
        Shape navicular = new SmoothCut(1.2f, new Silhouettes(5, navicularAbove, navicularFront, navicularSide), Beyond(talus, 2.2f));

        Outline medialAbove = FromAbove([(13, 55), (20, 52), (27, 50), (28, 57), (28.5, 65), (30, 74), (30, 81), (20, 82.5), (11, 82), (9, 75), (10.5, 64)]);
        Outline medialFront = FromFront([(10.5, -31), (16, -26.5), (22, -31), (27, -41), (30, -51), (29, -60), (22, -64), (15.5, -60), (13.5, -50), (11.5, -40)]);
        Outline medialSide = FromSide([(50, -33), (56, -27.5), (66, -28), (76, -31.5), (81.5, -37), (82, -50), (80, -62), (70, -64), (60, -62), (52, -55), (49, -44)]);
        Shape medial = new SmoothCut(1, new Silhouettes(4.5f, medialAbove, medialFront, medialSide), Beyond(navicular, 1.9f));

        Outline middleAbove = FromAbove([(-4, 54), (4, 54), (11.5, 55), (12.5, 64), (11.5, 72.5), (2, 73.5), (-6.5, 72.5), (-5.5, 63)]);
        Outline middleFront = FromFront([(-6.5, -28), (1, -24.5), (11, -26), (12, -34), (7, -43), (3.5, -50), (0, -49), (-3, -40), (-5.5, -33)]);
        Shape middle = new SmoothCut(1, new Silhouettes(2.5f, middleAbove, middleFront, FromSide([(50, -23), (62, -22), (73, -24), (73.6, -36), (72.5, -48), (62, -50), (52, -47), (50, -35)])), Beyond(navicular, 1.9f), Beyond(medial, 1.5f));

        Outline lateralAbove = FromAbove([(-12, 48), (-4, 50), (-2, 62), (-3.5, 76), (-11, 77), (-17.5, 75), (-16.5, 64), (-15, 54)]);
        Outline lateralFront = FromFront([(-18.5, -33), (-12, -27), (-2.5, -26), (-2, -36), (-6, -46), (-8.5, -55), (-12, -55), (-15, -46), (-17.5, -39)]);
        Shape lateral = new SmoothCut(1, new Silhouettes(2.5f, lateralAbove, lateralFront, FromSide([(46, -29), (60, -27), (76, -29), (77.5, -40), (76, -53), (63, -56), (51, -51), (45, -40)])), Beyond(navicular, 1.9f), Beyond(middle, 1.4f));

        Outline cuboidAbove = FromAbove([(-27, 26), (-14, 30), (-5, 33), (-9, 46), (-14, 58), (-15.5, 70), (-22, 70), (-29, 65), (-36, 56), (-34, 48), (-31, 43), (-29, 34)]);
        Outline cuboidFront = FromFront([(-30, -42), (-20, -37), (-9, -38), (-4, -45), (-7, -55), (-13, -63), (-24, -66), (-32, -63.5), (-36, -57), (-35, -48)]);
        Outline cuboidSide = FromSide([(25, -45), (33, -40), (45, -38.5), (58, -40), (68, -43), (70.5, -51), (67, -58.5), (60, -61), (54, -61.5), (49, -65), (42, -66.5), (34, -65), (27, -60.5), (24, -53)]);
        Shape cuboid = new SmoothCut(1, new Silhouettes(6, cuboidAbove, cuboidFront, cuboidSide), Beyond(calcaneus, 2.3f), Beyond(lateral, 1.5f), Beyond(navicular, 1.6f), Beyond(talus, 4));
        Whole["navicular"] = navicular;
        Whole["medialCuneiform"] = medial;
        Whole["intermediateCuneiform"] = middle;
        Whole["lateralCuneiform"] = lateral;
        Whole["cuboid"] = cuboid;

        LimbBone shin = new("tibia", tibia, "leg", Vector3.Zero, V(0, 262, 0), [(-18, 0.7), (0, 1.05), (6, 0.9), (14, 0.8), (40, 1.1), (75, 2.6), (110, 4.0), (180, 4.8)], [(-18, 0.2), (2, 0.3), (12, 0.21), (14.5, 0.2), (16, 0.245), (17.5, 0.19), (30, 0.15), (60, 0.08), (95, 0.03), (140, 0.01)]) { GrainAlongMm = 1.0f };
        LimbBone splint = new("fibula", fibula, "leg", Mortise.ToOuter(V(-29, -28, -8)), Mortise.ToOuter(V(-31, 262, -13)), [(0, 0.7), (28, 0.8), (50, 1.3), (80, 2.2), (130, 2.8)], [(0, 0.24), (30, 0.17), (55, 0.08), (90, 0.02), (130, 0.01)]) { GrainAlongMm = 1.0f };
        LimbBone heel = Tarsal("calcaneus", calcaneus, V(-2, -40, -5), V(-2, -66, -50)) with { SpongyShare = [(0, 0.26), (20, 0.17), (55, 0.2)], CortexMm = [(0, 0.9), (25, 0.6), (50, 0.7)], GrainAlongMm = 1.0f };
        if (child)
        {
            bones.AddRange(shin.SplitAt(V(0, 14, 0), -Vector3.UnitY, 2.4f, 0.7f, 0.9f, 30));
            bones.AddRange(splint.SplitAt(Mortise.ToOuter(V(-28, 3, -8)), -Vector3.UnitY, 2.2f, 1f, 0.6f));

            // The heel's own growth plate: a crescent behind the tuberosity, denser than the heel at this age.
            Vector3 back = Vector3.Normalize(V(0, -0.34, -1));
            LimbBone[] pieces = [.. (heel with { Surface = new Inset(calcaneus, 0.9f) }).SplitAt(V(-2, -56, -50.5), back, 2.6f, 0.5f, 0.9f)];
            bones.Add(pieces[0]);
            bones.Add(pieces[1] with { Name = "calcanealApophysis", SpongyShare = [(0, 0.42)], Surface = new Trimmed(2, pieces[1].Surface, new WavySide(V(0, -46, 0), Vector3.UnitY, 0.6f)) });
        }
        else
        {
            bones.AddRange([shin, splint, heel]);
        }

        bones.Add(Tarsal("talus", talus, Vector3.Zero, V(6, -28, 30)));
        bones.Add(Tarsal("navicular", navicular, V(9, -30, 36), V(9, -34, 56)));
        bones.Add(Tarsal("medialCuneiform", medial, V(20, -44, 52), V(20, -46, 80)));
        bones.Add(Tarsal("intermediateCuneiform", middle, V(3, -36, 54), V(3, -37, 73)));
        bones.Add(Tarsal("lateralCuneiform", lateral, V(-9, -40, 50), V(-10, -42, 76)));
        bones.Add(Tarsal("cuboid", cuboid, V(-16, -54, 28), V(-24, -54, 64)));
    }

    /// <summary>A short bone; in a child it still has a rim of cartilage.</summary>
    private LimbBone Tarsal(string name, Shape surface, Vector3 from, Vector3 to)
        => new(name, child && name != "calcaneus" ? new Inset(surface, name == "talus" ? 0.9f : 1.5f) : surface, "foot", from, to, [(0, 0.65)], [(0, 0.22)]) { GrainAcrossMm = 0.32f, GrainAlongMm = 0.8f };

    private void Rays()
    {
        Vector3[] bases = [V(20, -47.5, 82.5), V(1.5, -36.5, 74), V(-10.5, -41, 76.5), V(-22, -47.5, 69), V(-31, -56, 62)];
        string[] names = ["first", "second", "third", "fourth", "fifth"];
        Shape[][] behind =
        [
            [Whole["medialCuneiform"]],
            [Whole["intermediateCuneiform"], Whole["medialCuneiform"], Whole["lateralCuneiform"]],
            [Whole["lateralCuneiform"]],
            [Whole["cuboid"], Whole["lateralCuneiform"]],
            [Whole["cuboid"]],
        ];
        Shape? neighbour = null;
        for (int ray = 0; ray < 5; ray++)
        {
            Vector3 from = bases[ray];
            Vector3 to = Heads[ray];
            float length = Vector3.Distance(from, to);
            Pose along = Pose.Along(from, to, Vector3.UnitY);
            Shape drawn = ray switch
            {
                0 => FirstMetatarsal(length),
                4 => FifthMetatarsal(length),
                _ => LesserMetatarsal(length, ray),
            };
            List<Shape> cuts = [.. behind[ray].Select(bone => Beyond(bone, 1.7f))];
            if (neighbour is not null)
            {
                cuts.Add(Beyond(neighbour, 1.2f));
            }

            Shape metatarsal = new SmoothCut(1, new Posed(along, drawn), [.. cuts]);
            neighbour = metatarsal;
            string name = names[ray] + "Metatarsal";
            Whole[name] = metatarsal;
            float wall = ray == 0 ? 2.4f : 2.1f;
            LimbBone bone = new(name, metatarsal, "foot", from, to, [(0, 0.7), (12, 0.9), (24, wall), (length - 24, wall), (length - 12, 0.8), (length, 0.6)], [(0, 0.22), (14, 0.14), (26, 0.03), (length - 24, 0.03), (length - 12, 0.15), (length, 0.22)]);
            Vector3 forwards = Vector3.Normalize(to - from);
            if (!child)
            {
                bones.Add(bone);
            }
            else if (ray == 0)
            {
                bones.AddRange(bone.SplitAt(from + (7.5f * forwards), -forwards, 2.2f, 0.8f, 0.3f));
            }
            else
            {
                bones.AddRange(bone.SplitAt(to - (3.5f * forwards), forwards, 1.8f, 0.5f, 0.3f));
            }

            Toe(ray, names[ray], metatarsal, to);
        }

        if (!child)
        {
            Shape head = Whole["firstMetatarsal"];
            foreach ((string name, Vector3 at) in (ReadOnlySpan<(string, Vector3)>)[("medialSesamoid", V(30.5, -81.5, 138.5)), ("lateralSesamoid", V(19.5, -81.5, 136))])
            {
                Shape seed = new SmoothCut(0.8f, new Ellipsoid(at, V(4.6, 4, 5.8)), Beyond(head, 1.4f));
                Whole[name] = seed;
                bones.Add(new LimbBone(name, seed, "foot", at, at + Vector3.UnitZ, [(0, 0.5)], [(0, 0.25)]));
            }
        }
    }

    /// <summary>Local frame of a metatarsal: y to the head, z dorsal, x lateral.</summary>
    private static Shape FirstMetatarsal(float length)
        => new SmoothUnion(
            4,
            new Loft(
                false,
                Section.Oval(-5, 9.5, 14, 0.5, -1),
                Section.Oval(3, 9.8, 14, 0.5, -1),
                Section.Oval(9, 8.6, 11.5, 0.5, -0.5),
                Section.Oval(18, 6.9, 8.4),
                Section.Oval(30, 6.1, 7),
                Section.Oval(42, 6.3, 6.8),
                Section.Oval(length - 12, 8.6, 8.2),
                Section.Oval(length - 4, 10, 9),
                Section.Oval(length + 3, 9.2, 8.6)),
            new Ellipsoid(V(0, length, 0), V(10.2, 9.2, 10)),
            new Ellipsoid(V(5.5, length - 3, -5), V(4, 6, 5)),
            new Ellipsoid(V(-5.5, length - 3, -5), V(4, 6, 5)));

    private static Shape LesserMetatarsal(float length, int ray)
    {
        float wide = ray == 3 ? 7.6f : 8;
        return new SmoothUnion(
            3,
            new Loft(
                false,
                Section.Oval(-5, wide, 10, 0, -1.5),
                Section.Oval(2, wide, 10, 0, -1.5),
                Section.Oval(8, 6, 8.2, 0, -1),
                Section.Oval(16, 4.6, 5.8, 0, -0.3),
                Section.Oval(28, 3.8, 4.4, 0, 0.4),
                Section.Oval(44, 3.5, 4.1, 0, 0.6),
                Section.Oval(length - 14, 3.9, 4.8),
                Section.Oval(length - 6, 5.2, 6.2),
                Section.Oval(length + 1, 5.3, 6.2)),
            new Ellipsoid(V(0, length, -0.3), V(5.4, 6.4, 7)),
            new Ellipsoid(V(0, length - 5.5, 1.5), V(5.9, 3, 3)));
    }

    private static Shape FifthMetatarsal(float length)
        => new SmoothUnion(
            4,
            new Loft(
                false,
                Section.Oval(-6, 9.6, 7.8, -1, -1),
                Section.Oval(2, 9.2, 7.8, 0, -1),
                Section.Oval(9, 7.2, 6.8, 0.8, -0.5),
                Section.Oval(18, 5, 5, 0.8),
                Section.Oval(30, 4.1, 4.1, 0.8, 0.3),
                Section.Oval(42, 3.8, 4, 0.8, 0.3),
                Section.Oval(length - 12, 4.4, 4.8, 0.2),
                Section.Oval(length - 4, 5.5, 6, 0),
                Section.Oval(length + 1, 5.4, 6, 0)),
            new Ellipsoid(V(0.3, length - 0.5, -0.3), V(5.8, 6.4, 6.6)),
            new TaperedCapsule(V(4, 6, -1.5), V(9.5, -8, -3.5), 6, 4.2f));

    private void Toe(int ray, string name, Shape metatarsal, Vector3 head)
    {
        double[] proximal = [31, 26.5, 24, 22, 20];
        double[] middle = [0, 12.5, 10.5, 8.5, 7];
        double[] distal = [22.5, 10.5, 10.5, 10, 9];
        double[] sideways = [-7, -2.5, 1.5, 5, 10];
        string segment = "toe" + (ray + 1);
        double start = ray == 0 ? 9.5 : 6.6;
        float[] shaft = [5.8f, 3.0f, 2.8f, 2.7f, 2.6f];

        // Toes rest on the ground: raised at the ball, bent at the middle joint.
        Vector3 first = Direction(sideways[ray], ray == 0 ? -4 : 13);
        Vector3 second = Direction(sideways[ray] + (ray == 4 ? 4 : 0), -24);
        Vector3 third = Direction(sideways[ray] + (ray == 4 ? 6 : 0), ray == 0 ? -2 : -36);
        Vector3 from = head + ((float)start * first);
        Vector3 to = from + ((float)proximal[ray] * first);
        Shape bone = new SmoothCut(0.8f, new Posed(Pose.Along(from, to, Vector3.UnitY), Phalanx(proximal[ray], ray == 0 ? 10 : 5.9 - (0.15 * ray), shaft[ray], ray == 0 ? 8.2 : 4.5 - (0.12 * ray), ray == 0 ? 0.82 : 0.95)), Beyond(metatarsal, ray == 0 ? 2.2f : 1.8f));
        List<Vector3> path = [head, to];
        AddPhalanx(name + "ProximalPhalanx", bone, from, to, segment, 2);
        if (ray > 0)
        {
            Shape before = bone;
            from = to + (1.5f * second);
            to = from + ((float)middle[ray] * second);
            bone = new SmoothCut(0.6f, new Posed(Pose.Along(from, to, Vector3.UnitY), Phalanx(middle[ray], 4.9 - (0.2 * ray), shaft[ray] * 1.12, 4.3 - (0.15 * ray), 0.85)), Beyond(before, 1.3f));
            AddPhalanx(name + "MiddlePhalanx", bone, from, to, segment, 1.4f);
            path.Add(to);
        }

        Shape previous = bone;
        from = to + (1.4f * third);
        to = from + ((float)distal[ray] * third);
        Shape tip = ray == 0
            ? new SmoothUnion(3, new Loft(false, Section.Oval(-3, 9.2, 6.2), Section.Oval(3, 8.8, 5.8), Section.Oval(9, 5.6, 4), Section.Oval(14, 5, 3.2), Section.Oval(19, 6, 2.8), Section.Oval(22.5, 5.2, 2)), new Ellipsoid(V(0, 20, 0), V(6, 2.8, 2.4)))
            : new SmoothUnion(1.5f, new Loft(false, Section.Oval(-2, 4.2 - (0.15 * ray), 3.4), Section.Oval(1.5, 4 - (0.15 * ray), 3.2), Section.Oval(4.5, 2.4, 2.2), Section.Oval(7, 2.2, 1.8), Section.Oval(distal[ray] - 0.6, 2.6, 1.4)), new Ellipsoid(V(0, distal[ray] - 1.2, 0), V(2.8, 1.4, 1.5)));
        bone = new SmoothCut(0.6f, new Posed(Pose.Along(from, to, Vector3.UnitY), tip), Beyond(previous, ray == 0 ? 1.8f : 1.2f));
        AddPhalanx(name + "DistalPhalanx", bone, from, to, segment, ray == 0 ? 1.8f : 1.2f);
        ToePaths[ray] = [.. path, to];
    }

    private static Vector3 Direction(double lateralDegrees, double upDegrees)
    {
        double side = lateralDegrees * Math.PI / 180;
        double up = upDegrees * Math.PI / 180;
        return V(-Math.Sin(side) * Math.Cos(up), Math.Sin(up), Math.Cos(side) * Math.Cos(up));
    }

    private static Shape Phalanx(double length, double baseHalf, double shaftHalf, double headHalf, double depth)
        => new SmoothUnion(
            1.5f,
            new Loft(
                false,
                Section.Oval(-3, baseHalf, baseHalf * depth),
                Section.Oval(0.06 * length, baseHalf, baseHalf * depth),
                Section.Oval(0.22 * length, (0.55 * baseHalf) + (0.45 * shaftHalf), depth * ((0.5 * baseHalf) + (0.5 * shaftHalf)), 0, 0.3),
                Section.Oval(0.5 * length, shaftHalf, shaftHalf * 0.98, 0, 0.5),
                Section.Oval(0.7 * length, (0.7 * shaftHalf) + (0.3 * headHalf), shaftHalf * 0.95, 0, 0.3),
                Section.Oval(0.9 * length, headHalf, 0.78 * headHalf),
                Section.Oval(length - 0.6, 0.92 * headHalf, 0.7 * headHalf)),
            new Ellipsoid(V(0.42 * headHalf, length - (0.42 * headHalf), -0.1 * headHalf), V(0.55 * headHalf, 0.45 * headHalf, 0.78 * headHalf)),
            new Ellipsoid(V(-0.42 * headHalf, length - (0.42 * headHalf), -0.1 * headHalf), V(0.55 * headHalf, 0.45 * headHalf, 0.78 * headHalf)));

    private void AddPhalanx(string name, Shape surface, Vector3 from, Vector3 to, string segment, float wall)
    {
        float length = Vector3.Distance(from, to);
        Whole[name] = surface;
        LimbBone bone = new(name, surface, segment, from, to, [(0, 0.5), (0.2 * length, 0.7), (0.45 * length, wall), (0.65 * length, wall), (0.88 * length, 0.6), (length, 0.5)], [(0, 0.24), (0.25 * length, 0.16), (0.5 * length, 0.06), (0.8 * length, 0.18), (length, 0.24)])
        {
            GrainAcrossMm = 0.28f,
            GrainAlongMm = 0.6f,
        };
        if (child && length > 8.5f)
        {
            Vector3 forwards = Vector3.Normalize(to - from);
            bones.AddRange(bone.SplitAt(from + ((name.StartsWith("first", StringComparison.Ordinal) ? 0.12f : 0.17f) * length * forwards), -forwards, 1.3f, 0.3f, 0.15f));
        }
        else
        {
            bones.Add(bone);
        }
    }
}
