using Hotlight.Core;

namespace Hotlight.Simulation.Receptor;

/// <summary>Separable Gaussian blur; edges repeat their last sample.</summary>
internal static class GaussianBlur
{
    /// <summary>Weights of a sampled Gaussian, cut at 3.5 sigma, with sum 1; one weight where sigma is below a tenth of a pixel.</summary>
    public static float[] Kernel(double sigmaPixels)
    {
        int reach = sigmaPixels < 0.1 ? 0 : (int)Math.Ceiling(3.5 * sigmaPixels);
        double[] weights = new double[(2 * reach) + 1];
        for (int k = -reach; k <= reach; k++)
        {
            weights[k + reach] = reach == 0 ? 1 : Math.Exp(-0.5 * k * k / (sigmaPixels * sigmaPixels));
        }

        double sum = weights.Sum();
        return [.. weights.Select(weight => (float)(weight / sum))];
    }

    /// <summary>The blurred raster, a new block.</summary>
    public static Raster<float> Blurred(Raster<float> signal, double sigmaPixels)
    {
        float[] kernel = Kernel(sigmaPixels);
        int reach = kernel.Length / 2;
        int rows = signal.Rows;
        int columns = signal.Columns;
        Raster<float> across = new(rows, columns);
        Parallel.For(0, rows, row =>
        {
            float[] padded = new float[columns + (2 * reach)];
            ReadOnlySpan<float> from = signal.Row(row);
            from.CopyTo(padded.AsSpan(reach));
            padded.AsSpan(0, reach).Fill(from[0]);
            padded.AsSpan(reach + columns).Fill(from[^1]);
            Span<float> to = across.Row(row);
            for (int k = 0; k < kernel.Length; k++)
            {
                AddScaled(padded.AsSpan(k, columns), kernel[k], to);
            }
        });
        Raster<float> blurred = new(rows, columns);
        Parallel.For(0, rows, row =>
        {
            Span<float> to = blurred.Row(row);
            for (int k = -reach; k <= reach; k++)
            {
                AddScaled(across.Row(Math.Clamp(row + k, 0, rows - 1)), kernel[k + reach], to);
            }
        });
        return blurred;
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
