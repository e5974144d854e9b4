using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>One cross-section of a <see cref="QuadrantLoft"/>, in mm: its four sides, and where its four quarters meet.</summary>
/// <param name="Y">Place along the body.</param>
/// <param name="Left">Least x.</param>
/// <param name="Right">Greatest x.</param>
/// <param name="Back">Least z.</param>
/// <param name="Front">Greatest z.</param>
/// <param name="CentreX">Where the front and back are reached; in the middle when missing.</param>
/// <param name="CentreZ">Where the left and right are reached; in the middle when missing.</param>
/// <param name="Squareness">Exponent of the section's outline: 2 is elliptic, 4 nearly a rounded rectangle, 1.5 tends to a rhombus.</param>
internal readonly record struct QuadrantSection(double Y, double Left, double Right, double Back, double Front, double? CentreX = null, double? CentreZ = null, double Squareness = 2);

/// <summary>A body along the local y axis whose sections have four quarters of their own: a flat or keeled side is drawn by where the quarters meet. It ends flat.</summary>
internal sealed class QuadrantLoft : Shape
{
    private readonly Curve centreX;
    private readonly Curve centreZ;
    private readonly Curve left;
    private readonly Curve right;
    private readonly Curve back;
    private readonly Curve front;
    private readonly Curve exponent;
    private readonly float bottom;
    private readonly float top;
    private readonly Box bounds;

    /// <param name="sections">Sections in rising y.</param>
    public QuadrantLoft(params QuadrantSection[] sections)
    {
        centreX = new Curve([.. sections.Select(s => (s.Y, X(s)))]);
        centreZ = new Curve([.. sections.Select(s => (s.Y, Z(s)))]);
        left = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, X(s) - s.Left)))]);
        right = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, s.Right - X(s))))]);
        back = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, Z(s) - s.Back)))]);
        front = new Curve([.. sections.Select(s => (s.Y, Math.Max(0.05, s.Front - Z(s))))]);
        exponent = new Curve([.. sections.Select(s => (s.Y, s.Squareness))]);
        bottom = (float)sections[0].Y;
        top = (float)sections[^1].Y;
        bounds = new Box(
            new Vector3((float)sections.Min(s => s.Left), bottom, (float)sections.Min(s => s.Back)),
            new Vector3((float)sections.Max(s => s.Right), top, (float)sections.Max(s => s.Front))).Grown(0.5f);

        static double X(QuadrantSection section) => section.CentreX ?? (0.5 * (section.Left + section.Right));
        static double Z(QuadrantSection section) => section.CentreZ ?? (0.5 * (section.Back + section.Front));
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float y = Math.Clamp(point.Y, bottom, top);
        float x = point.X - centreX.At(y, out float xSlope);
        float z = point.Z - centreZ.At(y, out float zSlope);
        float a = x < 0 ? left.At(y, out float aSlope) : right.At(y, out aSlope);
        float b = z < 0 ? back.At(y, out float bSlope) : front.At(y, out bSlope);
        float n = exponent.At(y);
        float u = MathF.Abs(x) / a;
        float v = MathF.Abs(z) / b;

        // k = (uⁿ + vⁿ)^(1/n) is 1 on the outline; (k − 1) over the length of its gradient is the distance to first order.
        float un = MathF.Pow(u, n - 1);
        float vn = MathF.Pow(v, n - 1);
        float k = MathF.Pow((un * u) + (vn * v), 1 / n) + 1e-6f;
        float scale = MathF.Pow(k, 1 - n);
        float gx = un * scale / a;
        float gz = vn * scale / b;
        float gy = (gx * ((MathF.Sign(x) * xSlope) + (MathF.Min(u, 1) * aSlope))) + (gz * ((MathF.Sign(z) * zSlope) + (MathF.Min(v, 1) * bSlope)));
        float end = MathF.Max(bottom - point.Y, point.Y - top);

        // The slope along the body fades out beyond its ends.
        gy *= Math.Clamp(1 - (end / 10), 0, 1);
        float across = (k - 1) / MathF.Sqrt((gx * gx) + (gz * gz) + (gy * gy) + 1e-9f);
        across = MathF.Max(across, -MathF.Min(a, b));
        return end <= 0 ? MathF.Max(across, end) : across <= 0 ? end : MathF.Sqrt((across * across) + (end * end));
    }
}
