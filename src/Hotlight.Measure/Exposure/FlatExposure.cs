using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Exposure;

/// <summary>The signal of a flat exposure, with nothing in the beam, at the middle of the receptor.</summary>
/// <param name="ModalityValue">Median modality value over the middle.</param>
/// <param name="SpreadPercent">How much the means of its 16 parts differ: their standard deviation over their mean pixel range used, in percent of the mean.</param>
/// <param name="Pixels">Number of pixels.</param>
public sealed record FlatExposure(double ModalityValue, double SpreadPercent, long Pixels)
{
    private const int LeastSide = 32;
    private const int Parts = 4;

    // A beam's heel and inverse square change the middle quarter of a receptor by a few percent; an object or an edge by far more.
    private const double MostSpreadPercent = 10;

    /// <summary>Measures the middle square, a quarter of the shorter side wide, where the kerma meter is read.</summary>
    /// <param name="radiograph">The exposure; borrowed.</param>
    /// <returns>Cannot-tell where the pixels are for presentation, clipped or not flat.</returns>
    public static Figure<FlatExposure> Measure(Radiograph radiograph)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        if (radiograph.PresentationIntent == PresentationIntent.ForPresentation)
        {
            return Figure<FlatExposure>.CannotTell("the pixels were processed for presentation, so they no longer follow the exposure; give the image for processing.");
        }

        int side = Math.Min(radiograph.Rows, radiograph.Columns) / 4 / Parts * Parts;
        if (side < LeastSide)
        {
            return Figure<FlatExposure>.CannotTell(string.Create(CultureInfo.InvariantCulture, $"the image has {radiograph.Columns} × {radiograph.Rows} pixels; the middle of a flat exposure needs {4 * LeastSide} at least each way."));
        }

        var counts = new long[radiograph.PixelMaximum + 1];
        int top = (radiograph.Rows - side) / 2;
        int left = (radiograph.Columns - side) / 2;
        var means = new double[Parts * Parts];
        for (int row = 0; row < side; row++)
        {
            ReadOnlySpan<ushort> line = radiograph.Pixels.Row(top + row).Slice(left, side);
            for (int column = 0; column < side; column++)
            {
                counts[line[column]]++;
                means[(row * Parts / side * Parts) + (column * Parts / side)] += line[column];
            }
        }

        long pixels = (long)side * side;
        if (counts[0] + counts[^1] > pixels / 100)
        {
            return Figure<FlatExposure>.CannotTell("its middle lies at the end of the pixel range, where the signal is clipped; give a lower or a higher exposure.");
        }

        long half = 0;
        int median = 0;
        while ((half += counts[median]) * 2 < pixels)
        {
            median++;
        }

        double mean = means.Sum() / pixels;
        double part = (double)pixels / means.Length;
        double spread = 100 * Math.Sqrt(means.Sum(sum => ((sum / part) - mean) * ((sum / part) - mean)) / means.Length) / Math.Max(1, mean);
        return spread > MostSpreadPercent
            ? Figure<FlatExposure>.CannotTell(string.Create(CultureInfo.InvariantCulture, $"its middle is not flat: parts of it differ by {spread:0} %; expose with nothing in the beam and the field open over the middle."))
            : Figure<FlatExposure>.Measured(new FlatExposure(radiograph.Modality.Apply(median + radiograph.StoredMinimum), spread, pixels));
    }
}
