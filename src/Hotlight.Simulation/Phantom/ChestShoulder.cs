using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Scapula, clavicle and humerus of the chest, drawn for the left side at adult scale; the right side is their mirror image.</summary>
/// <remarks>A scapula is about 155 mm long and 105 mm wide: common anatomical knowledge, no source.</remarks>
internal static class ChestShoulder
{
    /// <summary>A point of the medial border beside the root of the spine, in the scapula's frame.</summary>
    public static Lazy<Vector3> MedialBorder { get; } = new(() => Touch(V(-112, 6, -1.5), Vector3.UnitX));

    /// <summary>The lowest point, in the scapula's frame.</summary>
    public static Lazy<Vector3> InferiorAngle { get; } = new(() => Touch(V(-62, -125, 4.5), Vector3.UnitY));

    /// <summary>The scapula in its own frame: origin in the glenoid, x lateral, y up, z back.</summary>
    public static Shape Scapula()
    {
        (double X, double Y)[] outline =
        [
            (-6, 14), (-20, 22), (-34, 26), (-52, 34), (-72, 43), (-84, 44), (-92, 32), (-98, 10), (-97, -20), (-88, -58), (-76, -96), (-66, -112), (-58, -110), (-50, -92), (-34, -58), (-18, -28), (-8, -14),
        ];
        Shape blade = new Plate(outline, new Curve((-114, 3), (-60, 1), (0, -2.5), (44, -9)), new Curve((-114, 6.2), (-60, 3.0), (0, -0.7), (44, -6.6)), Curve.Constant(0.9), 0.5);
        return new SmoothUnion(
            5,
            blade,
            new TaperedCapsule(V(-14, -22, -1), V(-61, -108, 4.5), 4.6f, 3.6f),
            new TaperedCapsule(V(-97, 6, -1.5), V(-80, -90, 3.5), 1.9f, 2.2f),
            new TaperedCapsule(V(-97, 6, -2), V(-84, 42, -7), 1.9f, 2.2f),
            new Ellipsoid(V(-5, 0, 0), V(6.5, 19.5, 13.5)),
            new TaperedCapsule(V(-20, 4, 0), V(-10, 0, 0), 8, 11),
            new TaperedCapsule(V(-96, 9, 0), V(-62, 19, 12), 2.2f, 2.6f),
            new TaperedCapsule(V(-62, 19, 12), V(-24, 28, 27), 2.6f, 4.2f),
            new TaperedCapsule(V(-62, 16, 6), V(-26, 22, 15), 1.6f, 2.2f),
            new TaperedCapsule(V(-24, 28, 27), V(4, 35, 25), 4.4f, 4),
            new TaperedCapsule(V(2, 34.5f, 25), V(14, 36.5, 2), 3.8f, 3.6f),
            new TaperedCapsule(V(8, 35, 25), V(22, 36.5, 4), 3.8f, 3.4f),
            new TaperedCapsule(V(14, 35, 22), V(27, 35.5, 7), 3.6f, 3.2f),
            new TaperedCapsule(V(-14, 14, -8), V(-16, 25, -18), 6.8f, 6),
            new TaperedCapsule(V(-16, 25, -18), V(6, 20, -36), 5.8f, 4.6f));
    }

    /// <summary>The upper part of the humerus in its own frame: origin in the middle of the head, y along the shaft up, x lateral, z back.</summary>
    public static Shape Humerus()
    {
        Shape shaft = new Loft(
            false,
            Section.Oval(-300, 12, 12, 13, 2),
            Section.Oval(-200, 11, 11.5, 13, 2),
            Section.Oval(-120, 11.5, 12, 12, 1),
            Section.Oval(-60, 13, 13, 11, 0),
            Section.Oval(-30, 17, 17, 8, 0),
            Section.Oval(-10, 22, 21, 4, 0),
            Section.Oval(4, 22, 21, 3, 0));
        return new SmoothUnion(7, new Ellipsoid(V(0, 1, 0), V(23, 23.5, 23)), shaft, new Ellipsoid(V(19, 0, 1), V(10.5, 17, 15)));
    }

    /// <summary>The scapula's pose for the left side.</summary>
    /// <param name="rollDegrees">0: shoulders back, the blade along the ribs; 30: rolled forward, the blade turned out of the lung fields.</param>
    /// <param name="raiseDegrees">Arm raised from the side.</param>
    public static Pose ScapulaPose(double rollDegrees, double raiseDegrees)
    {
        double roll = rollDegrees / 30;
        double raise = raiseDegrees / 150;
        Vector3 glenoid = V(151 + (16 * roll) - (30 * raise), 92 + (4 * roll) + (42 * raise), 32 - (28 * roll) + (4 * raise));
        return Turned(glenoid, -9 + (3 * roll), 33 + (28 * roll), 3 + (1.5 * roll) + (26 * raise));
    }

    /// <summary>The humerus' pose for the left side.</summary>
    public static Pose HumerusPose(Pose scapula, double rollDegrees, double raiseDegrees)
    {
        double angle = (14 + (6 * rollDegrees / 30) + raiseDegrees) * Math.PI / 180;
        double plane = (10 + (0.35 * raiseDegrees)) * Math.PI / 180;
        Vector3 down = V(Math.Sin(angle) * Math.Cos(plane), -Math.Cos(angle), -Math.Sin(angle) * Math.Sin(plane));
        Vector3 head = scapula.ToOuter(V(28, 2, 1));
        Vector3 up = -down;

        // Internally rotated with the shoulder: the head keeps facing the glenoid.
        Vector3 lateral = head - scapula.Origin;
        Vector3 x = Vector3.Normalize(lateral - (Vector3.Dot(lateral, up) * up));
        return new Pose(head, x, up, Vector3.Cross(x, up));
    }

    /// <summary>The first point of the scapula that a line meets.</summary>
    private static Vector3 Touch(Vector3 from, Vector3 direction)
    {
        Shape scapula = Scapula();
        Vector3 point = from;
        for (int step = 0; step < 800 && scapula.Distance(point) > 0; step++)
        {
            point += 0.05f * direction;
        }

        return point;
    }

    private static Pose Turned(Vector3 origin, double aboutX, double aboutY, double aboutZ)
    {
        const float Radian = MathF.PI / 180;
        Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitY, (float)aboutY * Radian)
            * Quaternion.CreateFromAxisAngle(Vector3.UnitX, (float)aboutX * Radian)
            * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, (float)aboutZ * Radian);
        return new Pose(origin, Vector3.Transform(Vector3.UnitX, turn), Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn));
    }
}
