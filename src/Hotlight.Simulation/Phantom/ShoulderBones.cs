using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Humerus, scapula and clavicle of a right shoulder: x lateral, y up, z to the front, origin at the centre of the humeral head, in mm.</summary>
/// <remarks>
/// Radius of the humeral head 24 ± 2.1 mm, glenoid 39 ± 3.5 mm high and 29 ± 3.2 mm wide in its lower half, its radius 2.3 mm greater than the head's:
/// Iannotti et al., J Bone Joint Surg Am 1992;74:491-500. The rest is common anatomical knowledge, no source.
/// </remarks>
internal static class ShoulderBones
{
    public const float HeadRadiusMm = 24;

    /// <summary>Cartilage between head and glenoid, both layers, in mm.</summary>
    public const float JointSpaceMm = 3.8f;

    /// <summary>The scapula's own frame, turned about the long axis of the body so that the glenoid looks 35 degrees to the front: x along its plane to the glenoid, y up, z out of its front.</summary>
    public static Pose Scapular { get; } = About(Vector3.Zero, Vector3.UnitY, -35);

    /// <summary>The humerus with the greater tubercle to the lateral side.</summary>
    public static Shape Humerus()
    {
        Shape shaft = new QuadrantLoft(
            new(-255, -1.5, 19.5, -10.5, 10.5, 9, 0),
            new(-200, -2.4, 19.6, -11, 11, 9, 0),
            new(-150, -3.2, 19.8, -11.5, 11.5, 9, 0),
            new(-105, -4.2, 20.6, -12, 12.5, 9, 0),
            new(-75, -5.6, 20.6, -13, 14, 9, 0),
            new(-52, -8.6, 21.2, -14.6, 16, 9, 0),
            new(-36, -12.6, 22.8, -17, 18, 8, 0, 2.1),
            new(-22, -16, 25.6, -19, 19.6, 8, 0, 2.1),
            new(-8, -17, 27.6, -20, 20, 8, -1, 2.1),
            new(4, -14, 27, -19, 17, 9, -2, 2.1),
            new(12, -8, 24, -17, 12, 9, -3, 2),
            new(16, 0, 19, -12, 6, 9, -4, 2));
        Shape greater = new SmoothUnion(4, new Ellipsoid(V(17.4, 5.6, -4), V(11, 12, 13)), new Ellipsoid(V(18.6, -4, -2), V(10.8, 15, 13)));
        Shape lesser = new SmoothUnion(4, new Ellipsoid(V(3.6, -5, 18), V(7.4, 9, 7)), new TaperedCapsule(V(2.6, -10, 17.4), V(0, -38, 14), 5, 2.5f));
        Shape body = new SmoothUnion(5, shaft, greater, lesser);

        // The anatomic neck: a shallow waist beside the head; the groove of the long tendon between the tubercles.
        Vector3 axis = HeadAxis;
        Shape head = new SmoothShared(2, new Ellipsoid(Vector3.Zero, new Vector3(HeadRadiusMm)), new HalfSpace(axis * -7, -axis));
        Shape groove = new Swept(new(V(11, 14, 20), 3), new(V(11.4, 0, 22.4), 3.4f), new(V(9.4, -20, 21.4), 3), new(V(8, -50, 18.4), 2));
        Shape sulcus = new Swept(new(V(4, 22, 20), 2.5f), new(V(9.2, 22.8, 8), 3.4f), new(V(10, 22.6, -6), 3.6f), new(V(5, 20, -22), 2.5f));
        return new SmoothUnion(2, new SmoothCut(2.5f, body, groove, sulcus), head);
    }

    /// <summary>Where the head looks: 45 degrees up from the medial side and 25 degrees back.</summary>
    public static Vector3 HeadAxis { get; } = Vector3.Normalize(V(-0.68, 0.7, -0.3));

