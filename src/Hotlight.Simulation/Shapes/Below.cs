using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>Everything of a box that lies below a surface y = height(x, z), such as what is under the diaphragm.</summary>
/// <param name="within">The box.</param>
/// <param name="height">Height of the surface over (x, z), in mm.</param>
internal sealed class Below(Box within, Func<float, float, float> height) : Shape
{
    private const float StepMm = 0.5f;

    public override Box Bounds => within;

    public override float Distance(Vector3 point)
    {
        float y = height(point.X, point.Z);
        float alongX = (height(point.X + StepMm, point.Z) - y) / StepMm;
        float alongZ = (height(point.X, point.Z + StepMm) - y) / StepMm;
        float surface = (point.Y - y) / MathF.Sqrt(1 + (alongX * alongX) + (alongZ * alongZ));
        Vector3 outside = Vector3.Max(Vector3.Max(within.Minimum - point, point - within.Maximum), Vector3.Zero);
        return MathF.Max(surface, outside == Vector3.Zero ? MathF.Max(MathF.Max(within.Minimum.X - point.X, point.X - within.Maximum.X), MathF.Max(within.Minimum.Z - point.Z, point.Z - within.Maximum.Z)) : outside.Length());
    }
}
