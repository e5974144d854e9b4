using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Web;

/// <summary>A window from the image's own statistics, as the viewer takes it.</summary>
/// <param name="Id">Identifier.</param>
/// <param name="Label">What it spreads over the range of grey, in few words.</param>
/// <param name="Detail">Its rule, one sentence; or why the image does not give it.</param>
/// <param name="Key">The key that chooses it.</param>
/// <param name="Window">The window; null where the image does not give it.</param>
public sealed record WindowChoice(string Id, string Label, string Detail, string Key, ViewerWindow? Window);

/// <summary>Windows from the image's own statistics: each is named by what it spreads.</summary>
/// <remarks>
/// Whole range: lowest to highest value that is not padding. Anatomy: its 5th to 95th percentile. Halves: from its median to half a percent off either end.
/// Percentiles of the anatomy are those of the measurement document's histogram, with values spread evenly within a bin: true to a bin's width, a sixty-fourth of the field's range.
/// Which values are dense follows from the document's bone shade.
/// </remarks>
public static class WindowChoices
{
    private const string NotFound = "Cannot tell: the anatomy was not found in this image.";

    /// <summary>The choices for a radiograph, always five.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="measurements">What was measured on it.</param>
    public static IReadOnlyList<WindowChoice> Of(Radiograph radiograph, MeasurementDocument measurements)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(measurements);
        DisplayMeasurement? display = measurements.Display.Value;
        ValueHistogram? histogram = display?.Histogram;
        (double low, double high) = Range(radiograph);
        ViewerWindow? dense = null, thin = null;
        if (histogram is not null && measurements.Image.Value is { } image)
        {
            // The document tells bone by its shade in the file's own polarity.
            bool pixelsRiseWithBone = (image.BoneIs == BoneShade.Dark) == radiograph.HighIsShownDark;
            bool valuesRiseWithBone = pixelsRiseWithBone == Rises(radiograph);
            (ViewerWindow? lower, ViewerWindow? upper) = (Between(histogram, 0.005, 0.5), Between(histogram, 0.5, 0.995));
            (dense, thin) = valuesRiseWithBone ? (upper, lower) : (lower, upper);
        }

        return
        [
            new("whole", "whole range", "Lowest to highest value of the image.", "5", Limits(low, high)),
            new("anatomy", "anatomy", Or("The middle nine tenths of the anatomy.", histogram), "6", histogram is null ? null : Between(histogram, 0.05, 0.95)),
            new("proposed", "proposed", display?.ProposedWindowRule ?? NotFound, "7", display is { ProposedWindowCenter: { } center, ProposedWindowWidth: { } width } ? new ViewerWindow(center, width, "linear-exact") : null),
            new("dense", "dense half", Or("Bone and what else is dense: from the anatomy's median on.", histogram), "8", dense),
            new("thin", "thin half", Or("Soft tissue and air: up to the anatomy's median.", histogram), "9", thin),
        ];
    }

    /// <summary>The modality value below which a share of the anatomy lies.</summary>
    /// <param name="histogram">The histogram.</param>
    /// <param name="fraction">The share, 0 to 1.</param>
    /// <returns>Null where no pixel was counted.</returns>
    internal static double? Quantile(ValueHistogram histogram, double fraction)
    {
        long total = histogram.Anatomy.Sum();
        double wanted = fraction * total;
        double seen = 0;
        for (int bin = 0; bin < histogram.Anatomy.Count && total > 0; bin++)
        {
            long count = histogram.Anatomy[bin];
            if (count > 0 && seen + count >= wanted)
            {
                return histogram.From + (histogram.BinWidth * (bin + ((wanted - seen) / count)));
            }

            seen += count;
        }

        return null;
    }

    private static ViewerWindow? Between(ValueHistogram histogram, double from, double to)
        => Quantile(histogram, from) is { } low && Quantile(histogram, to) is { } high ? Limits(low, high) : null;

    private static ViewerWindow? Limits(double low, double high)
        => high > low ? new ViewerWindow(Rounded((low + high) / 2), Rounded(high - low), "linear-exact") : null;

    // Six digits are more than the fields beside the image show.
    private static double Rounded(double value) => double.Parse(value.ToString("G6", CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);

    private static string Or(string rule, ValueHistogram? histogram) => histogram is null ? NotFound : rule;

    private static bool Rises(Radiograph radiograph)
        => radiograph.Modality.Apply(radiograph.StoredMinimum + radiograph.PixelMaximum) >= radiograph.Modality.Apply(radiograph.StoredMinimum);

    /// <summary>Lowest and highest modality value of the pixels that are not padding.</summary>
    private static (double Low, double High) Range(Radiograph radiograph)
    {
        var isThere = new bool[radiograph.PixelMaximum + 1];
        foreach (ushort value in radiograph.Pixels.Samples)
        {
            isThere[value] = true;
        }

        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        for (int value = 0; value < isThere.Length; value++)
        {
            if (isThere[value] && radiograph.Padding?.Contains(value + radiograph.StoredMinimum) != true)
            {
                double modality = radiograph.Modality.Apply(value + radiograph.StoredMinimum);
                (low, high) = (Math.Min(low, modality), Math.Max(high, modality));
            }
        }

        return (low, high);
    }
}
