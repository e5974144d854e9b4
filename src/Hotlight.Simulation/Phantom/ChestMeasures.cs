using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>The chest's measures at one size and depth of breath, in the mm of an adult: a child is drawn at adult scale with a child's proportions and made smaller by <see cref="Scale"/>.</summary>
/// <remarks>Own frame: x to the patient's left, y up, z to the back, origin near the carina. Proportions are common anatomical knowledge, no source.</remarks>
internal sealed class ChestMeasures
{
    /// <summary>Heights of the middles of the vertebral bodies C6, C7, T1 to T12, L1, L2.</summary>
    public static readonly double[] Bodies = [183, 163, 143, 123, 102, 80, 57, 33, 8, -18, -45, -73, -102, -133, -165, -199];

    private static readonly double[] RibHeads = [140, 124, 104, 82, 58, 34, 9, -16, -42, -69, -103, -136];
    private static readonly double[] RibDrops = [36, 50, 62, 72, 80, 86, 92, 96, 95, 86, 58, 36];
    private const double AngleDegrees = 32;
    private static readonly Curve BodyZ = new((-230, 30), (-199, 33), (-165, 39), (-133, 47), (-102, 53), (-60, 59), (-10, 62), (35, 59), (80, 51), (123, 40), (163, 32), (200, 27), (230, 25));

    public ChestMeasures(BodySize size, double inspirationDegrees)
    {
        Size = size;
        Scale = size == BodySize.Child ? 0.69f : 1;
        Expiration = (10 - inspirationDegrees) / 10;
        double e = Expiration;

        // Breathing out: the cage gets shallower by a twentieth in front and narrower by a fifteenth at its widest.
        HalfWidth = new Curve([.. Cage.Select(s => (s.Y, s.Half * (1 - (0.065 * e * Lower(s.Y)))))]);
        Front = new Curve([.. Cage.Select(s => (s.Y, s.Front * (1 - (0.09 * e * Lower(s.Y)))))]);
        Back = new Curve([.. Cage.Select(s => (s.Y, s.Back))]);
    }

    private static (double Y, double Half, double Front, double Back)[] Cage { get; } =
    [
        (-250, 126, -66, 76), (-215, 134, -76, 86), (-175, 141, -86, 95), (-130, 144.5, -93, 101), (-85, 144, -96, 104), (-30, 140, -95, 104), (20, 133, -87, 101), (60, 124, -74, 95), (84, 117, -62, 89), (104, 107, -48, 81), (122, 93, -32, 71), (133, 79, -20, 62), (141, 62, -9, 54), (146, 42, 2, 46), (150, 10, 13, 33),
    ];

    public BodySize Size { get; }

    /// <summary>Factor from the drawing's mm to the person's.</summary>
    public float Scale { get; }

    /// <summary>0 in deep inspiration, 1 at the end of a quiet expiration.</summary>
    public double Expiration { get; }

    /// <summary>Inner half width of the rib cage against height.</summary>
    public Curve HalfWidth { get; }

    public Curve Front { get; }

    public Curve Back { get; }

    /// <summary>Top of the right dome of the diaphragm; the left one lies half a rib space lower.</summary>
    public double RightDome => -94 + (64 * Expiration);

    public double LeftDome => RightDome - 13;

    /// <summary>Height of the lateral costophrenic angles.</summary>
    public double Angles => -178 + (34 * Expiration);

    public static double SpineZ(double y) => BodyZ.At((float)y);

    /// <summary>A point of a rib's middle line.</summary>
    /// <param name="rib">1 to 12.</param>
    /// <param name="side">1 left, −1 right.</param>
    /// <param name="turnDegrees">Turn about the cage's middle from the back: 90 is the side, 180 the front.</param>
    public Vector3 Rib(int rib, int side, double turnDegrees)
    {
        double turn = turnDegrees * Math.PI / 180;
        double drop = RibDrops[rib - 1] * (Size == BodySize.Child ? 0.66 : 1);
        double end = RibEndDegrees(rib);

        // A rib lies in a plane that slopes forward, and sags a little at the side; breathing out turns it down about its head.
        double share = turnDegrees / end;
        double y = RibHeads[rib - 1] - (drop * Math.Pow(share, 1.3)) + ((rib < 3 ? 8 : 5) * Math.Sin(Math.PI * Math.Min(1, turnDegrees / 60)));
        double level = Math.Clamp(y, -230, 140);
        double half = HalfWidth.At((float)level) * (rib switch { 1 => 0.8, 2 => 0.95, _ => 1 });
        double sine = Math.Sin(turn);
        double cosine = Math.Cos(turn);
        double back = Back.At((float)level);
        double front = Front.At((float)level);

        // The cage's section is a superellipse of exponent 2.5 about z = 4.
        double x = half * Math.Pow(sine, 0.8);
        double z = 4 + (cosine > 0 ? (back - 4) * Math.Pow(cosine, 0.8) : -(4 - front) * Math.Pow(-cosine, 0.8));
        if (turnDegrees < AngleDegrees)
        {
            // From the head beside the disc, outward and back past the tubercle, to the rib's angle.
            double t = turnDegrees / AngleDegrees;
            double angleSine = Math.Pow(Math.Sin(AngleDegrees * Math.PI / 180), 0.8);
            double angleX = half * angleSine;
            double angleZ = 4 + ((back - 4) * Math.Pow(Math.Cos(AngleDegrees * Math.PI / 180), 0.8));
            double headX = 15 + (rib > 9 ? 3 : 0);
            double headZ = SpineZ(RibHeads[rib - 1]) + 9;
            double turnX = angleX - 34 + (headX > angleX - 44 ? 10 : 0);
            double turnZ = angleZ + 8;
            x = ((1 - t) * (1 - t) * headX) + (2 * t * (1 - t) * turnX) + (t * t * angleX);
            z = ((1 - t) * (1 - t) * headZ) + (2 * t * (1 - t) * turnZ) + (t * t * angleZ);
        }

        double depth = Math.Max(0, back - z);
        y -= Math.Tan(Expiration * 9.5 * Math.PI / 180) * depth * (rib > 10 ? 0.6 : 1);
        return V(side * x, y, z);
    }

    public static double RibEndDegrees(int rib) => rib switch { 1 => 136, 2 => 144, 3 => 149, 4 => 151, 5 => 152, 6 => 151, 7 => 149, 8 => 144, 9 => 136, 10 => 124, 11 => 92, _ => 58 };

    private static double Lower(double y) => Math.Clamp((150 - y) / 200, 0, 1);
}
