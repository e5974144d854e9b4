using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;

namespace Hotlight.Poses;

/// <summary>A radiograph as it is shown, on fewer pixels: what the phantom's picture is laid beside and matched to.</summary>
/// <remarks>Both grids share their middle; a pixel is the mean of the brightness under it.</remarks>
public sealed class PoseImage
{
    private PoseImage(Raster<float> brightness, int rows, int columns, double factor)
    {
        Raster = brightness;
        ImageRows = rows;
        ImageColumns = columns;
        Factor = factor;
    }

    /// <summary>Brightness, 0 (black) to 1 (white), rows × columns.</summary>
    public ReadOnlyRaster<float> Brightness => Raster.AsReadOnly();

    /// <summary>Pixels of the radiograph along a side of one pixel of this grid, 1 or more.</summary>
    public double Factor { get; }

    /// <summary>Rows of the radiograph.</summary>
    public int ImageRows { get; }

    /// <summary>Columns of the radiograph.</summary>
    public int ImageColumns { get; }

    internal Raster<float> Raster { get; }

    /// <summary>Scales a radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="longestSide">Most pixels along the longer side, 64 to 1024.</param>
    /// <param name="window">The window it is shown with; null for the one in use.</param>
    public static PoseImage Of(Radiograph radiograph, int longestSide = 512, VoiTransform? window = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        Preconditions.Within(longestSide, 64, 1024);
        float[] table = DisplayTable.Create(radiograph, window);
        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        double factor = Math.Max(1, Math.Max(pixels.Rows, pixels.Columns) / (double)longestSide);
        int rows = Math.Max(8, (int)Math.Round(pixels.Rows / factor)), columns = Math.Max(8, (int)Math.Round(pixels.Columns / factor));
        Raster<float> mean = new(rows, columns);
        (int First, double[] Shares)[] across = [.. Enumerable.Range(0, columns).Select(column => Cover(column, columns, pixels.Columns, factor))];
        Parallel.For(0, rows, row =>
        {
            (int first, double[] shares) = Cover(row, rows, pixels.Rows, factor);
            double[] line = new double[pixels.Columns];
            for (int down = 0; down < shares.Length; down++)
            {
                ReadOnlySpan<ushort> from = pixels.Row(first + down);
                for (int column = 0; column < line.Length; column++)
                {
                    line[column] += shares[down] * table[from[column]];
                }
            }

            Span<float> to = mean.Row(row);
            for (int column = 0; column < columns; column++)
            {
                double sum = 0;
                for (int right = 0; right < across[column].Shares.Length; right++)
                {
                    sum += across[column].Shares[right] * line[across[column].First + right];
                }

                to[column] = (float)sum;
            }
        });
        return new PoseImage(mean, pixels.Rows, pixels.Columns, factor);
    }

    /// <summary>A place of the radiograph on this grid, in pixels.</summary>
    /// <param name="image">In pixels of the radiograph.</param>
    public PixelPoint Scaled(PixelPoint image) => new(
        X: ((image.X - ((ImageColumns - 1) / 2.0)) / Factor) + ((Raster.Columns - 1) / 2.0),
        Y: ((image.Y - ((ImageRows - 1) / 2.0)) / Factor) + ((Raster.Rows - 1) / 2.0));

    /// <summary>Brightness between pixels, by straight lines; NaN outside the image.</summary>
    internal static float At(Raster<float> raster, double x, double y)
    {
        if (!(x >= 0 && y >= 0 && x <= raster.Columns - 1 && y <= raster.Rows - 1))
        {
            return float.NaN;
        }

        int column = Math.Min((int)x, raster.Columns - 2), row = Math.Min((int)y, raster.Rows - 2);
        float right = (float)(x - column), down = (float)(y - row);
        ReadOnlySpan<float> upper = raster.Row(row), lower = raster.Row(row + 1);
        float above = upper[column] + (right * (upper[column + 1] - upper[column]));
        float below = lower[column] + (right * (lower[column + 1] - lower[column]));
        return above + (down * (below - above));
    }

    /// <summary>Which pixels of the radiograph a pixel of the scaled grid covers, and with what shares, sum 1.</summary>
    private static (int First, double[] Shares) Cover(int at, int scaled, int full, double factor)
    {
        double from = ((at - ((scaled - 1) / 2.0) - 0.5) * factor) + (full / 2.0), to = from + factor;
        int first = Math.Clamp((int)Math.Floor(from), 0, full - 1), last = Math.Clamp((int)Math.Ceiling(to) - 1, first, full - 1);
        double[] shares = [.. Enumerable.Range(first, last - first + 1).Select(pixel => Math.Max(0, Math.Min(pixel + 1, to) - Math.Max(pixel, from)))];
        double sum = shares.Sum();
        return (first, sum > 0 ? [.. shares.Select(share => share / sum)] : [.. shares.Select(_ => 1.0 / shares.Length)]);
    }
}
