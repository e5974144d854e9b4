using Hotlight.Imaging;
using Hotlight.Measure.Histogram;

namespace Hotlight.Measure.Clipping;

/// <summary>The pixel values at which signal is lost, at either end.</summary>
/// <remarks>
/// An end is the end of the stored range (0 or 2^bits − 1), or, where the field's values stop short of it in a spike, the value they stop at:
/// the most extreme value counts as a limit when it holds at least 50 pixels, at least 0.01 % of the field, and more than three times as many pixels as any of the next eight values that occur.
/// docs/methods/clipping.md#limits.
/// </remarks>
internal readonly record struct SignalLimits(int Low, int High)
{
    private const int LeastPixels = 50;
    private const double LeastFraction = 1e-4;
    private const int Neighbours = 8;
    private const int SpikeFactor = 3;

    /// <summary>Finds the limits of a field.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="histogram">Its field's histogram.</param>
    public static SignalLimits Find(Radiograph radiograph, FieldHistogram histogram)
    {
        int low = End(histogram, first: 0, direction: 1);
        int high = End(histogram, first: radiograph.PixelMaximum, direction: -1);
        return new SignalLimits(low, high);
    }

    /// <summary>The limit on the side of more exposure.</summary>
    /// <param name="exposureSign">+1 when a higher value means more exposure, −1 when less.</param>
    public int Saturation(int exposureSign) => exposureSign > 0 ? High : Low;

    private static int End(FieldHistogram histogram, int first, int direction)
    {
        long[] counts = histogram.Field;
        int extreme = first;
        while ((uint)extreme < (uint)counts.Length && counts[extreme] == 0)
        {
            extreme += direction;
        }

        if ((uint)extreme >= (uint)counts.Length || extreme == first
            || counts[extreme] < LeastPixels || counts[extreme] < LeastFraction * histogram.FieldPixels)
        {
            return first;
        }

        int seen = 0;
        for (int value = extreme + direction; seen < Neighbours && (uint)value < (uint)counts.Length; value += direction)
        {
            if (counts[value] == 0)
            {
                continue;
            }

            seen++;
            if (counts[extreme] <= SpikeFactor * counts[value])
            {
                return first;
            }
        }

        return extreme;
    }
}
