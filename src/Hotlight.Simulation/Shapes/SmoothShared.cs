using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>The part that two bodies share, with rounded rims.</summary>
internal sealed class SmoothShared(float rimMm, Shape first, Shape second) : Shape
{
    public override Box Bounds => new(Vector3.Max(first.Bounds.Minimum, second.Bounds.Minimum), Vector3.Min(first.Bounds.Maximum, second.Bounds.Maximum));

    public override float Distance(Vector3 point) => Greater(first.Distance(point), second.Distance(point), rimMm);

    /// <summary>The greater of two distances, rounded where they are within the rim of each other.</summary>
    public static float Greater(float first, float second, float rimMm)
    {
        float mix = MathF.Max(rimMm - MathF.Abs(first - second), 0);
        return MathF.Max(first, second) + (mix * mix / (4 * rimMm));
    }
}

/// <summary>All that lies behind a plane.</summary>
/// <param name="origin">A point of the plane.</param>
/// <param name="outward">Direction that leaves the body, of any length.</param>
internal sealed class HalfSpace(Vector3 origin, Vector3 outward) : Shape
{
    private readonly Vector3 normal = Vector3.Normalize(outward);

    public override Box Bounds => Box.Around(origin, 1000);

    public override float Distance(Vector3 point) => Vector3.Dot(point - origin, normal);
}

/// <summary>A body made larger or smaller about the origin by one factor.</summary>
internal sealed class Scaled(float factor, Shape body) : Shape
{
    public override Box Bounds => new(factor * body.Bounds.Minimum, factor * body.Bounds.Maximum);

    public override float Distance(Vector3 point) => factor * body.Distance(point / factor);
}
