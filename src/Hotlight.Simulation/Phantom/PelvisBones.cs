using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;
using static Hotlight.Simulation.Shapes.Outline;

namespace Hotlight.Simulation.Phantom;

/// <summary>The bones of a pelvis as drawn: x to the patient's left, y up, z to the front, origin midway between the hips, in mm of the grown-up. Hip bone and femur are those of the left side.</summary>
internal sealed class PelvisBones
{
    /// <summary>Radius of the femoral head, in mm: diameter 48.</summary>
    public const float HeadRadiusMm = 24;

    private static readonly Lazy<PelvisBones> Grown = new(() => new PelvisBones(false));
    private static readonly Lazy<PelvisBones> Growing = new(() => new PelvisBones(true));

    private PelvisBones(bool child)
    {
        Shape hip = HipBone(child);
        Shape mirrored = new Posed(Mirror, hip);
        Shape fourth = Vertebra(V(0, 160, -12), V(0, 0.985, 0.17), 25.5f, 17);
        Shape fifth = new SmoothCut(1, Vertebra(V(0, 121, -22), V(0, 0.93, 0.36), 27, 17.5f), new Inset(fourth, -1.6f));
        Shape sacrum = new SmoothCut(1.5f, Sacrum(), new Inset(hip, -2.4f), new Inset(mirrored, -2.4f), new Inset(fifth, -1.6f));
        Shape femur = Femur();
        Whole = new() { ["hipBone"] = hip, ["sacrum"] = sacrum, ["femur"] = femur };
        Vector3 neck = Vector3.Normalize(HeadFromNeck);
        LimbBone thigh = new(
            "Femur",
            femur,
            "thigh",
            V(0, 26, 0),
            V(-26, -220, 0),
            [(0, 0.9), (50, 0.8), (72, 1.6), (95, 3.6), (130, 5.6), (200, 6.8)],
            [(0, 0.24), (30, 0.2), (60, 0.12), (85, 0.07), (110, 0.03), (150, 0.01)])
        { GrainAcrossMm = 0.36f, GrainAlongMm = 1.2f };
        Thighs = child
            ? [.. Grow(thigh, neck)]
            : [thigh];
        Hip = new LimbBone("HipBone", hip, "pelvis", Hip0, Hip0 + V(10, 100, 10), [(-80, 1.0), (0, 1.1), (40, 0.9), (100, 0.8)], [(-80, 0.16), (0, 0.2), (40, 0.16), (130, 0.12)]) { GrainAcrossMm = 0.4f };
        Middle =
        [
            new LimbBone("sacrum", sacrum, "pelvis", V(0, 100, -30), V(0, 0, -60), [(0, 0.9), (60, 0.7)], [(0, 0.14), (40, 0.12), (100, 0.1)]) { GrainAcrossMm = 0.4f },
            .. Coccyx(),
            new LimbBone("fifthLumbarVertebra", fifth, "pelvis", V(0, 100, -20), V(0, 140, -20), [(0, 0.8)], [(0, 0.14)]) { GrainAcrossMm = 0.4f },
            new LimbBone("fourthLumbarVertebra", fourth, "pelvis", V(0, 140, -12), V(0, 180, -12), [(0, 0.8)], [(0, 0.14)]) { GrainAcrossMm = 0.4f },
        ];
    }

    /// <summary>Middle of the left hip.</summary>
    public static Vector3 Hip0 { get; } = V(88, 0, 0);

    /// <summary>From the neck's base to the middle of the head, in the femur's frame: neck and shaft enclose 127 degrees.</summary>
    public static Vector3 HeadFromNeck { get; } = V(-40.3, 38.9, 0);

    /// <summary>Direction of the femur's shaft, downwards, in its frame.</summary>
    public static Vector3 Shaft { get; } = V(-0.122, -0.9925, 0);

    /// <summary>The other side.</summary>
    public static Pose Mirror { get; } = new(Vector3.Zero, -Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ);

    /// <summary>The left hip bone, in the pelvis' frame.</summary>
    public LimbBone Hip { get; }

    /// <summary>The left femur, or its pieces while growing: origin in the middle of the head, x lateral, neck in the x-y plane.</summary>
    public IReadOnlyList<LimbBone> Thighs { get; }

    /// <summary>Sacrum, coccyx and the last vertebrae.</summary>
    public IReadOnlyList<LimbBone> Middle { get; }

    /// <summary>Whole surfaces: "hipBone", "sacrum", "femur".</summary>
    public Dictionary<string, Shape> Whole { get; }

    public static PelvisBones Of(BodySize size) => size == BodySize.Child ? Growing.Value : Grown.Value;

