using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Lumbar vertebrae, sacrum and hip bones, each in its own frame: x left, y up, z back, in mm of an adult.</summary>
/// <remarks>
/// A vertebra's origin is the middle of its body; the sacrum's and the hip bones' is the middle of the first sacral end plate, y at a right angle to it.
/// L5: height 30.3 ± 1.9 mm in front and 26.3 ± 1.9 mm behind, upper end plate 35.7 ± 3.5 mm deep, pedicles 12.9 ± 1.9 mm high and 16.1 ± 2.3 mm wide
/// (table 6 of the study published by the International Journal of Spine Surgery, highwire markup 11003). Other measures are from memory.
/// </remarks>
internal static class LumbarSpineBones
{
    private static readonly ConcurrentDictionary<(int Level, BodySize Size), Lazy<Shape>> Kept = new();

    /// <summary>The upright trunk's frame as seen from the sacrum's, at the usual tilt of 37 degrees.</summary>
    private static readonly Pose Upright = new(Vector3.Zero, Vector3.UnitX, V(0, Math.Cos(37 * Math.PI / 180), Math.Sin(37 * Math.PI / 180)), V(0, -Math.Sin(37 * Math.PI / 180), Math.Cos(37 * Math.PI / 180)));

    /// <summary>L1 to L5: width and depth of the end plates, height in front and behind, width of a pedicle, half distance of the upper facets, half span of the transverse processes, length behind the body's middle.</summary>
    private static readonly (double Width, double Depth, double Front, double Behind, double Pedicle, double Facet, double Span, double Spine)[] Sizes =
    [
        (42, 32.5, 26.4, 27.6, 8, 14, 37, 66), (43.5, 33.5, 27.2, 27.8, 8.6, 15, 43, 68), (45.5, 34.4, 28, 27.6, 9.6, 16.5, 48, 70), (48, 35, 28.6, 27.2, 11.6, 18.5, 45, 68), (50, 35.2, 30, 26.2, 15.5, 22, 46, 62),
    ];

    public static double WidthMm(int level) => Sizes[level - 1].Width;

    public static double HalfDepthMm(int level) => 0.5 * Sizes[level - 1].Depth;

    public static double HeightMm(int level) => 0.5 * (Sizes[level - 1].Front + Sizes[level - 1].Behind);

    /// <summary>A vertebra, drawn once and kept.</summary>
    /// <param name="level">1 to 5.</param>
    /// <param name="size">A child's body has bevelled rims where the ring apophyses are.</param>
    public static Shape Vertebra(int level, BodySize size) => Kept.GetOrAdd((level, size), key => new Lazy<Shape>(() => Draw(key.Level, key.Size))).Value;

    /// <summary>The first point of a vertebra that a line meets, in its frame.</summary>
    public static Vector3 Touch(Shape shape, Vector3 from, Vector3 direction)
    {
        Vector3 point = from;
        for (int step = 0; step < 4000 && shape.Distance(point) > 0; step++)
        {
            point += 0.04f * direction;
        }

        return point;
    }

    /// <summary>A child's ring apophysis of one end plate.</summary>
    public static Shape Ring(int level, bool upper)
    {
        (double w, double d, _, _, _, _, _, _) = Sizes[level - 1];
        double side = upper ? 1 : -1;
        double y = side * ((0.5 * HeightMm(level)) - 0.4);
        List<Shape> pieces = [];
        const int Pieces = 22;
        for (int k = -Pieces; k < Pieces; k++)
        {
            // Open behind, thickest in front.
            Vector3 from = At(k);
            Vector3 to = At(k + 1);
            float thick = 0.5f + (0.45f * (1 - (Math.Abs(k) / (float)Pieces)));
            pieces.Add(new TaperedCapsule(from, to, thick, thick));
        }

        return new SmoothUnion(0.5f, [.. pieces]);

        Vector3 At(int k)
        {
            double turn = Math.PI * 0.8 * k / Pieces;
            double x = Math.Sin(turn);
            double z = -Math.Cos(turn);
            return V(((0.5 * w) - 0.6) * Math.Sign(x) * Math.Pow(Math.Abs(x), 0.8), y, ((0.5 * d) - 0.6) * Math.Sign(z) * Math.Pow(Math.Abs(z), 0.8));
        }
    }

