using Hotlight.Core;

namespace Hotlight.Simulation.Tube;

/// <summary>Blur of an image by a uniform focal spot: the penumbra of everything at one height.</summary>
internal static class FocalSpotBlur
{
    /// <summary>The blurred image, a new block; edges repeat their last sample.</summary>
    /// <param name="signal">Signal at the pixels' centres; not changed.</param>
    /// <param name="alongColumnsPixels">Width of the penumbra from column to column, in pixels, 0 or more.</param>
    /// <param name="alongRowsPixels">Width of the penumbra from row to row, in pixels, 0 or more.</param>
    /// <remarks>A box in each direction, with the box's variance w²/12 exactly.</remarks>
    public static Raster<float> Spread(Raster<float> signal, double alongColumnsPixels, double alongRowsPixels)
    {
        float[] across = Kernel(alongColumnsPixels);
        float[] down = Kernel(alongRowsPixels);
        int rows = signal.Rows;
        int columns = signal.Columns;
        Raster<float> half = new(rows, columns);
        Parallel.For(0, rows, row =>
        {
            int reach = across.Length / 2;
            float[] padded = new float[columns + (2 * reach)];
            ReadOnlySpan<float> from = signal.Row(row);
            from.CopyTo(padded.AsSpan(reach));
            padded.AsSpan(0, reach).Fill(from[0]);
            padded.AsSpan(reach + columns).Fill(from[^1]);
            Span<float> to = half.Row(row);
            for (int k = 0; k < across.Length; k++)
            {
                AddScaled(padded.AsSpan(k, columns), across[k], to);
            }
        });
        Raster<float> whole = new(rows, columns);
        Parallel.For(0, rows, row =>
        {
            int reach = down.Length / 2;
            Span<float> to = whole.Row(row);
            for (int k = -reach; k <= reach; k++)
            {
                AddScaled(half.Row(Math.Clamp(row + k, 0, rows - 1)), down[k + reach], to);
            }
        });
        return whole;
    }

    /// <summary>Weights of a box of a width in pixels, sum 1, variance w²/12.</summary>
    internal static float[] Kernel(double widthPixels)
    {
        double variance = Math.Pow(Preconditions.Within(widthPixels, 0, 10_000), 2) / 12;

        // Equal weights within, smaller ones at both ends, so that the variance is the box's: n equal weights of reach r have r(r + 1)/3.
        int reach = 0;
        while (reach * (reach + 1) / 3.0 < variance)
        {
            reach++;
        }

        if (reach == 0)
        {
            return [1];
        }

        double within = (reach - 1) * reach / 3.0;
        double end = (variance - within) / (((double)reach * reach) - within) / 2;
        float[] weights = new float[(2 * reach) + 1];
        Array.Fill(weights, (float)((1 - (2 * end)) / ((2 * reach) - 1)));
        weights[0] = (float)end;
        weights[^1] = (float)end;
        return weights;
    }

    private static void AddScaled(ReadOnlySpan<float> from, float weight, Span<float> to)
    {
        int lanes = System.Numerics.Vector<float>.Count;
        System.Numerics.Vector<float> factor = new(weight);
        int at = 0;
        for (; at <= to.Length - lanes; at += lanes)
        {
            (new System.Numerics.Vector<float>(to[at..]) + (factor * new System.Numerics.Vector<float>(from[at..]))).CopyTo(to[at..]);
        }

        for (; at < to.Length; at++)
        {
            to[at] += weight * from[at];
        }
    }
}
