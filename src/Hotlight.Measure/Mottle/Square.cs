using Hotlight.Core;

namespace Hotlight.Measure.Mottle;

/// <summary>One square of soft tissue and its power spectrum.</summary>
/// <param name="Corner">Its upper left pixel.</param>
/// <param name="Side">Its side, in pixels.</param>
/// <param name="Mean">Mean signal.</param>
/// <param name="MeanPixelValue">Mean pixel value.</param>
/// <param name="Power">Mean power of each radial bin.</param>
/// <param name="PowerAbove">Variance at the first bin above the structure's band and beyond.</param>
/// <param name="PowerMiddle">Of <paramref name="PowerAbove"/>, the part below about 0.16 cycles per pixel.</param>
/// <param name="PowerUpper">Variance between about 0.2 and 0.35 cycles per pixel, where structure is weakest and blurred noise not yet gone.</param>
/// <param name="PowerBelow">Variance in the structure's band, without the bins that the trend was taken out of.</param>
internal sealed record Square(PixelPoint Corner, int Side, double Mean, double MeanPixelValue, double[] Power, double PowerAbove, double PowerMiddle, double PowerUpper, double PowerBelow)
{
    /// <summary>How steeply the spectrum falls.</summary>
    public double Steepness => PowerMiddle / Math.Max(PowerUpper, 1e-30);

    /// <summary>The bin at which noise begins to be counted as measured: about 0.08 cycles per pixel.</summary>
    /// <param name="side">Side of the squares, in pixels.</param>
    public static int FirstBinAbove(int side) => side == 64 ? 5 : 3;

    public static Square From(PixelPoint corner, double mean, double meanPixelValue, double[] power, int[] modes, int side)
    {
        int first = FirstBinAbove(side);
        double above = 0;
        double middle = 0;
        double upper = 0;
        double below = 0;
        for (int bin = 2; bin < power.Length; bin++)
        {
            double variance = power[bin] * modes[bin] / ((double)side * side);
            if (bin < first)
            {
                // The bin next to the measured ones shares modes with them through the window, so the choice by structure leaves it out where there is another.
                below += bin < first - 1 || first == 3 ? variance : 0;
            }
            else
            {
                above += variance;
                double frequency = (double)bin / side;
                middle += frequency <= 0.16 ? variance : 0;
                upper += frequency is >= 0.2 and <= 0.35 ? variance : 0;
            }
        }

        return new Square(corner, side, mean, meanPixelValue, power, above, middle, upper, below);
    }
}
