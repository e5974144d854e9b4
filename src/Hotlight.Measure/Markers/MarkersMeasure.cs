using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Markers;

/// <summary>The side markers of a radiograph: letters L and R, and a clinic's words, of lead or drawn, turned and mirrored as they may be.</summary>
/// <remarks>
/// <para>Method: a small network proposes places on a reduced image, a second reads a patch around each; lead is told from drawn by the pixels' constancy and the edges' width. docs/methods/markers.md, with the accuracy and the failures.</para>
/// <para>Holds when: the letter is 6 to 25 mm high, or without spacing 1.5 to 9 % of the picture's long side, and at least about half of it is seen.</para>
/// <para>Not: words that the options do not hold, initials without a letter L or R, or symbols.</para>
/// </remarks>
public static class MarkersMeasure
{
    // The range that is sought, 6 to 25 mm, with room for twice the error of the height (4 %).
    private const double LeastHeightMm = 5.5;

    private const double MostHeightMm = 27;

    // A letter that differs from its ground by less than a hundredth of the image's range is not seen on a screen; lossy coding makes such shapes.
    private const double LeastStep = 0.01;

    // Of the letters of the tuning exposures the least certain has 0.67; what is below 0.6 was an arrow or a rib.
    private const double LeastConfidence = 0.6;

    // Noise of the strokes over their step from the ground. Lead of the tuning exposures has 0.005 to 0.04; an after-image of an
    // earlier exposure 0.04 to 0.08 and more; what was taken from anatomy 0.08 to 0.15.
    private const double FaintNoise = 0.04;

    private const double MostNoise = 0.08;

