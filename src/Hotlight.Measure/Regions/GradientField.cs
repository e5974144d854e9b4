namespace Hotlight.Measure.Regions;

/// <summary>Gradient of the reduced image after a Gaussian of about one cell, with the noise and the range it is judged against.</summary>
internal sealed class GradientField
{
    private GradientField(int rows, int columns)
    {
        Rows = rows;
        Columns = columns;
        Smooth = new float[rows * columns];
        X = new float[rows * columns];
        Y = new float[rows * columns];
        Magnitude = new float[rows * columns];
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
        var across = new float[rows * columns];
        Parallel.For(0, rows, row =>
        {
            ReadOnlySpan<float> source = values.AsSpan(row * columns, columns);
            Span<float> target = across.AsSpan(row * columns, columns);
            for (int column = 0; column < columns; column++)
            {
                float a = source[Math.Max(0, column - 2)], b = source[Math.Max(0, column - 1)], c = source[column];
                float d = source[Math.Min(columns - 1, column + 1)], e = source[Math.Min(columns - 1, column + 2)];
                target[column] = ((a + e) * 0.0545f) + ((b + d) * 0.2442f) + (c * 0.4026f);
            }
        });
        Parallel.For(0, rows, row =>
        {
            ReadOnlySpan<float> a = across.AsSpan(Math.Max(0, row - 2) * columns, columns), b = across.AsSpan(Math.Max(0, row - 1) * columns, columns);
            ReadOnlySpan<float> c = across.AsSpan(row * columns, columns), d = across.AsSpan(Math.Min(rows - 1, row + 1) * columns, columns);
            ReadOnlySpan<float> e = across.AsSpan(Math.Min(rows - 1, row + 2) * columns, columns);
            Span<float> target = field.Smooth.AsSpan(row * columns, columns);
            for (int column = 0; column < columns; column++)
            {
                target[column] = ((a[column] + e[column]) * 0.0545f) + ((b[column] + d[column]) * 0.2442f) + (c[column] * 0.4026f);
            }
        });
        Parallel.For(0, rows, row =>
        {
            int above = Math.Max(0, row - 1) * columns, below = Math.Min(rows - 1, row + 1) * columns, here = row * columns;
            for (int column = 0; column < columns; column++)
            {
                int left = Math.Max(0, column - 1), right = Math.Min(columns - 1, column + 1);
                float gx = (field.Smooth[here + right] - field.Smooth[here + left]) * 0.5f;
                float gy = (field.Smooth[below + column] - field.Smooth[above + column]) * 0.5f;
                field.X[here + column] = gx;
                field.Y[here + column] = gy;
                field.Magnitude[here + column] = MathF.Sqrt((gx * gx) + (gy * gy));
            }
        });
        float[] sorted = counts is null ? Sample(field.Smooth, 40_000) : SampleOf(field.Smooth, rows, columns, counts);
        Array.Sort(sorted);
        field.Range = Math.Max(1e-6f, sorted[(int)(sorted.Length * 0.995)] - sorted[(int)(sorted.Length * 0.005)]);

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

        second.Sort();

        // |N(0, 6σ²)| has its 25th percentile at 0.3186·√6·σ; the smoothed central difference keeps 0.1625 of a white noise's σ.
        field.Noise = second.Count < 100 ? 0 : second[second.Count / 4] / (0.3186f * 2.449f) * 0.1625f;
        return field;
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
