using Hotlight.Core;

namespace Hotlight.Drawing;

/// <summary>The parts of a mark besides its line: teeth and corner pieces, in the coordinates the mark is given in.</summary>
internal static class MarkGeometry
{
    /// <summary>A square is never drawn smaller than this, in pixels of a 1600-pixel picture: a smaller one is a dot.</summary>
    public const double LeastSquarePixels = 9;

    /// <summary>The extra lines of a mark.</summary>
    /// <param name="mark">The mark.</param>
    /// <param name="shape">Its shape.</param>
    /// <param name="unit">Length of one style pixel in the coordinates of the mark.</param>
    public static IReadOnlyList<IReadOnlyList<PixelPoint>> Ornament(OverlayMark mark, MarkShape shape, double unit) => shape switch
    {
        MarkShape.Comb => Teeth(mark.Points, MarkStyles.ToothSpacingPixels * unit, MarkStyles.ToothPixels * unit),
        MarkShape.Corners => Corners(mark.Points, mark.IsClosed, MarkStyles.CornerArmPixels * unit),
        _ => [],
    };

    /// <summary>A square of the same centre whose side is at least a given length.</summary>
    public static IReadOnlyList<PixelPoint> AtLeast(IReadOnlyList<PixelPoint> square, double side)
    {
        double half = side / 2;
        double centerX = square.Average(corner => corner.X);
        double centerY = square.Average(corner => corner.Y);
        return [.. square.Select(corner => new PixelPoint(X: Grow(corner.X, centerX), Y: Grow(corner.Y, centerY)))];

        double Grow(double place, double center)
            => Math.Abs(place - center) >= half ? place : center + (place < center ? -half : half);
    }

    private static List<IReadOnlyList<PixelPoint>> Teeth(IReadOnlyList<PixelPoint> line, double spacing, double length)
    {
        var teeth = new List<IReadOnlyList<PixelPoint>>();
        double next = spacing / 2;
        double walked = 0;
        for (int point = 1; point < line.Count; point++)
        {
            PixelPoint from = line[point - 1];
            PixelPoint to = line[point];
            double step = from.DistancePixelsTo(to);
            if (step == 0)
            {
                continue;
            }

            double acrossX = -(to.Y - from.Y) / step * length / 2;
            double acrossY = (to.X - from.X) / step * length / 2;
            for (; next <= walked + step; next += spacing)
            {
                double share = (next - walked) / step;
                double x = from.X + (share * (to.X - from.X));
                double y = from.Y + (share * (to.Y - from.Y));
                teeth.Add([new PixelPoint(X: x - acrossX, Y: y - acrossY), new PixelPoint(X: x + acrossX, Y: y + acrossY)]);
            }

            walked += step;
        }

        return teeth;
    }

    private static List<IReadOnlyList<PixelPoint>> Corners(IReadOnlyList<PixelPoint> polygon, bool isClosed, double arm)
    {
        var corners = new List<IReadOnlyList<PixelPoint>>();
        for (int corner = 0; corner < polygon.Count; corner++)
        {
            // An open line has one arm at each end.
            var piece = new List<PixelPoint>(3);
            if (isClosed || corner > 0)
            {
                piece.Add(Along(polygon[corner], polygon[(corner + polygon.Count - 1) % polygon.Count]));
            }

            piece.Add(polygon[corner]);
            if (isClosed || corner < polygon.Count - 1)
            {
                piece.Add(Along(polygon[corner], polygon[(corner + 1) % polygon.Count]));
            }

            corners.Add(piece);
        }

        return corners;

        PixelPoint Along(PixelPoint from, PixelPoint towards)
        {
            double distance = from.DistancePixelsTo(towards);
            double share = distance == 0 ? 0 : Math.Min(arm, 0.4 * distance) / distance;
            return new PixelPoint(X: from.X + (share * (towards.X - from.X)), Y: from.Y + (share * (towards.Y - from.Y)));
        }
    }
}
