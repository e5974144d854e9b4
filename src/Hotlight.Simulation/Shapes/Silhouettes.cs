using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A closed outline in a plane of the body's frame, as signed distances; smooth curve through its corners.</summary>
internal sealed class Outline
{
    private const float MarginMm = 8;
    private readonly float[] grid;
    private readonly int columns;
    private readonly int rows;
    private readonly float left;
    private readonly float bottom;
    private readonly float perMm;
    private readonly Vector3 across;
    private readonly Vector3 up;

    /// <param name="across">Unit direction of the outline's first coordinate.</param>
    /// <param name="up">Unit direction of its second coordinate, at a right angle to the first.</param>
    /// <param name="corners">Corners in order, in mm.</param>
    public Outline(Vector3 across, Vector3 up, (double U, double V)[] corners)
    {
        this.across = across;
        this.up = up;
        Vector2[] line = Plate.Smooth(corners, 7);
        Minimum = new Vector2(line.Min(p => p.X), line.Min(p => p.Y));
        Maximum = new Vector2(line.Max(p => p.X), line.Max(p => p.Y));
        left = Minimum.X - MarginMm;
        bottom = Minimum.Y - MarginMm;

        // A cell is small against the smallest bend of an outline of that size.
        float cellMm = Math.Clamp(MathF.Min(Maximum.X - Minimum.X, Maximum.Y - Minimum.Y) / 60, 0.3f, 0.8f);
        perMm = 1 / cellMm;
        columns = (int)MathF.Ceiling((Maximum.X + MarginMm - left) * perMm) + 2;
        rows = (int)MathF.Ceiling((Maximum.Y + MarginMm - bottom) * perMm) + 2;
        grid = new float[columns * rows];
        Parallel.For(0, rows, row =>
        {
            for (int column = 0; column < columns; column++)
            {
                grid[(row * columns) + column] = Plate.OutlineDistance(line, new Vector2(left + (column / perMm), bottom + (row / perMm)));
            }
        });
    }

    /// <summary>Seen along z: corners (x, y).</summary>
    public static Outline FromFront(params (double X, double Y)[] corners) => new(Vector3.UnitX, Vector3.UnitY, corners);

    /// <summary>Seen along x: corners (z, y).</summary>
    public static Outline FromSide(params (double Z, double Y)[] corners) => new(Vector3.UnitZ, Vector3.UnitY, corners);

    /// <summary>Seen along y: corners (x, z).</summary>
    public static Outline FromAbove(params (double X, double Z)[] corners) => new(Vector3.UnitX, Vector3.UnitZ, corners);

    /// <summary>Least and greatest coordinates of the outline in its own plane, in mm.</summary>
    public Vector2 Minimum { get; }

    public Vector2 Maximum { get; }

    /// <summary>Distance within the plane, negative inside, and its unit gradient in the body's frame. Far outside the table the distance is a lower bound.</summary>
    public float Distance(Vector3 point, out Vector3 gradient)
    {
        float column = Math.Clamp((Vector3.Dot(point, across) - left) * perMm, 0, columns - 1.01f);
        float row = Math.Clamp((Vector3.Dot(point, up) - bottom) * perMm, 0, rows - 1.01f);
        int c = (int)column;
        int r = (int)row;
        float cs = column - c;
        float rs = row - r;
        int at = (r * columns) + c;
        float a = grid[at];
        float b = grid[at + 1];
        float d = grid[at + columns];
        float e = grid[at + columns + 1];
        float near = a + (cs * (b - a));
        float far = d + (cs * (e - d));
        float gx = ((b - a) * (1 - rs)) + ((e - d) * rs);
        float gy = far - near;
        float length = MathF.Sqrt((gx * gx) + (gy * gy)) + 1e-6f;
        gradient = ((gx / length) * across) + ((gy / length) * up);
        return near + (rs * (far - near));
    }

    /// <summary>The range of the outline along a body axis; unbounded where the outline's plane does not hold it.</summary>
    internal (float Low, float High) Along(Vector3 axis)
    {
        float u = Vector3.Dot(axis, across);
        float v = Vector3.Dot(axis, up);
        if ((u * u) + (v * v) < 0.999f)
        {
            return (-1000, 1000);
        }

        float[] ends = [(u * Minimum.X) + (v * Minimum.Y), (u * Minimum.X) + (v * Maximum.Y), (u * Maximum.X) + (v * Minimum.Y), (u * Maximum.X) + (v * Maximum.Y)];
        return (ends.Min(), ends.Max());
    }
}

/// <summary>A body drawn by its outlines seen from several sides: what they have in common, with rounded edges. The outlines' planes have to bound it on every side.</summary>
/// <remarks>
/// Edges take the given radius, so that two outlines that agree on a border do not shrink the body there. The distance is
/// exact outside where two flat sides meet, which keeps joint spaces even round edges.
/// </remarks>
internal sealed class Silhouettes : Shape
{
    private readonly float rimMm;
    private readonly Outline[] outlines;

    /// <param name="rimMm">Radius of the edges, in mm.</param>
    /// <param name="outlines">At least two outlines.</param>
    public Silhouettes(float rimMm, params Outline[] outlines)
    {
        this.rimMm = rimMm;
        this.outlines = outlines;
        (float lowX, float highX) = Range(Vector3.UnitX);
        (float lowY, float highY) = Range(Vector3.UnitY);
        (float lowZ, float highZ) = Range(Vector3.UnitZ);
        Bounds = new Box(new Vector3(lowX, lowY, lowZ), new Vector3(highX, highY, highZ));
    }

    public override Box Bounds { get; }

    public override float Distance(Vector3 point)
    {
        float distance = outlines[0].Distance(point, out Vector3 normal) + rimMm;
        for (int k = 1; k < outlines.Length; k++)
        {
            float other = outlines[k].Distance(point, out Vector3 otherNormal) + rimMm;
            float cosine = Math.Clamp(Vector3.Dot(normal, otherNormal), -0.9f, 0.999f);
            float fromOther = distance - (cosine * other);
            float fromThis = other - (cosine * distance);
            if (fromOther > 0 && fromThis > 0 && MathF.Max(distance, other) > 0)
            {
                // Outside the edge between two surfaces: the nearest point lies on the edge.
                Vector3 offset = ((fromOther * normal) + (fromThis * otherNormal)) / (1 - (cosine * cosine));
                distance = offset.Length();
                normal = offset / MathF.Max(1e-6f, distance);
            }
            else if (other > distance)
            {
                distance = other;
                normal = otherNormal;
            }
        }

        return distance - rimMm;
    }

    private (float Low, float High) Range(Vector3 axis)
    {
        float low = -1000;
        float high = 1000;
        foreach (Outline outline in outlines)
        {
            (float l, float h) = outline.Along(axis);
            low = MathF.Max(low, l);
            high = MathF.Min(high, h);
        }

        return (low, high);
    }
}
