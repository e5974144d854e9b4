using System.Buffers;
using System.Numerics;
using System.Runtime.InteropServices;

namespace Hotlight.Measure.Regions;

/// <summary>Gradient of the reduced image after a Gaussian of about one cell, with the noise and the range it is judged against.</summary>
internal sealed class GradientField
{
    // A Gaussian of about one cell by five weights that sum to 1.
    private const float Outer = 0.0545f;
    private const float Inner = 0.2442f;
    private const float Middle = 0.4026f;

    private GradientField(int rows, int columns)
    {
        Rows = rows;
        Columns = columns;

        // Every cell of all four is written.
        Smooth = GC.AllocateUninitializedArray<float>(rows * columns);
        X = GC.AllocateUninitializedArray<float>(rows * columns);
        Y = GC.AllocateUninitializedArray<float>(rows * columns);
        Magnitude = GC.AllocateUninitializedArray<float>(rows * columns);
    }

    internal int Rows { get; }

    internal int Columns { get; }

    internal float[] Smooth { get; }

    internal float[] X { get; }

    internal float[] Y { get; }

    internal float[] Magnitude { get; }

    /// <summary>Spread of the image's values: 0.5th to 99.5th percentile.</summary>
    internal float Range { get; private set; }

    /// <summary>Standard deviation of noise in a gradient component, from the quieter half of the image.</summary>
    internal float Noise { get; private set; }

    /// <summary>The gradient of block means.</summary>
    /// <param name="values">Means, rows × columns.</param>
    /// <param name="rows">Rows.</param>
    /// <param name="columns">Columns.</param>
    /// <param name="counts">Whether a cell (column, row) counts for range and noise; null where all do.</param>
    internal static GradientField From(float[] values, int rows, int columns, Func<int, int, bool>? counts = null)
    {
        var field = new GradientField(rows, columns);
        int bands = Math.Max(1, rows / 32);
        Parallel.For(0, bands, band => field.Fill(values, band * rows / bands, (band + 1) * rows / bands));
        float[] sample = counts is null ? Sample(field.Smooth, 40_000) : SampleOf(field.Smooth, rows, columns, counts);
        float high = OrderStatistic.At(sample.AsSpan(), (int)(sample.Length * 0.995)), low = OrderStatistic.At(sample.AsSpan(), (int)(sample.Length * 0.005));
        field.Range = Math.Max(1e-6f, high - low);

        // The second difference along a row ignores slopes; over the quieter half of the image it is mostly noise.
        var second = new List<float>(40_000);
        int stride = Math.Max(1, rows * columns / 40_000);
        for (int i = columns; i < (rows * columns) - columns - 1; i += stride)
        {
            int column = i % columns;
            if (column > 0 && column < columns - 1 && (counts is null || counts(column, i / columns)))
            {
                float difference = MathF.Abs(values[i - 1] - (2 * values[i]) + values[i + 1]);
                if (difference > 0)
                {
                    second.Add(difference);
                }
            }
        }

        // |N(0, 6σ²)| has its 25th percentile at 0.3186·√6·σ; the smoothed central difference keeps 0.1625 of a white noise's σ.
        field.Noise = second.Count < 100 ? 0 : OrderStatistic.At(CollectionsMarshal.AsSpan(second), second.Count / 4) / (0.3186f * 2.449f) * 0.1625f;
        return field;
    }

    // Smooth, X, Y and Magnitude of a band of rows; the few rows beside it that they need are smoothed twice.
    private void Fill(float[] values, int first, int end)
    {
        int columns = Columns, from = Math.Max(0, first - 1), to = Math.Min(Rows, end + 1);
        int above = Math.Max(0, from - 2), below = Math.Min(Rows, to + 2);
        float[] across = ArrayPool<float>.Shared.Rent((below - above) * columns), smooth = ArrayPool<float>.Shared.Rent((to - from) * columns);
        for (int row = above; row < below; row++)
        {
            SmoothAlong(values.AsSpan(row * columns, columns), across.AsSpan((row - above) * columns, columns));
        }

        for (int row = from; row < to; row++)
        {
            Span<float> Line(int at) => across.AsSpan((Math.Clamp(at, 0, Rows - 1) - above) * columns, columns);
            SmoothDown(Line(row - 2), Line(row - 1), Line(row), Line(row + 1), Line(row + 2), smooth.AsSpan((row - from) * columns, columns));
        }

        smooth.AsSpan((first - from) * columns, (end - first) * columns).CopyTo(Smooth.AsSpan(first * columns));
        for (int row = first; row < end; row++)
        {
            ReadOnlySpan<float> Line(int at) => smooth.AsSpan((Math.Clamp(at, 0, Rows - 1) - from) * columns, columns);
            Differences(Line(row - 1), Line(row), Line(row + 1), row * columns);
        }

        ArrayPool<float>.Shared.Return(across);
        ArrayPool<float>.Shared.Return(smooth);
    }

