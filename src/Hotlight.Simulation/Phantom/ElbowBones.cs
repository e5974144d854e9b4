using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Distal humerus, ulna and radius. The humerus lies in the part's frame; the forearm's bones in the same frame with the elbow bent to 90 degrees and the hand supinated: x distal, y to the front of the forearm, z lateral.</summary>
/// <remarks>
/// Width of the trochlea 22 ± 3 mm and of the capitulum 17 ± 2 mm: J Shoulder Elbow Surg 2014;23:463-469. Radius of the capitulum seen from the side 11.6 ± 1.4 mm:
/// J Shoulder Elbow Surg 2011;20:880-884. Diameter of the radial head 23.0 ± 1.7 mm: Surg Radiol Anat 2016;38:801-807. The rest is common anatomical knowledge, no source.
/// </remarks>
internal sealed class ElbowBones
{
    /// <summary>Cartilage between the bones of the joint, both layers, in mm.</summary>
    private const double JointSpaceMm = 2;

    private readonly Lazy<Shape> ulna;

    public ElbowBones() => ulna = new Lazy<Shape>(DrawUlna);

    /// <summary>Centre of the capitulum, on the axis the elbow bends about.</summary>
    public static Vector3 Capitulum { get; } = V(0, 0, 12.8);

    /// <summary>Axis the radius turns about: from its head to the head of the ulna.</summary>
    public static (Vector3 Head, Vector3 Wrist) TurningAxis { get; } = (V(15, 0, 12.8), V(238, -13, 9));

    public Shape Ulna => ulna.Value;

    public Shape Humerus()
    {
        // Seen from the side, from the front and from below: two pillars that carry the condyles before the shaft's axis.
        Shape block = new Profiled(
            5,
            [(-0.5, 92), (-0.2, 70), (0.2, 50), (1.2, 36), (3.6, 26), (7.5, 16), (8, 8), (6, 0), (0, -5), (-6, -4), (-10.5, 2), (-15, 9), (-19.5, 19), (-21.5, 30), (-21.6, 45), (-21, 70), (-21, 92)],
            [(-12.5, 92), (-12.5, 70), (-14, 54), (-17.5, 42), (-24.5, 32), (-33, 25.5), (-37.6, 19), (-37.6, 12.5), (-33, 8), (-25, 6), (-18, 3), (-12, -3), (0, -5), (12, -4), (20, 0), (23.6, 5), (27.8, 11), (27.4, 17), (23.6, 26), (21, 33), (17.6, 43), (14, 56), (12.5, 70), (12.5, 92)],
            [(-11.5, -37.5), (-6, -38), (-2, -33), (2, -24), (6.5, -14), (8, -4), (8, 8), (6, 18), (1.5, 25.5), (-5, 28), (-11, 26), (-16, 18), (-20.5, 11), (-22, 0), (-20.5, -11), (-18, -20), (-15.4, -30)]);
        Shape shaft = new QuadrantLoft(
            new(60, -21.2, 0, -12.8, 12.6),
            new(80, -21.6, -0.2, -11.6, 11.4, -10, -0.5, 1.85),
            new(120, -22, -0.2, -9.6, 13, -10, 1.6, 1.9),
            new(180, -23, -0.4, -6, 17.4, -11, 5.6, 2),
            new(245, -24.5, -0.6, -1.6, 23, -12, 10.6, 2));
        Shape pillars = new Crossfade(V(0, 62, 0), V(0, 88, 0), block, shaft);
        Shape fossae = new SmoothUnion(
            2,
            new Ellipsoid(V(-19, 17.5, -4.5), V(14.6, 9.6, 12)),
            new Ellipsoid(V(8.6, 18, -4.8), V(9.8, 8.4, 9.4)),
            new Ellipsoid(V(9.6, 16.4, 11.6), V(8, 5.6, 6.6)));
        Shape hollowed = new SmoothCut(2.4f, pillars, fossae);
        Shape whole = new SmoothUnion(2, hollowed, Condyles(0));

        // What the forearm needs when the elbow is stretched and when it is fully bent.
        Shape stretched = new Posed(About(Vector3.Zero, Vector3.UnitZ, -90), Ulna);
        Shape bent = new Posed(About(Vector3.Zero, Vector3.UnitZ, 52), Ulna);
        Shape head = new Posed(About(Vector3.Zero, Vector3.UnitZ, 50), Radius());
        return new SmoothCut(1, whole, new Inset(stretched, -1.4f), new Inset(bent, -1.4f), new Inset(head, -0.9f));
    }

