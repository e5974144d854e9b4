using System.Numerics;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>An adult chest in deep inspiration, front on the receptor. Own frame: x to the patient's left, y up, z to the back, origin near the carina, in mm.</summary>
/// <remarks>Proportions are common anatomical knowledge, no source; shapes are drawn for this project. No disease is drawn.</remarks>
internal sealed class ChestPhantom : PartPhantom
{
    private static readonly Curve CageHalfWidth = new((-190, 128), (-140, 138), (-100, 142), (-50, 141), (0, 135), (50, 124), (90, 112), (115, 98), (135, 80), (152, 58));
    private static readonly Curve CageFront = new((-190, -82), (-140, -92), (-80, -102), (-20, -100), (40, -88), (90, -62), (125, -36), (152, -8));
    private static readonly Curve CageBack = new((-190, 84), (-140, 96), (-80, 103), (-20, 102), (40, 96), (90, 82), (125, 64), (152, 46));

    public override string Name => "chest";

    public override IReadOnlyList<JointRange> Joints { get; } = [];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        new("pa", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "chestCentre", "chest-pa"),
    ];

    protected override Body Draw(PartForm form)
    {
        BodyBuilder chest = new($"chest/{form.Size}");
        chest.Mark("chestCentre", V(0, -20, 0));
        Spine(chest);
        Shoulder(chest, 1);
        Shoulder(chest, -1);
        Sternum(chest);

        Shape lungs = Lungs();
        Shape torso = new Loft(
            true,
            new Section(-300, -158, 158, -112, 116),
            new Section(-200, -160, 160, -112, 118),
            new Section(-120, -166, 166, -120, 124),
            new Section(-40, -172, 172, -122, 126),
            new Section(40, -178, 178, -112, 122),
            new Section(100, -196, 196, -86, 112),
            new Section(128, -205, 205, -62, 92),
            new Section(148, -186, 186, -46, 78),
            new Section(166, -118, 118, -38, 74),
            new Section(180, -74, 74, -42, 70),
            new Section(205, -60, 60, -46, 66),
            new Section(260, -58, 58, -48, 66));
        Shape skin = new SmoothUnion(
            26,
            torso,
            new TaperedCapsule(V(188, 104, 12), V(232, -60, 0), 50, 42),
            new TaperedCapsule(V(-188, 104, 12), V(-232, -60, 0), 50, 42));
        Body body = new()
        {
            Bones = chest.Bones,
            Landmarks = chest.Landmarks,
            Skin = chest.Place(skin),
            Muscle = chest.Place(new Inset(skin, 11)),
            Air = chest.Place(lungs),
            AirDensityShare = 0.28,
            SoftCellMm = 4,
            Fibres = chest.Turn(Vector3.Normalize(V(1, 0.5, 0))),
            FatPlanes = 0.1f,
        };
        Ribs(chest, body);
        Vessels(chest, lungs, body, form.Seed);
        return body;
    }

    private static Shape Lungs()
    {
        Shape right = Lung(-1);
        Shape left = Lung(1);
        Shape heart = new SmoothUnion(
            16,
            new TaperedCapsule(V(2, -36, -28), V(44, -66, -40), 40, 38),
            new TaperedCapsule(V(44, -66, -40), V(62, -82, -46), 34, 25),
            new TaperedCapsule(V(-4, -42, -18), V(0, -70, -18), 38, 36));
        Shape vessels = new SmoothUnion(
            9,
            new TaperedCapsule(V(-8, 10, -30), V(-6, 56, -18), 19, 17),
            new TaperedCapsule(V(-4, 60, -10), V(20, 66, 18), 16, 15),
            new TaperedCapsule(V(20, 66, 18), V(24, 40, 44), 14.5f, 13),
            new TaperedCapsule(V(24, 40, 44), V(14, -190, 52), 13, 12),
            new TaperedCapsule(V(26, 8, -22), V(26, 30, -14), 18, 14),
            new TaperedCapsule(V(-21, -10, -18), V(-22, 62, -16), 12, 11),
            new TaperedCapsule(V(-20, 62, -16), V(-26, 150, -4), 11, 9),
            new TaperedCapsule(V(20, 74, 0), V(30, 150, 4), 10, 9));
        Shape hila = new SmoothUnion(
            6,
            new TaperedCapsule(V(-22, 8, 4), V(-38, -16, 8), 10, 7),
            new TaperedCapsule(V(24, 20, 8), V(40, -4, 14), 10, 7));
        Shape spine = new Loft(false, Section.Oval(-230, 25, 30, 0, 66), Section.Oval(0, 21, 27, 0, 72), Section.Oval(170, 20, 24, 0, 48));
        Shape middle = new Loft(true, Section.Oval(-200, 12, 70, 2, 0), Section.Oval(0, 13, 70, 2, 0), Section.Oval(90, 20, 40, 1, 10), Section.Oval(160, 24, 30, 0, 18));
        Shape rightDome = new Ellipsoid(V(-70, -190, -8), V(79, 98, 118));
        Shape leftDome = new Ellipsoid(V(76, -198, -8), V(75, 96, 116));
        Shape inflated = new SmoothCut(5, new SmoothUnion(1, right, left), rightDome, leftDome, heart, vessels, hila, spine, middle);
        Shape airway = new SmoothUnion(
            4,
            new TaperedCapsule(V(0, 190, 10), V(2, 30, 30), 8.6f, 8.2f),
            new TaperedCapsule(V(2, 30, 30), V(-26, 8, 32), 7, 6),
            new TaperedCapsule(V(2, 30, 30), V(36, 6, 32), 6.4f, 5.6f));
        Shape stomach = new Ellipsoid(V(84, -136, -12), V(34, 20, 36));
        return new SmoothUnion(1, inflated, airway, stomach);
    }

    private static Shape Lung(int side)
    {
        List<Section> sections = [];
        for (int y = -205; y <= 156; y += 12)
        {
            double outer = CageHalfWidth.At(y) - 5;
            double inner = y < 90 ? 6 : 6 + ((y - 90) * 0.14);
            double front = CageFront.At(y) + 6;
            double back = CageBack.At(y) - 5;
            if (y > 135)
            {
                // The dome of the pleura closes over the first rib.
                double close = Math.Sqrt(Math.Max(0, 1 - Math.Pow((y - 135) / 22.0, 2)));
                double middle = (outer + inner) / 2;
                double depth = (front + back) / 2;
                inner = middle - ((middle - inner) * close);
                outer = middle + ((outer - middle) * close);
                front = depth - ((depth - front) * close);
                back = depth + ((back - depth) * close);
            }

            sections.Add(side > 0 ? new Section(y, inner, outer, front, back) : new Section(y, -outer, -inner, front, back));
        }

        return new Loft(true, [.. sections]);
    }

    private static void Ribs(BodyBuilder chest, Body body)
    {
        double[] heads = [137, 118, 97, 75, 51, 27, 2, -24, -50, -77, -105, -133];
        double[] ends = [118, 132, 140, 143, 145, 146, 146, 143, 138, 128, 104, 66];
        double[] drops = [20, 38, 50, 58, 64, 70, 76, 80, 82, 78, 56, 30];
        for (int rib = 0; rib < 12; rib++)
        {
            foreach (int side in new[] { 1, -1 })
            {
                List<TubeStation> stations = [];
                const int Pieces = 56;
                for (int piece = 0; piece <= Pieces; piece++)
                {
                    double turn = 9 + ((ends[rib] - 9) * piece / Pieces);
                    double radian = turn * Math.PI / 180;
                    double down = drops[rib] * Math.Pow(turn / ends[rib], 1.35);
                    float y = (float)(heads[rib] - down);
                    float level = (float)(heads[rib] - (0.45 * drops[rib]));
                    double half = CageHalfWidth.At(level) - 1.5;
                    double front = CageFront.At(level) + 3;
                    double back = CageBack.At(level) - 2;
                    double middle = (front + back) / 2;

                    // The back of the cage is flatter than an ellipse: the rib's angle.
                    double sine = Math.Sin(radian);
                    double x = half * Math.Pow(sine, turn < 90 ? 0.86 : 1);
                    double z = middle + ((back - middle) * Math.Sign(Math.Cos(radian)) * Math.Pow(Math.Abs(Math.Cos(radian)), turn < 90 ? 0.8 : 1));
                    double share = piece / (double)Pieces;
                    float height = (float)((rib == 0 ? 7.2 : 6.2) * (0.78 + (0.22 * Math.Min(1, share * 4))) * (rib > 9 ? 0.8 : 1));
                    float thickness = (float)(3.4 - (0.4 * share));
                    stations.Add(new TubeStation(chest.Place(V(side * x, y, z)), height, thickness));
                }

                Vector3 up = Vector3.Normalize(chest.Turn(V(0, 1, rib < 2 ? -0.5 : -0.12)));

                // Back and front are seen over each other: two tubes, so that both are counted.
                int cut = stations.FindIndex(station => Math.Abs(station.Point.X - stations[0].Point.X) >= stations.Max(other => Math.Abs(other.Point.X - stations[0].Point.X)));
                body.Tubes.Add(new Tube(stations[..(cut + 1)], up, 0.85f, 0.13f));
                if (cut < stations.Count - 2)
                {
                    body.Tubes.Add(new Tube(stations[cut..], up, 0.8f, 0.12f));
                }
            }
        }

        foreach (int side in new[] { 1, -1 })
        {
            (double X, double Y, double Z, double Half)[] clavicle =
            [
                (14, 104, -76, 8.5), (22, 108, -74, 7.5), (45, 118, -66, 6), (75, 130, -50, 5.4), (105, 139, -28, 5.4), (132, 143, -4, 6), (152, 142, 10, 6.6), (160, 140, 15, 5),
            ];
            body.Tubes.Add(new Tube(Smooth(chest, side, clavicle, 0.85), Vector3.Normalize(chest.Turn(Vector3.UnitY)), 1.5f, 0.1f));
            (double X, double Y, double Z, double Half)[] spine = [(122, 96, 92, 4), (140, 112, 86, 5), (160, 130, 70, 6.5), (178, 140, 46, 8), (184, 140, 26, 6)];
            body.Tubes.Add(new Tube(Smooth(chest, side, spine, 0.6), Vector3.Normalize(chest.Turn(Vector3.UnitY)), 1.1f, 0.12f));
            (double X, double Y, double Z, double Half)[] border = [(160, 92, 50, 7), (158, 70, 62, 5), (152, 30, 78, 4.2), (144, -10, 90, 4.4), (138, -34, 94, 4)];
            body.Tubes.Add(new Tube(Smooth(chest, side, border, 0.8), Vector3.Normalize(chest.Turn(Vector3.UnitX)), 1.3f, 0.12f));
        }
    }

    private static List<TubeStation> Smooth(BodyBuilder chest, int side, (double X, double Y, double Z, double Half)[] points, double thinShare)
    {
        Curve x = new([.. points.Select((point, k) => ((double)k, point.X))]);
        Curve y = new([.. points.Select((point, k) => ((double)k, point.Y))]);
        Curve z = new([.. points.Select((point, k) => ((double)k, point.Z))]);
        Curve half = new([.. points.Select((point, k) => ((double)k, point.Half))]);
        List<TubeStation> stations = [];
        for (double at = 0; at <= points.Length - 1; at += 0.2)
        {
            float place = (float)at;
            stations.Add(new TubeStation(chest.Place(V(side * x.At(place), y.At(place), z.At(place))), half.At(place), (float)(half.At(place) * thinShare)));
        }

        return stations;
    }

    private static void Spine(BodyBuilder chest)
    {
        double[] middles = [183, 163, 141, 121, 100, 78, 55, 31, 6, -20, -47, -75, -104, -134, -166, -200];
        for (int k = 0; k < middles.Length; k++)
        {
            double y = middles[k];
            double height = k + 1 < middles.Length ? (middles[k] - middles[k + 1]) * 0.4 : 13;
            double half = 13 + (k * 0.45);
            double back = y > 60 ? 50 + ((130 - y) * 0.2) : 66;
            Shape block = new Loft(
                true,
                new Section(y - height, -half, half, back - 15, back + 12),
                new Section(y - height + 2.5, -half + 0.6, half - 0.6, back - 14.5, back + 12),
                new Section(y, -half + 1.8, half - 1.8, back - 13.5, back + 12),
                new Section(y + height - 2.5, -half + 0.6, half - 0.6, back - 14.5, back + 12),
                new Section(y + height, -half, half, back - 15, back + 12));
            Shape whole = new SmoothUnion(
                2,
                block,
                new Ellipsoid(V(-half + 4.5, y + 3, back + 15), V(3.4, 5.6, 8)),
                new Ellipsoid(V(half - 4.5, y + 3, back + 15), V(3.4, 5.6, 8)),
                new TaperedCapsule(V(-9, y + 1, back + 23), V(-half - 15, y + 6, back + 27), 4.4f, 3.8f),
                new TaperedCapsule(V(9, y + 1, back + 23), V(half + 15, y + 6, back + 27), 4.4f, 3.8f),
                new TaperedCapsule(V(0, y - 3, back + 26), V(0, y - 17, back + 40), 3.6f, 3.2f));
            chest.Short($"vertebra {k + 1}", () => whole, 0.5, 0.085, null, 0.5f);
        }
    }

    private static void Shoulder(BodyBuilder chest, int side)
    {
        Shape blade = new Plate(
            [(124, 96), (142, 112), (158, 112), (160, 88), (152, 40), (141, -32), (134, -34), (128, 10), (124, 60)],
            82,
            84.6,
            1.2);
        Pose mirror = Pose.Identity with { X = side * Vector3.UnitX };
        chest.Short(side > 0 ? "left scapula" : "right scapula", () => new Posed(mirror, blade), 0.9, 0.15);
        Shape glenoid = new TaperedCapsule(V(150, 102, 58), V(161, 102, 44), 9, 13);
        Shape coracoid = new TaperedCapsule(V(152, 116, 40), V(160, 112, 8), 6.5f, 5);
        chest.Short(side > 0 ? "left scapular neck" : "right scapular neck", () => new Posed(mirror, new SmoothUnion(4, glenoid, coracoid)), 0.9, 0.14);
        Shape arm = new SmoothUnion(8, new Ellipsoid(V(184, 106, 26), V(22.5, 24, 23)), new TaperedCapsule(V(190, 92, 24), V(222, -70, 4), 14, 11.5f), new Ellipsoid(V(200, 104, 20), V(11, 16, 14)));
        chest.Long(
            side > 0 ? "left humerus" : "right humerus",
            () => new Posed(mirror, arm),
            V(side * 184, 130, 26),
            V(side * 222, -70, 4),
            new Curve((0, 0.8), (45, 1), (80, 3), (140, 4.5)),
            new Curve((0, 0.15), (45, 0.12), (80, 0.04), (140, 0.01)),
            0.5f,
            1.2f);
    }

    private static void Sternum(BodyBuilder chest)
    {
        Shape manubrium = new Plate([(-24, 98), (-10, 106), (0, 103), (10, 106), (24, 98), (20, 82), (13, 62), (0, 58), (-13, 62), (-20, 82)], -84, -73, 4);
        Shape body = new Plate([(-12, 57), (0, 58), (12, 57), (15, 20), (18, -20), (14, -45), (0, -52), (-14, -45), (-18, -20), (-15, 20)], -100, -91, 4);
        chest.Short("manubrium", () => manubrium, 0.7, 0.1);
        chest.Short("sternum", () => body, 0.7, 0.1);
    }

    /// <summary>Vessels branch out from both hila until they are too thin to be seen or reach the pleura.</summary>
    private static void Vessels(BodyBuilder chest, Shape lungs, Body body, ulong seed)
    {
        SplitMix random = new(seed);
        foreach (int side in new[] { 1, -1 })
        {
            Vector3 hilum = side > 0 ? V(34, 12, 10) : V(-30, 2, 6);
            for (int stem = 0; stem < 15; stem++)
            {
                // More and wider vessels to the bases than to the apices, as when standing.
                double angle = (-100 + (200.0 * (stem + (0.6 * random.NextUniform())) / 15)) * Math.PI / 180;
                Vector3 direction = Vector3.Normalize(V(side * Math.Max(0.25, Math.Cos(angle)), Math.Sin(angle), (1.2 * random.NextUniform()) - 0.6));
                float radius = (float)(angle < 0 ? 5.2 : 3.9) * (float)(0.8 + (0.4 * random.NextUniform()));
                Branch(hilum + (5 * direction), direction, radius, (float)(17 + (10 * random.NextUniform())), 0, ref random);
            }
        }

        void Branch(Vector3 from, Vector3 direction, float radius, float length, int depth, ref SplitMix random)
        {
            Vector3 at = from;
            Vector3 heading = direction;
            float thickness = radius;
            for (int piece = 0; piece < 4; piece++)
            {
                heading = Vector3.Normalize(heading + (0.16f * Bend(ref random)));
                Vector3 next = at + (heading * length / 4);
                if (depth > 0 && lungs.Distance(next) > -3)
                {
                    return;
                }

                float thinner = thickness * 0.955f;
                body.Strands.Add(new Strand(chest.Place(at), chest.Place(next), thickness, thinner));
                at = next;
                thickness = thinner;
            }

            if (depth >= 7 || thickness < 0.4f)
            {
                return;
            }

            Branch(at, Vector3.Normalize(heading + (0.32f * Bend(ref random))), thickness * 0.86f, length * 0.88f, depth + 1, ref random);
            Branch(at, Vector3.Normalize(heading + (0.75f * Bend(ref random))), thickness * 0.66f, length * 0.8f, depth + 1, ref random);
        }

        static Vector3 Bend(ref SplitMix random) => V(random.NextGaussian(), random.NextGaussian(), random.NextGaussian());
    }
}
