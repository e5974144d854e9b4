using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Artifacts;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Processing;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Sharpness;

namespace Hotlight.Measure;

/// <summary>Measures one radiograph: every section of the measurement document, in one call.</summary>
public static class RadiographMeasure
{
    // From a marker's middle, in heights of its letter: holds its corners, its box and a row of letters beside it.
    private const double MarkerReachInHeights = 1.5;

    /// <summary>Measures a radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed, not changed.</param>
    /// <param name="options">What the caller knows that the file does not say.</param>
    /// <param name="readMs">How long reading took, in ms, for the document's timing.</param>
    public static MeasurementDocument Measure(Radiograph radiograph, MeasureOptions? options = null, double readMs = 0)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        options ??= new MeasureOptions();
        long start = Stopwatch.GetTimestamp();
        if (radiograph.ReceptorSpacing is null && options.ReceptorSpacing is { } given)
        {
            radiograph = radiograph with { ReceptorSpacing = given, SpacingBasis = "given by the reader" };
        }

        // Letters are read beside the search for the regions, which only their places are described by.
        Radiograph sought = radiograph;
        Task<Figure<List<ReadMarker>>> read = Task.Run(() => MarkersMeasure.Read(sought, options));
        RadiographRegions regions = RegionFinder.Find(radiograph, options);
        FieldHistogram histogram = FieldHistogram.Count(radiograph, regions.Map);

        // Two lines of work that need nothing of each other but the markers, which both leave out; they are sought beside both.
        Figure<ExposureMeasurement> exposure = null!;
        Figure<MottleMeasurement> mottle = null!;
        Figure<ClippingMeasurement> clipping = null!;
        Figure<DisplayMeasurement> display = null!;
        Task<Figure<MarkersMeasurement>> markers = Task.Run(async () => MarkersMeasure.Measure(sought, regions, options, await read.ConfigureAwait(false)));
        Figure<ArtifactsMeasurement> artifacts = null!;
        Figure<ProcessingMeasurement> processing = null!;
        Figure<SharpnessMeasurement> sharpness = null!;
        Parallel.Invoke(
            () =>
            {
                artifacts = ArtifactMeasure.Measure(radiograph, regions, options, markers.GetAwaiter().GetResult().Value?.Found, histogram);
            },
            () =>
            {
                exposure = ExposureMeasure.Measure(radiograph, regions, options, histogram);
                mottle = MottleMeasure.Measure(radiograph, regions, options, histogram, exposure);
                clipping = ClippingMeasure.Measure(radiograph, regions, options, histogram);
                display = DisplayMeasure.Measure(radiograph, regions, options, histogram);
                processing = ProcessingMeasure.Measure(radiograph, regions, options, display, histogram);
                sharpness = SharpnessMeasure.Measure(radiograph, regions, options, histogram, Places(markers.GetAwaiter().GetResult().Value?.Found));
            });
        bool boneIsHigh = regions.ExposureSign < 0;
        double? columnSpacing = radiograph.ReceptorSpacing?.ColumnSpacingMm;
        double? rowSpacing = radiograph.ReceptorSpacing?.RowSpacingMm;
        var image = new ImageFacts
        {
            Source = radiograph.Source,
            Columns = radiograph.Columns,
            Rows = radiograph.Rows,
            BitsStored = radiograph.BitsStored,
            PixelSpacingMm = columnSpacing,
            RowSpacingMm = rowSpacing == columnSpacing ? null : rowSpacing,
            BoneIs = boneIsHigh == radiograph.HighIsShownDark ? BoneShade.Dark : BoneShade.Bright,
            BoneIsBasis = regions.ExposureSignBasis,
            PresentationIntent = radiograph.PresentationIntent,
        };
        return new MeasurementDocument
        {
            File = radiograph.FileName,
            Image = Figure<ImageFacts>.Measured(image),
            Field = regions.Field,
            Anatomy = regions.Anatomy,
            Collimation = regions.Collimation,
            Exposure = exposure,
            Mottle = mottle,
            Clipping = clipping,
            Sharpness = sharpness,
            Markers = markers.Result,
            Artifacts = artifacts,
            Processing = processing,
            Display = display,
            TimingMs = new TimingMs
            {
                Read = Math.Round(readMs, 1),
                Measure = Math.Round(Stopwatch.GetElapsedTime(start).TotalMilliseconds, 1),
            },
        };
    }

    /// <summary>Discs that hold the markers and what stands beside them, such as a box or initials: their edges are no anatomy.</summary>
    private static List<(PixelPoint Centre, double RadiusPixels)> Places(IReadOnlyList<FoundMarker>? markers)
        => [.. (markers ?? []).Where(marker => marker.HeightPixels > 0).Select(marker => (marker.Center, Math.Max(MarkerReachInHeights * marker.HeightPixels!.Value, marker.HeightPixels.Value + Farthest(marker))))];

    // A word reaches farther than a letter.
    private static double Farthest(FoundMarker marker) => marker.Word is null ? 0 : (marker.Corners ?? []).Select(corner => corner.DistancePixelsTo(marker.Center)).DefaultIfEmpty(0).Max();
}