    private static void SmoothAlong(ReadOnlySpan<float> source, Span<float> target)
    {
        int columns = source.Length, wide = Vector<float>.Count, column = 2;
        for (; column <= columns - 2 - wide; column += wide)
        {
            Vector<float> outer = new Vector<float>(source[(column - 2)..]) + new Vector<float>(source[(column + 2)..]);
            Vector<float> inner = new Vector<float>(source[(column - 1)..]) + new Vector<float>(source[(column + 1)..]);
            ((outer * Outer) + (inner * Inner) + (new Vector<float>(source[column..]) * Middle)).CopyTo(target[column..]);
        }

        for (int at = 0; at < columns; at = at == 1 ? Math.Max(2, column) : at + 1)
        {
            float a = source[Math.Max(0, at - 2)], b = source[Math.Max(0, at - 1)];
            float d = source[Math.Min(columns - 1, at + 1)], e = source[Math.Min(columns - 1, at + 2)];
            target[at] = ((a + e) * Outer) + ((b + d) * Inner) + (source[at] * Middle);
        }
    }

    private static void SmoothDown(ReadOnlySpan<float> a, ReadOnlySpan<float> b, ReadOnlySpan<float> c, ReadOnlySpan<float> d, ReadOnlySpan<float> e, Span<float> target)
    {
        int wide = Vector<float>.Count, column = 0;
        for (; column <= target.Length - wide; column += wide)
        {
            Vector<float> outer = new Vector<float>(a[column..]) + new Vector<float>(e[column..]), inner = new Vector<float>(b[column..]) + new Vector<float>(d[column..]);
            ((outer * Outer) + (inner * Inner) + (new Vector<float>(c[column..]) * Middle)).CopyTo(target[column..]);
        }

        for (; column < target.Length; column++)
        {
            target[column] = ((a[column] + e[column]) * Outer) + ((b[column] + d[column]) * Inner) + (c[column] * Middle);
        }
    }

    private void Differences(ReadOnlySpan<float> above, ReadOnlySpan<float> here, ReadOnlySpan<float> below, int first)
    {
        Span<float> x = X.AsSpan(first, Columns), y = Y.AsSpan(first, Columns), magnitude = Magnitude.AsSpan(first, Columns);
        int wide = Vector<float>.Count, column = 1;
        for (; column <= Columns - 1 - wide; column += wide)
        {
            Vector<float> gx = (new Vector<float>(here[(column + 1)..]) - new Vector<float>(here[(column - 1)..])) * 0.5f;
            Vector<float> gy = (new Vector<float>(below[column..]) - new Vector<float>(above[column..])) * 0.5f;
            gx.CopyTo(x[column..]);
            gy.CopyTo(y[column..]);
            Vector.SquareRoot((gx * gx) + (gy * gy)).CopyTo(magnitude[column..]);
        }

        for (int at = 0; at < Columns; at = at == 0 ? Math.Max(1, column) : at + 1)
        {
            float gx = (here[Math.Min(Columns - 1, at + 1)] - here[Math.Max(0, at - 1)]) * 0.5f, gy = (below[at] - above[at]) * 0.5f;
            x[at] = gx;
            y[at] = gy;
            magnitude[at] = MathF.Sqrt((gx * gx) + (gy * gy));
        }
    }

    private static float[] SampleOf(float[] values, int rows, int columns, Func<int, int, bool> counts)
    {
        var sample = new List<float>();
        for (int row = 2; row < rows - 2; row += 2)
        {
            for (int column = 2; column < columns - 2; column += 2)
            {
                // Two cells off the rim, which the smoothing mixes.
                if (counts(column - 2, row) && counts(column + 2, row) && counts(column, row - 2) && counts(column, row + 2))
                {
                    sample.Add(values[(row * columns) + column]);
                }
            }
        }

        return sample.Count < 100 ? Sample(values, 40_000) : [.. sample];
    }

    internal static float[] Sample(float[] values, int count)
    {
        int stride = Math.Max(1, values.Length / count);
        var sample = new float[(values.Length + stride - 1) / stride];
        for (int i = 0, j = 0; i < values.Length; i += stride, j++)
        {
            sample[j] = values[i];
        }

        return sample;
    }
}
