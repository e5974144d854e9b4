using Hotlight.Core;
using Hotlight.Simulation.Projection;

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
        => Convolution.Separable(signal, Kernel(alongColumnsPixels), Kernel(alongRowsPixels));

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
}
