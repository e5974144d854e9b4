using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Clipping;

/// <summary>Follows the skin outline and tells where the outer soft tissue is burned out.</summary>
/// <remarks>
/// <para>Behind skin, the thickness of a convex part grows as the root of the depth d from the true skin, so ln(signal) falls as √d: steep at a visible skin line. Where the outer tissue is saturated, the profile begins at some depth d0 &gt; 0 and leaves the limit with a gentle slope instead.
/// With y the fall below the limit and k its rate, y = k·(√d − √d0), so x = d − d0 = (2·√d0/k)·y + y²/k²: a parabola in y whose two coefficients give d0 = a²/(4b). It is fitted over <see cref="ProfileMm"/> of each profile, with the border's own place free. Tissue counts as lost where d0 is at least <see cref="LostDepthMm"/>.</para>
/// <para>docs/methods/clipping.md#skin-line.</para>
/// </remarks>
internal sealed class SkinLine
{
    /// <summary>Outer tissue thinner than this is not counted as lost: about the skin itself (common practice, no source).</summary>
    public const double LostDepthMm = 1;

    /// <summary>Depth over which a profile is followed.</summary>
    public const double ProfileMm = 4;

    private const double BesideFieldEdgeCells = 2;
    private const int HalfAcross = 6;
    private const double MostlySaturated = 0.8;

    private readonly Radiograph radiograph;
    private readonly RadiographRegions regions;
    private readonly int limit;
    private readonly double[] fallByValue;
    private readonly double millimetrePixels;

    private SkinLine(Radiograph radiograph, RadiographRegions regions, int limit, double[] fallByValue)
    {
        this.radiograph = radiograph;
        this.regions = regions;
        this.limit = limit;
        this.fallByValue = fallByValue;

        // Without a spacing the scale is taken from the image: 1 in 250 of its shorter side, about 1 mm of a hand's or a knee's field.
        millimetrePixels = radiograph.ReceptorSpacing is { } spacing
            ? 1 / Math.Sqrt(spacing.PixelAreaMm2)
            : Math.Min(radiograph.Rows, radiograph.Columns) / 250.0;
    }

    /// <summary>Length of outline examined, in pixels.</summary>
    public double ExaminedPixels { get; private set; }

    /// <summary>Length of outline along which tissue is lost, in pixels.</summary>
    public double LostPixels { get; private set; }

    /// <summary>The lost pieces.</summary>
    public List<IReadOnlyList<PixelPoint>> Lost { get; } = [];

    /// <summary>Length over which neighbouring judgements share pixels, in pixels.</summary>
    public static double CorrelationPixels => 2 * HalfAcross;

    /// <summary>Examines the outlines of the anatomy.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="regions">Its regions, with measured anatomy.</param>
    /// <param name="limit">Pixel value at which signal saturates.</param>
    /// <param name="fallByValue">For each pixel value, how far it lies below the limit, on a scale as close to ln(exposure) as is known; 0 at the limit.</param>
    public static SkinLine Examine(Radiograph radiograph, RadiographRegions regions, int limit, double[] fallByValue)
    {
        var line = new SkinLine(radiograph, regions, limit, fallByValue);
        foreach (IReadOnlyList<PixelPoint> outline in regions.Anatomy.Value!.Outlines)
        {
            line.Follow(outline);
        }

        return line;
    }

    private void Follow(IReadOnlyList<PixelPoint> outline)
    {
        double step = Math.Max(2, regions.Map.Step / 2.0);
        PixelPoint[] points = Resample(outline, step);
        if (points.Length < 8)
        {
            return;
        }

        double area = 0;
        for (int at = 0; at < points.Length; at++)
        {
            PixelPoint next = points[(at + 1) % points.Length];
            area += (points[at].X * next.Y) - (next.X * points[at].Y);
        }

        // Positive area is clockwise on the screen (y down): outward is then to the left of the walk.
        double outward = area > 0 ? 1 : -1;
        var states = new int[points.Length];
        for (int at = 0; at < points.Length; at++)
        {
            PixelPoint before = points[(at + points.Length - 3) % points.Length];
            PixelPoint after = points[(at + 3) % points.Length];
            double length = before.DistancePixelsTo(after);
            if (length < 1e-9 || !LiesInField(points[at]))
            {
                states[at] = -1;
                continue;
            }

            double alongX = (after.X - before.X) / length;
            double alongY = (after.Y - before.Y) / length;
            states[at] = IsLost(points[at], alongX, alongY, outwardX: alongY * outward, outwardY: -alongX * outward) ? 1 : 0;
        }

        Collect(points, Smooth(states), step);
    }