    /// <summary>Finds the markers of one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<MarkersMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        return Measure(radiograph, regions, options, Read(radiograph, options));
    }

    /// <summary>The letters and words of a radiograph, wherever they lie; what the regions tell of them is not needed yet.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="options">What the caller knows.</param>
    internal static Figure<List<ReadMarker>> Read(Radiograph radiograph, MeasureOptions options)
    {
        if (Math.Min(radiograph.Rows, radiograph.Columns) < 64)
        {
            return Figure<List<ReadMarker>>.CannotTell("The picture is smaller than 64 pixels, too coarse for a letter to be read.");
        }

        PixelSpacing? spacing = radiograph.ReceptorSpacing ?? options.ReceptorSpacing;
        if (radiograph.ReceptorSpacing is null && spacing is not null)
        {
            radiograph = radiograph with { ReceptorSpacing = spacing };
        }

        double? pixelMm = PixelMm(radiograph, options);
        FinderImage image = FinderImage.From(radiograph);
        List<ReadMarker> read = MarkerReader.Read(radiograph, MarkerFinder.Find(image));
        if (options.MarkerWords is { } words)
        {
            List<ReadMarker> spelled = WordReader.Read(radiograph, WordFinder.Find(image), words);
            read.RemoveAll(letter => spelled.Exists(word => MarkerPlace.IsInBox(word, letter)));
            read.AddRange(spelled);
        }

        read.RemoveAll(marker => (marker.Word is null && marker.Confidence < LeastConfidence) || (pixelMm is { } mm && (marker.Height * mm < LeastHeightMm || marker.Height * mm > MostHeightMm)));
        return Figure<List<ReadMarker>>.Measured(read);
    }

    /// <summary>Describes the markers that were read.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <param name="read">What <see cref="Read"/> found; used up.</param>
    internal static Figure<MarkersMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, Figure<List<ReadMarker>> read)
    {
        if (!read.IsMeasured)
        {
            return Figure<MarkersMeasurement>.CannotTell(read.Why!);
        }

        double? pixelMm = PixelMm(radiograph, options);
        IReadOnlyList<PixelPoint> picture = ConvexOutline.OfImage(radiograph.Rows, radiograph.Columns);
        IReadOnlyList<PixelPoint> outline = regions.Field.IsMeasured ? regions.Field.Value.Outline : picture;
        return Figure<MarkersMeasurement>.Measured(new MarkersMeasurement
        {
            Found = [.. Apart(read.Value).Select(marker => Describe(marker, radiograph, regions, outline, picture, pixelMm)).OfType<FoundMarker>()],
        });
    }

    private static double? PixelMm(Radiograph radiograph, MeasureOptions options) => (radiograph.ReceptorSpacing ?? options.ReceptorSpacing) is { } spacing ? Math.Sqrt(spacing.PixelAreaMm2) : null;

    // One place holds one letter; a smaller letter close to a larger one is an initial, not a marker.
    private static List<ReadMarker> Apart(List<ReadMarker> read)
    {
        read.Sort((a, b) => b.Confidence.CompareTo(a.Confidence));
        var kept = new List<ReadMarker>();
        foreach (ReadMarker marker in read)
        {
            bool same = kept.Exists(other => Distance(marker, other) < 0.6 * Math.Max(marker.Height, other.Height));
            bool initial = marker.Word is null && read.Exists(other => other.Height > 1.3 * marker.Height && Distance(marker, other) < (0.75 * other.Height) + marker.Height);
            if (!same && !initial)
            {
                kept.Add(marker);
            }
        }

        return kept;
    }

    private static double Distance(ReadMarker a, ReadMarker b) => Math.Sqrt(((a.X - b.X) * (a.X - b.X)) + ((a.Y - b.Y) * (a.Y - b.Y)));

    private static FoundMarker? Describe(ReadMarker marker, Radiograph radiograph, RadiographRegions regions, IReadOnlyList<PixelPoint> outline, IReadOnlyList<PixelPoint> picture, double? pixelMm)
    {
        MarkerOrigin origin = MarkerOrigin.Examine(radiograph.Pixels, marker);
        (MarkerKind kind, double kindConfidence) = origin.Decide();
        bool unseen = !FinderImage.TakesRoot(radiograph) && origin.Pixels > 0 && origin.Step < LeastStep * MarkerReader.RangeOf(radiograph.Pixels, root: false);
        if (unseen || (kind == MarkerKind.Lead && origin.StrokeNoise > MostNoise))
        {
            return null;
        }

        PixelPoint centre = new(marker.X, marker.Y);
        PixelPoint[] corners = MarkerPlace.Corners(marker);
        bool inside = MarkerPlace.Contains(outline, centre);
        (bool overAnatomy, bool overDense) = MarkerPlace.Surroundings(regions.Map, radiograph.Pixels, marker);
        return new FoundMarker
        {
            Letter = marker.Letter,
            Word = marker.Word,
            Kind = kind,
            KindConfidence = Math.Round(kindConfidence, 3),
            Mirrored = marker.Mirrored,
            RotationDegrees = Math.Round(marker.RotationDegrees, 1),
            RotationDegreesUncertainty = marker.RotationSpreadDegrees is { } spread ? Math.Round(spread, 1) : null,
            Center = new PixelPoint(Math.Round(marker.X, 2), Math.Round(marker.Y, 2)),
            HeightPixels = Math.Round(marker.Height, 1),
            HeightMm = pixelMm is { } mm ? Math.Round(marker.Height * mm, 1) : null,
            Corners = corners,
            Confidence = Math.Round(marker.Confidence, 3),
            Faint = kind == MarkerKind.Lead ? origin.StrokeNoise > FaintNoise : null,
            InsideField = inside,
            CutByEdge = Array.Exists(corners, corner => !MarkerPlace.Contains(inside ? outline : picture, corner)),
            OverAnatomy = inside && overAnatomy,
            OverDenseAnatomy = inside && overDense,
            AgreesWithHeader = MarkerPlace.AgreesWithHeader(radiograph.Exposure, marker.Letter),
            OnItsSide = MarkerPlace.OnItsSide(radiograph.Exposure, outline, marker),
        };
    }
}
