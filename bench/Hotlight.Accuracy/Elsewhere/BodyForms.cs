namespace Hotlight.Accuracy.Elsewhere;

/// <summary>What is exposed: its bodies, its beam's lines and the picture it is read into.</summary>
/// <param name="Name">Name of the form.</param>
/// <param name="WidthMm">Width of the picture, in mm.</param>
/// <param name="HeightMm">Height of the picture, in mm.</param>
/// <param name="SpacingMm">Distance of pixel centres, in mm.</param>
/// <param name="Energies">Energies of the beam's lines, in keV, with their shares.</param>
/// <param name="TargetIndex">Target exposure index.</param>
/// <param name="ScatterShare">Scatter over primary behind the thickest part.</param>
/// <param name="Kvp">Tube voltage told in the header, in kVp.</param>
internal sealed record BodyForm(string Name, double WidthMm, double HeightMm, double SpacingMm, (double Kev, double Share)[] Energies, double TargetIndex, double ScatterShare, double Kvp)
{
    private static readonly (double, double)[] LowBeam = [(27, 0.25), (38, 0.4), (49, 0.35)];
    private static readonly (double, double)[] MiddleBeam = [(33, 0.2), (45, 0.35), (57, 0.3), (69, 0.15)];
    private static readonly (double, double)[] HighBeam = [(42, 0.15), (56, 0.3), (72, 0.3), (90, 0.15), (108, 0.1)];

    /// <summary>All forms.</summary>
    public static BodyForm[] All { get; } =
    [
        new("hinge", 210, 240, 0.15, LowBeam, 400, 0.12, 55),
        new("fan", 200, 250, 0.16, LowBeam, 300, 0.06, 50),
        new("cage", 370, 400, 0.26, HighBeam, 250, 0.55, 117),
        new("column", 250, 390, 0.24, MiddleBeam, 400, 0.9, 75),
        new("wedge", 230, 260, 0.17, LowBeam, 350, 0.1, 56),
        new("shaft", 180, 300, 0.168, MiddleBeam, 400, 0.25, 66),
    ];

    /// <summary>Draws a body of this form about the middle of the picture.</summary>
    /// <param name="random">Chance.</param>
    /// <param name="child">Scale of the body, 1 for an adult.</param>
    public Body Draw(Random random, double child)
    {
        var body = new Body();
        switch (Name)
        {
            case "hinge":
                Hinge(body, random, child);
                break;
            case "fan":
                Fan(body, random, child);
                break;
            case "cage":
                Cage(body, random, child);
                break;
            case "column":
                Column(body, random, child);
                break;
            case "wedge":
                Wedge(body, random, child);
                break;
            default:
                Shaft(body, random, child);
                break;
        }

        return body;
    }

    private static double In(Random random, double from, double to) => from + ((to - from) * random.NextDouble());

    private static (double X, double Y) Way(double degrees, double length) => (length * Math.Cos(degrees * Math.PI / 180), length * Math.Sin(degrees * Math.PI / 180));

    /// <summary>Two thick limbs that meet at a joint, one or two bones in each.</summary>
    private static void Hinge(Body body, Random random, double child)
    {
        double turn = In(random, 0, 360);
        double bend = In(random, 100, 180);
        double radius = child * In(random, 34, 52);
        (double ax, double ay) = Way(turn, 260);
        (double bx, double by) = Way(turn + bend, 260);
        body.Bars.Add(new Capsule(ax, ay, radius * 1.25, 0, 0, radius, 0.9));
        body.Bars.Add(new Capsule(0, 0, radius, bx, by, radius * 0.75, 0.9));
        double bone = radius * In(random, 0.26, 0.34);
        (double gx, double gy) = Way(turn, bone * 1.3);
        body.LongBones.Add(new LongBone(new Capsule(ax, ay, bone, gx, gy, bone), bone * 0.35, 0.75));
        (double sx, double sy) = Way(turn + bend + 90, bone * 1.15);
        (double hx, double hy) = Way(turn + bend, bone * 1.4);
        double second = bone * In(random, 0.6, 0.95);
        body.LongBones.Add(new LongBone(new Capsule(hx + (0.4 * sx), hy + (0.4 * sy), second, bx + sx, by + sy, second), second * 0.4, 0.9));
        body.LongBones.Add(new LongBone(new Capsule((1.5 * hx) - (0.9 * sx), (1.5 * hy) - (0.9 * sy), second * 0.6, bx - sx, by - sy, second * 0.6), second * 0.3, 0.7));
        if (random.Next(2) == 0)
        {
            body.ShortBones.Add(new ShortBone(new Lump(gx * 1.6, gy * 1.6, bone * 0.9, bone * 1.1, bone * 0.5, 2.4, turn), 1.2));
        }
    }

