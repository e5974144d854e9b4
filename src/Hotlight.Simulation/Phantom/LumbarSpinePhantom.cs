using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>The lumbar spine from T11 to the sacrum with the upper pelvis. Own frame: x to the patient's left, y up, z to the back, origin in the middle of L3, in mm.</summary>
/// <remarks>A waist of about 210 mm from front to back; lordosis of about 50 degrees from L1 to S1 when it is not bent. Common anatomical knowledge, no source, unless a number says otherwise.</remarks>
internal sealed class LumbarSpinePhantom : PartPhantom
{
    private const int First = -1;
    private const int Sacral = 6;

    /// <summary>Both sides share one surface: it is meshed once.</summary>
    private static readonly ConcurrentDictionary<BodySize, Lazy<Shape>> HipBones = new();

    /// <summary>Tilt of T11, T12, L1 to L5 and the sacrum: positive leans the upper end to the back, in degrees.</summary>
    private static readonly double[] Tilts = [17, 16, 13, 8, 1, -8, -20, -37];

    /// <summary>Height of the disc below T11, T12, L1 to L5, in mm.</summary>
    private static readonly double[] Discs = [5.5, 7, 8.5, 10, 11, 11.5, 10.5];

    public override string Name => "lumbarSpine";

    protected override bool DiffersBySeed => true;

    public override IReadOnlyList<JointRange> Joints { get; } =
    [
        new("spineFlexion", 0, -10, 30, "Bends the lumbar spine forward, shared by its discs; it flattens the hollow of the back."),
    ];

    public override IReadOnlyList<PartView> Views { get; } =
    [
        // Back on the receptor, seen as if facing the patient: the patient's left on the viewer's right.
        new("ap", new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, -Vector3.UnitZ), "l3Centre", "lumbar-spine-ap")
        {
            Joints = new Dictionary<string, double> { ["spineFlexion"] = 8 },
        },