    private static Shape Draw(int level, BodySize size)
    {
        (double w, double d, double front, double behind, double pedicle, double facet, double span, double spine) = Sizes[level - 1];
        bool child = size == BodySize.Child;
        double h = HeightMm(level);
        double hh = 0.5 * h;
        double hw = 0.5 * w;
        double hd = 0.5 * d;
        double arch = 0.84 * hd;
        double bevel = child ? 2.6 : 1.1;

        // The waisted body, cut by its two end plates, which lean against each other by the body's wedge.
        Shape barrel = new Column(
            new Slice(-hh - 4, 0, 0, hw - (child ? 4.5 : 0.4), hd - (child ? 4.5 : 0.4), arch),
            new Slice(-hh + (0.7 * bevel), 0, 0, hw - (0.12 * bevel), hd - (0.12 * bevel), arch),
            new Slice(-hh * 0.62, 0, 0, hw * 0.93, hd * 0.94, arch * 0.98),
            new Slice(0, 0, 0, hw * 0.86, hd * 0.885, arch * 0.95),
            new Slice(hh * 0.62, 0, 0, hw * 0.92, hd * 0.935, arch * 0.98),
            new Slice(hh - (0.7 * bevel), 0, 0, hw - (0.12 * bevel), hd - (0.12 * bevel), arch),
            new Slice(hh + 4, 0, 0, hw - (child ? 4.5 : 0.4), hd - (child ? 4.5 : 0.4), arch));
        double lean = (front - behind) / (2 * d);
        Shape trimmed = new SmoothShared(1.6f, new SmoothShared(1.6f, barrel, new HalfSpace(V(0, hh, 0), Vector3.Normalize(V(0, 1, lean)))), new HalfSpace(V(0, -hh, 0), Vector3.Normalize(V(0, -1, lean))));
        Shape body = new SmoothCut(
            2,
            trimmed,
            new Ellipsoid(V(0, hh + 6.6, 2), V(hw * 0.86, 8.6, hd * 0.86)),
            new Ellipsoid(V(0, -hh - 6.2, 3), V(hw * 0.86, 8.6, hd * 0.86)),
            new TaperedCapsule(V(0, -h, arch + 11), V(0, h, arch + 11), 11.5f, 11.5f));
        double px = facet - (level == 5 ? 1 : 0.5) + 1.5;
        List<Shape> parts = [body];
        foreach (int side in new[] { 1, -1 })
        {
            parts.Add(new Ellipsoid(V(side * px, 0.2 * h, arch + 4), V(0.5 * pedicle, 7.2, 11)));

            // Pars, upper facet in front and outward of the lower facet of the vertebra above.
            parts.Add(new TaperedCapsule(V(side * px, 0.18 * h, arch + 12), V(side * (facet + 0.8), hh + 3.5, arch + 13.5), 4.2f, 4.2f));
            parts.Add(new Ellipsoid(V(side * (facet + 1), hh + 5, arch + 14), V(3.3, 8.5, 5.6)));
            parts.Add(new TaperedCapsule(V(side * px * 0.97, 0.12 * h, arch + 13), V(side * (facet - 4.5), -0.34 * h, arch + 18), 4.2f, 4));
            double lower = (level < 5 ? Sizes[level].Facet : 22.5) - 7;
            parts.Add(new TaperedCapsule(V(side * (facet - 4.5), -0.34 * h, arch + 18), V(side * lower, -hh - 4, arch + 19), 4, 3.6f));
            parts.Add(new Ellipsoid(V(side * lower, -hh - 6, arch + 19), V(3.3, 9, 5.2)));

            // Laminae slope back to the spinous process.
            parts.Add(new TaperedCapsule(V(side * (facet - 3), 0.06 * h, arch + 15), V(0, -0.02 * h, arch + 26), 2.6f, 2.8f));
            parts.Add(new TaperedCapsule(V(side * (facet - 4.5), -0.2 * h, arch + 17), V(0, -0.24 * h, arch + 27), 2.6f, 2.8f));

            float thick = level == 5 ? 6.5f : 4.5f;
            double rise = level switch { 1 => -1.5, 2 => 0.5, 3 => 2.5, 4 => 5.5, _ => 6 };
            parts.Add(new TaperedCapsule(V(side * (px + 2), 0.16 * h, arch + 9), V(side * (0.62 * span), (0.16 * h) + (0.3 * rise), arch + 12), thick, 3.4f));
            parts.Add(new TaperedCapsule(V(side * (0.62 * span), (0.16 * h) + (0.3 * rise), arch + 12), V(side * (span - 3.5), (0.16 * h) + rise, arch + 14), 3.4f, level == 3 ? 3.6f : 3.2f));
            parts.Add(new Ellipsoid(V(side * (facet + 3.5), 0.42 * h, arch + 17), V(3, 4, 3.4)));
        }

        // The spinous process is a hatchet, thicker along its lower edge.
        double tip = spine - 3;
        double high = level == 5 ? 0.7 : 1;
        Shape blade = new Plate(
            [(arch + 22, 3), (arch + 32, 1), (tip - 8, -1 * high), (tip, -5 * high), (tip + 1, -13 * high), (tip - 4, -20 * high), (tip - 12, -18 * high), (arch + 30, -13), (arch + 23, -11)],
            -3.1,
            3.1,
            2.6);
        parts.Add(new Posed(new Pose(Vector3.Zero, Vector3.UnitZ, Vector3.UnitY, Vector3.UnitX), blade));
        parts.Add(new TaperedCapsule(V(0, -11 * high, arch + 30), V(0, -16 * high, tip - 5), 3.4f, 4.8f));
        return new SmoothUnion(3, [.. parts]);
    }

