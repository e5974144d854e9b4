using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>Two bodies of nearly the same section joined without a seam: the first up to one point, the second from another on, a smooth mean of both between. Each must reach past both points.</summary>
internal sealed class Crossfade(Vector3 from, Vector3 to, Shape first, Shape second) : Shape
{
    private readonly Vector3 along = (to - from) / (to - from).LengthSquared();

    public override Box Bounds => first.Bounds.With(second.Bounds);

    public override float Distance(Vector3 point)
    {
        float share = Vector3.Dot(point - from, along);
        if (share <= 0)
        {
            return first.Distance(point);
        }

        if (share >= 1)
        {
            return second.Distance(point);
        }

        share = share * share * (3 - (2 * share));
        return ((1 - share) * first.Distance(point)) + (share * second.Distance(point));
    }
}
