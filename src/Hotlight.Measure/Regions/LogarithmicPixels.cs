using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Regions;

/// <summary>A linear signal by its logarithm, above a floor that keeps the noise of the darkest parts from filling the scale.</summary>
internal sealed class LogarithmicPixels
{
    // A thousandth of the highest signal: a third of what leaves and off-focus radiation let through beyond a beam (0.3 % and more, common practice, no source).
    private const double FloorShare = 0.001;
    private const double LeastFloor = 2;

    private readonly double floor;

    private LogarithmicPixels(Raster<ushort> pixels, double floor, double stepsPerEFold)
    {
        Pixels = pixels;
        this.floor = floor;
        StepsPerEFold = stepsPerEFold;
    }

    /// <summary>Rows × columns: StepsPerEFold · ln(1 + value / floor), 0 to 65535.</summary>
    internal Raster<ushort> Pixels { get; }

    /// <summary>Steps of <see cref="Pixels"/> for e times the signal (with the floor).</summary>
    internal double StepsPerEFold { get; }

    internal static LogarithmicPixels Of(Radiograph radiograph)
    {
        int maximum = radiograph.PixelMaximum;
        double floor = Math.Max(LeastFloor, FloorShare * High(radiograph.Pixels));
        double scale = ushort.MaxValue / Math.Log(1 + (maximum / floor));
        var table = new ushort[maximum + 1];
        for (int value = 0; value <= maximum; value++)
        {
            table[value] = (ushort)Math.Round(scale * Math.Log(1 + (value / floor)));
        }

        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        var log = new Raster<ushort>(pixels.Rows, pixels.Columns, GC.AllocateUninitializedArray<ushort>(pixels.Rows * pixels.Columns));
        int bands = Math.Max(1, pixels.Rows / 64);
        Parallel.For(0, bands, band =>
        {
            int first = band * pixels.Rows / bands, end = (band + 1) * pixels.Rows / bands;
            ReadOnlySpan<ushort> from = pixels.Samples[(first * pixels.Columns)..(end * pixels.Columns)], values = table;
            Span<ushort> to = log.Samples[(first * pixels.Columns)..(end * pixels.Columns)];
            for (int i = 0; i < from.Length; i++)
            {
                to[i] = values[from[i]];
            }
        });
        return new LogarithmicPixels(log, floor, scale);
    }

    /// <summary>The linear pixel value of a logarithmic one.</summary>
    internal double ToLinear(double value) => floor * (Math.Exp(value / StepsPerEFold) - 1);

    // The 99.5th percentile of a sample.
    private static double High(ReadOnlyRaster<ushort> pixels)
    {
        int stride = Math.Max(1, Math.Max(pixels.Rows, pixels.Columns) / 200);
        var sample = new List<ushort>();
        for (int row = 0; row < pixels.Rows; row += stride)
        {
            ReadOnlySpan<ushort> line = pixels.Row(row);
            for (int column = 0; column < line.Length; column += stride)
            {
                sample.Add(line[column]);
            }
        }

        return OrderStatistic.At(CollectionsMarshal.AsSpan(sample), (int)(0.995 * (sample.Count - 1)));
    }
}
