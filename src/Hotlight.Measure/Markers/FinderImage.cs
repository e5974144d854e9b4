using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Markers;

/// <summary>The image as the finder looks at it: block means of about 0.55 mm, locally normalised.</summary>
internal sealed class FinderImage
{
    // The size of cell that the finder was trained on: a letter of 6 to 25 mm is 11 to 45 cells high.
    private const double CellMm = 0.55;

    // Without spacing the whole picture is taken for about 350 mm: 640 cells on its long side.
    private const double CellsWithoutSpacing = 640;

    // Half the window of normalisation, in cells, and the standard deviation that counts as flat, as a share of the range; both as in training.
    private const int HalfWindow = 20;

    private const double Flat = 0.01;

    private FinderImage(int step, int rows, int columns, float[] cells)
    {
        Step = step;
        Rows = rows;
        Columns = columns;
        Cells = cells;
    }

    /// <summary>Pixels along the side of a cell.</summary>
    internal int Step { get; }

    /// <summary>Rows of cells.</summary>
    internal int Rows { get; }

    /// <summary>Columns of cells.</summary>
    internal int Columns { get; }

    /// <summary>Normalised cells, row-major, −5 to 5.</summary>
    internal float[] Cells { get; }

    /// <summary>Share of the pixel range that the image uses, from its 0.1st to its 99.9th percentile of cells, in the values of <see cref="From"/>'s curve.</summary>
    internal double Range { get; private init; }

    /// <summary>Whether letters are sought in the root of the pixel values: in a linear signal lead and thick anatomy lie too close together.</summary>
    /// <param name="radiograph">The radiograph.</param>
    internal static bool TakesRoot(Radiograph radiograph)
        => radiograph.Relationship == PixelRelationship.Linear && radiograph.PresentationIntent == PresentationIntent.ForProcessing;

    /// <summary>Reduces and normalises a radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    internal static FinderImage From(Radiograph radiograph)
    {
        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        int step = Math.Max(1, (int)Math.Round(radiograph.ReceptorSpacing is { } spacing
            ? CellMm / Math.Sqrt(spacing.PixelAreaMm2)
            : Math.Max(pixels.Rows, pixels.Columns) / CellsWithoutSpacing));

        // A spacing of a few micrometres or of centimetres is no radiograph's: the image keeps at least 64 and at most 1200 cells.
        step = Math.Max(Math.Min(step, Math.Max(1, Math.Max(pixels.Rows, pixels.Columns) / 64)), (Math.Max(pixels.Rows, pixels.Columns) + 1199) / 1200);
        int rows = (pixels.Rows + step - 1) / step, columns = (pixels.Columns + step - 1) / step;
        float[] cells = GC.AllocateUninitializedArray<float>(rows * columns);
        bool root = TakesRoot(radiograph);
        Parallel.For(
            0,
            rows,
            () => (Columns: new uint[pixels.Columns], Sums: new uint[columns]),
            (row, _, room) =>
            {
                FillRow(pixels, row, step, root, room.Columns, room.Sums, cells.AsSpan(row * columns, columns));
                return room;
            },
            _ => { });
        (float low, float high) = Percentiles(cells, root ? 256 : 1);
        float range = Math.Max(1e-3f, high - low);
        for (int i = 0; i < cells.Length; i++)
        {
            cells[i] = (cells[i] - low) / range;
        }

        return new FinderImage(step, rows, columns, Normalise(cells, rows, columns)) { Range = range };
    }

    private static void FillRow(ReadOnlyRaster<ushort> pixels, int row, int step, bool root, uint[] columns, uint[] sums, Span<float> cells)
    {
        int first = row * step, last = Math.Min(pixels.Rows, first + step);
        columns.AsSpan().Clear();
        for (int y = first; y < last; y++)
        {
            BlockSums.Add(pixels.Row(y), columns);
        }

        BlockSums.Along(columns, step, sums);
        for (int cell = 0; cell < cells.Length; cell++)
        {
            int width = Math.Min(pixels.Columns, (cell + 1) * step) - (cell * step);
            float mean = (float)sums[cell] / (width * (last - first));
            cells[cell] = root ? MathF.Sqrt(mean) : mean;
        }
    }

    private static (float Low, float High) Percentiles(float[] cells, float scale)
    {
        var counts = new int[65536];
        foreach (float cell in cells)
        {
            counts[Math.Min(65535, (int)(cell * scale))]++;
        }

        int aim = cells.Length / 1000, low = 0, high = 65535;
        for (int sum = counts[0]; sum <= aim && low < 65535; sum += counts[low])
        {
            low++;
        }

        for (int sum = counts[65535]; sum <= aim && high > 0; sum += counts[high])
        {
            high--;
        }

        return (low / scale, high / scale);
    }

    // Mean and standard deviation in a sliding window that the border cuts.
    private static float[] Normalise(float[] cells, int rows, int columns)
    {
        float[] normal = GC.AllocateUninitializedArray<float>(cells.Length);
        int band = Math.Max(64, (rows + 3) / 4);
        Parallel.For(0, (rows + band - 1) / band, part =>
        {
            var sum = new double[columns];
            var square = new double[columns];
            int from = part * band, to = Math.Min(rows, from + band);
            for (int row = Math.Max(0, from - HalfWindow); row < Math.Min(rows, from + HalfWindow); row++)
            {
                Add(cells.AsSpan(row * columns, columns), 1, sum, square);
            }

            for (int row = from; row < to; row++)
            {
                if (row + HalfWindow < rows)
                {
                    Add(cells.AsSpan((row + HalfWindow) * columns, columns), 1, sum, square);
                }

                if (row > from && row - HalfWindow - 1 >= 0)
                {
                    Add(cells.AsSpan((row - HalfWindow - 1) * columns, columns), -1, sum, square);
                }

                int high = Math.Min(rows - 1, row + HalfWindow) - Math.Max(0, row - HalfWindow) + 1;
                NormaliseRow(cells.AsSpan(row * columns, columns), sum, square, high, normal.AsSpan(row * columns, columns));
            }
        });
        return normal;
    }

    private static void Add(ReadOnlySpan<float> cells, double sign, double[] sum, double[] square)
    {
        for (int i = 0; i < cells.Length; i++)
        {
            double value = cells[i];
            sum[i] += sign * value;
            square[i] += sign * value * value;
        }
    }

    private static void NormaliseRow(ReadOnlySpan<float> cells, double[] sum, double[] square, int high, Span<float> normal)
    {
        double total = 0, squares = 0;
        for (int i = 0; i < Math.Min(HalfWindow, cells.Length); i++)
        {
            total += sum[i];
            squares += square[i];
        }

        for (int i = 0; i < cells.Length; i++)
        {
            if (i + HalfWindow < cells.Length)
            {
                total += sum[i + HalfWindow];
                squares += square[i + HalfWindow];
            }

            if (i - HalfWindow - 1 >= 0)
            {
                total -= sum[i - HalfWindow - 1];
                squares -= square[i - HalfWindow - 1];
            }

            int count = high * (Math.Min(cells.Length - 1, i + HalfWindow) - Math.Max(0, i - HalfWindow) + 1);
            double mean = total / count;
            double deviation = Math.Sqrt(Math.Max(0, (squares / count) - (mean * mean)));
            normal[i] = (float)Math.Clamp((cells[i] - mean) / (deviation + Flat), -5, 5);
        }
    }
}
