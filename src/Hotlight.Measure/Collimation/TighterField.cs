using Hotlight.Core;
using Hotlight.Measure.Anatomy;
using Hotlight.Measure.Document;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Collimation;

/// <summary>The free room between skin and each side of the field, and the smallest field that would have done.</summary>
internal sealed class TighterField
{
    private TighterField(IReadOnlyList<PixelPoint> corners, IReadOnlyList<double> roomPixels, IReadOnlyList<FieldSide> leaves)
    {
        Corners = corners;
        RoomPixels = roomPixels;
        Leaves = leaves;
    }

    internal IReadOnlyList<PixelPoint> Corners { get; }

    /// <summary>Top, right, bottom, left: distance from skin to the side across it, in pixels; 0 where the anatomy leaves.</summary>
    internal IReadOnlyList<double> RoomPixels { get; }

    internal IReadOnlyList<FieldSide> Leaves { get; }

    internal static TighterField Find(FieldShape field, ReducedImage image, AnatomyCells anatomy, PixelSpacing? spacing, double marginMm)
    {
        FieldSide[] order = [FieldSide.Top, FieldSide.Right, FieldSide.Bottom, FieldSide.Left];
        var lines = new (double X, double Y, double Rho)[4];
        for (int s = 0; s < 4; s++)
        {
            FoundSide? found = field.Found.FirstOrDefault(side => side.Side == order[s]);
            lines[s] = found is { } f
                ? (f.Refined.Line.NormalX, f.Refined.Line.NormalY, f.Refined.Line.Rho)
                : order[s] switch
                {
                    FieldSide.Top => (0, -1, 0.5),
                    FieldSide.Right => (1, 0, field.Columns - 0.5),
                    FieldSide.Bottom => (0, 1, field.Rows - 0.5),
                    _ => (-1, 0, 0.5),
                };
        }

        var room = new double[4];
        Array.Fill(room, double.PositiveInfinity);
        var touching = new HashSet<int>[4];
        for (int s = 0; s < 4; s++)
        {
            touching[s] = [];
        }

        for (int i = 0; i < anatomy.Anatomy.Length; i++)
        {
            if (!anatomy.Anatomy[i])
            {
                continue;
            }

            double x = image.ToPixel(i % image.Columns), y = image.ToPixel(i / image.Columns);
            for (int s = 0; s < 4; s++)
            {
                (double nx, double ny, double rho) = lines[s];
                // A cell on the skin line is half covered on the mean: its middle stands for the skin.
                double distance = rho - (nx * x) - (ny * y);
                room[s] = Math.Min(room[s], distance);
                if (distance < 1.7 * image.Step)
                {
                    touching[s].Add((int)Math.Round(((nx * y) - (ny * x)) / image.Step));
                }
            }
        }

        var leaves = new List<FieldSide>();
        var moved = new (double X, double Y, double Rho)[4];
        double shorter = Math.Min(Extent(field, lines[1]) + Extent(field, lines[3]), Extent(field, lines[0]) + Extent(field, lines[2]));
        for (int s = 0; s < 4; s++)
        {
            (double nx, double ny, double rho) = lines[s];
            int least = Math.Max(3, (int)(0.02 * Math.Max(image.Rows, image.Columns)));
            if (touching[s].Count >= least)
            {
                leaves.Add(order[s]);
                room[s] = 0;
            }

            room[s] = double.IsInfinity(room[s]) ? 0 : Math.Max(0, room[s]);

            // Without a spacing a margin in mm has no meaning in pixels; a twentieth of the field's shorter side stands in.
            double margin = spacing is { } p ? marginMm / MmPerPixel(p, nx, ny) : 0.05 * shorter;
            moved[s] = (nx, ny, rho - (leaves.Contains(order[s]) ? 0 : Math.Max(0, room[s] - margin)));
        }

        PixelPoint[] corners = [Meet(moved[3], moved[0]), Meet(moved[0], moved[1]), Meet(moved[1], moved[2]), Meet(moved[2], moved[3])];
        int first = 0;
        for (int i = 1; i < 4; i++)
        {
            if (corners[i].X + corners[i].Y < corners[first].X + corners[first].Y - 1e-6)
            {
                first = i;
            }
        }

        return new TighterField([.. corners.Skip(first), .. corners.Take(first)], room, leaves);
    }

    /// <summary>Millimetres of one pixel along a direction, for pixels that are not square.</summary>
    internal static double MmPerPixel(PixelSpacing spacing, double directionX, double directionY)
        => Math.Sqrt(Math.Pow(directionX * spacing.ColumnSpacingMm, 2) + Math.Pow(directionY * spacing.RowSpacingMm, 2));

    internal static double SideMmPerPixel(FieldShape field, PixelSpacing spacing, int side)
    {
        FieldSide which = side switch { 0 => FieldSide.Top, 1 => FieldSide.Right, 2 => FieldSide.Bottom, _ => FieldSide.Left };
        FoundSide? found = field.Found.FirstOrDefault(f => f.Side == which);
        (double nx, double ny) = found is { } f ? (f.Refined.Line.NormalX, f.Refined.Line.NormalY) : side % 2 == 0 ? (0.0, 1.0) : (1.0, 0.0);
        return MmPerPixel(spacing, nx, ny);
    }

    // How far the field reaches from its middle towards a side.
    private static double Extent(FieldShape field, (double X, double Y, double Rho) line)
    {
        double cx = field.Outline.Average(p => p.X), cy = field.Outline.Average(p => p.Y);
        return line.Rho - (line.X * cx) - (line.Y * cy);
    }

    private static PixelPoint Meet((double X, double Y, double Rho) a, (double X, double Y, double Rho) b)
    {
        double det = (a.X * b.Y) - (a.Y * b.X);
        return new PixelPoint(X: ((a.Rho * b.Y) - (a.Y * b.Rho)) / det, Y: ((a.X * b.Rho) - (a.Rho * b.X)) / det);
    }
}
