using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Histogram;

namespace Hotlight.Measure.Display;

/// <summary>The window an image is judged with, and how bright it shows each pixel value.</summary>
/// <param name="FractionByPixelValue">Brightness of each pixel value, 0 (black) to 1 (white).</param>
/// <param name="Center">Window center, in modality values.</param>
/// <param name="Width">Window width, in modality values.</param>
/// <param name="Basis">"file" or "anatomy".</param>
/// <param name="Darkest">Brightness that 5 % of the anatomy's pixels do not exceed.</param>
/// <param name="Brightest">Brightness that 95 % of the anatomy's pixels do not exceed.</param>
/// <param name="Mean">Mean brightness over the anatomy.</param>
internal sealed record ShownBrightness(float[] FractionByPixelValue, double Center, double Width, string Basis, double Darkest, double Brightest, double Mean)
{
    // A window that spreads the anatomy over less than 2 % of the brightness shows nothing of it.
    private const double LeastContrast = 0.02;
    private const double TailFraction = 0.005;

    /// <summary>The first window of the file that shows the anatomy, else one over its 0.5th to 99.5th percentile; null where no pixel is anatomy.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="histogram">Its histogram.</param>
    public static ShownBrightness? Of(Radiograph radiograph, FieldHistogram histogram)
    {
        if (histogram.AnatomyPixels == 0)
        {
            return null;
        }

        foreach (VoiTransform window in radiograph.Windows)
        {
            bool usable = window.Table is { } table
                ? table.Entries.Length > 1
                : double.IsFinite(window.Center) && double.IsFinite(window.Width) && window.Width >= (window.Function == WindowFunction.Linear ? 1 : double.Epsilon);
            if (usable && With(radiograph, histogram, window, "file") is { } shown && shown.Brightest - shown.Darkest >= LeastContrast)
            {
                return shown;
            }
        }

        return With(radiograph, histogram, OverAnatomy(radiograph, histogram), "anatomy");
    }

    private static VoiTransform OverAnatomy(Radiograph radiograph, FieldHistogram histogram)
    {
        double one = radiograph.Modality.Apply(radiograph.StoredMinimum + FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, TailFraction));
        double other = radiograph.Modality.Apply(radiograph.StoredMinimum + FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, 1 - TailFraction));
        return new VoiTransform
        {
            Center = (one + other) / 2,
            Width = Math.Max(Math.Abs(other - one), 1),
            Function = WindowFunction.LinearExact,
        };
    }

    private static ShownBrightness With(Radiograph radiograph, FieldHistogram histogram, VoiTransform window, string basis)
    {
        float[] brightness = DisplayTable.Create(radiograph, window);
        int[] occurring = Enumerable.Range(0, brightness.Length).Where(value => histogram.Anatomy[value] > 0).ToArray();
        Array.Sort(occurring.Select(value => brightness[value]).ToArray(), occurring);
        double sum = 0;
        long count = 0;
        double darkest = double.NaN;
        double brightest = double.NaN;
        foreach (int value in occurring)
        {
            sum += (double)brightness[value] * histogram.Anatomy[value];
            count += histogram.Anatomy[value];
            darkest = double.IsNaN(darkest) && count >= 0.05 * histogram.AnatomyPixels ? brightness[value] : darkest;
            brightest = double.IsNaN(brightest) && count >= 0.95 * histogram.AnatomyPixels ? brightness[value] : brightest;
        }

        // A table has no center and width of its own; those of the range it maps stand for it.
        double center = window.Table is { } table ? table.FirstMapped + ((table.Entries.Length - 1) / 2.0) : window.Center;
        double width = window.Table?.Entries.Length ?? window.Width;
        return new ShownBrightness(brightness, center, width, basis, darkest, brightest, sum / histogram.AnatomyPixels);
    }
}
