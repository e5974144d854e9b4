using System.Numerics;
using Hotlight.Measure.Field;

namespace Hotlight.Measure.Regions;

/// <summary>The cells of the reduced image that lie in the field, and how far each is from the field's edge.</summary>
internal sealed class FieldCells
{
    private FieldCells(ReducedImage image)
    {
        Rows = image.Rows;
        Columns = image.Columns;
        Kind = new byte[Rows * Columns];
    }

    internal int Rows { get; }

    internal int Columns { get; }

    /// <summary>0 outside, 1 in the field but in a side's step, 2 in the field beside a side, 3 in the field's outer part (a seventh of its shorter side), 4 in its interior.</summary>
    internal byte[] Kind { get; }

    /// <summary>Cells in the field.</summary>
    internal int Count { get; private set; }

    internal static FieldCells From(ReducedImage image, FieldShape field)
    {
        var cells = new FieldCells(image);
        double step = image.Step;

        // Lines as n·p = rho; every side of the outline, with the depth of its penumbra (none at the frame).
        var sides = new List<(double X, double Y, double Rho, double Depth)>();
        for (int i = 0; i < field.Outline.Count; i++)
        {
            Core.PixelPoint a = field.Outline[i], b = field.Outline[(i + 1) % field.Outline.Count];
            double length = a.DistancePixelsTo(b);
            if (length < 1e-6)
            {
                continue;
            }

            double nx = (b.Y - a.Y) / length, ny = -(b.X - a.X) / length, rho = (nx * a.X) + (ny * a.Y), depth = 0;
            foreach (FoundSide side in field.Found)
            {
                SideLine line = side.Refined.Line;
                if ((line.NormalX * nx) + (line.NormalY * ny) > 0.99 && Math.Abs(line.Rho - rho) < 4 * step)
                {
                    depth = (0.9 * side.Refined.Width) + (1.8 * step);
                }
            }

            sides.Add((nx, ny, rho, depth));
        }

        double near = Math.Sqrt(ConvexOutline.Area(field.Outline)) / 7;
        double[] nxs = [.. sides.Select(side => side.X)], nys = [.. sides.Select(side => side.Y)], rhos = [.. sides.Select(side => side.Rho)], depths = [.. sides.Select(side => side.Depth)];
        int count = 0, wide = Vector<double>.Count;
        var xs = new double[image.Columns + wide];
        for (int column = 0; column < xs.Length; column++)
        {
            xs[column] = image.ToPixel(column);
        }

        // Least distance of each cell of a row from any side, and from any side's step.
        double[] nearest = new double[xs.Length], withinStep = new double[xs.Length];
        for (int row = 0; row < image.Rows; row++)
        {
            double y = image.ToPixel(row);
            for (int column = 0; column < image.Columns; column += wide)
            {
                Vector<double> x = new(xs, column), toSide = new(double.PositiveInfinity), toStep = toSide;
                for (int k = 0; k < rhos.Length; k++)
                {
                    Vector<double> distance = new Vector<double>(rhos[k]) - (nxs[k] * x) - new Vector<double>(nys[k] * y);
                    toSide = Vector.Min(toSide, distance);
                    toStep = Vector.Min(toStep, distance - new Vector<double>(depths[k]));
                }

                toSide.CopyTo(nearest, column);
                toStep.CopyTo(withinStep, column);
            }

            Span<byte> kinds = cells.Kind.AsSpan(row * image.Columns, image.Columns);
            for (int column = 0; column < kinds.Length; column++)
            {
                if (!(nearest[column] < 0))
                {
                    count++;
                    double distance = withinStep[column];
                    kinds[column] = (byte)(distance < 0 ? 1 : distance < 3 * step ? 2 : distance < near ? 3 : 4);
                }
            }
        }

        cells.Count = count;
        return cells;
    }
}