    /// <summary>The sacrum as one bone, its canal's back wall and the four pairs of foramina drawn.</summary>
    public static Shape Sacrum()
    {
        (double X, double Y)[] outline =
        [
            (0, -2), (22, -2), (33, -6), (44, -7), (53, -12), (58, -22), (57, -34), (51, -46), (42, -57), (34, -70), (28, -85), (22, -99), (13, -108), (0, -111),
            (-13, -108), (-22, -99), (-28, -85), (-34, -70), (-42, -57), (-51, -46), (-57, -34), (-58, -22), (-53, -12), (-44, -7), (-33, -6), (-22, -2),
        ];

        // Seen from the side: hollow in front, most so at the third piece.
        Curve front = new((-111, -12), (-95, 0), (-75, 6), (-55, 7), (-35, 3), (-18, -5), (0, -13));
        Curve back = new((-111, -4), (-95, 10), (-75, 20), (-55, 26), (-35, 27), (-18, 24), (0, 15));
        Shape plate = new Plate(outline, front, back, new Curve((-111, 3.5), (-60, 7), (-30, 10), (0, 12)), 0.5);
        Shape body = new Column(
            new Slice(-30, 0, -1, 21, 8, 12),
            new Slice(-14, 0, -1, 23, 14, 13),
            new Slice(-3, 0, 0, 25, 17, 14),
            new Slice(0, 0, 0, 24, 16.4, 13.5));
        List<Shape> parts = [plate, new SmoothCut(1.5f, body, new Ellipsoid(V(0, 6.6, 1), V(20, 8.2, 14)))];
        List<Shape> removed = [];
        foreach (int side in new[] { 1, -1 })
        {
            parts.Add(new TaperedCapsule(V(side * 22, -6, 19), V(side * 23, 7, 19), 5, 4.4f));
            parts.Add(new Ellipsoid(V(side * 24.5, 8, 18.5), V(3.4, 7.5, 5)));
            double[] heights = [-21, -44, -65, -84];
            double[] places = [24.5, 21.5, 18.5, 16];
            double[] radii = [5.6, 5, 4.2, 3.4];
            for (int k = 0; k < 4; k++)
            {
                removed.Add(new TaperedCapsule(V(side * (places[k] + 3), heights[k] - 3, -24), V(side * places[k], heights[k] + 2, 16), (float)radii[k] + 1.2f, (float)radii[k] - 1));
                removed.Add(new TaperedCapsule(V(side * places[k], heights[k] + 2, 14), V(side * (places[k] + 1), heights[k], 40), (float)radii[k] - 1.4f, (float)radii[k] - 1.2f));
            }
        }

        for (int k = 0; k < 4; k++)
        {
            double y = -10 - (20 * k);
            parts.Add(new TaperedCapsule(V(0, y, back.At((float)y) - 1), V(0, y - 9, back.At((float)y - 9) + (5 - k)), 3, 2.8f - (0.3f * k)));
        }

        // The canal behind the bodies.
        removed.Add(new TaperedCapsule(V(0, 10, 22), V(0, -30, 15.5), 9, 6.5f));
        removed.Add(new TaperedCapsule(V(0, -30, 15.5), V(0, -80, 13), 6, 3));
        return new SmoothCut(2, new SmoothUnion(5, [.. parts]), [.. removed]);
    }

