using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Artifacts;

/// <summary>One pass over the pixels that gathers what the search for artifacts needs: steps between neighbouring columns and rows, pixels that stand alone, and the image by block means.</summary>
/// <remarks>
/// <para>A step between two columns is the mean over rows of ψ(difference), ψ clipping at 1.5 standard deviations of the noise in a difference (Huber's location estimate, one step from zero: Huber, Ann Math Stat 1964;35:73), so that an edge of the anatomy that crosses the columns weighs no more than noise. Sixteen bands are kept apart: what a receptor does is in all of them, anatomy is not.</para>
/// </remarks>
internal sealed class ArtifactScan
{
    /// <summary>Bands of rows, and of columns, that steps are kept in.</summary>
    public const int Bands = 16;

    /// <summary>Reach of the test for pixels that stand alone: clusters of up to three pixels across differ from all four at this distance.</summary>
    public const int DotReach = 3;

    // ψ clips here, in standard deviations of a difference.
    private const float ClipSigmas = 1.5f;

    // A pixel is looked at closer from six standard deviations of a difference: of nine million normal ones, fewer than one in a hundred passes on all four sides.
    private const float DotSigmas = 6;

    // Cells of the reduced image, in mm: half of the thinnest wire that is worn or left in a bed.
    private const double CellMm = 0.3;

    // Without spacing: cells as on a receptor of 430 mm.
    private const double CellsWithoutSpacing = 1433;

    // A noisy or drawn picture could hold a million; beyond this they are no single elements.
    private const int MostDots = 60_000;

    private ArtifactScan(int rows, int columns, int step, float sigma)
    {
        Step = step;
        ReducedRows = rows / step;
        ReducedColumns = columns / step;
        Reduced = new float[ReducedRows * ReducedColumns];
        DifferenceSigma = sigma;
        for (int band = 0; band < Bands; band++)
        {
            ColumnSteps[band] = new float[columns];
            ColumnCounts[band] = new int[columns];
            RowSteps[band] = new float[rows];
            RowCounts[band] = new int[rows];
        }
    }

    /// <summary>Mean ψ of the difference of column c + 1 from column c, by band of rows.</summary>
    public float[][] ColumnSteps { get; } = new float[Bands][];

    /// <summary>How many rows each mean is over.</summary>
    public int[][] ColumnCounts { get; } = new int[Bands][];

    /// <summary>Mean ψ of the difference of row r + 1 from row r, by band of columns.</summary>
    public float[][] RowSteps { get; } = new float[Bands][];

    /// <summary>How many columns each mean is over.</summary>
    public int[][] RowCounts { get; } = new int[Bands][];

    /// <summary>Robust standard deviation of the difference of two neighbours in a row, on the attenuation scale.</summary>
    public float DifferenceSigma { get; }

    /// <summary>Pixels that differ from all four at <see cref="DotReach"/>, the same way.</summary>
    public List<(int Row, int Column)> Dots { get; } = [];

    /// <summary>Attenuation by block means, row-major.</summary>
    public float[] Reduced { get; }

    /// <summary>Rows of <see cref="Reduced"/>.</summary>
    public int ReducedRows { get; }

    /// <summary>Columns of <see cref="Reduced"/>.</summary>
    public int ReducedColumns { get; }

    /// <summary>Pixels along a block's side.</summary>
    public int Step { get; }

    public static ArtifactScan Of(ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span, PixelSpacing? spacing)
    {
        int step = spacing is { } s
            ? Math.Max(1, (int)Math.Round(CellMm / Math.Sqrt(s.RowSpacingMm * s.ColumnSpacingMm)))
            : Math.Max(1, (int)Math.Round(Math.Max(pixels.Rows, pixels.Columns) / CellsWithoutSpacing));
        var scan = new ArtifactScan(pixels.Rows, pixels.Columns, step, SigmaOfDifference(pixels, scale, span));
        int bandRows = BandLength(pixels.Rows, step);
        Parallel.For(0, Bands, band => scan.Band(pixels, scale.ByPixelValue, span, band, bandRows));
        return scan;
    }

