using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>One cross-section of a <see cref="Column"/>: middle, half width along x and reach along −z and +z, in mm.</summary>
internal readonly record struct Slice(double Y, double X, double Z, double HalfWidth, double Minus, double Plus);

/// <summary>A body along the local y axis whose sections are superellipses of exponent 2.5 (fuller than an ellipse, without flat sides) that reach unequally far to −z and to +z.</summary>
internal sealed class Column : Shape
{
    private readonly Curve centreX;
    private readonly Curve centreZ;
    private readonly Curve halfWidth;
    private readonly Curve minus;
    private readonly Curve plus;
    private readonly float bottom;
    private readonly float top;
    private readonly Box bounds;

    /// <param name="slices">Sections in rising y; the body ends flat at the first and the last.</param>
    public Column(params Slice[] slices)
    {
        centreX = new Curve([.. slices.Select(s => (s.Y, s.X))]);
        centreZ = new Curve([.. slices.Select(s => (s.Y, s.Z))]);
        halfWidth = new Curve([.. slices.Select(s => (s.Y, Math.Max(0.05, s.HalfWidth)))]);
        minus = new Curve([.. slices.Select(s => (s.Y, Math.Max(0.05, s.Minus)))]);
        plus = new Curve([.. slices.Select(s => (s.Y, Math.Max(0.05, s.Plus)))]);
        bottom = (float)slices[0].Y;
        top = (float)slices[^1].Y;
        bounds = new Box(
            new Vector3((float)slices.Min(s => s.X - s.HalfWidth), bottom, (float)slices.Min(s => s.Z - s.Minus)),
            new Vector3((float)slices.Max(s => s.X + s.HalfWidth), top, (float)slices.Max(s => s.Z + s.Plus)));
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float y = Math.Clamp(point.Y, bottom, top);
        float a = halfWidth.At(y, out float aSlope);
        float dx = point.X - centreX.At(y, out float xSlope);
        float dz = point.Z - centreZ.At(y, out float zSlope);
        float b = dz < 0 ? minus.At(y, out float bSlope) : plus.At(y, out bSlope);
        float x = MathF.Abs(dx) / a;
        float z = MathF.Abs(dz) / b;
        float x15 = x * MathF.Sqrt(x);
        float z15 = z * MathF.Sqrt(z);
        float sum = (x15 * x) + (z15 * z);
        float k = MathF.Pow(sum, 0.4f) + 1e-5f;

        // (x^2.5 + z^2.5)^0.4 − 1 over its gradient.
        float scale = 1 / (k * MathF.Sqrt(k));
        float gx = x15 * scale / a;
        float gz = z15 * scale / b;
        float gy = (gx * ((x * aSlope) + (MathF.Sign(dx) * xSlope))) + (gz * ((z * bSlope) + (MathF.Sign(dz) * zSlope)));
        float across = (k - 1) / MathF.Sqrt((gx * gx) + (gz * gz) + (gy * gy) + 1e-9f);
        across = MathF.Max(across, -MathF.Min(a, b));
        float end = MathF.Max(bottom - point.Y, point.Y - top);
        return end <= 0 ? MathF.Max(across, end) : across <= 0 ? end : MathF.Sqrt((across * across) + (end * end));
    }
}