    private bool IsLost(PixelPoint point, double alongX, double alongY, double outwardX, double outwardY)
    {
        double outside = 2.0 * regions.Map.Step;
        double saturatedOutside = 0;
        for (int further = 0; further < 5; further++)
        {
            saturatedOutside += SaturatedFraction(point, alongX, alongY, outwardX, outwardY, outside + further) / 5;
        }

        if (saturatedOutside < MostlySaturated)
        {
            return false;
        }

        // The outline is as coarse as the map; the border of saturation is found again here, to the pixel.
        double border = outside;
        while (border > -3.0 * regions.Map.Step && SaturatedFraction(point, alongX, alongY, outwardX, outwardY, border) >= 0.5)
        {
            border -= 1;
        }

        // Where noise still reaches the limit, the mean of what is left is not the mean of the signal.
        double first = border;
        while (first > border - millimetrePixels && SaturatedFraction(point, alongX, alongY, outwardX, outwardY, first) > 0)
        {
            first -= 1;
        }

        return DepthLostPixels(point, alongX, alongY, outwardX, outwardY, first) >= LostDepthMm * millimetrePixels;
    }

    /// <summary>d0 of the parabola x = δ + a·y + b·y² through the profile; infinite where the profile does not bend as skin does, 0 where it begins at the skin.</summary>
    private double DepthLostPixels(PixelPoint point, double alongX, double alongY, double outwardX, double outwardY, double first)
    {
        int samples = (int)Math.Round(Math.Max(8, ProfileMm * millimetrePixels));
        Span<double> falls = stackalloc double[samples];
        int count = 0;
        for (int depth = 0; depth < samples; depth++)
        {
            double fall = Fall(point, alongX, alongY, outwardX, outwardY, first - depth);
            if (!double.IsFinite(fall))
            {
                break;
            }

            falls[count++] = fall;
        }

        if (count < 6)
        {
            return 0;
        }

        double deepest = falls[count - 1];
        if (!(deepest > 0))
        {
            return double.PositiveInfinity;
        }

        // Least squares in y scaled to about 1.
        double s0 = count, s1 = 0, s2 = 0, s3 = 0, s4 = 0, t0 = 0, t1 = 0, t2 = 0;
        for (int depth = 0; depth < count; depth++)
        {
            double y = falls[depth] / deepest;
            s1 += y;
            s2 += y * y;
            s3 += y * y * y;
            s4 += y * y * y * y;
            t0 += depth;
            t1 += depth * y;
            t2 += depth * y * y;
        }

        double determinant = (s0 * ((s2 * s4) - (s3 * s3))) - (s1 * ((s1 * s4) - (s2 * s3))) + (s2 * ((s1 * s3) - (s2 * s2)));
        if (!(Math.Abs(determinant) > 1e-12))
        {
            return 0;
        }

        double linear = ((s0 * ((t1 * s4) - (t2 * s3))) - (t0 * ((s1 * s4) - (s2 * s3))) + (s2 * ((s1 * t2) - (s2 * t1)))) / determinant;
        double square = ((s0 * ((s2 * t2) - (s3 * t1))) - (s1 * ((s1 * t2) - (s2 * t1))) + (t0 * ((s1 * s3) - (s2 * s2)))) / determinant;

        // The slope dx/dy is taken at the limit, y = 0, wherever the samples began.
        return linear <= 0 ? 0 : square <= 0 ? double.PositiveInfinity : linear * linear / (4 * square);
    }

    private double SaturatedFraction(PixelPoint point, double alongX, double alongY, double outwardX, double outwardY, double distance)
    {
        int saturated = 0;
        int count = 0;
        bool isHigh = limit > radiograph.PixelMaximum / 2;
        for (int across = -HalfAcross; across <= HalfAcross; across += 2)
        {
            if (TryPixel(point, alongX, alongY, outwardX, outwardY, across, distance, out int value))
            {
                count++;
                saturated += (isHigh ? value >= limit : value <= limit) ? 1 : 0;
            }
        }

        return count == 0 ? 0 : (double)saturated / count;
    }

