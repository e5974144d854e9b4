using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;
using static Hotlight.Simulation.Shapes.Outline;

namespace Hotlight.Simulation.Phantom;

/// <summary>The bones of a right knee as drawn, stretched: x medial, y proximal, z anterior, origin at the middle of the joint space, in mm of the grown-up.</summary>
internal sealed class KneeBones
{
    private static readonly Lazy<KneeBones> Grown = new(() => new KneeBones(false));
    private static readonly Lazy<KneeBones> Growing = new(() => new KneeBones(true));

    private KneeBones(bool child)
    {
        Shape femur = Femur();
        Shape tibia = Tibia();
        Shape fibula = new SmoothCut(1.2f, Fibula(), new Inset(tibia, -1.8f));
        Shape patella = Patella();
        Whole = new() { ["femur"] = femur, ["tibia"] = tibia, ["fibula"] = fibula, ["patella"] = patella };
        LimbBone thigh = new(
            "femur",
            femur,
            "thigh",
            Vector3.Zero,
            V(-6, 240, 0),
            [(0, 0.9), (30, 0.75), (58, 1.0), (80, 2.2), (110, 4.4), (150, 5.8), (240, 6.5)],
            [(0, 0.24), (10, 0.19), (34, 0.15), (37, 0.15), (39, 0.18), (41, 0.14), (70, 0.08), (100, 0.03), (140, 0.01)])
        { GrainAlongMm = 1.2f };
        LimbBone shin = new(
            "tibia",
            tibia,
            "leg",
            Vector3.Zero,
            V(0, -250, 0),
            [(0, 0.9), (6, 1.1), (12, 0.8), (45, 1.2), (75, 2.6), (110, 4.2), (160, 5.5)],
            [(0, 0.26), (9, 0.21), (15, 0.17), (17, 0.19), (19, 0.15), (50, 0.09), (80, 0.04), (120, 0.01)])
        { GrainAlongMm = 1.2f };
        LimbBone splint = new("fibula", fibula, "leg", V(-40, -13, -25), V(-34, -262, -17), [(0, 0.7), (22, 0.9), (45, 1.8), (80, 2.6)], [(0, 0.2), (25, 0.13), (50, 0.04), (80, 0.01)]);
        LimbBone cap = new("patella", child ? new Inset(patella, 2.6f) : patella, "patella", V(-2, 10, 38), V(-2, 58, 38), [(0, 0.8), (24, 0.9), (48, 0.8)], [(0, 0.15), (48, 0.15)]) { GrainAcrossMm = 0.36f };
        Bones = child
            ? [.. thigh.SplitAt(V(0, 36, 0), -Vector3.UnitY, 2.6f, 1.3f, 1.1f, 38), .. shin.SplitAt(V(0, -17.5, 0), Vector3.UnitY, 2.4f, 1.2f, 0.9f, 34), .. splint.SplitAt(V(-39, -27, -24), Vector3.UnitY, 2.2f, 1.6f, 0.5f, 24), cap]
            : [thigh, shin, splint, cap];
    }

    public IReadOnlyList<LimbBone> Bones { get; }

    /// <summary>Every bone's whole surface, also where a growing bone is in two pieces.</summary>
    public Dictionary<string, Shape> Whole { get; }

    public static KneeBones Of(BodySize size) => size == BodySize.Child ? Growing.Value : Grown.Value;

