using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Display;

/// <summary>How the image is shown: the window, and the brightness and contrast it gives the anatomy.</summary>
/// <remarks>
/// <para>Method: modality transform, window or VOI table, polarity (PS3.4 N.2), over the histogram of the anatomy: the mean brightness, and its 5th to 95th percentile as the contrast. docs/methods/display.md.</para>
/// <para>Holds when: the anatomy is measured. Brightness is the presentation value as a share of its range, not luminance: a display calibrated by PS3.14 makes equal steps of it look equal.</para>
/// </remarks>
public static class DisplayMeasure
{
    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<DisplayMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Measure(radiograph, regions, options, histogram: null);

    internal static Figure<DisplayMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        if (!regions.Anatomy.IsMeasured)
        {
            return Figure<DisplayMeasurement>.CannotTell("Brightness and contrast are measured over the anatomy, and the anatomy could not be told from the rest of the image.");
        }

        if (ShownBrightness.Of(radiograph, histogram ?? FieldHistogram.Count(radiograph, regions.Map)) is not { } shown)
        {
            return Figure<DisplayMeasurement>.CannotTell("Brightness and contrast are measured over the anatomy, and no pixel of the image is anatomy.");
        }

        return Figure<DisplayMeasurement>.Measured(new DisplayMeasurement
        {
            WindowCenter = Math.Round(shown.Center, 3),
            WindowWidth = Math.Round(shown.Width, 3),
            ContrastPercent = Math.Round(100 * (shown.Brightest - shown.Darkest), 2),
            MeanBrightnessPercent = Math.Round(100 * shown.Mean, 2),
            WindowBasis = shown.Basis,
        });
    }
}
