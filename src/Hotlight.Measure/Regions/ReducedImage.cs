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

        // Every cell of all three is written.
        Mean = GC.AllocateUninitializedArray<float>(rows * columns);
        Minimum = GC.AllocateUninitializedArray<ushort>(rows * columns);
        Maximum = GC.AllocateUninitializedArray<ushort>(rows * columns);
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

        // The last cell of a row may be narrower than the others, which are joined many at once.
        int rest = (Columns - 1) * Step, cells = row * Columns;
        ushort least = ushort.MaxValue, most = 0;
        for (int column = rest; column < width; column++)
        {
            least = Math.Min(least, strip.Least[column]);
            most = Math.Max(most, strip.Most[column]);
        }

        Strip.Join(strip.Least, Step, lowest: true);
        Strip.Join(strip.Most, Step, lowest: false);
        BlockSums.Along(strip.Sum, Step, strip.Blocks.AsSpan(0, Columns));
        for (int column = 0, at = 0; column < Columns - 1; column++, at += Step)
        {
            Minimum[cells + column] = strip.Least[at];
            Maximum[cells + column] = strip.Most[at];
            Mean[cells + column] = (float)strip.Blocks[column] / (Step * (last - first));
        }

        Minimum[cells + Columns - 1] = least;
        Maximum[cells + Columns - 1] = most;
        Mean[cells + Columns - 1] = (float)strip.Blocks[Columns - 1] / ((width - rest) * (last - first));
    }

    /// <summary>Least, most and sum of each column of a few rows.</summary>
    private sealed class Strip(int columns)
    {
        public ushort[] Least { get; } = new ushort[columns];

        public ushort[] Most { get; } = new ushort[columns];

        public uint[] Sum { get; } = new uint[columns];

        /// <summary>Room for the sums of the cells.</summary>
        public uint[] Blocks { get; } = new uint[columns];

        /// <summary>Gives each place the least or most of itself and the ones to its right, a cell's width in all.</summary>
        public static void Join(ushort[] values, int step, bool lowest)
        {
            int wide = Vector<ushort>.Count;
            for (int width = 1; width < step;)
            {
                int shift = Math.Min(width, step - width), at = 0;
                for (; at <= values.Length - shift - wide; at += wide)
                {
                    Vector<ushort> own = new(values, at), right = new(values, at + shift);
                    (lowest ? Vector.Min(own, right) : Vector.Max(own, right)).CopyTo(values, at);
                }

                for (; at < values.Length - shift; at++)
                {
                    values[at] = lowest ? Math.Min(values[at], values[at + shift]) : Math.Max(values[at], values[at + shift]);
                }

                width += shift;
            }
        }

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
