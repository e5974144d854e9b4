using Hotlight.Core;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Follows the outer borders of a mask of cells and thins them to polygons.</summary>
internal static class OutlineTracer
{
    private const int MaximumPoints = 400;

    internal static List<IReadOnlyList<PixelPoint>> Trace(bool[] mask, ReducedImage image, int leastCells)
    {
        int rows = image.Rows, columns = image.Columns;
        CellRegions regions = CellRegions.Of(mask, rows, columns);
        var outlines = new List<IReadOnlyList<PixelPoint>>();
        var done = new bool[regions.Sizes.Count];
        for (int i = 0; i < mask.Length; i++)
        {
            int label = regions.Label[i];
            if (label == 0 || done[label])
            {
                continue;
            }

            done[label] = true;
            if (regions.Sizes[label] >= leastCells)
            {
                outlines.Add(Thin(Follow(regions.Label, label, i, rows, columns), image));
            }
        }

        return outlines;
    }

    // Walks the cracks between cells with the region on the right hand; corners are crack ends, in cell units from the grid's origin.
    private static List<(int X, int Y)> Follow(int[] label, int number, int first, int rows, int columns)
    {
        int x = first % columns, y = first / columns, direction = 0;
        int startX = x, startY = y;
        var points = new List<(int X, int Y)>();
        int guard = label.Length * 4;
        do
        {
            points.Add((x, y));

            // direction 0: right, 1: down, 2: left, 3: up; the cell to the right of the crack must be in, the one to the left out.
            for (int turn = 1; turn >= -2; turn--)
            {
                int next = (direction + turn + 4) & 3;
                (int rightX, int rightY, int leftX, int leftY) = next switch
                {
                    0 => (x, y, x, y - 1),
                    1 => (x - 1, y, x, y),
                    2 => (x - 1, y - 1, x - 1, y),
                    _ => (x, y - 1, x - 1, y - 1),
                };
                if (In(rightX, rightY) && !In(leftX, leftY))
                {
                    direction = next;
                    break;
                }
            }

            x += direction == 0 ? 1 : direction == 2 ? -1 : 0;
            y += direction == 1 ? 1 : direction == 3 ? -1 : 0;
        }
        while ((x != startX || y != startY) && --guard > 0);
        return points;

        bool In(int column, int row) => column >= 0 && row >= 0 && column < columns && row < rows && label[(row * columns) + column] == number;
    }

    private static List<PixelPoint> Thin(List<(int X, int Y)> cracks, ReducedImage image)
    {
        // The crack at cell corner (x, y) lies half a pixel before the first pixel of cell (x, y).
        var points = cracks.Select(c => new PixelPoint(X: Math.Min(c.X * image.Step, image.PixelColumns) - 0.5, Y: Math.Min(c.Y * image.Step, image.PixelRows) - 0.5)).ToList();
        for (double tolerance = 0.8 * image.Step; ; tolerance *= 1.5)
        {
            List<PixelPoint> thin = Simplify(points, tolerance);
            if (thin.Count <= MaximumPoints)
            {
                return thin;
            }
        }
    }

    // Douglas and Peucker's thinning of a closed polygon, split at the point farthest from the first.
    private static List<PixelPoint> Simplify(List<PixelPoint> points, double tolerance)
    {
        int far = 0;
        for (int i = 1; i < points.Count; i++)
        {
            if (points[i].DistancePixelsTo(points[0]) > points[far].DistancePixelsTo(points[0]))
            {
                far = i;
            }
        }

        var keep = new bool[points.Count + 1];
        keep[0] = true;
        keep[far] = true;
        var stack = new Stack<(int From, int To)>();
        stack.Push((0, far));
        stack.Push((far, points.Count));
        while (stack.TryPop(out (int From, int To) span))
        {
            PixelPoint a = points[span.From], b = points[span.To % points.Count];
            double dx = b.X - a.X, dy = b.Y - a.Y, length = Math.Sqrt((dx * dx) + (dy * dy)), most = tolerance;
            int index = -1;
            for (int i = span.From + 1; i < span.To; i++)
            {
                double distance = length < 1e-9
                    ? points[i].DistancePixelsTo(a)
                    : Math.Abs(((points[i].X - a.X) * dy) - ((points[i].Y - a.Y) * dx)) / length;
                if (distance > most)
                {
                    (most, index) = (distance, i);
                }
            }

            if (index > 0)
            {
                keep[index] = true;
                stack.Push((span.From, index));
                stack.Push((index, span.To));
            }
        }

        return [.. points.Where((_, i) => keep[i])];
    }
}
