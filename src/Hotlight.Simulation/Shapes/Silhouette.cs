using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>The signed distance to a closed outline in a plane, in mm, negative inside, kept as a table and read back by bilinear interpolation.</summary>
internal sealed class Silhouette
{
    private const float MarginMm = 6;
    private readonly float[] table;
    private readonly int columns;
    private readonly int rows;
    private readonly Vector2 origin;
    private readonly float perMm;

    /// <param name="outline">Corners of the outline, in mm; a smooth curve is drawn through them.</param>
    /// <param name="cellMm">Cell of the table, in mm.</param>
    public Silhouette((double X, double Y)[] outline, float cellMm = 0.3f)
    {
        Vector2[] line = Plate.Smooth(outline, 6);
        Minimum = line.Aggregate(Vector2.Min);
        Maximum = line.Aggregate(Vector2.Max);
        origin = Minimum - new Vector2(MarginMm);
        perMm = 1 / cellMm;
        Vector2 size = (Maximum - Minimum + new Vector2(2 * MarginMm)) * perMm;
        columns = (int)MathF.Ceiling(size.X) + 2;
        rows = (int)MathF.Ceiling(size.Y) + 2;
        table = new float[columns * rows];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                table[(row * columns) + column] = DistanceTo(line, origin + (new Vector2(column, row) * cellMm));
            }
        }
    }

    /// <summary>The least corner of the outline's box, in mm.</summary>
    public Vector2 Minimum { get; }

    /// <summary>The greatest corner of the outline's box, in mm.</summary>
    public Vector2 Maximum { get; }

    /// <summary>Signed distance, in mm. Beyond the table's margin it is the margin's, which is too small but never too large.</summary>
    public float Distance(float x, float y)
    {
        float column = Math.Clamp((x - origin.X) * perMm, 0, columns - 1.01f);
        float row = Math.Clamp((y - origin.Y) * perMm, 0, rows - 1.01f);
        int c = (int)column;
        int r = (int)row;
        float cs = column - c;
        int at = (r * columns) + c;
        float upper = table[at] + (cs * (table[at + 1] - table[at]));
        float lower = table[at + columns] + (cs * (table[at + columns + 1] - table[at + columns]));
        return upper + ((row - r) * (lower - upper));
    }

    private static float DistanceTo(Vector2[] line, Vector2 point)
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
