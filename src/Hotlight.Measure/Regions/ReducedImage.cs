using Hotlight.Core;

namespace Hotlight.Measure.Regions;

/// <summary>The radiograph by block means, with the extremes of each block: what the geometry is searched on.</summary>
internal sealed class ReducedImage
{
    // 640 cells on the long side: a 430 mm receptor gets 0.7 mm cells, fine enough that a collimator's penumbra spans only a few.
    private const double TargetCells = 640;

    private ReducedImage(int rows, int columns, int step, int pixelRows, int pixelColumns)
    {
        PixelRows = pixelRows;
        PixelColumns = pixelColumns;
        Rows = rows;
        Columns = columns;
        Step = step;
        Mean = new float[rows * columns];
        Minimum = new ushort[rows * columns];
        Maximum = new ushort[rows * columns];
    }

    internal int Rows { get; }

    internal int Columns { get; }

    internal int Step { get; }

    internal int PixelRows { get; }

    internal int PixelColumns { get; }

    internal float[] Mean { get; }

    internal ushort[] Minimum { get; }

    internal ushort[] Maximum { get; }

    /// <summary>Pixel coordinate of a cell coordinate (centre of cell 0 is at (Step − 1)/2).</summary>
    internal double ToPixel(double cell) => (cell * Step) + ((Step - 1) / 2.0);

    internal double ToCell(double pixel) => (pixel - ((Step - 1) / 2.0)) / Step;

    internal static ReducedImage From(ReadOnlyRaster<ushort> pixels)
    {
        int step = Math.Max(1, (int)Math.Round(Math.Max(pixels.Rows, pixels.Columns) / TargetCells));
        int rows = (pixels.Rows + step - 1) / step, columns = (pixels.Columns + step - 1) / step;
        var reduced = new ReducedImage(rows, columns, step, pixels.Rows, pixels.Columns);
        int band = Math.Max(1, rows / 16);
        Parallel.For(0, (rows + band - 1) / band, part =>
        {
            var sums = new uint[columns];
            for (int row = part * band; row < Math.Min(rows, (part + 1) * band); row++)
            {
                reduced.FillRow(pixels, row, sums);
            }
        });
        return reduced;
    }

    private void FillRow(ReadOnlyRaster<ushort> pixels, int row, uint[] sums)
    {
        int first = row * Step, last = Math.Min(pixels.Rows, first + Step);
        Span<ushort> low = Minimum.AsSpan(row * Columns, Columns), high = Maximum.AsSpan(row * Columns, Columns);
        low.Fill(ushort.MaxValue);
        Array.Clear(sums);
        for (int y = first; y < last; y++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(y);
            for (int column = 0, x = 0; column < Columns; column++)
            {
                int end = Math.Min(line.Length, x + Step);
                ushort least = low[column], most = high[column];
                uint sum = 0;
                for (; x < end; x++)
                {
                    ushort value = line[x];
                    sum += value;
                    least = Math.Min(least, value);
                    most = Math.Max(most, value);
                }

                sums[column] += sum;
                low[column] = least;
                high[column] = most;
            }
        }

        Span<float> mean = Mean.AsSpan(row * Columns, Columns);
        for (int column = 0; column < Columns; column++)
        {
            int width = Math.Min(pixels.Columns, (column + 1) * Step) - (column * Step);
            mean[column] = (float)sums[column] / (width * (last - first));
        }
    }
}
