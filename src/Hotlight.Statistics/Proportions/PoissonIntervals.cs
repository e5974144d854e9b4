using Hotlight.Core;
using MathNet.Numerics;

namespace Hotlight.Statistics.Proportions;

/// <summary>Intervals of the mean of a Poisson count.</summary>
public static class PoissonIntervals
{
    /// <summary>The exact interval.</summary>
    public static StatisticalMethod ExactMethod { get; } = new("Exact Poisson interval", "Garwood, Biometrika 1936;28:437 (from memory)");

    /// <summary>Byar's approximation.</summary>
    public static StatisticalMethod ByarMethod { get; } = new("Byar's approximation", "Breslow and Day, Statistical Methods in Cancer Research II, 1987, p. 69 (from memory)");

    /// <summary>Exact interval of the mean behind a count.</summary>
    /// <remarks>Method: χ²(α/2; 2x)/2 to χ²(1 − α/2; 2x + 2)/2; the lower end is 0 at x = 0.</remarks>
    /// <param name="count">The count, 0 or more.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    public static Interval Exact(long count, double level = 0.95)
    {
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        double lower = NotNegative(count) == 0 ? 0 : SpecialFunctions.GammaLowerRegularizedInv(count, tail);
        return new Interval(lower, SpecialFunctions.GammaLowerRegularizedInv(count + 1, 1 - tail), level);
    }

    /// <summary>Byar's approximate interval of the mean behind a count.</summary>
    /// <remarks>Method: x(1 − 1/(9x) − z/(3√x))³ to (x + 1)(1 − 1/(9(x + 1)) + z/(3√(x + 1)))³; within 0.2 % of exact from x = 10 on.</remarks>
    /// <param name="count">The count, 0 or more.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    public static Interval Byar(long count, double level = 0.95)
    {
        double z = Tails.TwoSidedZ(level);
        double lower = NotNegative(count) == 0 ? 0 : count * Math.Pow(Math.Max(0, 1 - (1 / (9.0 * count)) - (z / (3 * Math.Sqrt(count)))), 3);
        double next = count + 1.0;
        return new Interval(lower, next * Math.Pow(1 - (1 / (9 * next)) + (z / (3 * Math.Sqrt(next))), 3), level);
    }

    private static long NotNegative(long count)
        => count >= 0 ? count : throw new ArgumentOutOfRangeException(nameof(count), count, $"The count is {count}; it must be 0 or more.");
}
