using Hotlight.Core;

namespace Hotlight.Measure.Field;

/// <summary>Convex polygons in image coordinates, clockwise as seen (y down).</summary>
internal static class ConvexOutline
{
    /// <summary>The outline of the whole image: the outer edges of its pixels.</summary>
    internal static List<PixelPoint> OfImage(int rows, int columns) =>
    [
        new(X: -0.5, Y: -0.5), new(X: columns - 0.5, Y: -0.5), new(X: columns - 0.5, Y: rows - 0.5), new(X: -0.5, Y: rows - 0.5),
    ];

    /// <summary>The part with n·p ≤ rho.</summary>
    internal static List<PixelPoint> Clip(List<PixelPoint> outline, double normalX, double normalY, double rho)
    {
        var kept = new List<PixelPoint>();
        for (int i = 0; i < outline.Count; i++)
        {
            PixelPoint a = outline[i], b = outline[(i + 1) % outline.Count];
            double da = (normalX * a.X) + (normalY * a.Y) - rho, db = (normalX * b.X) + (normalY * b.Y) - rho;
            if (da <= 0)
            {
                kept.Add(a);
            }

            if ((da < 0 && db > 0) || (da > 0 && db < 0))
            {
                double f = da / (da - db);
                kept.Add(new PixelPoint(X: a.X + (f * (b.X - a.X)), Y: a.Y + (f * (b.Y - a.Y))));
            }
        }

        return kept;
    }

    /// <summary>Without corners closer to the next one than a distance, and begun at the upper left.</summary>
    internal static List<PixelPoint> Tidy(List<PixelPoint> outline, double leastSide)
    {
        var kept = new List<PixelPoint>(outline);
        for (bool again = true; again && kept.Count > 4;)
        {
            again = false;
            int shortest = 0;
            for (int i = 1; i < kept.Count; i++)
            {
                if (Side(kept, i) < Side(kept, shortest))
                {
                    shortest = i;
                }
            }

            if (Side(kept, shortest) < leastSide)
            {
                // The short side goes: its neighbours are prolonged to where they meet.
                int count = kept.Count;
                PixelPoint a = kept[(shortest + count - 1) % count], b = kept[shortest], c = kept[(shortest + 1) % count], d = kept[(shortest + 2) % count];
                PixelPoint meet = Meet(a, b, d, c) ?? new PixelPoint(X: (b.X + c.X) / 2, Y: (b.Y + c.Y) / 2);
                if (meet.DistancePixelsTo(b) > 3 * leastSide)
                {
                    meet = new PixelPoint(X: (b.X + c.X) / 2, Y: (b.Y + c.Y) / 2);
                }

                kept[shortest] = meet;
                kept.RemoveAt((shortest + 1) % count);
                again = true;
            }
        }

        int first = 0;
        for (int i = 1; i < kept.Count; i++)
        {
            if (kept[i].X + kept[i].Y < kept[first].X + kept[first].Y - 1e-6)
            {
                first = i;
            }
        }

        return [.. kept.Skip(first), .. kept.Take(first)];
    }

    internal static double Area(IReadOnlyList<PixelPoint> outline)
    {
        double twice = 0;
        for (int i = 0; i < outline.Count; i++)
        {
            PixelPoint a = outline[i], b = outline[(i + 1) % outline.Count];
            twice += (a.X * b.Y) - (b.X * a.Y);
        }

        return Math.Abs(twice) / 2;
    }

    /// <summary>Where the outline cuts a horizontal line, from and to; from &gt; to where it does not.</summary>
    internal static (double From, double To) AcrossRow(IReadOnlyList<PixelPoint> outline, double y)
    {
        double from = double.PositiveInfinity, to = double.NegativeInfinity;
        for (int i = 0; i < outline.Count; i++)
        {
            PixelPoint a = outline[i], b = outline[(i + 1) % outline.Count];
            if ((a.Y <= y && b.Y >= y) || (b.Y <= y && a.Y >= y))
            {
                double x = Math.Abs(b.Y - a.Y) < 1e-12 ? a.X : a.X + ((y - a.Y) / (b.Y - a.Y) * (b.X - a.X));
                from = Math.Min(from, x);
                to = Math.Max(to, x);
                if (Math.Abs(b.Y - a.Y) < 1e-12)
                {
                    from = Math.Min(from, b.X);
                    to = Math.Max(to, b.X);
                }
            }
        }

        return (from, to);
    }

    private static double Side(List<PixelPoint> outline, int i) => outline[i].DistancePixelsTo(outline[(i + 1) % outline.Count]);

    private static PixelPoint? Meet(PixelPoint a, PixelPoint b, PixelPoint c, PixelPoint d)
    {
        double bx = b.X - a.X, by = b.Y - a.Y, dx = d.X - c.X, dy = d.Y - c.Y;
        double cross = (bx * dy) - (by * dx);
        if (Math.Abs(cross) < 1e-9)
        {
            return null;
        }

        double f = (((c.X - a.X) * dy) - ((c.Y - a.Y) * dx)) / cross;
        return new PixelPoint(X: a.X + (f * bx), Y: a.Y + (f * by));
    }
}