    public static Shape Radius()
    {
        // Its own y runs along the forearm, x to the front of the forearm, z lateral.
        Pose along = new(V(0, 0, Capitulum.Z), Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        Shape body = new QuadrantLoft(
            new(10.6, -9.8, 9.8, -9.8, 9.8),
            new(11.6, -11, 11, -11, 11),
            new(13.6, -11.5, 11.5, -11.6, 11.4),
            new(18.4, -11.4, 11.4, -11.4, 11.2),
            new(21, -10.2, 10.2, -10, 10),
            new(24.6, -8, 7.8, -8, 7.8),
            new(29, -7, 6.8, -7.4, 7),
            new(38, -7.6, 6.4, -8.6, 6.4),
            new(50, -9.4, 5.6, -7.8, 6.6),
            new(75, -12, 2.4, -4.6, 9.4, null, null, 2.1),
            new(120, -15, -1.2, 0.2, 14.4, null, 5, 2),
            new(180, -14.5, -0.6, 3.4, 18.4, null, 9, 2),
            new(245, -13, 1, 5.4, 22.6));
        Shape tuberosity = new SmoothUnion(2, new TaperedCapsule(V(-0.5, 34, -6.6), V(-2.2, 44, -6), 3.6f, 4), new Ellipsoid(V(-1.2, 39, -7.4), V(4.2, 7.6, 3.6)));
        return new SmoothCut(1, new Posed(along, new SmoothUnion(5, body, tuberosity)), new Ellipsoid(Capitulum, new Vector3((float)(11.6 + JointSpaceMm))));
    }

    /// <summary>Pulley and capitulum, both round about the axis of the elbow.</summary>
    private static Shape Condyles(double growMm)
    {
        Pose alongAxis = new(Vector3.Zero, Vector3.UnitX, Vector3.UnitZ, Vector3.UnitY);
        (double Z, double R)[] spool = [(-18.6, 8), (-17.9, 10.6), (-16.2, 12.4), (-14, 12.4), (-9.5, 9.9), (-5, 8.7), (-1, 9.7), (2.6, 10.6), (4.4, 10.2), (5.6, 8)];
        Shape pulley = new Posed(alongAxis, new QuadrantLoft([.. spool.Select(each =>
        {
            double r = each.R + growMm;
            return new QuadrantSection(each.Z < -18.5 ? each.Z - growMm : each.Z > 5.5 ? each.Z + growMm : each.Z, -r, r, -r, r);
        })]));
        Shape capitulum = new Ellipsoid(Capitulum, V(11.6 + growMm, 11.6 + growMm, 9.6 + growMm));
        return growMm > 0 ? pulley : new SmoothUnion(1.6f, pulley, capitulum);
    }

    private static Shape DrawUlna()
    {
        Shape proximal = new Profiled(
            4,
            [(13.4, 11.4), (17.4, 8), (24.4, 0.8), (31.6, -6.4), (42, -10.4), (58, -12.4), (84, -13), (84, -27.6), (60, -29.4), (38, -31), (18, -32.4), (3, -32.8), (-6, -30.8), (-11.6, -25.8), (-14.4, -18.2), (-15.2, -10.4), (-14, -6), (-8, -3), (0, 1), (8, 7)],
            [(-40, -60), (0, -60), (40, -60), (40, -6), (20, -3), (9, 2.4), (4, 8.4), (-0.6, 11.6), (-5, 12.6), (-9.4, 11.6), (-14, 7.6), (-19, 1.4), (-40, -4)],
            [(-15.4, -5.4), (-14, -9.6), (-10, -13.6), (-4, -15.8), (4, -16.6), (12, -17.6), (19, -17), (28, -13.4), (42, -10.8), (60, -9.2), (84, -7.6), (84, 6), (60, 4), (42, 3.4), (30, 5), (22, 7), (12, 7.4), (4, 5.6), (-4, 4.4), (-10, 2.4), (-14, -1)]);
        Pose along = new(Vector3.Zero, Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ);
        Shape shaft = new Posed(along, new QuadrantLoft(
            new(56, -29.4, -12.4, -8.6, 3.8, -18, null, 1.9),
            new(84, -27.8, -12.8, -7.4, 5.4, -17, null, 1.8),
            new(120, -25.4, -12, -5.6, 7, -16, null, 1.8),
            new(180, -21.6, -9.6, -1.4, 10, null, null, 1.9),
            new(245, -18.6, -7.4, 4, 14)));
        Shape body = new Crossfade(V(58, 0, 0), V(80, 0, 0), proximal, shaft);
        Shape pulley = Condyles(JointSpaceMm);
        Shape head = new TaperedCapsule(V(10, 0, Capitulum.Z), V(24, 0, Capitulum.Z), 12.6f, 12.2f);
        return new SmoothCut(0.9f, body, pulley, head);
    }
}