    private static IEnumerable<LimbBone> Grow(LimbBone femur, Vector3 neck)
    {
        // The head's plate stands across the neck; the greater trochanter is a piece of its own.
        LimbBone[] head = [.. femur.SplitAt(-9.5f * neck, neck, 2.6f, 1.3f, 0.6f, 26)];
        Vector3 upwards = Vector3.Normalize(V(0.55, 0.83, 0));
        Shape beside = new WavySide(V(36, 0, 0), -Vector3.UnitX);
        LimbBone shaft = head[0];
        Shape trochanter = new Trimmed(1.5f, new Inset(shaft.Surface, 1.2f), new WavySide(V(57, -16, 0) + (1.4f * upwards), -upwards, 0.5f, 22), beside);
        Shape rest = new SmoothCut(1.5f, shaft.Surface, new Trimmed(0.5f, new WavySide(V(57, -16, 0) - (1.4f * upwards), -upwards, 0.5f, 22), beside));
        yield return shaft with { Surface = rest };
        yield return head[1];
        yield return head[1] with { Name = "GreaterTrochanter", Surface = trochanter };
    }

    private static Shape HipBone(bool child)
    {
        // The wing of the ilium: a plate from the sacrum outwards and forwards, leaning outwards, hollow towards the inside.
        Vector3 along = V(0.535, 0, 0.845);
        Vector3 outwards = V(0.845, 0, -0.535);
        Vector3 up = Vector3.Normalize((0.26f * outwards) + Vector3.UnitY);
        Pose plane = new(V(80, 40, -8), along, up, Vector3.Cross(along, up));
        float sign = Vector3.Dot(plane.Z, outwards) > 0 ? 1 : -1;
        Shape wing = new Blade(
            plane,
            [
                (74, 33), (74.5, 44), (67.5, 64), (58, 86), (44, 104), (24, 116), (0, 121.5), (-22, 118), (-42, 108), (-58, 95), (-74, 74), (-84, 54), (-90, 38), (-89, 26), (-82, 15), (-73, 7), (-62, 6), (-53, 12), (-45, 12), (-38.5, 4), (-34.5, -5), (-31, -14),
                (-26, -28), (-14, -42), (10, -46), (26, -42), (34, -31), (39, -18), (43.5, -7), (48.5, 3), (56, 13), (66, 23),
            ],
            place => sign * ((9 * (1 - (place.X * place.X / 6400)) * Near(place.Y, 60, -10)) + (place.Y > 70 ? -0.004f * (place.Y - 70) * (place.Y - 70) * Near(place.X, -40, 10) : 0)),
            (place, edge) => 2.4f + (4.2f * Near(-edge, 2, 22)) + (6.5f * Near(place.X, -66, -30) * Near(place.Y, 40, 90)) + (11 * Near(place.Y, -16, 30)) + (1.6f * Bump(place.X, 24, 18) * Near(place.Y, 100, 60)),
            5,
            0.9f);
        Vector3 h = Hip0;
        Shape socket = new Ellipsoid(h + V(-3, 3, -2), V(28, 33, 34));
        Shape spineBelow = new TaperedCapsule(h + V(2, 14, 22), h + V(9, 26, 31), 9, 6);
        Shape[] ring =
        [
            // Upper ramus of the pubis, body at the symphysis, lower ramus, ischium with tuberosity and spine.
            new TaperedCapsule(V(70, 46, -34), V(66.5, 16, -2), 8, 7),
            new TaperedCapsule(V(66.5, 16, -2), V(47, -19, 34), 7, 8),
            new TaperedCapsule(V(69, 20, -26), V(66, -50, -24), 9, 10),
            new TaperedCapsule(h + V(-18, -12, 16), V(46, -22, 36), 13, 8.5f),
            new TaperedCapsule(V(46, -22, 36), V(24, -31, 44), 8.5f, 8),
            new Silhouettes(5, FromFront((2.4, -35), (2.4, -46), (3, -58), (6, -68), (14, -73), (20, -68), (20, -58), (24, -46), (27, -37), (26, -28), (19, -24), (9, -26)), FromSide((33, -22), (44, -23), (50, -31), (49, -44), (45, -60), (40, -74), (30, -74), (28, -60), (29, -40)), FromAbove((2.4, 28), (2.4, 52), (14, 52), (28, 48), (28, 30), (14, 26))),
            new TaperedCapsule(V(13, -64, 38), V(32, -80, 16), 8, 7),
            new TaperedCapsule(V(32, -80, 16), V(50, -80, -12), 7, 10),
            new TaperedCapsule(h + V(-10, -18, -18), V(64, -58, -27), 20, 15),
            new TaperedCapsule(V(64, -56, -28), V(56, -74, -20), 14, 12.5f),
            new TaperedCapsule(h + V(-14, -4, -24), V(51, -12, -42), 9, 2.6f),
        ];
        Shape whole = new SmoothUnion(9, [wing, socket, spineBelow, .. ring]);

        // The socket opens outwards, downwards and forwards; its rim lies behind the middle of the head.
        Vector3 opening = Vector3.Normalize(V(0.64, -0.70, 0.31));
        Shape ball = new TaperedCapsule(h, h + (40 * opening), HeadRadiusMm + 3.6f, HeadRadiusMm + 8);
        Shape mouth = new Trimmed(3, Ball(h, 41), new WavySide(h - (4 * opening), -opening));
        Shape[] cuts = child
            ? [ball, mouth, new Ellipsoid(h + V(-18, -1, 0), V(36, 2.1f, 48)), new Ellipsoid(V(38, -82, 6), V(3, 9, 9))]
            : [ball, mouth];
        return new SmoothCut(3.5f, whole, cuts);
    }

