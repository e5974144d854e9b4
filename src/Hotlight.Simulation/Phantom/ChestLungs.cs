using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Lungs, mediastinum and diaphragm of the chest, at adult scale.</summary>
internal static class ChestLungs
{
    /// <summary>Middle of the right dome over the receptor plane; the left one mirrors x.</summary>
    private const float DomeX = 70;
    private const float DomeZ = -18;

    /// <summary>Height of the diaphragm: two domes that fall steeply to the chest wall, the central tendon between them.</summary>
    public static float Diaphragm(ChestMeasures chest, float x, float z) => DiaphragmOf(chest)(x, z);

    /// <summary>The same for many places.</summary>
    private static Func<float, float, float> DiaphragmOf(ChestMeasures chest)
    {
        (float rightTop, float leftTop) = ((float)chest.RightDome, (float)chest.LeftDome);
        float half = chest.HalfWidth.At((float)chest.Angles) - 4.5f;
        float front = -chest.Front.At((float)chest.Angles) - 6;
        float back = chest.Back.At((float)chest.Angles);
        float fall = (float)(chest.RightDome - chest.Angles);
        return (x, z) =>
        {
            float across = MathF.Abs(x) - DomeX;
            float lateral = across > 0 ? across / (half - DomeX) : across / 118;
            float along = z < DomeZ ? (DomeZ - z) / (front + DomeZ) : (z - DomeZ) / (back - DomeZ);
            float square = (lateral * lateral) + (along * along);

            // Deeper at the back than at the side, and shallow in front.
            float depth = fall * (1 + (along * along / (square + 0.01f) * (z < DomeZ ? -0.32f : 0.14f)));
            return (x < 0 ? rightTop : leftTop) - (depth * ((0.7f * square) + (0.3f * square * square * square)));
        };
    }