    /// <summary>A flat part with five thin ones in a fan and a stalk.</summary>
    private static void Fan(Body body, Random random, double child)
    {
        double turn = In(random, -25, 25) + (random.Next(6) == 0 ? 180 : 0);
        double size = child * In(random, 0.85, 1.1);
        (double X, double Y) At(double x, double y)
        {
            double c = Math.Cos(turn * Math.PI / 180);
            double s = Math.Sin(turn * Math.PI / 180);
            return (size * ((x * c) - (y * s)), size * ((x * s) + (y * c)));
        }

        (double px, double py) = At(0, 20);
        body.Lumps.Add(new Lump(px, py, 41 * size, 50 * size, 13 * size, 2.6, turn));
        (double wx, double wy) = At(-2, 190);
        (double vx, double vy) = At(0, 60);
        body.Bars.Add(new Capsule(vx, vy, 29 * size, wx, wy, 36 * size, 0.75));
        for (int finger = 0; finger < 5; finger++)
        {
            double lean = -26 + (13 * finger) + In(random, -4, 4);
            double length = (finger is 0 or 4 ? 78 : 98) + In(random, -6, 6);
            (double rx, double ry) = At(-30 + (15 * finger), 45);
            (double fx, double fy) = Way(turn - 90 + lean, size * length);
            (double kx, double ky) = (rx + (0.42 * fx), ry + (0.42 * fy));
            (double ex, double ey) = (kx + (0.85 * fx), ky + (0.85 * fy));
            body.Bars.Add(new Capsule(kx, ky, 10 * size, ex, ey, 7 * size));
            double bone = size * In(random, 3.6, 4.6);
            double from = 0.02;
            foreach (double share in new[] { 0.55, 0.9, 1.13, 1.27 })
            {
                body.LongBones.Add(new LongBone(new Capsule(rx + (from * fx), ry + (from * fy), bone, rx + ((share - 0.03) * fx), ry + ((share - 0.03) * fy), bone * 0.85), bone * 0.38, 0.55));
                from = share + 0.02;
                bone *= 0.84;
            }
        }

        for (int k = 0; k < 8; k++)
        {
            (double x, double y) = At(-21 + (14 * (k % 4)) + In(random, -2, 2), 55 + (13 * (k / 4)) + In(random, -2, 2));
            body.ShortBones.Add(new ShortBone(new Lump(x, y, size * In(random, 6.2, 8), size * In(random, 5.5, 7), size * 6, 2.6, In(random, 0, 180)), 0.9));
        }

        (double ax, double ay) = At(-13, 80);
        (double bx, double by) = At(-12, 260);
        (double cx, double cy) = At(15, 84);
        (double dx, double dy) = At(12, 260);
        body.LongBones.Add(new LongBone(new Capsule(ax, ay, 8 * size, bx, by, 7 * size), 2.6 * size, 0.8));
        body.LongBones.Add(new LongBone(new Capsule(cx, cy, 5.5 * size, dx, dy, 6 * size), 2.4 * size, 0.6));
    }

