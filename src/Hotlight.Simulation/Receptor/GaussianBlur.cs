using Hotlight.Core;
using Hotlight.Simulation.Projection;

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
        return Convolution.Separable(signal, kernel, kernel);
    }
}
