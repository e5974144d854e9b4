using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body made larger or smaller about its frame's origin.</summary>
internal sealed class Scaled(float factor, Shape body) : Shape
{
    public override Box Bounds => new(factor * body.Bounds.Minimum, factor * body.Bounds.Maximum);

    public override float Distance(Vector3 point) => factor * body.Distance(point / factor);
}
