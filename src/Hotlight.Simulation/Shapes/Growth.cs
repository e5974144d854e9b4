using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>One side of a gently wavy plane through a body, such as the side of a growth plate: negative on the side that the direction points away from.</summary>
/// <param name="point">A point of the plane, in mm.</param>
/// <param name="outward">Direction out of the kept side, of unit length.</param>
/// <param name="waveMm">Height of the waves, in mm; small against <paramref name="lengthMm"/>.</param>
/// <param name="lengthMm">Length of a wave, in mm. The plane facing the other way with the same waves is the same surface.</param>
internal sealed class WavySide(Vector3 point, Vector3 outward, float waveMm = 0, float lengthMm = 14) : Shape
{
    private readonly Vector3 first = Vector3.Normalize(Vector3.Cross(outward, MathF.Abs(outward.X) < 0.8f ? Vector3.UnitX : Vector3.UnitY));

    public override Box Bounds => Box.Around(point, 2000);

    public override float Distance(Vector3 at)
    {
        Vector3 offset = at - point;
        Vector3 second = Vector3.Cross(outward, first);
        float wave = MathF.Sin(2 * MathF.PI * Vector3.Dot(offset, first) / lengthMm) * MathF.Cos(2 * MathF.PI * Vector3.Dot(offset, second) / (1.3f * lengthMm));
        return Vector3.Dot(offset, outward) - (waveMm * wave);
    }
}

/// <summary>The part that a body has on the kept side of another, with a rounded rim.</summary>
internal sealed class Trimmed(float rimMm, Shape body, params Shape[] kept) : Shape
{
    public override Box Bounds => kept.Aggregate(body.Bounds, (box, shape) => new Box(Vector3.Max(box.Minimum, shape.Bounds.Minimum), Vector3.Min(box.Maximum, shape.Bounds.Maximum)));

    public override float Distance(Vector3 point)
    {
        float distance = body.Distance(point);
        foreach (Shape side in kept)
        {
            float other = side.Distance(point);
            float mix = MathF.Max(rimMm - MathF.Abs(distance - other), 0);
            distance = MathF.Max(distance, other) + (mix * mix / (4 * rimMm));
        }

        return distance;
    }
}
