using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Scene;

/// <summary>A convex polygon cut by an upright rectangle (Sutherland and Hodgman 1974), and what then ends it at each side.</summary>
internal static class PolygonClip
{
    public static List<PixelPoint> ToRectangle(IReadOnlyList<PixelPoint> polygon, double left, double top, double right, double bottom)
    {
        List<PixelPoint> cut = [.. polygon];
        cut = Half(cut, p => p.X - left);
        cut = Half(cut, p => right - p.X);
        cut = Half(cut, p => p.Y - top);
        cut = Half(cut, p => bottom - p.Y);
        if (cut.Count == 0)
        {
            return cut;
        }

        // Clockwise from the corner nearest to the upper left.
        int first = 0;
        for (int k = 1; k < cut.Count; k++)
        {
            if (cut[k].X + cut[k].Y < cut[first].X + cut[first].Y)
            {
                first = k;
            }
        }

        return [.. cut.Skip(first), .. cut.Take(first)];
    }

    public static bool Contains(IReadOnlyList<PixelPoint> polygon, PixelPoint point)
    {
        bool inside = false;
        for (int k = 0, j = polygon.Count - 1; k < polygon.Count; j = k++)
        {
            if ((polygon[k].Y > point.Y) != (polygon[j].Y > point.Y)
                && point.X < ((polygon[j].X - polygon[k].X) * (point.Y - polygon[k].Y) / (polygon[j].Y - polygon[k].Y)) + polygon[k].X)
            {
                inside = !inside;
            }
        }

        return inside;
    }

    /// <summary>Area by the shoelace formula, in the square of the points' unit.</summary>
    public static double Area(IReadOnlyList<PixelPoint> polygon)
    {
        double twice = 0;
        for (int k = 0; k < polygon.Count; k++)
        {
            PixelPoint next = polygon[(k + 1) % polygon.Count];
            twice += (polygon[k].X * next.Y) - (next.X * polygon[k].Y);
        }

        return Math.Abs(twice) / 2;
    }

    /// <summary>What ends the visible field at each side: top, right, bottom, left.</summary>
    /// <param name="geometry">The receptor.</param>
    /// <param name="beam">Corners of the beam, clockwise from the upper left, in pixels.</param>
    /// <param name="mask">What a mask leaves visible, or null.</param>
    public static IReadOnlyList<SideTruth> Sides(BeamGeometry geometry, PixelPoint[] beam, (int Left, int Top, int Right, int Bottom)? mask)
    {
        PixelPoint[] middles =
        [
            Middle(beam[0], beam[1]), Middle(beam[1], beam[2]), Middle(beam[2], beam[3]), Middle(beam[3], beam[0]),
        ];
        double[] depth = [middles[0].Y + 0.5, geometry.Columns - 0.5 - middles[1].X, geometry.Rows - 0.5 - middles[2].Y, middles[3].X + 0.5];
        double[] masked = mask is { } hole
            ? [hole.Top - middles[0].Y, middles[1].X - hole.Right, middles[2].Y - hole.Bottom, hole.Left - middles[3].X]
            : [-1, -1, -1, -1];
        return [.. Enum.GetValues<TrueSide>().Select(side =>
        {
            // Along the side clockwise; top runs to the right, right runs down, and so on: all turn by the same angle unless the tube is tilted.
            PixelPoint from = beam[(int)side];
            PixelPoint to = beam[((int)side + 1) % 4];
            double tilt = (Math.Atan2(to.Y - from.Y, to.X - from.X) * 180 / Math.PI) - (90 * (int)side);
            tilt = Math.IEEERemainder(tilt, 180);
            TrueEdge edge = masked[(int)side] > 0 ? TrueEdge.Mask : depth[(int)side] <= 0 ? TrueEdge.Receptor : TrueEdge.Beam;
            return new SideTruth(side, edge, edge == TrueEdge.Beam ? tilt : 0);
        })];
    }

    private static PixelPoint Middle(PixelPoint first, PixelPoint second) => new(X: (first.X + second.X) / 2, Y: (first.Y + second.Y) / 2);

    private static List<PixelPoint> Half(List<PixelPoint> polygon, Func<PixelPoint, double> inside)
    {
        List<PixelPoint> kept = [];
        for (int k = 0; k < polygon.Count; k++)
        {
            PixelPoint from = polygon[k];
            PixelPoint to = polygon[(k + 1) % polygon.Count];
            double a = inside(from);
            double b = inside(to);
            if (a >= 0)
            {
                kept.Add(from);
            }

            if ((a >= 0) != (b >= 0))
            {
                double share = a / (a - b);
                kept.Add(new PixelPoint(X: from.X + (share * (to.X - from.X)), Y: from.Y + (share * (to.Y - from.Y))));
            }
        }

        return kept;
    }
}