    /// <summary>Rows or columns of one band: a multiple of the block's side.</summary>
    public static int BandLength(int length, int step) => (((length + Bands - 1) / Bands) + step - 1) / step * step;

    private static float SigmaOfDifference(ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span)
    {
        var differences = new List<float>(40_000);
        int rowStep = Math.Max(1, pixels.Rows / 200), columnStep = Math.Max(1, pixels.Columns / 200);
        for (int row = rowStep / 2; row < pixels.Rows; row += rowStep)
        {
            ReadOnlySpan<ushort> line = pixels.Row(row);
            (int first, int end) = span.Row(row);
            for (int column = first; column + 1 < end; column += columnStep)
            {
                differences.Add(Math.Abs(scale.ByPixelValue[line[column + 1]] - scale.ByPixelValue[line[column]]));
            }
        }

        // |N(0, σ²)| has its median at 0.6745·σ; rounding to grey steps alone gives 0.41 of a step.
        return Math.Max(differences.Count == 0 ? 0 : OrderStatistic.At(CollectionsMarshal.AsSpan(differences), differences.Count / 2) / 0.6745f, 0.41f * scale.Step);
    }

    private void Band(ReadOnlyRaster<ushort> pixels, float[] table, FieldSpan span, int band, int bandRows)
    {
        int rows = pixels.Rows, columns = pixels.Columns;
        int first = band * bandRows, last = Math.Min(rows, first + bandRows);
        if (first >= last)
        {
            return;
        }

        const int Ring = (2 * DotReach) + 1;
        var ring = new float[Ring][];
        for (int slot = 0; slot < Ring; slot++)
        {
            ring[slot] = new float[columns];
        }

        float[] sums = ColumnSteps[band];
        int[] counts = ColumnCounts[band];
        var blocks = new float[columns];
        var dots = new List<(int Row, int Column)>();
        int bandColumns = BandLength(columns, Step);
        float clip = ClipSigmas * DifferenceSigma, dot = DotSigmas * DifferenceSigma;
        int loaded = Math.Max(0, first - DotReach);
        for (int row = first; row < last; row++)
        {
            for (; loaded < Math.Min(rows, row + DotReach + 1); loaded++)
            {
                ReadOnlySpan<ushort> line = pixels.Row(loaded);
                float[] to = ring[loaded % Ring];
                for (int column = 0; column < line.Length; column++)
                {
                    to[column] = table[line[column]];
                }
            }

            float[] own = ring[row % Ring];
            Accumulate(own, blocks);
            if ((row + 1) % Step == 0 && row / Step < ReducedRows)
            {
                Reduce(blocks, row / Step);
            }

            (int from, int to2) = span.Row(row);
            if (to2 - from < 2)
            {
                continue;
            }

            StepsAlong(own, sums, from, to2 - 1, clip);
            counts[from]++;
            counts[to2 - 1]--;
            if (row + 1 < rows)
            {
                (int nextFrom, int nextTo) = span.Row(row + 1);
                float[] next = ring[(row + 1) % Ring];
                for (int part = 0; part < Bands; part++)
                {
                    int a = Math.Max(Math.Max(from, nextFrom), part * bandColumns), b = Math.Min(Math.Min(to2, nextTo), (part + 1) * bandColumns);
                    if (a < b)
                    {
                        RowCounts[part][row] = b - a;
                        RowSteps[part][row] = StepDown(own, next, a, b, clip) / (b - a);
                    }
                }
            }

            if (row >= DotReach && row + DotReach < rows && span.Holds(row - DotReach, (from + to2) / 2) && span.Holds(row + DotReach, (from + to2) / 2) && dots.Count < MostDots)
            {
                FindDots(own, ring[(row - DotReach) % Ring], ring[(row + DotReach) % Ring], row, from + DotReach, to2 - DotReach, dot, dots);
            }
        }

        int running = 0;
        for (int column = 0; column < columns; column++)
        {
            running += counts[column];
            counts[column] = running;
            sums[column] = running > 0 ? sums[column] / running : 0;
        }

        lock (Dots)
        {
            Dots.AddRange(dots);
        }
    }

