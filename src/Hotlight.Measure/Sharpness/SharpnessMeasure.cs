using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Document;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Sharpness;

/// <summary>Blur of the sharpest anatomical edges, round or along one line, and whether the part moved.</summary>
/// <remarks>
/// <para>Method: edge-spread functions are fitted across contours of the anatomy in every direction; a low quantile of their sigma in each direction is parted into a round blur and one along a line. docs/methods/sharpness.md.</para>
/// <para>Holds when: contours are found in at least five of twelve directions. Motion is told when blur along the line is that of <see cref="LeastMotionMm"/> or more and larger than its own spread; contours of long bones are soft across the shaft by their shape, and less is not told from that.</para>
/// <para>Not: the modulation transfer function of the receptor, which needs a test object.</para>
/// </remarks>
public static class SharpnessMeasure
{
    /// <summary>Motion shorter than this is not told from the softness of bone's own contours, in mm at the receptor.</summary>
    public const double LeastMotionMm = 0.7;

    /// <summary>Fewest edges a figure is given from.</summary>
    public const int LeastEdges = 60;

    // Blur along the line over its own spread.
    private const double LeastSignificance = 3;

    // A line whose direction is known no better is none.
    private const double MostDirectionSpreadDegrees = 25;

    // Edges across the line that give its length, and the quantile of their blur: least biased on the tuning exposures.
    private const double AcrossDegrees = 25;
    private const double LengthQuantile = 0.2;

    // What remains between figure and truth beyond the spread; measured, docs/methods/sharpness.md#accuracy.
    private const double LengthFraction = 0.25;
    private const double BlurFraction = 0.2;
    private const double DirectionDegreesRest = 5;
    private const int EdgesShownPerDirection = 10;

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<SharpnessMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Measure(radiograph, regions, options, histogram: null, excluded: []);

