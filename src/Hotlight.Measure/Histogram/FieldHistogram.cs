using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Histogram;

/// <summary>How often each pixel value occurs in the exposed field, and in the anatomy within it. Padding is left out.</summary>
/// <remarks>Counted once for exposure, clipping and display: a 16-bit histogram holds all that these need of nine million pixels.</remarks>
internal sealed class FieldHistogram
{
    private const int Nothing = 0;
    private const int Interior = 1;
    private const int Rim = 2;
    private const int OtherField = 3;

    private FieldHistogram(long[] anatomy, long[] anatomyInterior, long[] field)
    {
        Anatomy = anatomy;
        AnatomyInterior = anatomyInterior;
        Field = field;
        AnatomyPixels = anatomy.Sum();
        AnatomyInteriorPixels = anatomyInterior.Sum();
        FieldPixels = field.Sum();
    }

    /// <summary>Counts by pixel value (0 to PixelMaximum) over soft tissue and bone.</summary>
    public long[] Anatomy { get; }

    /// <summary>As <see cref="Anatomy"/>, without the cells that touch anything that is not anatomy: how far a figure depends on where exactly the outline lies.</summary>
    public long[] AnatomyInterior { get; }

    /// <summary>Counts over the whole field: anatomy, direct exposure and dense things.</summary>
    public long[] Field { get; }

    public long AnatomyPixels { get; }

    public long AnatomyInteriorPixels { get; }

    public long FieldPixels { get; }

    /// <summary>Counts the pixels of a radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="map">Its labels.</param>
    public static FieldHistogram Count(Radiograph radiograph, RegionMap map)
    {
        int levels = radiograph.PixelMaximum + 1;
        byte[] kinds = KindsOfCells(map);
        int cellColumns = map.Labels.Columns;
        int cellRows = Math.Min(map.Labels.Rows, (radiograph.Rows + map.Step - 1) / map.Step);
        int bands = Math.Clamp(Environment.ProcessorCount, 1, Math.Max(1, cellRows / 8));
        var counts = new int[bands][];
        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        Parallel.For(0, bands, band =>
        {
            int[] own = new int[4 * levels];
            int first = band * cellRows / bands;
            int last = (band + 1) * cellRows / bands;
            for (int cellRow = first; cellRow < last; cellRow++)
            {
                // The last row and column of cells also hold what is left of the image, as RegionMap.At does.
                int rowEnd = cellRow == map.Labels.Rows - 1 ? radiograph.Rows : Math.Min(radiograph.Rows, (cellRow + 1) * map.Step);
                ReadOnlySpan<byte> kindRow = kinds.AsSpan(cellRow * cellColumns, cellColumns);
                for (int row = cellRow * map.Step; row < rowEnd; row++)
                {
                    CountRow(pixels.Row(row), kindRow, map.Step, own, levels);
                }
            }

            counts[band] = own;
        });

        var anatomy = new long[levels];
        var interior = new long[levels];
        var field = new long[levels];
        foreach (int[] own in counts)
        {
            for (int value = 0; value < levels; value++)
            {
                interior[value] += own[(Interior * levels) + value];
                anatomy[value] += own[(Interior * levels) + value] + own[(Rim * levels) + value];
                field[value] += own[(Interior * levels) + value] + own[(Rim * levels) + value] + own[(OtherField * levels) + value];
            }
        }

        if (radiograph.Padding is { } padding)
        {
            int from = Math.Max(0, padding.FromStoredValue - radiograph.StoredMinimum);
            int to = Math.Min(levels - 1, padding.ToStoredValue - radiograph.StoredMinimum);
            for (int value = from; value <= to; value++)
            {
                anatomy[value] = interior[value] = field[value] = 0;
            }
        }

        return new FieldHistogram(anatomy, interior, field);
    }

    /// <summary>The lowest value at or below which a share of the counts lies.</summary>
    /// <param name="counts">Counts by value.</param>
    /// <param name="total">Their sum, above 0.</param>
    /// <param name="fraction">The share, 0 to 1.</param>
    public static int Quantile(ReadOnlySpan<long> counts, long total, double fraction)
    {
        double wanted = fraction * total;
        long sum = 0;
        int last = 0;
        for (int value = 0; value < counts.Length; value++)
        {
            if (counts[value] == 0)
            {
                continue;
            }

            sum += counts[value];
            last = value;
            if (sum >= wanted)
            {
                break;
            }
        }

        return last;
    }

    private static void CountRow(ReadOnlySpan<ushort> pixels, ReadOnlySpan<byte> kinds, int step, int[] counts, int levels)
    {
        int cell = 0;
        while (cell < kinds.Length && cell * step < pixels.Length)
        {
            int kind = kinds[cell];
            int end = cell + 1;
            while (end < kinds.Length && kinds[end] == kind)
            {
                end++;
            }

            int columnEnd = end == kinds.Length ? pixels.Length : Math.Min(pixels.Length, end * step);
            if (kind != Nothing)
            {
                Span<int> own = counts.AsSpan(kind * levels, levels);
                foreach (ushort value in pixels[(cell * step)..columnEnd])
                {
                    own[value]++;
                }
            }

            cell = end;
        }
    }

    private static byte[] KindsOfCells(RegionMap map)
    {
        int rows = map.Labels.Rows;
        int columns = map.Labels.Columns;
        var kinds = new byte[rows * columns];
        var others = new bool[rows * columns];
        ReadOnlySpan<byte> labels = map.Labels.Samples;
        for (int at = 0; at < others.Length; at++)
        {
            others[at] = !RegionMap.IsAnatomy((RegionLabel)labels[at]);
        }

        // Beside what is not anatomy lies the rim.
        bool[] rim = GrownCells.Of(others, rows, columns, 1);
        for (int at = 0; at < kinds.Length; at++)
        {
            kinds[at] = (RegionLabel)labels[at] == RegionLabel.Outside ? (byte)Nothing : others[at] ? (byte)OtherField : rim[at] ? (byte)Rim : (byte)Interior;
        }

        return kinds;
    }
}
