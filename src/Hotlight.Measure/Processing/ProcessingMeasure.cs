using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Artifacts;
using Hotlight.Measure.Document;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Processing;

/// <summary>Looks for signs of what was done to the pixels after the exposure, so that a critique knows what it judges.</summary>
/// <remarks>
/// <para>Method, limits and measured accuracy: docs/methods/processing.md. A sign says what the pixels look like; which program did it, and whether on purpose, they do not say.</para>
/// <para>Holds when: the field is found. No sign means none above the limits: a window, a turn by a quarter or a mirror leave none.</para>
/// </remarks>
public static class ProcessingMeasure
{
    private const double FieldMarginPixels = 16;

    // A value that is missing although this many pixels are expected of it: chance exp(−30).
    private const double LeastExpected = 30;
    private const double LeastGapShare = 0.02;
    private const int LeastGaps = 4;

    // Blocks: the step across a border over that within, and its standard deviations, in both directions. Set on pictures encoded at known quality, docs/methods/processing.md.
    private const double LeastBlockRatio = 1.04;
    private const double LeastBlockSigmas = 5;

    // Interpolation: power of the strongest period over the spectrum's median. 512 exponential values pass ln(512)/ln 2 + 20 = 29 times their median with a chance below 1e-6; anatomy adds to that.
    private const double LeastPeriodicity = 60;

    // Overshoot beside the skin line, in percent of the step and in its standard deviations.
    private const double LeastOvershootPercent = 3;
    private const double LeastOvershootSigmas = 4;

    // Rise of the noise spectrum with frequency, in ln(power): a receptor's falls. Rings of the averaged spectrum are known to a few hundredths.
    private const double LeastRise = 0.25;

    // Power at 0.42 to 0.48 over 0.1 to 0.2 cycles per pixel, in ln: a receptor's white and blurred noise stays above −5 in all measured (docs/methods/processing.md).
    private const double MostFall = -6.5;