    private static Shape Femur()
    {
        Outline front = FromFront(
            (-35, 262), (-31, 210), (-27.5, 160), (-24.8, 120), (-25, 96), (-27, 76), (-31, 60), (-36.5, 47), (-40.5, 37), (-41.6, 29), (-40, 22.5), (-38.8, 17), (-38.6, 10.5), (-35.5, 5.2), (-29, 2.6), (-22, 2.2),
            (-15.5, 4), (-11, 8.4), (-7, 13.2), (0, 16), (7, 13), (11, 8), (15.5, 3.2), (22, 1.6), (29.5, 1.9), (36, 4.6), (39.8, 10.5), (40.8, 17), (42.6, 24), (43.4, 31), (41.5, 38), (38.6, 45.5), (34, 53), (26.5, 66), (19.5, 80), (13.5, 98), (8, 122), (2, 160), (-2.5, 210), (-6, 262));

        // From the side the medial condyle is rounder and reaches further back; the lateral one is flattened and higher in front.
        Outline medialSide = FromSide(
            (24, 40), (25, 33), (24.5, 24), (21, 14), (14, 5.6), (4, 2), (-8, 1.7), (-19, 4.5), (-29.5, 12), (-36.3, 22.5), (-36.5, 33), (-31.5, 42), (-23, 48), (-15, 54), (-6, 60), (8, 62), (17, 54));
        Outline lateralSide = FromSide(
            (27, 44), (29, 36), (28, 25), (24, 14.5), (16.5, 7.2), (8, 3.6), (-2, 2.3), (-11, 2.7), (-21, 6), (-30.5, 13.4), (-36, 24), (-35.4, 33.5), (-30, 41.5), (-21, 47), (-13, 54), (-4, 60), (8, 62), (19, 55));
        Outline medialPlan = FromAbove(
            (9.5, -22), (11.5, -31), (17, -37), (25, -38), (32.5, -34), (38.5, -25), (43, -11), (42, 0), (36, 10), (28, 19), (19, 25), (9, 26), (3, 18), (5, 6), (8.5, -8));
        Outline lateralPlan = FromAbove(
            (-9.5, -20), (-11.5, -29), (-17, -36.5), (-26, -37), (-33, -33), (-38.5, -23), (-42, -8), (-41, 6), (-37.5, 18), (-31, 27.5), (-22, 30.5), (-11, 28), (-3, 19), (-5, 6), (-8.5, -7));
        Shape medial = new Silhouettes(7, front, medialSide, medialPlan);
        Shape lateral = new Silhouettes(7, front, lateralSide, lateralPlan);
        Outline shaftSide = FromSide((-11, 262), (-12, 200), (-13.5, 140), (-14.5, 100), (-15, 78), (-15.5, 62), (-18, 50), (-22, 40), (-22, 26), (-12, 14), (4, 10), (17, 13), (23, 22), (24.5, 34), (23, 46), (18.5, 60), (15.8, 80), (15.6, 110), (16.8, 150), (18.2, 200), (19, 262));
        Shape shaft = new Silhouettes(11, front, shaftSide);

        // The notch: its roof slants from in front of the joint up to the back of the shaft.
        Vector3 up = Vector3.Normalize(V(0, 0.534, -0.845));
        Vector3 down = Vector3.Normalize(V(0, -0.845, -0.534));
        Shape[] notch = [.. Enumerable.Range(0, 4).Select(step =>
        {
            Vector3 from = V(0, 14.5, 3) + ((9 + (11 * step)) * down);
            return (Shape)new TaperedCapsule(from, from + (72 * up), step == 0 ? 9 : 10, step == 0 ? 9.6f : 10.6f);
        })];
        Shape groove = new TaperedCapsule(V(0.5, 8, 36), V(-1, 52, 38.5), 12, 12);
        Shape body = new SmoothUnion(5, medial, lateral, shaft);
        Shape whole = new SmoothUnion(4, body, new Ellipsoid(V(37.5, 44.5, -8), V(4, 5, 5)), new Ellipsoid(V(39.5, 27, -4), V(5, 8, 8)), new Ellipsoid(V(-38, 28, -6), V(4.5, 7, 7)));
        return new SmoothCut(2.4f, whole, [new SmoothUnion(5, notch), groove]);
    }