    private static TaperedCapsule Ball(Vector3 centre, float radius) => new(centre, centre + V(0, 0.01, 0), radius, radius);

    /// <summary>1 at and beyond the first value, 0 at and beyond the second, smooth between.</summary>
    private static float Near(float value, float one, float none)
    {
        float t = Math.Clamp((value - none) / (one - none), 0, 1);
        return t * t * (3 - (2 * t));
    }

    private static float Bump(float value, float middle, float width) => 1 / (1 + ((value - middle) * (value - middle) / (width * width)));

    private static Shape Sacrum()
    {
        Outline front = FromFront(
            (0, 102), (14, 102), (24, 100), (32, 95.5), (44, 92), (56, 86), (60, 78), (57.5, 66), (51, 53), (44, 41), (37, 30), (30, 19), (22, 8), (10, -5), (0, -6),
            (-10, -5), (-22, 8), (-30, 19), (-37, 30), (-44, 41), (-51, 53), (-57.5, 66), (-60, 78), (-56, 86), (-44, 92), (-32, 95.5), (-24, 100), (-14, 102));
        Outline side = FromSide(
            (-7, 86), (-14, 77), (-25, 65), (-36, 52), (-44, 38), (-48, 24), (-48, 10), (-44, -4), (-48, -7), (-57, -2), (-64, 10), (-69, 24), (-73, 40), (-73, 56), (-69, 72), (-62, 86), (-52, 96), (-42, 102), (-32, 101), (-18, 93));
        Shape body = new Silhouettes(6, front, side);
        List<Shape> holes = [];
        double[] heights = [69, 51, 34, 19];
        double[] sideways = [24, 22, 20, 17];
        double[] depths = [-22, -37, -46, -48];
        for (int level = 0; level < 4; level++)
        {
            foreach (int hand in (int[])[-1, 1])
            {
                holes.Add(new TaperedCapsule(V(hand * (sideways[level] + 8), heights[level] - 8, depths[level] + 14), V(hand * (sideways[level] - 3), heights[level] + 3, depths[level] - 40), 9 - level, 2.4f));
            }
        }

        // The upper corners behind the first body are hollow between the wing and the canal; the canal itself runs down the middle.
        Shape canal = new TaperedCapsule(V(0, 118, -50), V(0, 40, -65), 7, 3);
        Shape crest = new SmoothUnion(4, new TaperedCapsule(V(0, 82, -72), V(0, 40, -78), 3.6f, 4), new TaperedCapsule(V(0, 40, -78), V(0, 14, -70), 4, 2.6f));
        return new SmoothUnion(3, new SmoothCut(6, body, [.. holes, canal]), crest);
    }

    private static IEnumerable<LimbBone> Coccyx()
    {
        Vector3[] places = [V(0, -12, -48), V(0, -21.5, -43), V(0, -29, -37.5), V(0, -35.5, -31.5)];
        Vector3[] radii = [V(11.5, 6, 5), V(7.6, 5.2, 4.4), V(5.6, 4.2, 3.6), V(3.8, 3.4, 2.8)];
        for (int piece = 0; piece < 4; piece++)
        {
            Pose lie = Pose.Along(places[piece], places[piece] + V(0, 0.87, -0.5), Vector3.UnitZ);
            Shape surface = new Posed(lie, new Ellipsoid(Vector3.Zero, radii[piece]));
            yield return new LimbBone("coccyx" + (piece + 1), surface, "pelvis", places[piece], places[piece] - Vector3.UnitY, [(0, 0.6)], [(0, 0.14)]);
        }
    }

