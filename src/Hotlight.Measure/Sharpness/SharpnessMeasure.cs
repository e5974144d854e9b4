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
/// <para>Holds when: contours are found in at least five of twelve directions. Motion is told when three readings agree that the blur along one line is that of <see cref="LeastMotionMm"/> or more: the contours, the longest contours at their sharpest, and the contours with what a rounded body explains taken off.</para>
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

    // Edges of texture have no run; a contour that is followed over most of its reach to both sides is one of bone or skin. The longer it is the surer that, and the fewer there are.
    private const int LeastRun = 3;
    private const int LongRun = 4;
    private const int LongestRun = 5;

    // Low enough to leave the soft contours of curved bone out, high enough that noise does not rule.
    private const double ContourQuantile = 0.15;

    // The sharpest of the long contours: a part that moved has no sharp contour across its way.
    private const double SharpestQuantile = 0.05;

    // What a rounded body explains taken off, the blur along the line must still be seen; steps blurred by motion are at times taken for rounded, so less is asked.
    private const double LeastRoundedMm = 0.5;

    // Without a pixel spacing a length in mm is a presumption; then the worst direction must be twice as wide as the best. Real images of still parts reach 1.8 (docs/methods/sharpness.md).
    private const double LeastRatioWithoutSpacing = 2;

    // Both readings must have one direction.
    private const double MostApartDegrees = 25;

    // No motion is said where the sharpest contours leave less than this, and where the spread would show a motion that matters.
    private const double MostStillMm = 0.6;
    private const double MostStillSpreadMm = 0.25;

    // The edge blur: the median of the edges known well that agree, within one standard deviation of their own, with the sharpest of them.
    private const double BlurQuantile = 0.02;
    private const double BlurMostRelativeError = 0.25;
    private const int BlurLeastEdges = 20;
    private const double AlongDegrees = 60;

    // Edges across the line that give its length, and the quantile of their blur: least biased on the tuning exposures.
    private const double AcrossDegrees = 25;
    private const double LengthQuantile = 0.2;

    // What remains between figure and truth beyond the spread; measured, docs/methods/sharpness.md#accuracy.
    private const double LengthFraction = 0.25;
    private const double BlurFraction = 0.25;
    private const double RatioFraction = 0.2;
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

        int[] runs = EdgeContours.Runs(edges, scale);
        List<FittedEdge> contours = Longer(edges, runs, LeastRun);
        var profile = new EdgeProfile(radiograph.Pixels, scale, EdgeSpreadFit.ReachMm, limits.Low, limits.High);
        double? halo = EdgeHalo.Percent(edges, profile, regions.ExposureSign);
        (double SigmaMm, string Basis)? expected = GeometricBlur.Expected(radiograph.Exposure);
        var measurement = new SharpnessMeasurement
        {
            EdgeBlurMm = Blur(edges, scale, alongDegrees: null),
            ExpectedGeometricBlurMm = expected is { } geometric ? Math.Round(geometric.SigmaMm, 4) : null,
            ExpectedGeometricBlurBasis = expected?.Basis,
            EdgeEnhancementSeen = halo is { } height ? height >= EdgeHalo.LeastPercent : null,
            EdgeHaloPercent = halo is { } percent ? Math.Round(percent, 1) : null,
            EdgesByDirection = DirectionalBlur.Count(contours),
            Edges = Shown(contours.Count > 0 ? contours : edges, scale),
        };
        measurement = WithDirection(measurement, edges, contours, runs, scale, profile);
        return Figure<SharpnessMeasurement>.Measured(measurement with
        {
            EdgeBlurMmUncertainty = measurement.EdgeBlurMm is { } blur ? Math.Round(BlurFraction * blur, 3) : null,
        });
    }

    private static Figure<SharpnessMeasurement> CannotTell(string why) => Figure<SharpnessMeasurement>.CannotTell(why);

    private static List<FittedEdge> Longer(List<FittedEdge> edges, int[] runs, int least) => [.. edges.Where((_, at) => runs[at] >= least)];

    /// <summary>Sigma of the sharpest edges, in mm; null where spacing is unknown.</summary>
    /// <param name="edges">Fitted edges.</param>
    /// <param name="scale">The image's scale.</param>
    /// <param name="alongDegrees">The line along which the part moved, whose edges are left out; null: it did not.</param>
    private static double? Blur(List<FittedEdge> edges, ImageScale scale, double? alongDegrees)
    {
        if (!scale.IsKnown)
        {
            return null;
        }

        List<FittedEdge> free = alongDegrees is { } along ? edges.FindAll(edge => DirectionalBlur.Apart(edge.DirectionDegrees, along) >= AlongDegrees) : edges;
        free = free.Count >= BlurLeastEdges ? free : edges;
        List<FittedEdge> known = free.FindAll(edge => edge.RelativeError < BlurMostRelativeError);
        known = known.Count >= BlurLeastEdges ? known : free;
        double sharpest = Quantile([.. known.Select(edge => edge.RoundedSigmaMm)], BlurQuantile);
        return Math.Round(Quantile([.. known.Where(edge => edge.RoundedSigmaMm * (1 - edge.RelativeError) <= sharpest).Select(edge => edge.RoundedSigmaMm)], 0.5), 3);
    }

    /// <summary>Blur along one line, and whether the part moved: seen when the readings agree, not seen when one of them rules it out, else not told.</summary>
    private static SharpnessMeasurement WithDirection(
        SharpnessMeasurement measurement, List<FittedEdge> edges, List<FittedEdge> contours, int[] runs, ImageScale scale, EdgeProfile profile)
    {
        if (DirectionalBlur.Fit(contours, scale, ContourQuantile) is not { } blur)
        {
            return measurement with
            {
                DirectionWhy = "The contours of this image run in too few directions to tell a blur along one line, such as motion, from the softness of the part's own contours.",
            };
        }

        double unit = scale.IsKnown ? 1 : double.NaN;
        double seenMm = Way(blur.AlongMm), spreadMm = Way(blur.AlongMmSpread);
        DirectionalBlur? sharpest = null;
        bool seen = false;
        if (seenMm >= LeastMotionMm)
        {
            sharpest = DirectionalBlur.Fit(Longer(edges, runs, LongRun), scale, SharpestQuantile);
            seen = sharpest is not null && (scale.IsKnown || blur.Ratio >= LeastRatioWithoutSpacing) && Agree(blur, sharpest) && ExceedsRounding(Longer(edges, runs, LongestRun), scale);
        }

        bool still = seenMm < LeastMotionMm
            ? spreadMm <= MostStillSpreadMm
            : sharpest is not null && Way(sharpest.AlongMm) < MostStillMm && Way(sharpest.AlongMmSpread) <= MostStillSpreadMm;
        if (!seen && !still)
        {
            return measurement with
            {
                DirectionWhy = seenMm < LeastMotionMm
                    ? "The image holds too few clear contours, or too unlike ones, to tell whether the part moved."
                    : sharpest is null
                        ? "Contours across one direction are soft, and the image holds too few long, clear contours in other directions to tell whether the part moved; look at the edges at full size."
                        : "Contours are blurred unevenly, but not so that motion can be told from soft contours or from things that lay still while the part moved; look at the edges at full size.",
            };
        }

        // Where the part moved, its direction is that of the contours that cannot be soft by their shape.
        DirectionalBlur told = seen ? sharpest! : blur;
        (double Mm, double Spread)? twice = seen ? BlurShape.DoubleContour(contours, blur with { DirectionDegrees = told.DirectionDegrees }, profile) : null;
        double length = seen ? Length(contours, blur with { DirectionDegrees = told.DirectionDegrees }) : 0;
        double directionSpread = Math.Sqrt((told.DirectionDegreesSpread * told.DirectionDegreesSpread) + (DirectionDegreesRest * DirectionDegreesRest));
        return measurement with
        {
            EdgeBlurMm = Blur(edges, scale, seen ? told.DirectionDegrees : null),
            DirectionRatio = Math.Round(blur.Ratio, 2),
            DirectionRatioUncertainty = Rounded(Math.Sqrt((blur.RatioSpread * blur.RatioSpread) + Math.Pow(RatioFraction * blur.Ratio, 2)), 2),
            DirectionDegrees = Math.Round(told.DirectionDegrees, 1) % 180,
            DirectionDegreesUncertainty = Math.Round(Math.Min(directionSpread, 52), 1),
            Motion = seen ? MotionSign.Seen : MotionSign.NotSeen,
            MotionMm = seen ? Rounded(length * unit, 2) : null,
            MotionMmUncertainty = seen ? Rounded(Math.Sqrt((spreadMm * spreadMm) + Math.Pow(LengthFraction * length, 2)) * unit, 2) : null,
            DoubleContourMm = twice is { } contour ? Rounded(contour.Mm * unit, 2) : null,
        };
    }

    /// <summary>Length of a steady way with a standard deviation.</summary>
    private static double Way(double alongMm) => Math.Sqrt(12) * alongMm;

    /// <summary>Whether both show a motion, each beyond its spread, along one line.</summary>
    private static bool Agree(DirectionalBlur blur, DirectionalBlur sharpest)
        => IsAlongLine(blur) && IsAlongLine(sharpest) && DirectionalBlur.Apart(blur.DirectionDegrees, sharpest.DirectionDegrees) <= MostApartDegrees;

    private static bool IsAlongLine(DirectionalBlur blur)
        => Way(blur.AlongMm) >= LeastMotionMm
            && blur.AlongMm >= LeastSignificance * blur.AlongMmSpread
            && blur.DirectionDegreesSpread <= MostDirectionSpreadDegrees
            && blur.Edges[Math.Min(blur.Edges.Length - 1, (int)(blur.DirectionDegrees * blur.Edges.Length / 180))] >= DirectionalBlur.LeastEdges;

    private static bool ExceedsRounding(List<FittedEdge> contours, ImageScale scale)
        => DirectionalBlur.Fit([.. contours.Select(edge => edge with { SigmaMm = edge.RoundedSigmaMm })], scale, ContourQuantile) is { } rounded
            && Way(rounded.AlongMm) >= LeastRoundedMm;

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
