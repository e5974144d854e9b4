using System.Numerics;
using Hotlight.Core;

namespace Hotlight.Simulation.Projection;

/// <summary>Weighted sums of rows, and what is made of them.</summary>
internal static class Convolution
{
    /// <summary>Adds a row times a weight to another of the same length.</summary>
    public static void AddScaled(ReadOnlySpan<float> from, float weight, Span<float> to)
    {
        int lanes = Vector<float>.Count;
        Vector<float> factor = new(weight);
        int at = 0;
        for (; at <= to.Length - lanes; at += lanes)
        {
            (new Vector<float>(to[at..]) + (factor * new Vector<float>(from[at..]))).CopyTo(to[at..]);
        }

        for (; at < to.Length; at++)
        {
            to[at] += weight * from[at];
        }
    }

    /// <summary>A raster weighted along its rows, then along its columns, a new block; edges repeat their last sample.</summary>
    /// <param name="signal">Rows × columns; not changed.</param>
    /// <param name="across">An odd number of weights from column to column, the middle one of the pixel itself.</param>
    /// <param name="down">The same from row to row.</param>
    public static Raster<float> Separable(Raster<float> signal, float[] across, float[] down)
    {
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
}
