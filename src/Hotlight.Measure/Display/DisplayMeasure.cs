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
    // The proposed window: tail left out at each end, and how much wider at each end, both as shares. A window that ends exactly at the anatomy shows its ends black and white.
    private const double ProposedTail = 0.005;
    private const double ProposedMargin = 0.05;

    // The histogram reaches over all but this share of the field at each end; what lies beyond is counted in its end bins.
    private const double HistogramTail = 0.001;
    private const int HistogramBins = 64;

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

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        if (ShownBrightness.Of(radiograph, histogram) is not { } shown)
        {
            return Figure<DisplayMeasurement>.CannotTell("Brightness and contrast are measured over the anatomy, and no pixel of the image is anatomy.");
        }

        (double below, double above) = OutsideWindow(radiograph, histogram, shown);
        double one = Modality(radiograph, FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, ProposedTail));
        double other = Modality(radiograph, FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, 1 - ProposedTail));
        (double Percent, double Sigma)? overshoot = EdgeOvershoot.Of(radiograph, regions);
        return Figure<DisplayMeasurement>.Measured(new DisplayMeasurement
        {
            WindowCenter = Math.Round(shown.Center, 3),
            WindowWidth = Math.Round(shown.Width, 3),
            ContrastPercent = Math.Round(100 * (shown.Brightest - shown.Darkest), 2),
            MeanBrightnessPercent = Math.Round(100 * shown.Mean, 2),
            WindowBasis = shown.Basis,
            BelowWindowPercentOfAnatomy = Math.Round(below, 2),
            AboveWindowPercentOfAnatomy = Math.Round(above, 2),
            ProposedWindowCenter = Math.Round((one + other) / 2, 3),
            ProposedWindowWidth = Math.Round(Math.Max(1, Math.Abs(other - one) * (1 + (2 * ProposedMargin))), 3),
            ProposedWindowRule = "From the 0.5th to the 99.5th percentile of the anatomy, a twentieth of that wider at both ends.",
            EdgeOvershootPercent = overshoot is { } seen ? Math.Round(seen.Percent, 2) : null,
            EdgeOvershootPercentUncertainty = overshoot is { } with ? Math.Round(with.Sigma, 2) : null,
            Histogram = Bins(radiograph, histogram),
        });
    }

    private static double Modality(Radiograph radiograph, int value) => radiograph.Modality.Apply(value + radiograph.StoredMinimum);

    /// <summary>Shares of the anatomy that the window shows within half of 1/255 of either end of the brightness: nothing can be told apart there on an 8-bit display.</summary>
    private static (double Below, double Above) OutsideWindow(Radiograph radiograph, FieldHistogram histogram, ShownBrightness shown)
    {
        const float Grain = 0.5f / 255;
        long below = 0, above = 0;
        for (int value = 0; value < histogram.Anatomy.Length; value++)
        {
            float brightness = shown.FractionByPixelValue[value];
            if (histogram.Anatomy[value] > 0 && (brightness <= Grain || brightness >= 1 - Grain))
            {
                if (Modality(radiograph, value) < shown.Center)
                {
                    below += histogram.Anatomy[value];
                }
                else
                {
                    above += histogram.Anatomy[value];
                }
            }
        }

        return (100.0 * below / histogram.AnatomyPixels, 100.0 * above / histogram.AnatomyPixels);
    }

    private static ValueHistogram? Bins(Radiograph radiograph, FieldHistogram histogram)
    {
        double one = Modality(radiograph, FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, HistogramTail));
        double other = Modality(radiograph, FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 1 - HistogramTail));
        double from = Math.Min(one, other), width = Math.Abs(other - one) / HistogramBins;
        if (!(width > 0))
        {
            return null;
        }

        var field = new long[HistogramBins];
        var anatomy = new long[HistogramBins];
        for (int value = 0; value < histogram.Field.Length; value++)
        {
            if (histogram.Field[value] > 0)
            {
                int bin = (int)Math.Clamp((Modality(radiograph, value) - from) / width, 0, HistogramBins - 1);
                field[bin] += histogram.Field[value];
                anatomy[bin] += histogram.Anatomy[value];
            }
        }

        return new ValueHistogram { From = from, BinWidth = width, Field = field, Anatomy = anatomy };
    }
}
