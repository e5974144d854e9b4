using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body's signed distances on a regular grid, read back by trilinear interpolation: many times faster than a body of many parts, and as sharp as its cells.</summary>
internal sealed class Baked : Shape
{
    private readonly float[] values;
    private readonly int columns;
    private readonly int rows;
    private readonly int layers;
    private readonly int layerStride;
    private readonly Vector3 origin;
    private readonly float perMm;
    private readonly Box bounds;

    /// <param name="shape">The body.</param>
    /// <param name="cellMm">Side of a cell, in mm.</param>
    /// <param name="within">Only this part of the room is needed.</param>
    public Baked(Shape shape, float cellMm, Box within)
    {
        Box whole = shape.Bounds.Grown(1);
        bounds = new Box(Vector3.Max(whole.Minimum, within.Minimum), Vector3.Min(whole.Maximum, within.Maximum));
        origin = bounds.Minimum;
        perMm = 1 / cellMm;
        Vector3 size = Vector3.Max(bounds.Maximum - bounds.Minimum, Vector3.Zero) * perMm;
        columns = (int)MathF.Ceiling(size.X) + 2;
        rows = (int)MathF.Ceiling(size.Y) + 2;
        layers = (int)MathF.Ceiling(size.Z) + 2;
        layerStride = columns * rows;
        values = IsEmpty ? [] : new float[layerStride * layers];
        if (IsEmpty)
        {
            return;
        }

        Parallel.For(0, layers * rows, line =>
        {
            int layer = line / rows;
            int row = line - (layer * rows);
            Vector3 point = origin + new Vector3(0, row * cellMm, layer * cellMm);
            int at = line * columns;
            for (int column = 0; column < columns; column++)
            {
                point.X = origin.X + (column * cellMm);
                values[at + column] = shape.Distance(point);
            }
        });
    }

    /// <summary>Whether nothing of the body lies in the part of the room that is needed.</summary>
    public bool IsEmpty => bounds.Minimum.X >= bounds.Maximum.X || bounds.Minimum.Y >= bounds.Maximum.Y || bounds.Minimum.Z >= bounds.Maximum.Z;

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        Vector3 place = (point - origin) * perMm;
        float x = Math.Clamp(place.X, 0, columns - 1.001f);
        float y = Math.Clamp(place.Y, 0, rows - 1.001f);
        float z = Math.Clamp(place.Z, 0, layers - 1.001f);
        int column = (int)x;
        int row = (int)y;
        int layer = (int)z;
        float xs = x - column;
        float ys = y - row;
        float zs = z - layer;
        int at = (layer * layerStride) + (row * columns) + column;
        float a = values[at] + (xs * (values[at + 1] - values[at]));
        at += columns;
        float b = values[at] + (xs * (values[at + 1] - values[at]));
        at += layerStride;
        float d = values[at] + (xs * (values[at + 1] - values[at]));
        at -= columns;
        float c = values[at] + (xs * (values[at + 1] - values[at]));
        float near = a + (ys * (b - a));
        float far = c + (ys * (d - c));
        return near + (zs * (far - near));
    }
}
