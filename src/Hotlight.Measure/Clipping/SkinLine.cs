using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Clipping;

/// <summary>Follows the skin outline and tells where the outer soft tissue is burned out.</summary>
/// <remarks>
/// <para>Behind skin, the thickness of a convex part grows as the root of the depth d from the true skin, so ln(signal) falls as √d: steep at a visible skin line. Where the outer tissue is saturated, the profile starts at some depth d0 &gt; 0 and leaves the limit with a gentle slope instead.
/// With y(x) the fall from the limit at x past the border of saturation, y(4·x1) / y(x1) = (√(r + 4) − √r) / (√(r + 1) − √r) with r = d0 / x1: 2 at a visible skin line, 4 far inside. Tissue counts as lost where d0 is at least <see cref="LostDepthMm"/>.</para>
/// <para>docs/methods/clipping.md#skin-line.</para>
/// </remarks>
internal sealed class SkinLine
{
    /// <summary>Outer tissue thinner than this is not counted as lost: about the skin itself (common practice, no source).</summary>
    public const double LostDepthMm = 1;

    private const double BesideFieldEdgeCells = 2;
    private const int HalfAcross = 6;

    // (√5 − 1) / (√2 − 1): the ratio for d0 = x1 = LostDepthMm.
    private static readonly double RatioWhenLost = (Math.Sqrt(5) - 1) / (Math.Sqrt(2) - 1);

    private readonly Radiograph radiograph;
    private readonly RadiographRegions regions;
    private readonly int limit;
    private readonly double[] fallByValue;
    private readonly double nearPixels;

    private SkinLine(Radiograph radiograph, RadiographRegions regions, int limit, double[] fallByValue)
    {
        this.radiograph = radiograph;
        this.regions = regions;
        this.limit = limit;
        this.fallByValue = fallByValue;

        // Without a spacing the scale is taken from the image: 1 in 250 of its shorter side, about 1 mm of a hand's or a knee's field.
        double millimetrePixels = radiograph.ReceptorSpacing is { } spacing
            ? LostDepthMm / Math.Sqrt(spacing.PixelAreaMm2)
            : Math.Min(radiograph.Rows, radiograph.Columns) / 250.0;
        nearPixels = Math.Max(2, millimetrePixels);
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
        if (SaturatedFraction(point, alongX, alongY, outwardX, outwardY, outside) < 0.5)
        {
            return false;
        }

        // The outline is as coarse as the map; the border of saturation is found again here, to the pixel.
        double border = outside;
        while (border > -3.0 * regions.Map.Step && SaturatedFraction(point, alongX, alongY, outwardX, outwardY, border) >= 0.5)
        {
            border -= 1;
        }

        border += 0.5;
        double near = Fall(point, alongX, alongY, outwardX, outwardY, border - nearPixels);
        double far = Fall(point, alongX, alongY, outwardX, outwardY, border - (4 * nearPixels));
        return double.IsFinite(near) && double.IsFinite(far) && (near <= 0 || far / near >= RatioWhenLost);
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
        for (int depth = -1; depth <= 1; depth++)
        {
            for (int across = -HalfAcross; across <= HalfAcross; across++)
            {
                if (TryPixel(point, alongX, alongY, outwardX, outwardY, across, distance + (0.5 * depth), out int value))
                {
                    sum += fallByValue[value];
                    count++;
                }
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