    public static Shape Scapula(bool child)
    {
        // In its own frame. The blade is thin and hollow to the front; the borders are rounded.
        Shape blade = new Plate(
            [
                (-38, -18), (-50, -32), (-66, -54), (-82, -78), (-97, -101), (-106, -116), (-113, -119), (-118, -112), (-121, -94), (-126, -66), (-130, -38), (-132, -12), (-129, 8),
                (-124, 24), (-119, 36), (-112, 41), (-102, 37.6), (-88, 29), (-74, 22), (-62, 16), (-56, 11), (-51, 11), (-46, 14), (-40, 10), (-37, -4),
            ],
            Curve.Constant(-1.1),
            Curve.Constant(1.1),
            Curve.Constant(1),
            0.5);
        Curve bow = new((-135, -1), (-120, 3.5), (-95, 6.6), (-70, 5.4), (-50, 2), (-36, 0));
        Shape fossa = new Warped(bow, blade);
        Shape lateral = new Warped(bow, new Swept(new(V(-36, -16, 0), 6.4f), new(V(-50, -34, 0), 5), new(V(-68, -59, 0), 4.2f), new(V(-88, -90, 0), 3.7f), new(V(-105, -113, 0), 3.6f), new(V(-113, -115, 0), 3)));
        Shape medial = new Warped(bow, new Swept(new(V(-113, -115, 0), 3), new(V(-120, -92, 0), 2.2f), new(V(-128, -50, 0), 1.9f), new(V(-131, -12, 0), 2.6f), new(V(-127, 12, 0), 2), new(V(-115, 38, 0), 2.3f)));
        Shape superior = new Warped(bow, new Swept(new(V(-115, 38, 0), 2.3f), new(V(-101, 36, 0), 1.5f), new(V(-87, 27.4, 0), 1.5f), new(V(-72, 20.4, 0), 1.6f), new(V(-57, 11.4, 0), 2.2f)));

        // The neck runs along x: its own y is the frame's x, its own x is up, its own z the front.
        Pose neckward = new(Vector3.Zero, Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        Shape neck = new Posed(neckward, new QuadrantLoft(
            new(-66, -16, 8, -3, 4, -4, 1),
            new(-54, -17, 13, -6, 7, -3, 1),
            new(-44, -18, 15.4, -8.4, 9, -3, 0.4),
            new(-36, -19.6, 16.6, -10.8, 11, -5, 0, 2.1),
            new(-30, -21.4, 17.4, -14, 14, -7, 0, 2.1),
            new(-26, -21.8, 17.6, -14.8, 14.6, -7, 0, 2.1),
            new(-20, -21, 17, -14.4, 14.2, -7, 0, 2.1)));
        float glenoid = HeadRadiusMm + 2.3f;
        Shape socket = new SmoothCut(1, neck, new Ellipsoid(V(-HeadRadiusMm - JointSpaceMm + glenoid, 0, 0), new Vector3(glenoid)), new Ellipsoid(Vector3.Zero, new Vector3(HeadRadiusMm + JointSpaceMm - 0.4f)));

        // Spine and acromion: a fin behind the blade with a thick crest that turns forward over the head.
        // The fin rises backwards and upwards from the blade.
        Vector3 along = Vector3.Normalize(V(90, 24, 0));
        Vector3 outward = Vector3.Normalize(V(-0.1, 0.46, -0.86));
        outward = Vector3.Normalize(outward - (Vector3.Dot(outward, along) * along));
        Pose fin = new(V(-130, -8, 0), outward, along, Vector3.Cross(outward, along));
        Shape web = new Posed(fin, new Plate(
            [(-5, -2), (-1, -4), (3, 2), (8, 12), (18, 28), (28, 48), (35, 70), (39, 88), (35, 96), (22, 95), (12, 91), (4, 88), (-4, 84), (-6, 60), (-6, 25)],
            -1.2,
            1.2,
            1.1));
        Shape crest = new Swept(
            new(V(-131, -9, -1), 2.4f),
            new(V(-118, 0, -8), 3.2f),
            new(V(-98, 12, -19), 3.9f),
            new(V(-74, 23.4, -29.5f), 4.3f),
            new(V(-50, 30.6, -37), 4.6f),
            new(V(-28, 30.6, -40.5f), 4.8f));
        Shape acromion = new Posed(
            Pose.Turned(V(-10, 39.5, -15), -20, 0, -11),
            new Profiled(
                3.4,
                [(-26, -3), (-12, -4.2), (4, -4.6), (13, -3.2), (17.6, -0.6), (16, 2.4), (8, 4.2), (-6, 4.8), (-26, 4)],
                [(-33, -2.6), (-20, -4.4), (0, -4.8), (18, -3.6), (27, -1), (24, 2), (12, 3.8), (-8, 4.4), (-24, 4), (-33, 2.4)],
                child
                    ? [(-22, -28), (-10, -29), (4, -25), (11, -14), (11, -4), (4, 4), (-6, 3), (-12, -6), (-16, -16)]
                    : [(-24, -29), (-10, -30), (6, -26), (14, -14), (16, 2), (13, 16), (6, 25), (-3, 26), (-9, 20), (-10, 10), (-11, 0), (-14, -10), (-19, -19)]));
        Shape coracoidBase = new Swept(new(V(-43, 5, 0), 9f), new(V(-44, 13, 8), 8.2f), new(V(-43, 20, 17), 6.6f));
        Shape coracoid = new Swept(new(V(-44, 13, 8), 8.2f), new(V(-42, 20, 17), 6.6f), new(V(-34, 21, 28), 5.9f), new(V(-25, 16, 36.4), 5.3f), new(V(-20, 10.6, 40.6), 4.1f));
        Shape coracoidSide = new Swept(new(V(-41, 15, 17), 5.6f), new(V(-30, 16, 28.6), 4.9f), new(V(-21.4, 12.4, 36), 4.4f));
        return new SmoothUnion(
            5,
            new SmoothUnion(2.5f, fossa, lateral, medial, superior),
            socket,
            new SmoothUnion(3, web, crest),
            new SmoothUnion(5, acromion, new TaperedCapsule(V(-34, 30.8, -40), V(-20, 31.4, -40), 4.6f, 4.6f)),
            new SmoothUnion(2, coracoidBase, coracoid, coracoidSide));
    }

    /// <summary>The clavicle: concave to the front in its lateral third, convex beside the breastbone.</summary>
    public static Shape Clavicle()
    {
        Shape body = new Swept(
            new(V(-22, 42.5, -13), 5.4f),
            new(V(-36, 44, -18), 5.6f),
            new(V(-54, 45, -17), 5.8f),
            new(V(-74, 43.5, -7), 5.7f),
            new(V(-96, 40, 7), 6),
            new(V(-118, 35, 18), 6.6f),
            new(V(-138, 29.5, 24), 8.4f),
            new(V(-149, 25.5, 25), 10.4f),
            new(V(-153, 24.5, 25), 10));
        Shape lateralEnd = new SmoothUnion(3, new Ellipsoid(V(-20, 42.4, -12), V(6, 5.2, 8)), new Ellipsoid(V(-32, 43.6, -16.6), V(12, 5, 8)));
        return new SmoothShared(1.5f, new SmoothUnion(5, body, lateralEnd), new HalfSpace(V(-14.6, 42, -11), V(1, 0.1, 0.35)));
    }
}
