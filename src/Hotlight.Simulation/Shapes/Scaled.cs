using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body made larger or smaller about its frame's origin, for a smaller person.</summary>
internal sealed class Scaled(Shape body, float scale) : Shape
{
    private readonly Box bounds = new(body.Bounds.Minimum * scale, body.Bounds.Maximum * scale);

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point) => scale * body.Distance(point / scale);
}