    /// <summary>A lower lumbar vertebra, seen mostly from the front here.</summary>
    private static Shape Vertebra(Vector3 middle, Vector3 upwards, float halfWidth, float halfDepth)
    {
        Pose frame = Pose.Along(middle, middle + Vector3.Normalize(upwards), Vector3.UnitZ);
        Shape body = new Loft(
            false,
            new Section(-14.5, -halfWidth, halfWidth, -halfDepth, halfDepth),
            new Section(-12, -halfWidth - 0.6, halfWidth + 0.6, -halfDepth, halfDepth + 0.5),
            new Section(-6, -halfWidth + 2, halfWidth - 2, -halfDepth + 1.5, halfDepth - 1.2),
            new Section(0, -halfWidth + 3, halfWidth - 3, -halfDepth + 2, halfDepth - 2),
            new Section(6, -halfWidth + 2, halfWidth - 2, -halfDepth + 1.5, halfDepth - 1.2),
            new Section(12, -halfWidth - 0.6, halfWidth + 0.6, -halfDepth, halfDepth + 0.5),
            new Section(14.5, -halfWidth, halfWidth, -halfDepth, halfDepth));
        List<Shape> parts = [body];
        foreach (int hand in (int[])[-1, 1])
        {
            parts.Add(new TaperedCapsule(V(hand * 16, 6, -halfDepth + 2), V(hand * 16.5, 5, -halfDepth - 14), 5.6f, 6));
            parts.Add(new TaperedCapsule(V(hand * 18, 5, -halfDepth - 8), V(hand * 42, 9, -halfDepth - 10), 5, 3.4f));
            parts.Add(new TaperedCapsule(V(hand * 15, 14, -halfDepth - 16), V(hand * 17, -17, -halfDepth - 18), 6, 5.4f));
            parts.Add(new TaperedCapsule(V(hand * 14, -2, -halfDepth - 16), V(0, -8, -halfDepth - 26), 4.5f, 4));
        }

        parts.Add(new TaperedCapsule(V(0, -5, -halfDepth - 26), V(0, -12, -halfDepth - 42), 4, 5));
        return new Posed(frame, new SmoothUnion(4, [.. parts]));
    }

    private static Shape Femur()
    {
        Shape head = Ball(Vector3.Zero, HeadRadiusMm);
        Vector3 neck = Vector3.Normalize(HeadFromNeck);
        Vector3 root = -HeadFromNeck;
        Shape neckPiece = new Posed(
            Pose.Along(root, Vector3.Zero, Vector3.UnitZ),
            new Loft(false, new Section(-8, -20, 24, -12, 12), new Section(8, -18, 20.5, -12.5, 12.5), new Section(24, -16.5, 17.5, -13, 13), new Section(36, -17, 17, -14.5, 14.5), new Section(48, -20, 20, -19, 19), new Section(54, -20, 20, -20, 20)));
        Outline front = FromFront(
            (41, -6), (46, 0.5), (53, 2.5), (60, -2), (65.5, -12), (68, -24), (66.5, -36), (62.5, -50), (58, -66), (54, -86), (50.5, -112), (46, -150), (41.5, -190), (37, -232), (5, -232), (11, -190), (15.5, -150), (19.4, -116), (21, -96), (20.6, -80), (17, -66), (13, -54), (14, -42), (22, -32), (31, -24), (37, -15));
        Outline side = FromSide(
            (-15, 0), (-20.5, -12), (-22, -26), (-20, -44), (-18, -64), (-16, -90), (-14.5, -120), (-12, -160), (-10.5, -195), (-9, -232), (21, -232), (20.5, -195), (19, -160), (16.5, -120), (15, -90), (15, -66), (16.5, -44), (17, -28), (13, -12), (4, 0), (-6, 4));
        Shape shaft = new Silhouettes(10, front, side);
        Shape crest = new TaperedCapsule(V(50, -10, -17), V(30, -62, -15), 7, 5);
        Shape lesser = new SmoothUnion(5, new TaperedCapsule(V(30, -66, -9), V(22.5, -71, -20), 11, 5.5f), new TaperedCapsule(V(25, -72, -14), V(24, -92, -10), 6, 3));
        Shape tip = new Ellipsoid(V(52, -8, -9), V(11, 12, 12));
        Shape ridge = new TaperedCapsule(V(62, -30, 8), V(46, -44, 14), 5, 4);
        Shape whole = new SmoothUnion(6, new SmoothUnion(4, head, neckPiece), shaft, crest, lesser, tip, ridge);
        Shape fossa = new Ellipsoid(V(39, -13, -15), V(6, 10, 8));
        Shape fovea = Ball((HeadRadiusMm + 2.5f) * Vector3.Normalize(neck + V(-0.1, -0.35, -0.1)), 5);
        return new SmoothCut(2, whole, fossa, fovea);
    }
}
