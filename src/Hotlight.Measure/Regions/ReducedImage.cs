using System.Numerics;
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
            var strip = new Strip(pixels.Columns);
            for (int row = part * band; row < Math.Min(rows, (part + 1) * band); row++)
            {
                reduced.FillRow(pixels, row, strip);
            }
        });
        return reduced;
    }

    // First down the strip's rows, many columns at once; then along it, cell by cell.
    private void FillRow(ReadOnlyRaster<ushort> pixels, int row, Strip strip)
    {
        int first = row * Step, last = Math.Min(pixels.Rows, first + Step), width = pixels.Columns;
        strip.Start(pixels.Row(first));
        for (int y = first + 1; y < last; y++)
        {
            strip.Add(pixels.Row(y));
        }

        ReadOnlySpan<ushort> leasts = strip.Least, mosts = strip.Most;
        ReadOnlySpan<uint> sums = strip.Sum;
        for (int column = 0; column < Columns; column++)
        {
            int from = column * Step, end = Math.Min(width, from + Step);
            uint least = ushort.MaxValue, most = 0, sum = 0;
            foreach (ushort value in leasts[from..end])
            {
                least = Math.Min(least, value);
            }

            foreach (ushort value in mosts[from..end])
            {
                most = Math.Max(most, value);
            }

            foreach (uint value in sums[from..end])
            {
                sum += value;
            }

            int cell = (row * Columns) + column;
            Minimum[cell] = (ushort)least;
            Maximum[cell] = (ushort)most;
            Mean[cell] = (float)sum / ((end - from) * (last - first));
        }
    }

    /// <summary>Least, most and sum of each column of a few rows.</summary>
    private sealed class Strip(int columns)
    {
        public ushort[] Least { get; } = new ushort[columns];

        public ushort[] Most { get; } = new ushort[columns];

        public uint[] Sum { get; } = new uint[columns];

        public void Start(ReadOnlySpan<ushort> line)
        {
            line.CopyTo(Least);
            line.CopyTo(Most);
            for (int x = 0; x < line.Length; x++)
            {
                Sum[x] = line[x];
            }
        }

        public void Add(ReadOnlySpan<ushort> line)
        {
            ushort[] leasts = Least, mosts = Most;
            uint[] sums = Sum;
            int x = 0, wide = Vector<ushort>.Count, half = Vector<uint>.Count;
            for (; x <= line.Length - wide; x += wide)
            {
                var value = new Vector<ushort>(line[x..]);
                Vector.Min(value, new Vector<ushort>(leasts, x)).CopyTo(leasts, x);
                Vector.Max(value, new Vector<ushort>(mosts, x)).CopyTo(mosts, x);
                Vector.Widen(value, out Vector<uint> low, out Vector<uint> high);
                (low + new Vector<uint>(sums, x)).CopyTo(sums, x);
                (high + new Vector<uint>(sums, x + half)).CopyTo(sums, x + half);
            }

            for (; x < line.Length; x++)
            {
                Least[x] = Math.Min(Least[x], line[x]);
                Most[x] = Math.Max(Most[x], line[x]);
                Sum[x] += line[x];
            }
        }
    }
}