    private double Fall(PixelPoint point, double alongX, double alongY, double outwardX, double outwardY, double distance)
    {
        double sum = 0;
        int count = 0;
        for (int across = -HalfAcross; across <= HalfAcross; across++)
        {
            if (TryPixel(point, alongX, alongY, outwardX, outwardY, across, distance, out int value))
            {
                sum += fallByValue[value];
                count++;
            }
        }

        return count < HalfAcross ? double.NaN : sum / count;
    }

    private bool TryPixel(PixelPoint point, double alongX, double alongY, double outwardX, double outwardY, double across, double distance, out int value)
    {
        int column = (int)Math.Round(point.X + (across * alongX) + (distance * outwardX));
        int row = (int)Math.Round(point.Y + (across * alongY) + (distance * outwardY));
        bool inside = (uint)row < (uint)radiograph.Rows && (uint)column < (uint)radiograph.Columns;
        value = inside ? radiograph.Pixels[row, column] : 0;
        return inside;
    }

    private bool LiesInField(PixelPoint point)
    {
        double margin = BesideFieldEdgeCells * regions.Map.Step;
        if (point.X < margin || point.Y < margin || point.X > radiograph.Columns - 1 - margin || point.Y > radiograph.Rows - 1 - margin)
        {
            return false;
        }

        if (!regions.Field.IsMeasured)
        {
            return true;
        }

        IReadOnlyList<PixelPoint> field = regions.Field.Value.Outline;
        for (int at = 0; at < field.Count; at++)
        {
            if (DistanceToSegment(point, field[at], field[(at + 1) % field.Count]) < margin)
            {
                return false;
            }
        }

        return true;
    }

    private void Collect(PixelPoint[] points, int[] states, double step)
    {
        List<PixelPoint>? piece = null;
        for (int at = 0; at < points.Length; at++)
        {
            ExaminedPixels += states[at] >= 0 ? step : 0;
            if (states[at] == 1)
            {
                LostPixels += step;
                (piece ??= []).Add(points[at]);
            }
            else if (piece is not null)
            {
                Lost.Add(piece);
                piece = null;
            }
        }

        if (piece is not null)
        {
            Lost.Add(piece);
        }
    }

    /// <summary>The median of five neighbouring judgements: one noisy profile is not a lost skin line.</summary>
    private static int[] Smooth(int[] states)
    {
        var smooth = new int[states.Length];
        for (int at = 0; at < states.Length; at++)
        {
            int lost = 0;
            int seen = 0;
            for (int beside = -2; beside <= 2; beside++)
            {
                int state = states[(at + beside + states.Length) % states.Length];
                lost += state == 1 ? 1 : 0;
                seen += state >= 0 ? 1 : 0;
            }

            smooth[at] = states[at] < 0 ? -1 : 2 * lost > seen ? 1 : 0;
        }

        return smooth;
    }

    private static PixelPoint[] Resample(IReadOnlyList<PixelPoint> outline, double step)
    {
        double length = 0;
        for (int at = 0; at < outline.Count; at++)
        {
            length += outline[at].DistancePixelsTo(outline[(at + 1) % outline.Count]);
        }

        int count = (int)(length / step);
        if (count < 1)
        {
            return [];
        }

        var points = new PixelPoint[count];
        int segment = 0;
        double passed = 0;
        for (int at = 0; at < count; at++)
        {
            double wanted = at * length / count;
            double segmentLength = outline[segment].DistancePixelsTo(outline[(segment + 1) % outline.Count]);
            while (passed + segmentLength < wanted && segment < outline.Count - 1)
            {
                passed += segmentLength;
                segment++;
                segmentLength = outline[segment].DistancePixelsTo(outline[(segment + 1) % outline.Count]);
            }

            PixelPoint from = outline[segment];
            PixelPoint to = outline[(segment + 1) % outline.Count];
            double share = segmentLength > 0 ? Math.Min(1, (wanted - passed) / segmentLength) : 0;
            points[at] = new PixelPoint(X: from.X + (share * (to.X - from.X)), Y: from.Y + (share * (to.Y - from.Y)));
        }

        return points;
    }

    private static double DistanceToSegment(PixelPoint point, PixelPoint from, PixelPoint to)
    {
        double x = to.X - from.X;
        double y = to.Y - from.Y;
        double square = (x * x) + (y * y);
        double share = square > 0 ? Math.Clamp((((point.X - from.X) * x) + ((point.Y - from.Y) * y)) / square, 0, 1) : 0;
        return point.DistancePixelsTo(new PixelPoint(X: from.X + (share * x), Y: from.Y + (share * y)));
    }
}