    /// <summary>A wide trunk with air on both sides of a column, hoops of bone and two arms.</summary>
    private static void Cage(Body body, Random random, double child)
    {
        double size = child * In(random, 0.9, 1.08);
        body.Lumps.Add(new Lump(0, 70 * size, 165 * size, 330 * size, 105 * size, 3));
        body.Bars.Add(new Capsule(-150 * size, -110 * size, 52 * size, 150 * size, -110 * size, 52 * size));
        body.Bars.Add(new Capsule(0, -260 * size, 62 * size, 0, -90 * size, 64 * size));
        foreach (int side in new[] { -1, 1 })
        {
            body.Bars.Add(new Capsule(side * 165 * size, -95 * size, 48 * size, side * 205 * size, 230 * size, 42 * size));
            body.LongBones.Add(new LongBone(new Capsule(side * 168 * size, -96 * size, 13 * size, side * 207 * size, 260 * size, 11 * size), 4, 0.6));
            body.LongBones.Add(new LongBone(new Capsule(side * 18 * size, -104 * size, 6.5 * size, side * 150 * size, -130 * size, 6 * size), 2.2, 0.3));
            double height = In(random, 112, 140) * size;
            body.Air.Add(new Lump(side * 76 * size, -10 * size, 56 * size, height, 62 * size, 2.3, side * 6));
            double y = -112 * size;
            for (int hoop = 0; hoop < 9; hoop++)
            {
                double far = (70 + (9.5 * Math.Min(hoop, 6))) * size;
                double fall = (14 + (5 * hoop)) * size;
                body.LongBones.Add(new LongBone(new Capsule(side * 22 * size, y, 4.6 * size, side * 0.65 * far, y + (0.1 * fall), 4.4 * size), 1.3, 0.1));
                body.LongBones.Add(new LongBone(new Capsule(side * 0.65 * far, y + (0.1 * fall), 4.4 * size, side * far, y + (0.62 * fall), 4.2 * size), 1.3, 0.1));
                body.LongBones.Add(new LongBone(new Capsule(side * far, y + (0.62 * fall), 4.2 * size, side * 0.72 * far, y + (1.25 * fall), 4 * size), 1.1, 0.1));
                y += In(random, 23, 27) * size;
            }
        }

        for (int k = 0; k < 16; k++)
        {
            body.ShortBones.Add(new ShortBone(new Lump(0, (-170 + (26 * k)) * size, 16.5 * size, 11.5 * size, 15 * size, 4), 1.1));
        }

        // Between the two sides: what pumps, as a lump that takes the air away.
        body.Lumps.Add(new Lump(28 * size, 62 * size, 62 * size, 58 * size, 125 * size, 2.2, 30));
    }

    /// <summary>A trunk that fills the picture, a column of blocks and two wings of bone, bubbles of gas.</summary>
    private static void Column(Body body, Random random, double child)
    {
        double size = child * In(random, 0.92, 1.1);
        body.Lumps.Add(new Lump(0, 0, 178 * size, 420 * size, 108 * size, 3.4));
        double y = -210 * size;
        for (int k = 0; k < 11; k++)
        {
            double half = (19 + (0.9 * k)) * size;
            body.ShortBones.Add(new ShortBone(new Lump(In(random, -2, 2), y, half, 14 * size, 17 * size, 4.5), 1.4));
            body.ShortBones.Add(new ShortBone(new Lump(0, y + (11 * size), 4.5 * size, 10 * size, 13 * size, 2.2), 1.2));
            foreach (int side in new[] { -1, 1 })
            {
                body.LongBones.Add(new LongBone(new Capsule(side * half, y, 5 * size, side * (half + (24 * size)), y - (5 * size), 3.5 * size), 1.2, 0.1));
            }

            y += In(random, 34, 37) * size;
        }

        foreach (int side in new[] { -1, 1 })
        {
            body.ShortBones.Add(new ShortBone(new Lump(side * 92 * size, 165 * size, 66 * size, 74 * size, 10 * size, 2.4, side * 28), 1.8));
        }

        int bubbles = random.Next(5, 12);
        for (int k = 0; k < bubbles; k++)
        {
            body.Air.Add(new Lump(In(random, -95, 95), In(random, -140, 150), In(random, 9, 24), In(random, 8, 17), In(random, 6, 15), 2, In(random, 0, 180)));
        }
    }

