using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>One cross-section of a <see cref="Loft"/>, across the local y axis, in mm.</summary>
internal readonly record struct Section(double Y, double Left, double Right, double Back, double Front)
{
    public static Section Round(double y, double radius, double x = 0, double z = 0) => new(y, x - radius, x + radius, z - radius, z + radius);

    public static Section Oval(double y, double halfWidth, double halfDepth, double x = 0, double z = 0) => new(y, x - halfWidth, x + halfWidth, z - halfDepth, z + halfDepth);
}

/// <summary>A body along the local y axis drawn by its two silhouettes: left and right seen along z, back and front seen along x. Sections are superellipses.</summary>
internal sealed class Loft : Shape
{
    private readonly Curve centreX;
    private readonly Curve centreZ;
    private readonly Curve halfWidth;
    private readonly Curve halfDepth;
    private readonly float bottom;
    private readonly float top;
    private readonly bool boxy;
    private readonly Box bounds;

    /// <param name="boxy">False: elliptic sections. True: exponent 4, flatter sides.</param>
    /// <param name="sections">Sections in rising y; the body ends flat at the first and the last.</param>
    public Loft(bool boxy, params Section[] sections)
    {
        this.boxy = boxy;
        centreX = new Curve([.. sections.Select(s => (s.Y, (s.Left + s.Right) / 2))]);
        centreZ = new Curve([.. sections.Select(s => (s.Y, (s.Back + s.Front) / 2))]);
        halfWidth = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, (s.Right - s.Left) / 2)))]);
        halfDepth = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, (s.Front - s.Back) / 2)))]);
        bottom = (float)sections[0].Y;
        top = (float)sections[^1].Y;
        bounds = new Box(
            new Vector3((float)sections.Min(s => s.Left), bottom, (float)sections.Min(s => s.Back)),
            new Vector3((float)sections.Max(s => s.Right), top, (float)sections.Max(s => s.Front)));
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float y = Math.Clamp(point.Y, bottom, top);
        float a = halfWidth.At(y, out float aSlope);
        float b = halfDepth.At(y, out float bSlope);
        float x = (point.X - centreX.At(y)) / a;
        float z = (point.Z - centreZ.At(y)) / b;
        float across;
        float x2 = x * x;
        float z2 = z * z;
        if (boxy)
        {
            // (x⁴ + z⁴)^(1/4) − 1 over its gradient.
            float sum = (x2 * x2) + (z2 * z2);
            float k = MathF.Sqrt(MathF.Sqrt(sum)) + 1e-6f;
            float scale = 1 / (k * k * k);
            float gx = x2 * x * scale / a;
            float gz = z2 * z * scale / b;
            float gy = ((x2 * x2 * aSlope / a) + (z2 * z2 * bSlope / b)) * scale;
            across = (k - 1) / MathF.Sqrt((gx * gx) + (gz * gz) + (gy * gy) + 1e-9f);
            across = MathF.Max(across, -MathF.Min(a, b));
        }
        else
        {
            float k = MathF.Sqrt(x2 + z2) + 1e-6f;
            float gx = x / (a * k);
            float gz = z / (b * k);
            float gy = ((x2 * aSlope / a) + (z2 * bSlope / b)) / k;
            across = (k - 1) / MathF.Sqrt((gx * gx) + (gz * gz) + (gy * gy) + 1e-9f);
            across = MathF.Max(across, -MathF.Min(a, b));
        }

        float end = MathF.Max(bottom - point.Y, point.Y - top);
        return end <= 0 ? MathF.Max(across, end) : across <= 0 ? end : MathF.Sqrt((across * across) + (end * end));
    }
}