        // Left side on the receptor, front to the viewer's left.
        new("lateral", new Pose(Vector3.Zero, -Vector3.UnitZ, -Vector3.UnitY, Vector3.UnitX), "l3Centre", "lumbar-spine-lateral")
        {
            Joints = new Dictionary<string, double> { ["spineFlexion"] = 5 },
        },
    ];

    protected override Body Draw(PartForm form)
    {
        bool child = form.Size == BodySize.Child;

        // A child of eight: about 0.7 of an adult's measures (common anatomical knowledge, no source).
        float scale = child ? 0.7f : 1;
        double flexion = Setting(form, "spineFlexion");
        BodyBuilder spine = new($"lumbarSpine/{form.Size}");
        Pose[] poses = Poses(flexion, child);
        Pose[] straight = Poses(0, child);
        spine.Mark("l3Centre", Vector3.Zero);
        for (int level = First; level <= 5; level++)
        {
            spine.Joint = Sized(poses[level - First], scale);
            Vertebra(spine, level, form.Size, scale);
        }

        Pose sacral = poses[Sacral - First];
        spine.Joint = Sized(sacral, scale);
        Pelvis(spine, form.Size, scale);
        Body body = Soft(form, spine, poses, straight, scale);
        Ribs(body, poses, child, scale);
        return body;
    }

    /// <summary>Poses of T11 (first), T12, L1 to L5 and the sacrum (last), at adult scale: L3 stays, the others follow from disc to disc.</summary>
    private static Pose[] Poses(double flexion, bool child)
    {
        int count = Sacral - First + 1;
        double[] tilts = new double[count];
        for (int k = 0; k < count; k++)
        {
            // Each of the five discs from L1 to S1 takes a fifth; those above take half as much.
            int level = First + k;
            double share = level >= 3 ? (level - 3) / 5.0 : level >= 1 ? (level - 3) / 5.0 : -0.4 + ((level - 1) * 0.1);
            tilts[k] = (Tilts[k] * (child ? 0.85 : 1)) + (share * flexion);
        }

        Pose[] poses = new Pose[count];
        int middle = 3 - First;
        poses[middle] = Tilted(Vector3.Zero, tilts[middle]);
        for (int k = middle - 1; k >= 0; k--)
        {
            Pose below = poses[k + 1];
            Vector3 rim = below.Origin + ((float)(0.5 * Height(First + k + 1)) * below.Y);
            Vector3 own = Tilted(Vector3.Zero, tilts[k]).Y;
            Vector3 disc = (float)Discs[k] * Vector3.Normalize(below.Y + own);
            poses[k] = Tilted(rim + disc + ((float)(0.5 * Height(First + k)) * own), tilts[k]);
        }

        for (int k = middle + 1; k < count; k++)
        {
            Pose above = poses[k - 1];
            Vector3 rim = above.Origin - ((float)(0.5 * Height(First + k - 1)) * above.Y);
            Vector3 own = Tilted(Vector3.Zero, tilts[k]).Y;
            Vector3 disc = (float)Discs[k - 1] * Vector3.Normalize(above.Y + own);
            poses[k] = Tilted(rim - disc - ((float)(First + k == Sacral ? 0 : 0.5 * Height(First + k)) * own), tilts[k]);
        }

        return poses;
    }

    private static double Height(int level) => level switch { -1 => 22.6, 0 => 24, _ => LumbarSpineBones.HeightMm(level) };

    private static Pose Tilted(Vector3 origin, double degrees)
    {
        double turn = degrees * Math.PI / 180;
        return new Pose(origin, Vector3.UnitX, V(0, Math.Cos(turn), Math.Sin(turn)), V(0, -Math.Sin(turn), Math.Cos(turn)));
    }

    private static Pose Sized(Pose pose, float scale) => pose with { Origin = scale * pose.Origin };

    private static Shape Sized(Shape shape, float scale) => scale == 1 ? shape : new Scaled(scale, shape);

    private static void Vertebra(BodyBuilder spine, int level, BodySize size, float scale)
    {
        if (level < 1)
        {
            spine.Short("vertebra T" + (12 + level), () => Sized(ChestSpine.Vertebra(13 + level, size), scale), 0.3 * scale, 0.12, null, 0.5f);
            return;
        }

        Shape shape = LumbarSpineBones.Vertebra(level, size);
        spine.Short("vertebra L" + level, () => Sized(shape, scale), 0.46 * scale, 0.125, null, 0.5f);
        if (size == BodySize.Child)
        {
            spine.Short($"upper ring of L{level}", () => Sized(LumbarSpineBones.Ring(level, upper: true), scale), 0.3, 0.2);
            spine.Short($"lower ring of L{level}", () => Sized(LumbarSpineBones.Ring(level, upper: false), scale), 0.3, 0.2);
        }

        foreach ((string name, Vector3 point) in Marks.For(level, size))
        {
            spine.Mark(name + "L" + level, scale * point);
        }
    }

    private static void Pelvis(BodyBuilder spine, BodySize size, float scale)
    {
        spine.Short("sacrum", () => Sized(LumbarSpineBones.Sacrum(), scale), 0.4 * scale, 0.1, null, 0.5f);
        Pose whole = spine.Joint;
        foreach (int side in new[] { 1, -1 })
        {
            string prefix = side > 0 ? "left" : "right";
            spine.Joint = (Pose.Identity with { X = side * Vector3.UnitX }).Within(whole);
            spine.Short(prefix + " hip bone", () => HipBones.GetOrAdd(size, _ => new Lazy<Shape>(() => Sized(LumbarSpineBones.HipBone(LumbarSpineBones.Sacrum()), scale))).Value, 0.8 * scale, 0.1, null, 0.5f);
            spine.Mark(prefix + "IliacCrest", scale * Marks.Crest.Value);
            spine.Mark(prefix + "SacroiliacJoint", scale * Marks.Joint.Value);
        }

        spine.Joint = whole;
        spine.Mark("sacralPromontory", scale * Marks.Promontory.Value);
        spine.Mark("sacralEndPlatePosterior", scale * Marks.SacralPosterior.Value);
    }

    private static void Ribs(Body body, Pose[] poses, bool child, float scale)
    {
        foreach (int side in new[] { 1, -1 })
        {
            Rib(poses[1], [(21, 5, 10), (40, 1, 30), (64, -12, 37), (88, -32, 30), (106, -54, 14)], 4.2);
            Rib(poses[0], [(20, 6, 9), (44, 3, 33), (72, -9, 41), (100, -29, 32), (124, -56, 8), (134, -78, -18)], 4.7);
            Rib(poses[0], [(22, 36, 8), (46, 34, 36), (76, 22, 43), (106, 0, 32), (130, -30, 6), (139, -54, -24), (135, -74, -52)], 5);

            void Rib(Pose pose, (double X, double Y, double Z)[] points, double half)
            {
                double drop = child ? 0.75 : 1;
                Curve x = new([.. points.Select((point, k) => ((double)k, point.X))]);
                Curve y = new([.. points.Select((point, k) => ((double)k, point.Y * drop))]);
                Curve z = new([.. points.Select((point, k) => ((double)k, point.Z))]);
                List<TubeStation> stations = [];
                const int Pieces = 30;
                for (int piece = 0; piece <= Pieces; piece++)
                {
                    float at = (points.Length - 1) * piece / (float)Pieces;
                    double share = piece / (double)Pieces;
                    double height = half * (0.75 + (0.3 * Math.Min(1, share * 4)) - (0.35 * Math.Max(0, share - 0.7) / 0.3));
                    stations.Add(new TubeStation(scale * pose.ToOuter(V(side * x.At(at), y.At(at), z.At(at))), scale * (float)height, scale * 3.2f));
                }

                body.Tubes.Add(new Tube(stations, Vector3.UnitY, 0.7f * scale, 0.11f));
            }
        }
    }

    private static Body Soft(PartForm form, BodyBuilder spine, Pose[] poses, Pose[] straight, float scale)
    {
        // The trunk follows the spine's bend: how far each height has moved forward or back.
        Curve shift = new([.. Enumerable.Range(0, poses.Length).Reverse().Select(k => ((double)straight[k].Origin.Y, (double)(poses[k].Origin.Z - straight[k].Origin.Z)))]);
        double S(double y) => shift.At((float)y);
        Slice Skin(double y, double half, double minus, double plus) => new(y, 0, -18 + S(y), half, minus, plus);
        Shape skin = new Column(
            Skin(-260, 182, 98, 112),
            Skin(-200, 184, 98, 116),
            Skin(-150, 178, 98, 120),
            Skin(-110, 168, 100, 114),
            Skin(-60, 154, 102, 104),
            Skin(-10, 146, 104, 101),
            Skin(40, 147, 106, 102),
            Skin(100, 153, 110, 108),
            Skin(160, 158, 112, 118),
            Skin(260, 160, 110, 126));
        Shape wall = new Inset(skin, 13);
        SplitMix random = new(form.Seed + 4711);
        List<Shape> psoas = [];
        List<Shape> kidneys = [];
        List<Shape> fat = [];
        foreach (int side in new[] { 1, -1 })
        {
            psoas.Add(new TaperedCapsule(V(side * 22, 92, 6 + S(90)), V(side * 34, 20, 6), 7, 18));
            psoas.Add(new TaperedCapsule(V(side * 34, 20, 6), V(side * 50, -70, -4 + S(-70)), 18, 24));
            psoas.Add(new TaperedCapsule(V(side * 50, -70, -4 + S(-70)), V(side * 78, -170, -36 + S(-170)), 24, 20));

            // The left kidney stands higher; both lean with the psoas.
            double up = side > 0 ? 10 : -8;
            Pose lean = Pose.Turned(V(side * 64, 62 + up, 22), 12, 0, side * 14);
            kidneys.Add(new Posed(lean, new SmoothCut(6, new Ellipsoid(Vector3.Zero, V(28, 57, 22)), new Ellipsoid(V(-side * 30, 0, -6), V(14, 18, 16)))));
            fat.Add(new Posed(lean, new Ellipsoid(V(side * 2, 0, 2), V(41, 74, 33))));
            fat.Add(new Ellipsoid(V(side * 58, -10, 2), V(36, 90, 30)));
        }

        Shape pads = new SmoothCut(3, new SmoothUnion(10, [.. fat]), [.. psoas, .. kidneys, new TaperedCapsule(V(0, 140, 26), V(0, -110, 14), 30, 31)]);
        List<Shape> gas = [];
        void Bowel(double x, double y, double z, double radius, int pieces, double run, double slope)
        {
            for (int k = 0; k < pieces; k++)
            {
                double r = radius * (0.7 + (0.5 * random.NextUniform()));
                gas.Add(new Ellipsoid(V(x + (run * k) + (4 * random.NextGaussian()), y + (slope * k) + (4 * random.NextGaussian()), z + (3 * random.NextGaussian())), V(r, r * 0.85, r * 0.7)));
            }
        }

        Bowel(92, 96, -50, 14, 3, -12, 8);
        Bowel(-104, -34, -30, 15, 4, 2, 13);
        Bowel(-70, 6, -66, 11, 3, 13, -4);
        Bowel(104, -14, -26, 10, 4, 1, -14);
        Bowel(34, -118, -30, 12, 3, -15, -6);
        Bowel(46, -4, -72, 8, 2, 12, 3);
        Shape lungs = new SmoothCut(
            2,
            new Column(new Slice(70, 0, 2, 128, 84, 86), new Slice(150, 0, 2, 136, 92, 96), new Slice(262, 0, 2, 140, 96, 104)),
            new Below(new Box(V(-170, -50, -150), V(170, 330, 150)), Dome),
            new Loft(false, Section.Oval(60, 40, 44, 0, 44), Section.Oval(280, 26, 40, 0, 50)),
            new Loft(false, Section.Oval(60, 70, 34, 0, 96), Section.Oval(280, 60, 34, 0, 104)),
            new Loft(false, Section.Oval(60, 84, 80, 4, -36), Section.Oval(180, 70, 78, 8, -40), Section.Oval(280, 64, 74, 10, -40)));
        return new Body
        {
            Bones = spine.Bones,
            Landmarks = spine.Landmarks,
            Skin = Sized(form.Habitus == 1 ? skin : new Inset(skin, (float)(-30 * (form.Habitus - 1))), scale),
            Muscle = Sized(wall, scale),
            FatPads = Sized(pads, scale),
            Gas = Sized(new SmoothUnion(7, [.. gas]), scale),
            Air = Sized(lungs, scale),
            AirDensityShare = 0.3,
            SoftCellMm = 4,
            FatPlanes = 0.1f,
        };

        // Low domes at rest; behind them the lungs reach down to L1.
        static float Dome(float x, float z)
        {
            float across = (MathF.Abs(x) - 70) / 60;
            float along = z < -10 ? (-10 - z) / 95 : (z + 10) / 104;
            float reach = MathF.Sqrt((across * across * (across > 0 ? 1 : 0.25f)) + (along * along));
            return (x < 0 ? 196 : 184) - (110 * reach * reach);
        }
    }

    /// <summary>Points of the bones' surfaces, found once.</summary>
    private static class Marks
    {
        public static Lazy<Vector3> Promontory { get; } = new(() => LumbarSpineBones.Touch(LumbarSpineBones.Sacrum(), V(0, -3, -40), Vector3.UnitZ));

        public static Lazy<Vector3> SacralPosterior { get; } = new(() => LumbarSpineBones.Touch(LumbarSpineBones.Sacrum(), V(0, -2.5, 21), -Vector3.UnitZ));

        public static Lazy<Vector3> Crest { get; } = new(() =>
        {
            // The highest point of the crest, upright at the sacrum's usual tilt.
            Shape bone = LumbarSpineBones.HipBone(LumbarSpineBones.Sacrum());
            Vector3 up = Tilted(Vector3.Zero, -Tilts[^1]).Y;
            Vector3 best = Vector3.Zero;
            float high = float.MinValue;
            for (float z = -60; z <= 60; z += 2)
            {
                for (float x = 60; x <= 115; x += 2)
                {
                    Vector3 from = V(x, 0, z) + (130 * up);
                    Vector3 point = from;
                    for (int step = 0; step < 300; step++)
                    {
                        float distance = bone.Distance(point);
                        if (distance < 0.02f)
                        {
                            if (Vector3.Dot(point, up) > high)
                            {
                                high = Vector3.Dot(point, up);
                                best = point;
                            }

                            break;
                        }

                        point -= MathF.Max(0.02f, 0.5f * distance) * up;
                        if (Vector3.Dot(point, up) < MathF.Max(0, high))
                        {
                            break;
                        }
                    }
                }
            }

            return best;
        });

        public static Lazy<Vector3> Joint { get; } = new(() => LumbarSpineBones.Touch(LumbarSpineBones.Sacrum(), V(90, -30, 6), -Vector3.UnitX));

        private static readonly ConcurrentDictionary<(int Level, BodySize Size), Lazy<(string Name, Vector3 Point)[]>> Kept = new();

        public static (string Name, Vector3 Point)[] For(int level, BodySize size) => Kept.GetOrAdd((level, size), key => new Lazy<(string, Vector3)[]>(() =>
        {
            Shape bone = LumbarSpineBones.Vertebra(key.Level, key.Size);
            double high = (0.5 * LumbarSpineBones.HeightMm(key.Level)) - (key.Size == BodySize.Child ? 2.6 : 1.5);
            double canal = (0.84 * LumbarSpineBones.HalfDepthMm(key.Level)) + 9;
            List<(string, Vector3)> marks = [];
            foreach ((string end, double y) in new[] { ("superior", high), ("inferior", -high) })
            {
                marks.Add(($"{end}Anterior", LumbarSpineBones.Touch(bone, V(0, y, -40), Vector3.UnitZ)));
                marks.Add(($"{end}Posterior", LumbarSpineBones.Touch(bone, V(0, y, canal), -Vector3.UnitZ)));
                marks.Add(($"{end}Left", LumbarSpineBones.Touch(bone, V(45, y, -4), -Vector3.UnitX)));
                marks.Add(($"{end}Right", LumbarSpineBones.Touch(bone, V(-45, y, -4), Vector3.UnitX)));
            }

            double middle = 0.2 * LumbarSpineBones.HeightMm(key.Level);
            marks.Add(("leftPedicle", LumbarSpineBones.Touch(bone, V(0, middle, canal - 2), Vector3.UnitX)));
            marks.Add(("rightPedicle", LumbarSpineBones.Touch(bone, V(0, middle, canal - 2), -Vector3.UnitX)));
            marks.Add(("spinousTip", LumbarSpineBones.Touch(bone, V(0, key.Level == 5 ? -8 : -11, 90), -Vector3.UnitZ)));
            return [.. marks];
        })).Value;
    }
}
