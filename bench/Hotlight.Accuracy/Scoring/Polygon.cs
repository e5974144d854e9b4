using Hotlight.Core;

namespace Hotlight.Accuracy.Scoring;

/// <summary>Areas of polygons on the picture, in pixels.</summary>
internal static class Polygon
{
    /// <summary>Area, whichever way its corners run.</summary>
    public static double Area(IReadOnlyList<PixelPoint> polygon)
    {
        double sum = 0;
        for (int i = 0, j = polygon.Count - 1; i < polygon.Count; j = i++)
        {
            sum += (polygon[j].X * polygon[i].Y) - (polygon[i].X * polygon[j].Y);
        }

        return Math.Abs(sum) / 2;
    }

    /// <summary>Whether a place lies in it.</summary>
    public static bool Holds(IReadOnlyList<PixelPoint> polygon, double x, double y)
    {
        bool inside = false;
        for (int i = 0, j = polygon.Count - 1; i < polygon.Count; j = i++)
        {
            PixelPoint a = polygon[i];
            PixelPoint b = polygon[j];
            if (a.Y > y != b.Y > y && x < a.X + ((y - a.Y) / (b.Y - a.Y) * (b.X - a.X)))
            {
                inside = !inside;
            }
        }

        return inside;
    }

    /// <summary>What of a polygon lies in a convex one whose corners run clockwise on the picture (Sutherland and Hodgman, 1974).</summary>
    /// <param name="polygon">Any polygon.</param>
    /// <param name="convex">The convex one.</param>
    public static IReadOnlyList<PixelPoint> Clip(IReadOnlyList<PixelPoint> polygon, IReadOnlyList<PixelPoint> convex)
    {
        List<PixelPoint> left = [.. polygon];
        for (int i = 0; i < convex.Count && left.Count > 0; i++)
        {
            PixelPoint a = convex[i];
            PixelPoint b = convex[(i + 1) % convex.Count];
            double Side(PixelPoint p) => ((b.X - a.X) * (p.Y - a.Y)) - ((b.Y - a.Y) * (p.X - a.X));
            List<PixelPoint> kept = [];
            for (int k = 0; k < left.Count; k++)
            {
                PixelPoint from = left[k];
                PixelPoint to = left[(k + 1) % left.Count];
                double one = Side(from);
                double two = Side(to);
                if (one >= 0)
                {
                    kept.Add(from);
                }

                if ((one > 0 && two < 0) || (one < 0 && two > 0))
                {
                    double share = one / (one - two);
                    kept.Add(new PixelPoint(X: from.X + (share * (to.X - from.X)), Y: from.Y + (share * (to.Y - from.Y))));
                }
            }

            left = kept;
        }

        return left;
    }

    /// <summary>Intersection over union.</summary>
    /// <param name="truth">Convex, clockwise on the picture.</param>
    /// <param name="found">Any polygon.</param>
    public static double Overlap(IReadOnlyList<PixelPoint> truth, IReadOnlyList<PixelPoint> found)
    {
        double both = Area(Clip(found, truth));
        double either = Area(truth) + Area(found) - both;
        return either <= 0 ? 0 : both / either;
    }

    /// <summary>The largest distance from a true corner to the nearest corner found, in pixels.</summary>
    public static double CornerError(IReadOnlyList<PixelPoint> truth, IReadOnlyList<PixelPoint> found)
        => found.Count == 0 ? double.PositiveInfinity : truth.Max(place => found.Min(one => one.DistancePixelsTo(place)));
}
