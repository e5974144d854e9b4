using Hotlight.Core;

namespace Hotlight.Imaging.Display;

/// <summary>How a radiograph's pixel values are shown: modality transform, then window or VOI table, then polarity (PS3.4 N.2).</summary>
/// <remarks>See docs/methods/reading.md#display. The window is the given one, else the file's first, else one from the image itself; <see cref="InUse"/> says which.</remarks>
public static class DisplayTable
{
    /// <summary>Shares of the pixels left darker and lighter than a window made from the image itself. Common practice, no source.</summary>
    private const double FallbackTailFraction = 0.01;

    /// <summary>The brightness at which each pixel value is shown, 0 (black) to 1 (white), for every value 0 to <see cref="Radiograph.PixelMaximum"/>.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="window">The window or table to use; null for the one in use.</param>
    public static float[] Create(Radiograph radiograph, VoiTransform? window = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        window ??= InUse(radiograph);
        float[] table = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < table.Length; value++)
        {
            double shown = Show(radiograph.Modality.Apply(value + radiograph.StoredMinimum), window);
            table[value] = (float)(radiograph.HighIsShownDark ? 1 - shown : shown);
        }

        return table;
    }

    /// <summary>The window a radiograph is shown with when none is given: the file's first (<see cref="WindowBasis.File"/>), else one from the image itself (<see cref="WindowBasis.Image"/>).</summary>
    /// <remarks>
    /// The window from the image runs from the 1st to the 99th percentile of the modality values of all pixels that are not padding and lie inside the shutter.
    /// </remarks>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    public static VoiTransform InUse(Radiograph radiograph)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        return radiograph.Windows.FirstOrDefault(IsUsable) ?? FromImage(radiograph);
    }

    /// <summary>The radiograph as it is shown, 0 (black) to 255 (white), rows × columns.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="window">The window or table to use; null for the one in use.</param>
    public static Raster<byte> Render(Radiograph radiograph, VoiTransform? window = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        float[] table = Create(radiograph, window);
        byte[] grey = new byte[table.Length];
        for (int value = 0; value < grey.Length; value++)
        {
            grey[value] = (byte)Math.Round(table[value] * 255f);
        }

        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        Raster<byte> picture = new(pixels.Rows, pixels.Columns);
        Parallel.For(0, pixels.Rows, row =>
        {
            ReadOnlySpan<ushort> from = pixels.Row(row);
            Span<byte> to = picture.Row(row);
            for (int column = 0; column < from.Length; column++)
            {
                to[column] = grey[from[column]];
            }
        });
        return picture;
    }

    /// <summary>The output of a window or table for a modality value, 0 to 1, before polarity.</summary>
    private static double Show(double value, VoiTransform window)
    {
        if (window.Table is { } lookup)
        {
            return lookup[(int)Math.Clamp(Math.Round(value), int.MinValue / 2, int.MaxValue / 2)] / (double)((1 << lookup.BitsPerEntry) - 1);
        }

        double c = window.Center;
        double w = window.Width;
        switch (window.Function)
        {
            case WindowFunction.Sigmoid:
                return 1 / (1 + Math.Exp(-4 * (value - c) / w));
            case WindowFunction.LinearExact:
                return value <= c - (w / 2) ? 0 : value > c + (w / 2) ? 1 : ((value - c) / w) + 0.5;
            default:
                double half = (w - 1) / 2;
                return value <= c - 0.5 - half ? 0 : value > c - 0.5 + half ? 1 : ((value - (c - 0.5)) / (w - 1)) + 0.5;
        }
    }

    private static bool IsUsable(VoiTransform window)
        => window.Table is not null
            ? window.Table.Entries.Length > 1
            : double.IsFinite(window.Center) && double.IsFinite(window.Width) && (window.Function == WindowFunction.Linear ? window.Width >= 1 : window.Width > 0);

    private static VoiTransform FromImage(Radiograph radiograph)
    {
        long[] counts = Histogram(radiograph);
        long total = counts.Sum();
        int low = 0;
        int high = radiograph.PixelMaximum;
        if (total > 0)
        {
            low = Percentile(counts, (long)Math.Ceiling(FallbackTailFraction * total));
            high = Percentile(counts, (long)Math.Ceiling((1 - FallbackTailFraction) * total));
        }

        double first = radiograph.Modality.Apply(low + radiograph.StoredMinimum);
        double last = radiograph.Modality.Apply(high + radiograph.StoredMinimum);
        double from = Math.Min(first, last);
        double to = Math.Max(Math.Max(first, last), from + 1e-6);
        return new VoiTransform
        {
            Center = (from + to) / 2,
            Width = to - from,
            Function = WindowFunction.LinearExact,
            Basis = WindowBasis.Image,
            Explanation = "from the image itself: its 1st to 99th percentile",
        };
    }

    private static long[] Histogram(Radiograph radiograph)
    {
        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        long[] counts = new long[radiograph.PixelMaximum + 1];
        (int top, int bottom, int left, int right) = (0, pixels.Rows - 1, 0, pixels.Columns - 1);
        if (radiograph.Shutter is { Count: > 0 } shutter)
        {
            top = Math.Clamp((int)Math.Ceiling(shutter.Min(point => point.Y)), 0, pixels.Rows - 1);
            bottom = Math.Clamp((int)shutter.Max(point => point.Y), top, pixels.Rows - 1);
            left = Math.Clamp((int)Math.Ceiling(shutter.Min(point => point.X)), 0, pixels.Columns - 1);
            right = Math.Clamp((int)shutter.Max(point => point.X), left, pixels.Columns - 1);
        }

        for (int row = top; row <= bottom; row++)
        {
            foreach (ushort value in pixels.Row(row)[left..(right + 1)])
            {
                counts[value]++;
            }
        }

        if (radiograph.Padding is { } padding)
        {
            for (int value = Math.Max(0, padding.FromStoredValue - radiograph.StoredMinimum); value <= Math.Min(counts.Length - 1, padding.ToStoredValue - radiograph.StoredMinimum); value++)
            {
                counts[value] = 0;
            }
        }

        return counts;
    }

    private static int Percentile(long[] counts, long rank)
    {
        long seen = 0;
        for (int value = 0; value < counts.Length; value++)
        {
            seen += counts[value];
            if (seen >= rank)
            {
                return value;
            }
        }

        return counts.Length - 1;
    }
}
