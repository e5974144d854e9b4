using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>Cuts polygons (Sutherland and Hodgman, Communications of the ACM 17(1), 1974, p. 32).</summary>
internal static class Polygons
{
    /// <summary>The part of a polygon inside a convex one, either orientation; empty when they have nothing in common.</summary>
    public static List<PixelPoint> Clip(List<PixelPoint> subject, List<PixelPoint> convex)
    {
        double area = 0;
        for (int i = 0; i < convex.Count; i++)
        {
            PixelPoint a = convex[i];
            PixelPoint b = convex[(i + 1) % convex.Count];
            area += (a.X * b.Y) - (b.X * a.Y);
        }

        List<PixelPoint> result = subject;
        for (int i = 0; i < convex.Count && result.Count > 0; i++)
        {
            PixelPoint a = convex[i];
            PixelPoint b = convex[(i + 1) % convex.Count];
            List<PixelPoint> input = result;
            result = [];
            double Side(PixelPoint p) => Math.Sign(area) * (((b.X - a.X) * (p.Y - a.Y)) - ((b.Y - a.Y) * (p.X - a.X)));
            for (int k = 0; k < input.Count; k++)
            {
                PixelPoint from = input[k];
                PixelPoint to = input[(k + 1) % input.Count];
                double fromSide = Side(from);
                double toSide = Side(to);
                if (fromSide >= 0)
                {
                    result.Add(from);
                }

                if ((fromSide > 0 && toSide < 0) || (fromSide < 0 && toSide > 0))
                {
                    double t = fromSide / (fromSide - toSide);
                    result.Add(new PixelPoint(X: from.X + (t * (to.X - from.X)), Y: from.Y + (t * (to.Y - from.Y))));
                }
            }
        }

        return result;
    }
}