    private static void Accumulate(float[] own, float[] blocks)
    {
        Span<Vector<float>> sums = MemoryMarshal.Cast<float, Vector<float>>(blocks.AsSpan());
        ReadOnlySpan<Vector<float>> values = MemoryMarshal.Cast<float, Vector<float>>(own.AsSpan());
        for (int at = 0; at < sums.Length; at++)
        {
            sums[at] += values[at];
        }

        for (int column = sums.Length * Vector<float>.Count; column < own.Length; column++)
        {
            blocks[column] += own[column];
        }
    }

    private void Reduce(float[] blocks, int reducedRow)
    {
        float share = 1f / (Step * Step);
        Span<float> line = Reduced.AsSpan(reducedRow * ReducedColumns, ReducedColumns);
        for (int cell = 0, column = 0; cell < line.Length; cell++)
        {
            float sum = 0;
            for (int end = column + Step; column < end; column++)
            {
                sum += blocks[column];
            }

            line[cell] = sum * share;
        }

        Array.Clear(blocks);
    }

    private static void StepsAlong(float[] own, float[] sums, int from, int to, float clip)
    {
        var most = new Vector<float>(clip);
        int column = from;
        for (; column + Vector<float>.Count <= to; column += Vector<float>.Count)
        {
            Vector<float> difference = new Vector<float>(own, column + 1) - new Vector<float>(own, column);
            (new Vector<float>(sums, column) + Vector.Min(Vector.Max(difference, -most), most)).CopyTo(sums, column);
        }

        for (; column < to; column++)
        {
            sums[column] += Math.Clamp(own[column + 1] - own[column], -clip, clip);
        }
    }

    private static float StepDown(float[] own, float[] next, int from, int to, float clip)
    {
        var most = new Vector<float>(clip);
        Vector<float> sum = Vector<float>.Zero;
        int column = from;
        for (; column + Vector<float>.Count <= to; column += Vector<float>.Count)
        {
            Vector<float> difference = new Vector<float>(next, column) - new Vector<float>(own, column);
            sum += Vector.Min(Vector.Max(difference, -most), most);
        }

        float rest = Vector.Sum(sum);
        for (; column < to; column++)
        {
            rest += Math.Clamp(next[column] - own[column], -clip, clip);
        }

        return rest;
    }

    private static void FindDots(float[] own, float[] above, float[] below, int row, int from, int to, float least, List<(int Row, int Column)> dots)
    {
        var bound = new Vector<float>(least);
        int column = from;
        for (; column + Vector<float>.Count <= to; column += Vector<float>.Count)
        {
            var middle = new Vector<float>(own, column);
            Vector<float> left = middle - new Vector<float>(own, column - DotReach), right = middle - new Vector<float>(own, column + DotReach);
            Vector<float> up = middle - new Vector<float>(above, column), down = middle - new Vector<float>(below, column);
            Vector<float> least4 = Vector.Min(Vector.Min(left, right), Vector.Min(up, down)), most4 = Vector.Max(Vector.Max(left, right), Vector.Max(up, down));
            if (Vector.GreaterThanAny(least4, bound) || Vector.LessThanAny(most4, -bound))
            {
                for (int at = 0; at < Vector<float>.Count; at++)
                {
                    if (least4[at] > least || most4[at] < -least)
                    {
                        dots.Add((row, column + at));
                    }
                }
            }
        }

        for (; column < to; column++)
        {
            float middle = own[column], left = middle - own[column - DotReach], right = middle - own[column + DotReach], up = middle - above[column], down = middle - below[column];
            if (Math.Min(Math.Min(left, right), Math.Min(up, down)) > least || Math.Max(Math.Max(left, right), Math.Max(up, down)) < -least)
            {
                dots.Add((row, column));
            }
        }
    }
}