    /// <summary>Measures one radiograph whose histogram and foreign things are known.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <param name="histogram">Its field's histogram, or null.</param>
    /// <param name="excluded">Discs that are no anatomy: centre and radius in pixels.</param>
    internal static Figure<SharpnessMeasurement> Measure(
        Radiograph radiograph,
        RadiographRegions regions,
        MeasureOptions options,
        FieldHistogram? histogram,
        IReadOnlyList<(PixelPoint Centre, double RadiusPixels)> excluded)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        if (!regions.Anatomy.IsMeasured)
        {
            return CannotTell("Blur is measured on contours of the anatomy, and the anatomy could not be told from the rest of the image.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        SignalLimits limits = SignalLimits.Find(radiograph, histogram);
        ImageScale scale = ImageScale.Of(radiograph, options);
        List<FittedEdge> edges = SharpEdges.Find(radiograph, scale, regions.Map, excluded, regions.ExposureSign, limits.Low, limits.High);
        if (edges.Count < LeastEdges)
        {
            return CannotTell($"Blur is measured on clear contours of bone and skin; the image holds only {edges.Count} places of the {LeastEdges} that a figure needs.");
        }

        var profile = new EdgeProfile(radiograph.Pixels, scale, EdgeSpreadFit.ReachMm, limits.Low, limits.High);
        DirectionalBlur? blur = DirectionalBlur.Fit(edges, scale);
        double? halo = EdgeHalo.Percent(edges, profile, regions.ExposureSign);
        (double SigmaMm, string Basis)? expected = GeometricBlur.Expected(radiograph.Exposure);
        var measurement = new SharpnessMeasurement
        {
            ExpectedGeometricBlurMm = expected is { } geometric ? Math.Round(geometric.SigmaMm, 4) : null,
            ExpectedGeometricBlurBasis = expected?.Basis,
            EdgeEnhancementSeen = halo is { } height ? height >= EdgeHalo.LeastPercent : null,
            EdgeHaloPercent = halo is { } percent ? Math.Round(percent, 1) : null,
            EdgesByDirection = DirectionalBlur.Count(edges),
            Edges = Shown(edges, scale),
        };
        return Figure<SharpnessMeasurement>.Measured(blur is null ? WithoutDirection(measurement, edges, scale) : WithDirection(measurement, edges, blur, scale, profile));
    }

    private static Figure<SharpnessMeasurement> CannotTell(string why) => Figure<SharpnessMeasurement>.CannotTell(why);

    /// <summary>Too few directions: the blur of the sharpest edges there are, and nothing on direction.</summary>
    private static SharpnessMeasurement WithoutDirection(SharpnessMeasurement measurement, List<FittedEdge> edges, ImageScale scale)
    {
        double sigma = Quantile([.. edges.Select(edge => edge.SigmaMm)], LengthQuantile);
        return measurement with
        {
            EdgeBlurMm = scale.IsKnown ? Math.Round(sigma, 3) : null,
            EdgeBlurMmUncertainty = scale.IsKnown ? Math.Round(2 * BlurFraction * sigma, 3) : null,
            DirectionWhy = "The contours of this image run in too few directions to tell a blur along one line, such as motion, from the softness of the part's own contours.",
        };
    }

    private static SharpnessMeasurement WithDirection(SharpnessMeasurement measurement, List<FittedEdge> edges, DirectionalBlur blur, ImageScale scale, EdgeProfile profile)
    {
        double seenMm = Math.Sqrt(12) * blur.AlongMm;
        double unit = scale.IsKnown ? 1 : double.NaN;
        double spreadMm = Math.Sqrt(12) * blur.AlongMmSpread;
        bool isAlongLine = seenMm >= LeastSignificance * spreadMm && blur.DirectionDegreesSpread <= MostDirectionSpreadDegrees;
        bool across = blur.Edges[Math.Min(blur.Edges.Length - 1, (int)(blur.DirectionDegrees * blur.Edges.Length / 180))] >= DirectionalBlur.LeastEdges;
        if (seenMm >= LeastMotionMm && !(across && isAlongLine))
        {
            return measurement with
            {
                EdgeBlurMm = Rounded(blur.LeastMm * unit, 3),
                EdgeBlurMmUncertainty = Rounded(BlurUncertainty(blur) * unit, 3),
                DirectionWhy = across
                    ? "Contours are blurred unevenly, but not along one line, so motion cannot be told from soft contours or from things that lay still while the part moved; look at the edges at full size."
                    : "The image holds too few clear contours across the direction in which a blur is suspected to tell whether the part moved.",
            };
        }

        bool seen = seenMm >= LeastMotionMm;
        (double Mm, double Spread)? twice = seen ? BlurShape.DoubleContour(edges, blur, profile) : null;
        double length = seen ? Length(edges, blur) : 0;
        double directionSpread = Math.Sqrt((blur.DirectionDegreesSpread * blur.DirectionDegreesSpread) + (DirectionDegreesRest * DirectionDegreesRest));
        return measurement with
        {
            EdgeBlurMm = Rounded(blur.LeastMm * unit, 3),
            EdgeBlurMmUncertainty = Rounded(BlurUncertainty(blur) * unit, 3),
            DirectionRatio = Math.Round(blur.Ratio, 2),
            DirectionRatioUncertainty = Rounded(Math.Sqrt((blur.RatioSpread * blur.RatioSpread) + Math.Pow(BlurFraction * blur.Ratio, 2)), 2),
            DirectionDegrees = Math.Round(blur.DirectionDegrees, 1) % 180,
            DirectionDegreesUncertainty = Math.Round(Math.Min(directionSpread, 52), 1),
            Motion = seen ? MotionSign.Seen : MotionSign.NotSeen,
            MotionMm = seen ? Rounded(length * unit, 2) : null,
            MotionMmUncertainty = seen ? Rounded(Math.Sqrt((spreadMm * spreadMm) + Math.Pow(LengthFraction * length, 2)) * unit, 2) : null,
            DoubleContourMm = twice is { } contours ? Rounded(contours.Mm * unit, 2) : null,
        };
    }

    private static double BlurUncertainty(DirectionalBlur blur)
        => Math.Sqrt((blur.LeastMmSpread * blur.LeastMmSpread) + Math.Pow(BlurFraction * blur.LeastMm, 2));

    private static double? Rounded(double value, int decimals) => double.IsFinite(value) ? Math.Round(value, decimals) : null;

    /// <summary>Length of steady motion with the variance that edges across it show above the round blur, in mm.</summary>
    private static double Length(List<FittedEdge> edges, DirectionalBlur blur)
    {
        var sigma = new List<double>();
        double share = 0;
        foreach (FittedEdge edge in edges)
        {
            double apart = DirectionalBlur.Apart(edge.DirectionDegrees, blur.DirectionDegrees);
            if (apart <= AcrossDegrees)
            {
                sigma.Add(edge.SigmaMm);
                share += Math.Pow(Math.Cos(apart * Math.PI / 180), 2);
            }
        }

        if (sigma.Count < DirectionalBlur.LeastEdges)
        {
            return Math.Sqrt(12) * blur.AlongMm;
        }

        double worst = Quantile(sigma, LengthQuantile);
        return Math.Sqrt(12 * Math.Max((worst * worst) - (blur.LeastMm * blur.LeastMm), blur.AlongMm * blur.AlongMm / 2) / (share / sigma.Count));
    }

    private static double Quantile(List<double> values, double share)
    {
        values.Sort();
        return values[(int)(share * (values.Count - 1))];
    }

    /// <summary>The sharpest edges in each direction, for drawing.</summary>
    private static List<SharpEdge> Shown(List<FittedEdge> edges, ImageScale scale)
    {
        var shown = new List<SharpEdge>();
        foreach (IGrouping<int, FittedEdge> direction in edges.GroupBy(edge => (int)(edge.DirectionDegrees * EdgeSearch.Directions / 180)).OrderBy(group => group.Key))
        {
            shown.AddRange(direction.OrderBy(edge => edge.SigmaMm).Take(EdgesShownPerDirection).Select(edge => new SharpEdge
            {
                At = new PixelPoint(X: Math.Round(edge.X, 1), Y: Math.Round(edge.Y, 1)),
                NormalDegrees = Math.Round(edge.DirectionDegrees, 1) % 180,
                BlurMm = scale.IsKnown ? Math.Round(edge.SigmaMm, 3) : null,
            }));
        }

        return shown;
    }
}
