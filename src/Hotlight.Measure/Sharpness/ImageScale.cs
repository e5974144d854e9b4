using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Sharpness;

/// <summary>The scale edges are looked at on: spacing, and the value of each pixel value.</summary>
/// <remarks>Where spacing is unknown, lengths that only steer the search are set as if the image's longer side were <see cref="PresumedLongSideMm"/>; no figure in mm is then given.</remarks>
internal sealed class ImageScale
{
    /// <summary>Long side of an image of unknown spacing, in mm: a middling receptor (common practice, no source). It sets how far edges are searched, not a figure.</summary>
    internal const double PresumedLongSideMm = 300;

    /// <summary>What a pixel is taken for where places are found in pixels: a usual receptor's spacing, so that windows have their usual number of pixels.</summary>
    internal const double PixelAsMm = 0.15;

    // A factor of ten of exposure. The zero of the scale does not matter: only differences are used.
    private const double UnitsPerDecade = 1000;

    private ImageScale(double rowSpacingMm, double columnSpacingMm, bool isKnown, float[] values, bool isLogarithm)
    {
        RowSpacingMm = rowSpacingMm;
        ColumnSpacingMm = columnSpacingMm;
        IsKnown = isKnown;
        Values = values;
        IsLogarithm = isLogarithm;
    }

    /// <summary>Distance between rows, in mm.</summary>
    internal double RowSpacingMm { get; }

    /// <summary>Distance between columns, in mm.</summary>
    internal double ColumnSpacingMm { get; }

    /// <summary>Step of profiles, in mm: the smaller spacing.</summary>
    internal double StepMm => Math.Min(RowSpacingMm, ColumnSpacingMm);

    /// <summary>Whether spacing is the file's or the reader's.</summary>
    internal bool IsKnown { get; }

    /// <summary>The value of each pixel value, 0 to 2^bits − 1: the logarithm of a linear signal, else the pixel value itself.</summary>
    internal float[] Values { get; }

    /// <summary>Whether <see cref="Values"/> are logarithms of a linear signal.</summary>
    internal bool IsLogarithm { get; }

    /// <summary>The scale of a radiograph.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="options">What the caller knows.</param>
    internal static ImageScale Of(Radiograph radiograph, MeasureOptions options)
    {
        PixelSpacing? known = radiograph.ReceptorSpacing ?? options.ReceptorSpacing;
        double presumed = PresumedLongSideMm / Math.Max(radiograph.Rows, radiograph.Columns);
        float[]? signal = Exposure.LinearSignal.Of(radiograph, options.Calibration)?.ByPixelValue;
        var values = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < values.Length; value++)
        {
            // Attenuation multiplies, so that a contour has the same step on the logarithm whatever lies before and behind it.
            values[value] = signal is null ? value : (float)(UnitsPerDecade * Math.Log10(Math.Max(signal[value] > 0 ? signal[value] : 0, Smallest(signal))));
        }

        return new ImageScale(known?.RowSpacingMm ?? presumed, known?.ColumnSpacingMm ?? presumed, known is not null, values, signal is not null);
    }

    /// <summary>Pixel values as they are, on square pixels of <see cref="PixelAsMm"/>: for places in the image, whatever its spacing.</summary>
    /// <param name="radiograph">The radiograph.</param>
    internal static ImageScale InPixels(Radiograph radiograph)
    {
        var values = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < values.Length; value++)
        {
            values[value] = value;
        }

        return new ImageScale(PixelAsMm, PixelAsMm, isKnown: false, values, isLogarithm: false);
    }

    private static float Smallest(float[] signal)
    {
        foreach (float value in signal)
        {
            if (value > 0)
            {
                return value;
            }
        }

        return 1;
    }
}
