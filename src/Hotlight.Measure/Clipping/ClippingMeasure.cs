using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Clipping;

/// <summary>Signal of the anatomy that is lost at either end of the pixel range, and skin line that is burned out.</summary>
/// <remarks>
/// <para>Method: the share of anatomy pixels at the limits, 0 and 2^bits − 1, or the value at which the field's histogram stops in a spike; the skin line from the profiles across it. docs/methods/clipping.md.</para>
/// <para>Holds when: the anatomy is measured. What only the window hides is not counted as lost, since the pixels still hold it; it is given apart.</para>
/// <para>Not: saturated direct exposure, which is no fault.</para>
/// </remarks>
public static class ClippingMeasure
{
    // Below it single stretches of outline are lost, beside a fold or a drawn letter, and what lies behind them hardly counts.
    private const double LostOutlinePercent = 5;

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<ClippingMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Measure(radiograph, regions, options, histogram: null);

    internal static Figure<ClippingMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        if (!regions.Anatomy.IsMeasured)
        {
            return Figure<ClippingMeasurement>.CannotTell("Clipping is counted over the anatomy, and the anatomy could not be told from the rest of the image.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        if (histogram.AnatomyPixels == 0)
        {
            return Figure<ClippingMeasurement>.CannotTell("Clipping is counted over the anatomy, and no pixel of the image is anatomy.");
        }

        SignalLimits limits = SignalLimits.Find(radiograph, histogram);
        (double high, double highUncertainty) = Share(histogram, limits.High, radiograph.PixelMaximum);
        (double low, double lowUncertainty) = Share(histogram, 0, limits.Low);
        bool highIsExposure = regions.ExposureSign > 0;
        int saturation = limits.Saturation(regions.ExposureSign);
        SkinLine skin = SkinLine.Examine(radiograph, regions, saturation, FallBelow(radiograph, options, saturation));
        double? lostPercent = null;
        double? lostUncertainty = null;
        if (skin.ExaminedPixels > SkinLine.CorrelationPixels)
        {
            double share = skin.LostPixels / skin.ExaminedPixels;
            double pieces = skin.ExaminedPixels / SkinLine.CorrelationPixels;

            // Agresti and Coull's form keeps the deviation above 0 at shares of 0 and 1.
            double shifted = ((share * pieces) + 2) / (pieces + 4);
            lostPercent = Math.Round(100 * share, 2);
            lostUncertainty = Math.Round(100 * Math.Sqrt(shifted * (1 - shifted) / (pieces + 4)), 2);
        }

        (double black, double white)? hidden = HiddenByWindow(radiograph, histogram, limits);
        bool isLost = high > 0 || low > 0;
        return Figure<ClippingMeasurement>.Measured(new ClippingMeasurement
        {
            LimitSetBy = !isLost ? null : radiograph.PresentationIntent == PresentationIntent.ForProcessing ? "receptor" : "receptor or rendering",
            ShownBlackPercentOfAnatomy = hidden?.black,
            ShownWhitePercentOfAnatomy = hidden?.white,
            SaturatedPercentOfAnatomy = highIsExposure ? high : low,
            SaturatedIsAtLeast = lostPercent >= LostOutlinePercent ? true : null,
            SaturatedPercentOfAnatomyUncertainty = highIsExposure ? highUncertainty : lowUncertainty,
            FloorPercentOfAnatomy = highIsExposure ? low : high,
            FloorPercentOfAnatomyUncertainty = highIsExposure ? lowUncertainty : highUncertainty,
            SkinLineLostPercent = lostPercent,
            SkinLineLostPercentUncertainty = lostUncertainty,
            LostSkinLines = skin.Lost,
        });
    }

    /// <summary>Anatomy between the limits that the window shows within one just-noticeable difference of black and of white, in percent; null where no window shows the anatomy.</summary>
    private static (double Black, double White)? HiddenByWindow(Radiograph radiograph, FieldHistogram histogram, SignalLimits limits)
    {
        if (ShownBrightness.Of(radiograph, histogram) is not { } shown)
        {
            return null;
        }

        double least = 1 / JustNoticeableDifference.OfFullRange;
        long black = 0;
        long white = 0;
        for (int value = limits.Low + 1; value < limits.High; value++)
        {
            float brightness = shown.FractionByPixelValue[value];
            black += brightness < least ? histogram.Anatomy[value] : 0;
            white += brightness > 1 - least ? histogram.Anatomy[value] : 0;
        }

        return (Math.Round(100.0 * black / histogram.AnatomyPixels, 3), Math.Round(100.0 * white / histogram.AnatomyPixels, 3));
    }

    /// <summary>The share of anatomy between two values; its uncertainty is what leaving out the anatomy's rim changes.</summary>
    private static (double Percent, double UncertaintyPercent) Share(FieldHistogram histogram, int from, int to)
    {
        double all = 100.0 * Sum(histogram.Anatomy, from, to) / histogram.AnatomyPixels;
        double interior = histogram.AnatomyInteriorPixels > 0
            ? 100.0 * Sum(histogram.AnatomyInterior, from, to) / histogram.AnatomyInteriorPixels
            : all;
        return (Math.Round(all, 3), Math.Round(Math.Abs(all - interior), 3));
    }

    private static long Sum(long[] counts, int from, int to)
    {
        long sum = 0;
        for (int value = from; value <= to; value++)
        {
            sum += counts[value];
        }

        return sum;
    }

    /// <summary>How far each value lies below the saturation value: in ln(exposure) where the relation is known, in pixel values where it is not (a logarithmic or display scale is close to that already).</summary>
    private static double[] FallBelow(Radiograph radiograph, MeasureOptions options, int saturation)
    {
        var fall = new double[radiograph.PixelMaximum + 1];
        float[]? signal = LinearSignal.Of(radiograph, options.Calibration)?.ByPixelValue;
        bool isLogarithmic = signal is not null && signal[saturation] > 0;
        for (int value = 0; value < fall.Length; value++)
        {
            fall[value] = isLogarithmic
                ? Math.Log(signal![saturation] / Math.Max(signal[value], signal[saturation] * 1e-4))
                : Math.Abs(value - saturation);
        }

        return fall;
    }
}