    public static Shape Build(ChestMeasures chest, out Shape airways, out Shape bubble)
    {
        double e = chest.Expiration;
        bool child = chest.Size == BodySize.Child;
        List<Slice> slices = [];
        for (int y = -250; y <= 150; y += 8)
        {
            // The pleura lies under the ribs' inner face; fat and muscle under the first ribs make their companion shadow.
            double inset = 4.3 + (Math.Max(0, y - 100) * 0.03);
            double half = chest.HalfWidth.At(y) - inset;
            slices.Add(new Slice(y, 0, 4, half, 4 - chest.Front.At(y) - inset - 1, chest.Back.At(y) - 4 - inset));
        }

        Shape cage = new Column([.. slices]);
        Shape under = new Below(new Box(V(-170, -330, -130), V(170, 40, 130)), DiaphragmOf(chest));
        Shape inflated = new SmoothCut(2, cage, under, Heart(chest), Vessels(chest), Middle(), Column(chest));
        airways = new SmoothUnion(
            3,
            new TaperedCapsule(V(0, 200, 8), V(0, 90, 15), 8.4f, 8.6f),
            new TaperedCapsule(V(0, 90, 15), V(-2.5, 34, 26), 8.6f, 8.4f),
            new TaperedCapsule(V(-3, 34, 26), V(-24, 8, 30), 7.2f, 6.4f),
            new TaperedCapsule(V(-24, 8, 30), V(-36, -20, 30), 5.6f, 4.6f),
            new TaperedCapsule(V(-2, 33, 26), V(36, 6, 34), 6.6f, 5.4f),
            new TaperedCapsule(V(36, 6, 34), V(48, -18, 38), 5, 4));

        // Gas of the stomach under the left dome.
        double roof = chest.LeftDome - 7;
        bubble = new SmoothUnion(12, new Ellipsoid(V(56, roof - 17, -24), V(21, 13, 20)), new Ellipsoid(V(76, roof - 18, -10), V(15, 11, 16)), new Ellipsoid(V(44, roof - 26, -30), V(11, 9, 13)));
        return inflated;

        Shape Heart(ChestMeasures at)
        {
            double wide = (child ? 1.06 : 1) * (1 + (0.16 * e));
            double up = 26 * e;
            Vector3 P(double x, double y, double z) => V(x * wide, y + up, z);
            float R(double r) => (float)(r * (1 + (0.06 * e)));
            return new SmoothUnion(
                18,
                new TaperedCapsule(P(6, -34, -34), P(40, -78, -46), R(37), R(37)),
                new TaperedCapsule(P(40, -66, -44), P(60, -92, -50), R(33), R(27)),
                new TaperedCapsule(P(-8, -34, -18), P(-10, -66, -22), R(34), R(32)),
                new Ellipsoid(P(4, -22, 6), V(R(38), R(27), R(27))),
                new Ellipsoid(P(22, -58, -30), V(R(42), R(44), R(60))),
                new Ellipsoid(P(-8, -48, -30), V(R(30), R(40), R(52))),
                new TaperedCapsule(P(30, -6, -40), P(22, 14, -30), R(17), R(14)));
        }

        static Shape Vessels(ChestMeasures at)
        {
            double shift = 20 * at.Expiration;
            return new SmoothUnion(
                6,
                new TaperedCapsule(V(-10, -14 + shift, -36), V(-14, 40, -26), 16, 15),
                new TaperedCapsule(V(-14, 40, -26), V(4, 66, -10), 15, 14),
                new TaperedCapsule(V(4, 66, -10), V(23, 62, 22), 14, 13.5f),
                new TaperedCapsule(V(23, 62, 22), V(23, 44, 46), 13.5f, 12.5f),
                new TaperedCapsule(V(23, 44, 46), V(20, -40, 48), 12, 11.5f),
                new TaperedCapsule(V(20, -40, 48), V(7, -200, 40), 11.5f, 10.5f),
                new TaperedCapsule(V(23, 2 + shift, -22), V(24, 24, -8), 14, 12),
                new TaperedCapsule(V(22, 20, -8), V(40, 20, 14), 11.5f, 10),
                new TaperedCapsule(V(40, 20, 14), V(50, -18, 28), 9.5f, 7),
                new TaperedCapsule(V(20, 10, -6), V(-24, 8, 4), 10, 9.5f),
                new TaperedCapsule(V(-24, 8, 4), V(-43, -10, 12), 9, 7.5f),
                new TaperedCapsule(V(-43, -10, 12), V(-50, -44, 22), 7.2f, 5.6f),
                new TaperedCapsule(V(-24, 12, 0), V(-46, 30, -2), 6.5f, 4.5f),
                new TaperedCapsule(V(-12, -18 + (0.6 * shift), 2), V(-44, 14, -14), 6, 4.5f),
                new TaperedCapsule(V(16, -16 + (0.6 * shift), 2), V(44, 18, -12), 6, 4.5f),
                new TaperedCapsule(V(-20, -34 + (0.6 * shift), 8), V(-54, -52 + (0.5 * shift), 18), 7, 5),
                new TaperedCapsule(V(24, -34 + (0.6 * shift), 10), V(50, -50 + (0.5 * shift), 20), 6, 4),
                new TaperedCapsule(V(-22, -10, -20), V(-23, 60, -18), 11, 10.5f),
                new TaperedCapsule(V(-23, 60, -18), V(-28, 112, -16), 10.5f, 9),
                new TaperedCapsule(V(-28, 112, -16), V(-48, 162, 4), 9, 10),
                new TaperedCapsule(V(-16, 26, 42), V(-18, 40, 14), 5, 5.5f),
                new TaperedCapsule(V(22, 66, 14), V(29, 112, 8), 9.5f, 8.5f),
                new TaperedCapsule(V(29, 112, 8), V(50, 162, 8), 8.5f, 10),
                new TaperedCapsule(V(6, 72, -10), V(-24, 130, -10), 9, 9),
                new TaperedCapsule(V(-24, 96, -30), V(34, 120, -34), 9, 8),
                new TaperedCapsule(V(0, 170, 30), V(2, 20, 42), 11, 9),
                new TaperedCapsule(V(2, 20, 42), V(8, -140, 30), 9, 10),
                new TaperedCapsule(V(-11, 26, 45), V(-9, -200, 42), 5, 6),
                new TaperedCapsule(V(0, 40, 26), V(0, 0, 26), 14, 12),
                new TaperedCapsule(V(-22, -70 + shift, -8), V(-24, -140, 2), 14, 14));
        }

        // What lies between the lungs from breastbone to spine: vessels, fat and the heart's bare area; the right lung reaches behind the heart to the gullet.
        static Shape Middle() => new SmoothUnion(
            12,
            new Loft(
                false,
                Section.Oval(-260, 24, 96, 4, -12),
                Section.Oval(-120, 18, 90, 4, -12),
                Section.Oval(-60, 13, 74, 5, -14),
                Section.Oval(-20, 12, 66, 4, -16),
                Section.Oval(20, 14, 58, 1, -12),
                Section.Oval(60, 17, 50, 0, -6),
                Section.Oval(100, 21, 48, 0, 0),
                Section.Oval(140, 26, 44, 0, 6),
                Section.Oval(180, 30, 44, 0, 8)),
            new Column(
                new Slice(-260, 8, -80, 40, 60, 34),
                new Slice(-80, 12, -88, 34, 60, 30),
                new Slice(-20, 6, -92, 22, 60, 26),
                new Slice(10, 3, -92, 10, 60, 20)));

        static Shape Column(ChestMeasures at)
        {
            List<Section> bodies = [];
            List<Section> arches = [];
            for (int y = -260; y <= 200; y += 20)
            {
                double z = ChestMeasures.SpineZ(y);
                double half = 17 + (Math.Max(0, -y - 20) * 0.035) + (Math.Max(0, y - 60) * 0.02) + (0.9 * Math.Sin(y / 31.0));
                bodies.Add(Section.Oval(y, half, 24, 0.8 * Math.Sin(y / 47.0), z + 6));
                arches.Add(Section.Oval(y, 58, 30, 0, z + 56));
            }

            return new SmoothUnion(12, new Loft(false, [.. bodies]), new Loft(false, [.. arches]));
        }
    }
}