    private static Shape Tibia()
    {
        Outline front = FromFront(
            (-11, -262), (-11.6, -210), (-12.6, -160), (-14.2, -120), (-16.4, -88), (-19.5, -62), (-24.5, -42), (-32, -27.5), (-37.6, -18), (-39, -11), (-37, -4.4), (-30, -1.9), (-20, -1.3), (-10, -1.1), (0, -1), (10, -1.1), (20, -1.3), (31, -1.9), (38, -4.2), (39.6, -10.5), (38.4, -18), (34, -28), (28, -42), (23, -60), (19.2, -86), (15.8, -120), (13.6, -160), (12.6, -210), (12, -262));
        Outline side = FromSide(
            (-12, -262), (-12.6, -210), (-13.4, -160), (-14.6, -120), (-16, -86), (-17.6, -60), (-20.5, -40), (-25.5, -25), (-28.5, -16), (-28.6, -8.4), (-25, -5.4), (-14, -3.9), (0, -2.4), (12, -1.3), (19, -1.8), (22.6, -5.4), (23, -14), (21.5, -24), (20.5, -40), (20, -60), (18.6, -84), (17, -120), (15, -160), (13.6, -210), (13, -262));
        Outline plan = FromAbove(
            (39.6, -4), (37, -17), (28, -26), (15, -28.6), (5, -23), (-4, -22), (-14, -26), (-27, -25), (-36, -16), (-39, -2), (-35, 12), (-24, 20), (-9, 23), (6, 23.4), (21, 20.5), (34, 11));
        Shape body = new Silhouettes(5, front, side, plan);
        Shape medialPlateau = new Ellipsoid(V(22.5, 34.9, -3), V(27, 37.9, 42));
        Shape lateralPlateau = new Ellipsoid(V(-22, 59.4, -2), V(34, 61.9, 90));
        Shape plateau = new SmoothCut(2, body, medialPlateau, lateralPlateau);

        // Two eminences on a common mound, the medial one higher; the tuberosity in front.
        Shape upper = new SmoothUnion(10, plateau, new TaperedCapsule(V(-4, -26, 13.5), V(-3.5, -45, 16.5), 9, 7), new TaperedCapsule(V(-3.5, -45, 16.5), V(-2, -86, 10.5), 7, 5));
        return new SmoothUnion(
            4,
            upper,
            new Ellipsoid(V(-0.5, -4, -3), V(11, 5.5, 15)),
            new TaperedCapsule(V(6, -4, -2), V(5, 4.6, -1), 4, 1.2f),
            new TaperedCapsule(V(-6.5, -4, -5), V(-5.6, 3, -4), 4, 1.3f),
            new Ellipsoid(V(-26, -13, 13), V(7, 6, 6)));
    }

    private static Shape Fibula()
        => new Silhouettes(
            5,
            FromFront((-39, -262), (-39.8, -210), (-40.6, -160), (-41.2, -110), (-42.4, -70), (-43.6, -48), (-46.4, -37), (-48.4, -28), (-47.4, -20.5), (-43.9, -15.4), (-39.9, -13.4), (-35.9, -15.4), (-31.4, -19.5), (-28.2, -25), (-28, -32), (-30.8, -41), (-33, -54), (-33, -80), (-31.4, -120), (-29.8, -170), (-28.6, -215), (-27.6, -262)),
            FromSide((-22, -262), (-23, -210), (-24.4, -160), (-26, -110), (-28, -70), (-30.4, -48), (-34.4, -37), (-36.4, -28), (-35.4, -20), (-31.5, -14.8), (-27.6, -13.4), (-22.5, -15.6), (-17.4, -20), (-14.4, -26), (-14.6, -33), (-16.8, -43), (-17.4, -58), (-15.6, -80), (-14.4, -120), (-12.6, -170), (-11.4, -215), (-10.6, -262)));

    private static Shape Patella()
        => new Silhouettes(
            5,
            FromFront((-2, 10.4), (4, 13.6), (11, 22), (17, 30.5), (20, 39), (19, 47), (14, 53.4), (6, 57), (-3, 57.8), (-12, 56.8), (-19, 52.6), (-23.6, 45), (-23.6, 37), (-20, 29), (-14, 21.4), (-7.6, 13.8)),
            FromSide((37.4, 10), (42, 12.6), (45.6, 20), (47.4, 30), (47.2, 41), (44.8, 51), (40.6, 57), (35.4, 57.6), (30.8, 53), (28, 45), (27, 36.5), (28, 28), (31, 20.4), (33.6, 14)),
            FromAbove((-24, 36.5), (-20, 32.6), (-11, 29.2), (-2.4, 26.6), (4, 29.4), (12, 32.4), (19, 35.4), (20, 39.4), (14, 44), (5, 47), (-4, 47.6), (-13, 46), (-21, 41.6)));
}
