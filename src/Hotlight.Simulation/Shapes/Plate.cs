using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A body drawn by its outline in the local x-y plane, with a depth along z that may change along y, and rounded rims.</summary>
internal sealed class Plate : Shape
{
    private readonly float[] grid;
    private readonly int columns;
    private readonly int rows;
    private readonly float left;
    private readonly float bottom;
    private readonly float perMm;
    private readonly Curve back;
    private readonly Curve front;
    private readonly Curve rim;
    private readonly Box bounds;

    /// <param name="outline">Corners of a closed outline, in mm; a smooth curve is drawn through them.</param>
    /// <param name="back">Back face z as a function of y, in mm.</param>
    /// <param name="front">Front face z as a function of y, in mm.</param>
    /// <param name="rim">Rounding of the rims as a function of y, in mm, at most half the depth.</param>
    /// <param name="growMm">Added all round the outline, in mm.</param>
    /// <param name="cellMm">Cell of the distance table, in mm.</param>
    public Plate((double X, double Y)[] outline, Curve back, Curve front, Curve rim, double cellMm = 0.3, double growMm = 0)
    {
        this.back = back;
        this.front = front;
        this.rim = rim;
        Vector2[] line = Smooth(outline, 7);
        const float Margin = 6;
        left = line.Min(p => p.X) - Margin;
        bottom = line.Min(p => p.Y) - Margin;
        float right = line.Max(p => p.X) + Margin;
        float top = line.Max(p => p.Y) + Margin;
        perMm = (float)(1 / cellMm);
        columns = (int)MathF.Ceiling((right - left) * perMm) + 2;
        rows = (int)MathF.Ceiling((top - bottom) * perMm) + 2;
        grid = new float[columns * rows];
        Parallel.For(0, rows, row =>
        {
            for (int column = 0; column < columns; column++)
            {
                grid[(row * columns) + column] = OutlineDistance(line, new Vector2(left + (column / perMm), bottom + (row / perMm))) - (float)growMm;
            }
        });
        float low = float.MaxValue;
        float high = float.MinValue;
        for (float y = bottom; y <= top; y += 0.5f)
        {
            low = MathF.Min(low, back.At(y));
            high = MathF.Max(high, front.At(y));
        }

        bounds = new Box(new Vector3(left + Margin, bottom + Margin, low), new Vector3(right - Margin, top - Margin, high));
        bounds = new Box(bounds.Minimum - new Vector3((float)growMm, (float)growMm, 0), bounds.Maximum + new Vector3((float)growMm, (float)growMm, 0));
    }

    public Plate((double X, double Y)[] outline, double back, double front, double rim, double growMm = 0)
        : this(outline, Curve.Constant(back), Curve.Constant(front), Curve.Constant(rim), 0.3, growMm)
    {
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float column = Math.Clamp((point.X - left) * perMm, 0, columns - 1.01f);
        float row = Math.Clamp((point.Y - bottom) * perMm, 0, rows - 1.01f);
        int c = (int)column;
        int r = (int)row;
        float cs = column - c;
        float rs = row - r;
        int at = (r * columns) + c;
        float upper = grid[at] + (cs * (grid[at + 1] - grid[at]));
        float lower = grid[at + columns] + (cs * (grid[at + columns + 1] - grid[at + columns]));
        float inPlane = upper + (rs * (lower - upper));
        float backZ = back.At(point.Y);
        float frontZ = front.At(point.Y);
        float half = 0.5f * (frontZ - backZ);
        float radius = MathF.Min(rim.At(point.Y), half);
        float qx = inPlane + radius;
        float qz = MathF.Abs(point.Z - (0.5f * (frontZ + backZ))) - half + radius;
        if (qx > 0 && qz > 0)
        {
            return MathF.Sqrt((qx * qx) + (qz * qz)) - radius;
        }

        return MathF.Max(qx, qz) - radius;
    }

    /// <summary>A closed curve through the corners (centripetal would be exact; uniform Catmull-Rom is enough for even corners).</summary>
    public static Vector2[] Smooth((double X, double Y)[] corners, int pieces)
    {
        int count = corners.Length;
        Vector2[] line = new Vector2[count * pieces];
        for (int k = 0; k < count; k++)
        {
            Vector2 p0 = At(k - 1);
            Vector2 p1 = At(k);
            Vector2 p2 = At(k + 1);
            Vector2 p3 = At(k + 2);
            for (int piece = 0; piece < pieces; piece++)
            {
                line[(k * pieces) + piece] = Vector2.CatmullRom(p0, p1, p2, p3, piece / (float)pieces);
            }
        }

        return line;

        Vector2 At(int index)
        {
            (double x, double y) = corners[(index + count) % count];
            return new Vector2((float)x, (float)y);
        }
    }

    internal static float OutlineDistance(Vector2[] line, Vector2 point)
    {
        float nearest = float.MaxValue;
        bool inside = false;
        Vector2 previous = line[^1];
        foreach (Vector2 next in line)
        {
            Vector2 edge = next - previous;
            Vector2 offset = point - previous;
            float share = Math.Clamp(Vector2.Dot(offset, edge) / MathF.Max(1e-9f, edge.LengthSquared()), 0, 1);
            nearest = MathF.Min(nearest, (offset - (share * edge)).LengthSquared());
            if ((previous.Y > point.Y) != (next.Y > point.Y)
                && point.X < ((next.X - previous.X) * (point.Y - previous.Y) / (next.Y - previous.Y)) + previous.X)
            {
                inside = !inside;
            }

            previous = next;
        }

        float distance = MathF.Sqrt(nearest);
        return inside ? -distance : distance;
    }
}

file static class Vector2Curves
{
    extension(Vector2)
    {
        public static Vector2 CatmullRom(Vector2 p0, Vector2 p1, Vector2 p2, Vector2 p3, float t)
            => 0.5f * ((2 * p1) + (t * (p2 - p0)) + (t * t * ((2 * p0) - (5 * p1) + (4 * p2) - p3)) + (t * t * t * ((3 * p1) - p0 - (3 * p2) + p3)));
    }
}
