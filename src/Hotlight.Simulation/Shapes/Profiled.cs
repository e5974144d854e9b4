using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body drawn by its silhouettes seen along two or three axes, with rounded rims: what all silhouettes share. Suits short bones.</summary>
internal sealed class Profiled : Shape
{
    private readonly float rim;
    private readonly Silhouette front;
    private readonly Silhouette side;
    private readonly Silhouette? end;
    private readonly Box bounds;

    /// <param name="rimMm">Rounding where two silhouettes meet, in mm.</param>
    /// <param name="front">Seen along z: corners (x, y).</param>
    /// <param name="side">Seen along x: corners (z, y).</param>
    /// <param name="end">Seen along y: corners (x, z); may be missing.</param>
    public Profiled(double rimMm, (double X, double Y)[] front, (double Z, double Y)[] side, (double X, double Z)[]? end = null)
    {
        rim = (float)rimMm;
        this.front = new Silhouette(front);
        this.side = new Silhouette(side);
        this.end = end is null ? null : new Silhouette(end);
        Vector3 low = new(this.front.Minimum.X, MathF.Max(this.front.Minimum.Y, this.side.Minimum.Y), this.side.Minimum.X);
        Vector3 high = new(this.front.Maximum.X, MathF.Min(this.front.Maximum.Y, this.side.Maximum.Y), this.side.Maximum.X);
        if (this.end is not null)
        {
            low = Vector3.Max(low, new Vector3(this.end.Minimum.X, low.Y, this.end.Minimum.Y));
            high = Vector3.Min(high, new Vector3(this.end.Maximum.X, high.Y, this.end.Maximum.Y));
        }

        bounds = new Box(low, high);
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float distance = SmoothShared.Greater(front.Distance(point.X, point.Y), side.Distance(point.Z, point.Y), rim);
        return end is null ? distance : SmoothShared.Greater(distance, end.Distance(point.X, point.Z), rim);
    }
}
