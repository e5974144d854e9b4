using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body bowed along z: every point is moved by an amount that depends on x. Slopes up to about one half keep distances true to a tenth.</summary>
/// <param name="shift">How far points at x are moved along z, in mm.</param>
/// <param name="body">The body before it is bowed.</param>
internal sealed class Warped(Curve shift, Shape body) : Shape
{
    public override Box Bounds
    {
        get
        {
            Box box = body.Bounds;
            float low = float.MaxValue;
            float high = float.MinValue;
            for (int step = 0; step <= 64; step++)
            {
                float moved = shift.At(box.Minimum.X + ((box.Maximum.X - box.Minimum.X) * step / 64));
                low = MathF.Min(low, moved);
                high = MathF.Max(high, moved);
            }

            return new Box(box.Minimum + new Vector3(0, 0, low), box.Maximum + new Vector3(0, 0, high));
        }
    }

    public override float Distance(Vector3 point)
    {
        float moved = shift.At(point.X, out float slope);
        return body.Distance(point - new Vector3(0, 0, moved)) / MathF.Sqrt(1 + (slope * slope));
    }
}