    /// <summary>The left hip bone as far down as the roof of the hip joint, hollowed by the sacrum grown by the joint's cartilage.</summary>
    /// <param name="sacrum">The sacrum in the same frame.</param>
    public static Shape HipBone(Shape sacrum)
    {
        // Along the wing: from the upper spine behind to the upper spine in front.
        Vector3 behind = V(43, -34, 62);
        Vector3 inFront = V(122, -6, -78);
        Vector3 x = Vector3.Normalize(inFront - behind);
        Vector3 z = Vector3.Normalize(Vector3.Cross(x, Vector3.Normalize(V(0.1, 1, 0.05))));
        Vector3 y = Vector3.Cross(z, x);
        Pose wing = new Pose(behind, x, y, z).Within(Upright);
        (double X, double Y)[] outline =
        [
            (0, 2), (8, 22), (24, 44), (46, 60), (72, 67), (98, 64), (122, 50), (142, 28), (158, 6), (161, -4), (154, -16), (146, -32), (146, -42), (138, -60), (126, -82), (110, -96), (90, -98), (74, -88), (62, -72), (48, -60), (32, -54), (18, -50), (8, -42), (10, -30), (0, -14),
        ];
        Shape blade = new Plate(outline, new Curve((-98, -11), (-70, -9), (-40, -5), (0, -4.4), (25, -7), (45, -10.5), (66, -14)), new Curve((-98, 12), (-70, 9), (-40, 3), (0, -0.2), (25, -2.2), (45, -3), (66, -5)), new Curve((-98, 8), (-60, 5), (0, 1.6), (66, 3.5)), 0.6);
        double sign = z.X > 0 ? 1 : -1;
        List<Shape> parts = [blade];
        (double X, double Y)[] crest = [(1, -2), (8, 20), (24, 42), (47, 57.5), (72, 64.5), (98, 61.5), (121, 48), (141, 26), (157, 3)];
        Curve crestX = new([.. crest.Select((point, k) => ((double)k, point.X))]);
        Curve crestY = new([.. crest.Select((point, k) => ((double)k, point.Y))]);
        Curve thick = new((0, 5.6), (1.5, 5.8), (3, 3.9), (4.5, 3.9), (5.6, 5.4), (6.6, 4.4), (8, 4.6));
        const int Pieces = 40;
        for (int k = 0; k < Pieces; k++)
        {
            float from = 8f * k / Pieces;
            float to = 8f * (k + 1) / Pieces;
            parts.Add(new TaperedCapsule(V(crestX.At(from), crestY.At(from), Middle(crestY.At(from))), V(crestX.At(to), crestY.At(to), Middle(crestY.At(to))), thick.At(from), thick.At(to)));
        }

        // The thick part behind, which bears the joint with the sacrum, the line that carries load to the hip, and the roof of the hip joint.
        parts.Add(new Ellipsoid(V(26, -14, -sign * 4), V(24, 34, 12)));
        parts.Add(new TaperedCapsule(V(42, -30, -sign * 4), V(84, -70, -sign * 2), 9, 12));
        parts.Add(new TaperedCapsule(V(84, -72, 0), V(128, -66, sign * 3), 15, 12));
        parts.Add(new TaperedCapsule(V(144, -34, 0), V(136, -62, 0), 6, 9));
        return new SmoothCut(1.2f, new Posed(wing, new SmoothUnion(9, [.. parts])), new Inset(sacrum, -2.6f));

        static double Middle(double height) => height > 0 ? -2.2 - (0.11 * height) : -2.2;
    }
}
