using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>How direct exposure falls off towards a side of the field: penumbra, scatter and the tube's own shadow, the same all along the side.</summary>
internal static class SideFalloff
{
    /// <summary>Lowers the expected level near each side of the field by what direct exposure misses there.</summary>
    /// <remarks>Only places whose inner neighbours are direct exposure tell the fall-off, so tissue along the side does not.</remarks>
    internal static void Lower(float[] level, float[] exposure, bool[] grown, FieldCells cells, FieldShape field, ReducedImage image, double range)
    {
        int rows = image.Rows, columns = image.Columns;
        double size = Math.Sqrt(ConvexOutline.Area(field.Outline)) / image.Step;
        int depths = (int)(size / 5.5);
        if (depths < 6)
        {
            return;
        }

        for (int s = 0; s < field.Outline.Count; s++)
        {
            Core.PixelPoint a = field.Outline[s], b = field.Outline[(s + 1) % field.Outline.Count];
            double length = a.DistancePixelsTo(b) / image.Step;
            if (length < 12)
            {
                continue;
            }

            double ax = image.ToCell(a.X), ay = image.ToCell(a.Y), dx = (b.X - a.X) / (length * image.Step), dy = (b.Y - a.Y) / (length * image.Step);

            // Inward is to the right of the side's run: the outline is clockwise with y down.
            double ix = -dy, iy = dx;
            double[]? missing = Profile(level, exposure, grown, cells, rows, columns, ax, ay, dx, dy, ix, iy, (int)length, depths, range);
            if (missing is null)
            {
                continue;
            }

            for (int row = 0; row < rows; row++)
            {
                (int from, int to) = ColumnsBetween(ix, ((row - ay) * iy) - (ax * ix), depths, columns);
                for (int column = from; column < to; column++)
                {
                    int i = (row * columns) + column;
                    double depth = ((column - ax) * ix) + ((row - ay) * iy);
                    if (cells.Kind[i] != 0 && depth >= 0 && depth < depths)
                    {
                        level[i] -= (float)missing[(int)depth];
                    }
                }
            }
        }
    }

    // The columns of a row whose depth (slope · column + offset) is from 0 to the most, and perhaps a few more.
    private static (int From, int To) ColumnsBetween(double slope, double offset, double most, int columns)
    {
        if (Math.Abs(slope) < 1e-6)
        {
            return offset > -1 && offset < most + 1 ? (0, columns) : (0, 0);
        }

        double a = -offset / slope, b = (most - offset) / slope;
        return ((int)Math.Clamp(Math.Floor(Math.Min(a, b)) - 1, 0, columns), (int)Math.Clamp(Math.Ceiling(Math.Max(a, b)) + 2, 0, columns));
    }

    private static double[]? Profile(float[] level, float[] exposure, bool[] grown, FieldCells cells, int rows, int columns, double ax, double ay, double dx, double dy, double ix, double iy, int length, int depths, double range)
    {
        // Along which places is there direct exposure just inside the zone? Look from the zone's end outwards for the depth with the most.
        int IndexAt(int t, int depth)
        {
            int column = (int)Math.Round(ax + (dx * t) + (ix * depth)), row = (int)Math.Round(ay + (dy * t) + (iy * depth));
            return (uint)column < (uint)columns && (uint)row < (uint)rows ? (row * columns) + column : -1;
        }

        var anchors = new List<int>();
        for (int t = length / 20; t < length - (length / 20); t++)
        {
            int seen = 0;
            for (int depth = depths - 1; depth > depths - 5; depth--)
            {
                int i = IndexAt(t, depth);
                seen += i >= 0 && grown[i] ? 1 : 0;
            }

            if (seen >= 3)
            {
                anchors.Add(t);
            }
        }

        if (anchors.Count < Math.Max(6, length / 25))
        {
            return null;
        }

        var missing = new double[depths];
        var differences = new double[anchors.Count];
        double last = 0;
        for (int depth = depths - 1; depth >= 0; depth--)
        {
            int seen = 0;
            foreach (int t in anchors)
            {
                int i = IndexAt(t, depth);
                if (i >= 0 && cells.Kind[i] >= 1)
                {
                    differences[seen++] = level[i] - exposure[i];
                }
            }

            if (seen >= 4)
            {
                // The least that is missing at a fifth of the places: fingers and markers along the side only add to it.
                double least = OrderStatistic.At(differences.AsSpan(0, seen), seen / 5);

                // It grows outwards and smoothly; a jump is an object lying along the side.
                last = least - last > 0.12 * range ? last : Math.Max(last, Math.Max(0, least));
            }

            missing[depth] = last;
        }

        return missing;
    }
}
