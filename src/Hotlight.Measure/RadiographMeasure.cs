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

        RadiographRegions regions = RegionFinder.Find(radiograph, options);
        FieldHistogram histogram = FieldHistogram.Count(radiograph, regions.Map);

        // Two lines of work that need nothing of each other.
        Figure<ExposureMeasurement> exposure = null!;
        Figure<MottleMeasurement> mottle = null!;
        Figure<ClippingMeasurement> clipping = null!;
        Figure<DisplayMeasurement> display = null!;
        Figure<MarkersMeasurement> markers = null!;
        Figure<ArtifactsMeasurement> artifacts = null!;
        Figure<ProcessingMeasurement> processing = null!;
        Figure<SharpnessMeasurement> sharpness = null!;
        Parallel.Invoke(
            () =>
            {
                markers = MarkersMeasure.Measure(radiograph, regions, options);
                artifacts = ArtifactMeasure.Measure(radiograph, regions, options, markers.Value?.Found, histogram);
            },
            () =>
            {
                exposure = ExposureMeasure.Measure(radiograph, regions, options, histogram);
                mottle = MottleMeasure.Measure(radiograph, regions, options, histogram, exposure);
                clipping = ClippingMeasure.Measure(radiograph, regions, options, histogram);
                display = DisplayMeasure.Measure(radiograph, regions, options, histogram);
                processing = ProcessingMeasure.Measure(radiograph, regions, options, display, histogram);
                sharpness = SharpnessMeasure.Measure(radiograph, regions, options, histogram, excluded: []);
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
            Markers = markers,
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
}