    /// <summary>A leg on a heel and a long flat part.</summary>
    private static void Wedge(Body body, Random random, double child)
    {
        double size = child * In(random, 0.85, 1.05);
        double face = random.Next(2) == 0 ? -1 : 1;
        double lean = In(random, -18, 18);
        (double lx, double ly) = Way(-90 + lean, 260 * size);
        body.Bars.Add(new Capsule(0, 10 * size, 37 * size, lx, ly, 52 * size, 0.95));
        body.Lumps.Add(new Lump(-22 * face * size, 45 * size, 52 * size, 44 * size, 34 * size, 2.4, face * 12));
        body.Bars.Add(new Capsule(10 * face * size, 42 * size, 38 * size, 150 * face * size, 74 * size, 18 * size, 0.9));
        body.LongBones.Add(new LongBone(new Capsule(-2 * size, 2 * size, 14 * size, lx, ly, 12.5 * size), 4.4 * size, 0.75));
        body.LongBones.Add(new LongBone(new Capsule((-13 * face * size) - 1, 18 * size, 7.5 * size, lx - (15 * face * size), ly, 7 * size), 2.8 * size, 0.7));
        body.ShortBones.Add(new ShortBone(new Lump(2 * face * size, 26 * size, 24 * size, 13 * size, 18 * size, 2.6, face * 14), 1.5));
        body.ShortBones.Add(new ShortBone(new Lump(-32 * face * size, 50 * size, 34 * size, 19 * size, 17 * size, 2.6, face * -18), 1.7));
        body.ShortBones.Add(new ShortBone(new Lump(42 * face * size, 44 * size, 15 * size, 15 * size, 14 * size, 3), 1.2));
        for (int ray = 0; ray < 4; ray++)
        {
            body.LongBones.Add(new LongBone(new Capsule(57 * face * size, (46 + (3.4 * ray)) * size, 6 * size, 124 * face * size, (62 + (5 * ray)) * size, 5.2 * size), 2.1 * size, 0.6));
        }
    }

    /// <summary>One limb right across the picture with one or two bones.</summary>
    private static void Shaft(Body body, Random random, double child)
    {
        double turn = 90 + In(random, -30, 30);
        double radius = child * In(random, 36, 62);
        (double ax, double ay) = Way(turn, 300);
        double shift = In(random, -20, 20);
        body.Bars.Add(new Capsule(shift - ax, -ay, radius * 1.1, shift + ax, ay, radius * 0.8, In(random, 0.8, 1)));
        double bone = radius * In(random, 0.24, 0.32);
        bool two = random.Next(2) == 0;
        double apart = two ? bone * 1.5 : 0;
        (double nx, double ny) = Way(turn + 90, apart);
        body.LongBones.Add(new LongBone(new Capsule(shift + nx - ax, ny - ay, bone, shift + nx + ax, ny + ay, bone * 0.9), bone * 0.42, 0.2));
        if (two)
        {
            body.LongBones.Add(new LongBone(new Capsule(shift - nx - ax, -ny - ay, bone * 0.6, shift - nx + ax, ay - ny, bone * 0.55), bone * 0.28, 0.2));
        }
        else
        {
            body.LongBones.Add(new LongBone(new Capsule(shift + (nx * 0.5), In(random, 20, 60), bone * 1.02, shift + (0.4 * ax), 0.4 * ay, bone * 0.9), bone * 0.3, 0.9));
        }
    }
}
