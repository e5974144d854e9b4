using Hotlight.Core;
using MathNet.Numerics;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics;

/// <summary>Quantiles and tail areas that several methods share. All areas are computed in the tail itself, so that small p values keep their digits.</summary>
internal static class Tails
{
    /// <summary>z with area (1 + level)/2 below it: 1.959964 at 0.95.</summary>
    /// <param name="level">Two-sided level, in [0.5, 0.999999].</param>
    /// <exception cref="ArgumentOutOfRangeException">The level is outside that interval.</exception>
    public static double TwoSidedZ(double level) => Normal.InvCDF(0, 1, (1 + CheckedLevel(level)) / 2);

    /// <summary>Returns the level when it is one that an interval can have.</summary>
    /// <param name="level">The level as a fraction.</param>
    /// <exception cref="ArgumentOutOfRangeException">Outside [0.5, 0.999999].</exception>
    public static double CheckedLevel(double level) => Preconditions.Within(level, 0.5, 0.999999);

    /// <summary>P(Z &gt; z) of a standard normal.</summary>
    /// <param name="z">Standard deviations from the mean.</param>
    public static double NormalAbove(double z) => 0.5 * SpecialFunctions.Erfc(z / Math.Sqrt(2));

    /// <summary>P(|Z| &gt; |z|) of a standard normal.</summary>
    /// <param name="z">Standard deviations from the mean.</param>
    public static double NormalBeyond(double z) => SpecialFunctions.Erfc(Math.Abs(z) / Math.Sqrt(2));

    /// <summary>P(X &gt; x) of a chi-square.</summary>
    /// <param name="x">Value, 0 or more.</param>
    /// <param name="degrees">Degrees of freedom, above 0.</param>
    public static double ChiSquareAbove(double x, double degrees) => x <= 0 ? 1 : SpecialFunctions.GammaUpperRegularized(degrees / 2, x / 2);

    /// <summary>P(X ≤ k) for X binomial, through the regularised incomplete beta function.</summary>
    /// <param name="k">Events; below 0 gives 0.</param>
    /// <param name="n">Trials.</param>
    /// <param name="p">Chance of one, in [0, 1].</param>
    public static double BinomialAtMost(long k, long n, double p)
        => k < 0 ? 0 : k >= n || p <= 0 ? 1 : p >= 1 ? 0 : SpecialFunctions.BetaRegularized(n - k, k + 1, 1 - p);

    /// <summary>P(X = k) for X binomial.</summary>
    /// <param name="k">Events.</param>
    /// <param name="n">Trials.</param>
    /// <param name="p">Chance of one, in [0, 1].</param>
    public static double BinomialAt(long k, long n, double p)
        => k < 0 || k > n ? 0 : p <= 0 ? (k == 0 ? 1 : 0) : p >= 1 ? (k == n ? 1 : 0) : Math.Exp(LogChoose(n, k) + (k * Math.Log(p)) + ((n - k) * SpecialFunctions.Log1p(-p)));

    /// <summary>P(X ≤ k) for X Poisson.</summary>
    /// <param name="k">Events; below 0 gives 0.</param>
    /// <param name="mean">Mean, above 0.</param>
    public static double PoissonAtMost(long k, double mean) => k < 0 ? 0 : SpecialFunctions.GammaUpperRegularized(k + 1, mean);

    /// <summary>P(X &gt; k) for X Poisson.</summary>
    /// <param name="k">Events; below 0 gives 1.</param>
    /// <param name="mean">Mean, above 0.</param>
    public static double PoissonAbove(long k, double mean) => k < 0 ? 1 : SpecialFunctions.GammaLowerRegularized(k + 1, mean);

    /// <summary>P(X = k) for X Poisson.</summary>
    /// <param name="k">Events.</param>
    /// <param name="mean">Mean, above 0.</param>
    public static double PoissonAt(long k, double mean) => k < 0 ? 0 : Math.Exp((k * Math.Log(mean)) - mean - SpecialFunctions.GammaLn(k + 1));

    /// <summary>Logarithm of the number of ways to choose k of n.</summary>
    /// <param name="n">Whole number, 0 or more.</param>
    /// <param name="k">Whole number in [0, n].</param>
    public static double LogChoose(long n, long k)
        => SpecialFunctions.GammaLn(n + 1) - SpecialFunctions.GammaLn(k + 1) - SpecialFunctions.GammaLn(n - k + 1);

    /// <summary>The least whole number whose distribution function reaches an area, by bisection.</summary>
    /// <param name="atMost">Distribution function of a whole number from 0.</param>
    /// <param name="highest">A number whose function value is at least the area.</param>
    /// <param name="area">Area below, in (0, 1).</param>
    public static long Quantile(Func<long, double> atMost, long highest, double area)
    {
        long low = -1;
        long high = highest;
        while (high - low > 1)
        {
            long middle = low + ((high - low) / 2);
            if (atMost(middle) >= area)
            {
                high = middle;
            }
            else
            {
                low = middle;
            }
        }

        return high;
    }
}
