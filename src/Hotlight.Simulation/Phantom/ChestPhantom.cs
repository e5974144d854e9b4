using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>A chest. Own frame: x to the patient's left, y up, z to the back, origin near the carina, in mm.</summary>
/// <remarks>An adult is about 230 mm thick at the level of the heart. Proportions are common anatomical knowledge, no source, unless a number says otherwise.</remarks>
internal sealed class ChestPhantom : PartPhantom
{
    private static readonly ConcurrentDictionary<(string Bone, BodySize Size), Lazy<Shape>> BothSides = new();
    private static readonly ConcurrentDictionary<(BodySize Size, ulong Seed), Lazy<List<Strand>>> Vessels = new();

    public override string Name => "chest";

    protected override bool DiffersBySeed => true;

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("inspiration", 10, 0, 10, "Raises the ribs: 10 is deep inspiration, 0 the end of a quiet expiration; diaphragm, heart and lungs follow."),
        new("shoulderRoll", 30, 0, 30, "Rolls the shoulders forward, which turns the scapulae out of the lung fields."),
        new("armRaise", 0, 0, 150, "Raises both arms from the sides."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Front on the receptor, seen as if facing the patient: the patient's left on the viewer's right.
        new("pa", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ), "chestCentre", "chest-pa"),

        // Back on the receptor, as when lying, arms at the sides.
        new("ap", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, -Vector3.UnitZ), "chestCentre", "chest-ap")
        {
            Joints = new Dictionary<string, double> { ["shoulderRoll"] = 0, ["inspiration"] = 7 },
        },

        // Left side on the receptor, front to the viewer's left, arms raised.
        new("lateral", new Pose(Vector3.Zero, -Vector3.UnitZ, -Vector3.UnitY, Vector3.UnitX), "chestCentre", "chest-lateral")
        {
            Joints = new Dictionary<string, double> { ["shoulderRoll"] = 15, ["armRaise"] = 150 },
        },
    ];

    protected override Body Draw(PartForm form)
    {
        double roll = Setting(form, "shoulderRoll");
        double raise = Setting(form, "armRaise");
        ChestMeasures measures = new(form.Size, Setting(form, "inspiration"));
        float scale = measures.Scale;
        BodyBuilder chest = new($"chest/{form.Size}");
        chest.Mark("chestCentre", scale * V(0, -20, 0));
        Spine(chest, measures);
        Sternum(chest, measures);
        (Vector3 Head, Vector3 Elbow, Vector3 Upper, Vector3 Lower, Vector3 Acromion)[] arms = [Shoulder(chest, measures, 1, roll, raise), Shoulder(chest, measures, -1, roll, raise)];

        Inside inside = Insides.Of(form, measures);
        Shape wall = Skin(measures, arms);
        Shape skin = form.Breasts ? new SmoothUnion(22, wall, Breast(1, 0), Breast(-1, 0)) : wall;
        Shape lean = new Inset(wall, 9);
        if (form.Breasts)
        {
            lean = new SmoothUnion(6, lean, Breast(1, 13), Breast(-1, 13));
        }

        float fat = (float)((form.Habitus - 1) * 26);
        Body body = new()
        {
            Bones = chest.Bones,
            Landmarks = chest.Landmarks,
            Skin = Sized(fat == 0 ? skin : new Inset(skin, -fat)),
            Muscle = Sized(lean),
            Air = inside.Lungs,
            Gas = inside.Gas,
            Strands = inside.Strands,
            AirDensityShare = 0.27,
            SoftCellMm = 4,
            Fibres = Vector3.Normalize(V(1, 0.5, 0)),
            FatPlanes = 0.1f,
        };
        body.Tubes.AddRange(inside.Ribs);
        Clavicles(chest, body, measures, roll, raise);
        Landmarks(chest, measures);
        return body;

        Shape Sized(Shape shape) => scale == 1 ? shape : new Scaled(scale, shape);
    }

    private static Ellipsoid Breast(int side, float insetMm) => new(V(side * 80, -62, -100), V(60 - insetMm, 56 - insetMm, 40 - insetMm));

    private static Shape Skin(ChestMeasures measures, (Vector3 Head, Vector3 Elbow, Vector3 Upper, Vector3 Lower, Vector3 Acromion)[] arms)
    {
        Shape torso = new Column(
            new Slice(-330, 0, 4, 148, 104, 106),
            new Slice(-200, 0, 4, 155, 110, 110),
            new Slice(-120, 0, 4, 162, 114, 113),
            new Slice(-40, 0, 4, 168, 116, 114),
            new Slice(40, 0, 4, 173, 110, 112),
            new Slice(90, 0, 4, 180, 92, 104),
            new Slice(120, 0, 6, 168, 72, 94),
            new Slice(145, 0, 8, 128, 56, 86),
            new Slice(162, 0, 10, 92, 50, 82),
            new Slice(178, 0, 10, 68, 50, 74),
            new Slice(205, 0, 10, 60, 54, 64),
            new Slice(270, 0, 10, 59, 56, 58));
        List<Shape> parts = [torso];
        foreach ((Vector3 head, Vector3 elbow, Vector3 upper, Vector3 lower, Vector3 acromion) in arms)
        {
            float side = MathF.Sign(head.X);
            parts.Add(new TaperedCapsule(head + V(side * 2, -2, 2), head + (0.22f * (elbow - head)), 45, 48));
            parts.Add(new TaperedCapsule(head + (0.22f * (elbow - head)), elbow, 47, 40));
            parts.Add(new TaperedCapsule(upper, lower, 24, 22));
            parts.Add(new TaperedCapsule(V(side * 40, 172, 26), acromion, 30, 28));
            parts.Add(new TaperedCapsule(acromion, acromion + (0.25f * (upper - acromion)), 28, 24));
            Vector3 medial = Sternal(measures) with { X = side * 12 };
            Vector3 middle = (0.55f * medial) + (0.45f * acromion) + V(0, 8, -14);
            parts.Add(new TaperedCapsule(medial, middle, 13, 11));
            parts.Add(new TaperedCapsule(middle, acromion + V(0, 6, -6), 12, 18));
        }

        return new SmoothUnion(38, [.. parts]);
    }

    private static void Spine(BodyBuilder chest, ChestMeasures measures)
    {
        for (int k = 0; k < ChestMeasures.Bodies.Length; k++)
        {
            int index = k;
            chest.Joint = VertebraPose(index, measures.Scale);
            chest.Short("vertebra " + ChestSpine.LevelName(k), () => Sized(ChestSpine.Vertebra(index, measures.Size), measures), 0.28 * measures.Scale, 0.115, null, 0.5f);
            if (k is >= 2 and < 14)
            {
                chest.Mark("spinousTip" + ChestSpine.LevelName(k), measures.Scale * ChestSpine.SpinousTip(k));
            }
        }

        chest.Joint = Pose.Identity;
    }

    private static Pose VertebraPose(int index, float scale)
    {
        double y = ChestMeasures.Bodies[index];
        double slope = (ChestMeasures.SpineZ(y + 12) - ChestMeasures.SpineZ(y - 12)) / 24;
        return Pose.Along(scale * V(0, y, ChestMeasures.SpineZ(y)), scale * V(0, y + 1, ChestMeasures.SpineZ(y) + slope), Vector3.UnitZ);
    }

    private static void Sternum(BodyBuilder chest, ChestMeasures measures)
    {
        Vector3 breath = V(0, -9 * measures.Expiration, 8 * measures.Expiration);
        chest.Joint = Pose.Along(measures.Scale * (V(0, 54, -89) + breath), measures.Scale * (V(0, 100, -71) + breath), Vector3.UnitZ);
        chest.Short("manubrium", () => Sized(Manubrium(), measures), 0.5 * measures.Scale, 0.09);
        chest.Mark("jugularNotch", measures.Scale * V(0, 45, 0));
        chest.Joint = Pose.Along(measures.Scale * (V(0, 52, -90) + breath), measures.Scale * (V(0, 152, -79) + breath), Vector3.UnitZ);
        chest.Short("sternal body", () => Sized(SternalBody(), measures), 0.5 * measures.Scale, 0.09);
        chest.Mark("sternalAngle", measures.Scale * V(0, -3, -5));
        chest.Mark("sternumLowerEnd", measures.Scale * V(0, -103, 0));
        chest.Joint = Pose.Identity;
    }

    private static Plate Manubrium() => new([(-25, 38), (-12, 49), (0, 45), (12, 49), (25, 38), (26, 30), (18, 16), (13, 2), (0, 0), (-13, 2), (-18, 16), (-26, 30)], -5.5, 5.5, 4.5);

    private static Plate SternalBody() => new([(-12, -2), (0, -1), (12, -2), (14, -24), (18, -62), (17, -82), (10, -98), (0, -103), (-10, -98), (-17, -82), (-18, -62), (-14, -24)], -5, 5, 4.2);

    private static (Vector3 Head, Vector3 Elbow, Vector3 Upper, Vector3 Lower, Vector3 Acromion) Shoulder(BodyBuilder chest, ChestMeasures measures, int side, double roll, double raise)
    {
        float scale = measures.Scale;
        string prefix = side > 0 ? "left" : "right";
        Pose mirror = Pose.Identity with { X = side * Vector3.UnitX };
        Pose scapula = ChestShoulder.ScapulaPose(roll, raise);
        Pose humerus = ChestShoulder.HumerusPose(scapula, roll, raise);
        chest.Joint = Mirrored(scapula);
        chest.Short(prefix + " scapula", () => Common("scapula", ChestShoulder.Scapula), 0.75 * scale, 0.12);
        chest.Mark(prefix + "ScapulaMedialBorder", scale * ChestShoulder.MedialBorder.Value);
        chest.Mark(prefix + "ScapulaInferiorAngle", scale * ChestShoulder.InferiorAngle.Value);
        chest.Joint = Mirrored(humerus);
        Curve cortex = new((0, 0.7 * scale), (45 * scale, 1 * scale), (80 * scale, 3 * scale), (140 * scale, 4.2 * scale));
        Curve spongy = new((0, 0.14), (45 * scale, 0.1), (80 * scale, 0.04), (140 * scale, 0.01));
        if (measures.Size == BodySize.Child)
        {
            // The growth plate runs under the head and both tubercles.
            Vector3 up = Vector3.Normalize(V(-0.25, 1, 0));
            chest.Short(prefix + " humeral head", () => Common("head", () => new SmoothShared(1.5f, ChestShoulder.Humerus(), new HalfSpace(V(0, -10, 0), -up))), 0.5 * scale, 0.13);
            chest.Long(prefix + " humerus", () => Common("humerus", () => new SmoothShared(1.5f, ChestShoulder.Humerus(), new HalfSpace(V(0, -13.5, 0), up))), scale * V(0, 24, 0), scale * V(12, -300, 0), cortex, spongy, 0.5f, 1.2f);
        }
        else
        {
            chest.Long(prefix + " humerus", () => Common("humerus", ChestShoulder.Humerus), V(0, 24, 0), V(12, -300, 0), cortex, spongy, 0.5f, 1.2f);
        }

        chest.Joint = Pose.Identity;
        return (mirror.ToOuter(humerus.Origin), mirror.ToOuter(humerus.ToOuter(V(10, -340, 0))), mirror.ToOuter(scapula.ToOuter(V(-82, 22, 2))), mirror.ToOuter(scapula.ToOuter(V(-66, -100, 6))), mirror.ToOuter(scapula.ToOuter(V(6, 27, 14))));

        // Both sides share one surface: it is meshed once.
        Shape Common(string bone, Func<Shape> draw) => BothSides.GetOrAdd((bone, measures.Size), _ => new Lazy<Shape>(() => Sized(draw(), measures))).Value;

        Pose Mirrored(Pose pose)
        {
            Pose placed = pose with { Origin = scale * pose.Origin };
            return placed.Within(mirror);
        }
    }

    private static List<Tube> Ribs(ChestMeasures measures)
    {
        List<Tube> ribs = [];
        float scale = measures.Scale;
        for (int rib = 1; rib <= 12; rib++)
        {
            double half = rib switch { 1 => 7.2, 2 => 5.7, 12 => 4.2, 11 => 4.8, _ => 5.5 + (0.25 * Math.Sin(2.1 * rib)) };
            double end = ChestMeasures.RibEndDegrees(rib);
            foreach (int side in new[] { 1, -1 })
            {
                List<TubeStation> stations = [];
                const int Pieces = 52;
                for (int piece = 0; piece <= Pieces; piece++)
                {
                    double share = piece / (double)Pieces;

                    // Slender at the neck, broadest at the angle, slimmer at the side, and flared where the cartilage begins.
                    double height = half * (0.72 + (0.32 * Math.Min(1, share * 5)) - (0.12 * Math.Sin(Math.PI * Math.Clamp((share - 0.25) / 0.6, 0, 1))) + (0.14 * Math.Clamp((share - 0.86) / 0.14, 0, 1)));
                    double thickness = rib == 1 ? 2.8 : 3.5 - (0.6 * share);
                    stations.Add(new TubeStation(scale * measures.Rib(rib, side, 2 + ((end - 2) * share)), scale * (float)height, scale * (float)thickness));
                }

                Vector3 up = Vector3.Normalize(V(0, 1, rib == 1 ? -0.9 : rib == 2 ? -0.45 : -0.15));

                ribs.Add(new Tube(stations, up, 0.7f * scale, 0.11f));
            }
        }

        return ribs;
    }

    private static void Clavicles(BodyBuilder chest, Body body, ChestMeasures measures, double roll, double raise)
    {
        float scale = measures.Scale;
        Pose scapula = ChestShoulder.ScapulaPose(roll, raise);
        Vector3 medial = Sternal(measures);
        Vector3 acromial = scapula.ToOuter(V(15, 41, 8));
        Curve half = new((0, 5.5), (0.02, 8.6), (0.06, 9.2), (0.15, 7.4), (0.3, 6), (0.55, 5.4), (0.8, 6.2), (0.93, 6.2), (0.985, 4.6), (1, 1.5));
        foreach (int side in new[] { 1, -1 })
        {
            List<TubeStation> stations = [];
            const int Pieces = 36;
            for (int piece = 0; piece <= Pieces; piece++)
            {
                double t = piece / (double)Pieces;
                Vector3 at = Vector3.Lerp(medial, acromial, (float)t);

                // Bowed forward in its inner two thirds, backward in its outer third.
                at += V(0, (6 * Math.Sin(Math.PI * t)) - (3 * Math.Sin(2 * Math.PI * t)), -10 * Math.Sin(2 * Math.PI * Math.Pow(t, 0.86)));
                float h = half.At((float)t);
                stations.Add(new TubeStation(scale * V(side * at.X, at.Y, at.Z), scale * h, scale * h * 0.82f));
            }

            body.Tubes.Add(new Tube(stations, Vector3.UnitY, 1.4f * scale, 0.09f));
            chest.Mark(side > 0 ? "leftClavicleMedialEnd" : "rightClavicleMedialEnd", scale * V(side * medial.X, medial.Y, medial.Z));
        }
    }

    /// <summary>The left clavicle's medial end.</summary>
    private static Vector3 Sternal(ChestMeasures measures) => V(13, 106 - (9 * measures.Expiration), -73 + (8 * measures.Expiration));

    private static void Landmarks(BodyBuilder chest, ChestMeasures measures)
    {
        float scale = measures.Scale;
        chest.Mark("carina", scale * V(-2, 26, 27));
        foreach (int side in new[] { 1, -1 })
        {
            string prefix = side > 0 ? "left" : "right";
            chest.Mark(prefix + "LungApex", scale * V(side * 34, 144, 26));
            float domeX = side > 0 ? 82 : -70;
            float domeZ = side > 0 ? 2 : -18;
            chest.Mark(prefix + "HemidiaphragmDome", scale * V(domeX, ChestLungs.Diaphragm(measures, domeX, domeZ), domeZ));
            double angle = measures.Angles + 4;
            chest.Mark(prefix + "CostophrenicAngle", scale * V(side * (measures.HalfWidth.At((float)angle) - 4.3), angle, -18));
            for (int rib = 1; rib <= 12; rib++)
            {
                // Where the rib's back part crosses the line through the middle of the clavicle.
                double low = 4;
                double high = 88;
                for (int step = 0; step < 30; step++)
                {
                    double turn = 0.5 * (low + high);
                    if (Math.Abs(measures.Rib(rib, side, turn).X) < 78)
                    {
                        low = turn;
                    }
                    else
                    {
                        high = turn;
                    }
                }

                Vector3 at = measures.Rib(rib, side, Math.Min(low, ChestMeasures.RibEndDegrees(rib)));
                chest.Mark($"{prefix}PosteriorRib{rib}", scale * at);
            }
        }
    }

    private static List<Strand> Strands(BodySize size, ulong seed)
    {
        Shape lungs = ChestLungs.Build(new ChestMeasures(size, 10), out _, out _);
        Baked inside = new(lungs, 3, new Box(V(-170, -260, -130), V(170, 180, 130)));
        List<Strand> strands = ChestVessels.Grow(inside, seed);
        strands.AddRange(ChestVessels.Fissures(inside));
        return strands;
    }

    /// <summary>Where a point of the lungs in deep inspiration lies at the present breath.</summary>
    private static Vector3 Breathed(Vector3 point, ChestMeasures measures)
    {
        double e = measures.Expiration;
        double down = Math.Clamp((20 - point.Y) / 200, 0, 1);
        return V(point.X * (1 - (0.05 * e * Math.Clamp((150 - point.Y) / 200, 0, 1))), point.Y + (62 * e * down), point.Z * (point.Z < 0 ? 1 - (0.07 * e) : 1));
    }

    private static Shape Sized(Shape shape, ChestMeasures measures) => measures.Scale == 1 ? shape : new Scaled(measures.Scale, shape);

    /// <summary>What breath alone moves, in the person's mm.</summary>
    private sealed record Inside(Shape Lungs, Shape Gas, List<Strand> Strands, List<Tube> Ribs);

    /// <summary>Insides that were drawn last: the same shapes again while a shoulder moves, so that their meshes are found again.</summary>
    private static class Insides
    {
        private const int Most = 8;
        private static readonly Lock Gate = new();
        private static readonly LinkedList<((BodySize, ulong, double) Key, Inside Inside)> ByUse = [];

        public static Inside Of(PartForm form, ChestMeasures measures)
        {
            (BodySize, ulong, double) key = (form.Size, form.Seed, measures.Expiration);
            lock (Gate)
            {
                for (LinkedListNode<((BodySize, ulong, double) Key, Inside Inside)>? node = ByUse.First; node is not null; node = node.Next)
                {
                    if (node.Value.Key == key)
                    {
                        ByUse.Remove(node);
                        ByUse.AddFirst(node);
                        return node.Value.Inside;
                    }
                }
            }

            Inside drawn = Draw(form, measures);
            lock (Gate)
            {
                ByUse.AddFirst((key, drawn));
                if (ByUse.Count > Most)
                {
                    ByUse.RemoveLast();
                }
            }

            return drawn;
        }

        private static Inside Draw(PartForm form, ChestMeasures measures)
        {
            float scale = measures.Scale;
            Shape lungs = ChestLungs.Build(measures, out Shape airways, out Shape bubble);
            List<Strand> vessels = Vessels.GetOrAdd((form.Size, form.Seed), key => new Lazy<List<Strand>>(() => Strands(key.Size, key.Seed))).Value;
            return new Inside(
                Sized(lungs, measures),
                Sized(new SmoothUnion(1, airways, bubble), measures),
                [.. vessels.Select(strand => new Strand(scale * Breathed(strand.From, measures), scale * Breathed(strand.To, measures), scale * strand.FromRadius, scale * strand.ToRadius))],
                Ribs(measures));
        }
    }
}