    private const int LeastStrokes = 40;

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <param name="display">The display section of the same radiograph: its overshoot is one of the signs.</param>
    public static Figure<ProcessingMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, Figure<DisplayMeasurement> display)
        => Measure(radiograph, regions, options, display, histogram: null);

    internal static Figure<ProcessingMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, Figure<DisplayMeasurement> display, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(display);
        if (!regions.Field.IsMeasured)
        {
            return Figure<ProcessingMeasurement>.CannotTell("Signs of processing are looked for inside the exposed field, and the field could not be told.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        FieldSpan span = FieldSpan.Of(radiograph.Rows, radiograph.Columns, regions.Field.Value.Outline, FieldMarginPixels);
        var signs = new List<ProcessingSign>();
        var cannot = new List<string>();
        AddGaps(radiograph, histogram, signs);
        AddMask(regions.Field.Value, signs);
        AddStrokes(radiograph, signs);
        bool hasBlocks = AddTraces(radiograph, span, signs);
        AddOvershoot(display, signs, cannot);
        AddSpectrum(radiograph, span, hasBlocks, signs, cannot);
        List<ProcessingSign> ordered = [.. signs.OrderByDescending(sign => sign.Confidence)];
        return Figure<ProcessingMeasurement>.Measured(new ProcessingMeasurement
        {
            Signs = [.. ordered.Select(sign => sign.Sentence)],
            Details = ordered,
            CannotTell = cannot.Count == 0 ? null : cannot,
        });
    }

    private static void AddGaps(Radiograph radiograph, FieldHistogram histogram, List<ProcessingSign> signs)
    {
        if (histogram.FieldPixels == 0)
        {
            return;
        }

        int low = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 0.01), high = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 0.99);
        int reach = 3 + ((high - low) / 50);
        if (high - low < 32)
        {
            return;
        }

        // Expected of a value: the mean over a window around it, with a mask's or saturation's single value cut to a few times the usual.
        long usual = Math.Max(1, 4 * histogram.FieldPixels / (high - low + 1)), window = 0;
        int gaps = 0, judged = 0;
        for (int value = low - reach; value <= low + reach; value++)
        {
            window += Count(value);
        }

        for (int value = low; value <= high; value++)
        {
            if ((double)window / ((2 * reach) + 1) >= LeastExpected)
            {
                judged++;
                gaps += Count(value) == 0 ? 1 : 0;
            }

            window += Count(value + reach + 1) - Count(value - reach);
        }

        double share = judged == 0 ? 0 : (double)gaps / judged;
        if (gaps >= LeastGaps && share >= LeastGapShare)
        {
            signs.Add(Sign(
                ProcessingKind.HistogramGaps,
                share / LeastGapShare,
                100 * share,
                string.Create(CultureInfo.InvariantCulture, $"{gaps} of {judged} grey values that should occur are missing ({100 * share:0.#} %): fewer grey steps were spread over more.")));
        }

        long Count(int value) => value >= 0 && value < histogram.Field.Length ? Math.Min(usual, histogram.Field[value]) : 0;
    }

    private static void AddMask(FieldMeasurement field, List<ProcessingSign> signs)
    {
        string[] sides = [.. field.Sides.Where(side => side.Edge == FieldEdge.Mask).Select(side => side.Side.ToString().ToLowerInvariant())];
        if (sides.Length > 0)
        {
            signs.Add(Sign(ProcessingKind.Mask, 3, sides.Length, $"The image is covered with one constant value beyond the {string.Join(", ", sides)} side of the field: a mask or an electronic crop, so the exposed field may be larger than what is seen."));
        }
    }

    private static void AddStrokes(Radiograph radiograph, List<ProcessingSign> signs)
    {
        (int runs, PixelPoint middle) = DrawnStrokes.Count(radiograph);
        if (runs >= LeastStrokes)
        {
            signs.Add(Sign(
                ProcessingKind.DrawnText,
                (double)runs / LeastStrokes,
                runs,
                string.Create(CultureInfo.InvariantCulture, $"Strokes of exactly one value with edges one pixel wide, about column {middle.X:0}, row {middle.Y:0}: letters or lines drawn into the image.")));
        }
    }

    private static bool AddTraces(Radiograph radiograph, FieldSpan span, List<ProcessingSign> signs)
    {
        PixelTraces along = PixelTraces.Of(radiograph.Pixels, span, alongRows: true), down = PixelTraces.Of(radiograph.Pixels, span, alongRows: false);
        (double Ratio, double Sigmas) one = along.BlockRatio(), other = down.BlockRatio();
        bool blocks = Math.Min(one.Ratio, other.Ratio) >= LeastBlockRatio && Math.Min(one.Sigmas, other.Sigmas) >= LeastBlockSigmas;
        if (blocks)
        {
            double ratio = Math.Sqrt(one.Ratio * other.Ratio);
            signs.Add(Sign(
                ProcessingKind.LossyBlocks,
                Math.Min(one.Sigmas, other.Sigmas) / LeastBlockSigmas,
                ratio,
                string.Create(CultureInfo.InvariantCulture, $"Steps at every eighth pixel are {100 * (ratio - 1):0.#} % larger than between: compression in blocks that loses fine detail{(radiograph.LossyCompressed == true ? ", as the file says" : string.Empty)}.")));
        }
        else if (radiograph.LossyCompressed == true)
        {
            signs.Add(Sign(ProcessingKind.LossyBlocks, 3, null, "The file says that it was compressed with loss; the pixels show no blocks of eight."));
        }

        if (along.Periodicity(blocks) is { } x && down.Periodicity(blocks) is { } y && Math.Min(x.Ratio, y.Ratio) >= LeastPeriodicity && Math.Abs(x.Frequency - y.Frequency) < 0.01)
        {
            double period = 2 / (x.Frequency + y.Frequency);
            signs.Add(Sign(
                ProcessingKind.Upsampling,
                Math.Min(x.Ratio, y.Ratio) / LeastPeriodicity,
                Math.Round(period, 2),
                string.Create(CultureInfo.InvariantCulture, $"How fine the detail is varies every {period:0.0#} pixels along rows and columns alike: the image was resampled, so its pixels are not the receptor's.")));
        }

        return blocks;
    }

    private static void AddOvershoot(Figure<DisplayMeasurement> display, List<ProcessingSign> signs, List<string> cannot)
    {
        if (!display.IsMeasured || display.Value.EdgeOvershootPercent is not { } percent || display.Value.EdgeOvershootPercentUncertainty is not { } sigma)
        {
            cannot.Add("Overshoot beside edges is looked for along the skin line, and too little of it borders on direct exposure that is not at the end of the scale.");
            return;
        }

        if (percent >= LeastOvershootPercent && percent >= LeastOvershootSigmas * sigma)
        {
            signs.Add(Sign(
                ProcessingKind.EdgeEnhancement,
                Math.Min(percent / LeastOvershootPercent, percent / (LeastOvershootSigmas * Math.Max(sigma, 1e-9))),
                percent,
                string.Create(CultureInfo.InvariantCulture, $"Beside the skin line the values overshoot by {percent:0.#} % of the step: edges were enhanced.")));
        }
    }

    private static void AddSpectrum(Radiograph radiograph, FieldSpan span, bool hasBlocks, List<ProcessingSign> signs, List<string> cannot)
    {
        var identity = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < identity.Length; value++)
        {
            identity[value] = value;
        }

        if (FieldSpectrum.Of(radiograph.Pixels, identity, span, mostTiles: 16) is not { } spectrum)
        {
            cannot.Add("The field is too small to judge its noise by frequency.");
            return;
        }

        const int Rings = 25;
        double[] rings = spectrum.Rings(Rings);

        // Ring k is about (k + 0.5)·0.02 cycles per pixel.
        double rise = 0;
        int from = 0, to = 0;
        for (int low = 3, best = 3; low < Rings - 1; low++)
        {
            best = rings[low] < rings[best] ? low : best;
            if (rings[low] - rings[best] > rise)
            {
                rise = rings[low] - rings[best];
                (from, to) = (best, low);
            }
        }

        if (rise >= LeastRise && !hasBlocks)
        {
            signs.Add(Sign(
                ProcessingKind.EdgeEnhancement,
                rise / LeastRise,
                Math.Exp(rise),
                string.Create(CultureInfo.InvariantCulture, $"Noise is {Math.Exp(rise):0.0} times as strong (power) at {(to + 0.5) * 0.02:0.00} as at {(from + 0.5) * 0.02:0.00} cycles per pixel: fine detail was raised, a receptor's own noise falls with frequency.")));
        }

        double fine = (rings[21] + rings[22] + rings[23]) / 3, middle = (rings[5] + rings[6] + rings[7] + rings[8] + rings[9]) / 5;
        if (fine - middle < MostFall && !signs.Exists(sign => sign.Kind == ProcessingKind.Upsampling))
        {
            signs.Add(Sign(
                ProcessingKind.Smoothing,
                (fine - middle) / MostFall,
                Math.Exp(fine - middle),
                "The finest detail is nearly empty, of noise too: the image was smoothed, strongly compressed, or made from fewer pixels."));
        }
    }

    private static ProcessingSign Sign(ProcessingKind kind, double strength, double? figure, string sentence) => new()
    {
        Kind = kind,
        Confidence = Math.Round(1 - (0.5 * Math.Exp(1 - Math.Max(1, strength))), 3),
        Figure = figure is { } value ? Math.Round(value, 3) : null,
        Sentence = sentence,
    };
}
