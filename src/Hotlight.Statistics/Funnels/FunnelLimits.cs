using Hotlight.Core;

namespace Hotlight.Statistics.Funnels;

/// <summary>Limits of a funnel at one precision; a page draws its curves from these.</summary>
/// <remarks>Limits are drawn about the target. The interval of a unit's own rate is another thing and never a limit: it calls too often (Manktelow and Seaton, PLoS One 2012;7:e45723).</remarks>
public static class FunnelLimits
{
    /// <summary>Exact binomial limits of a rate, interpolated between whole counts.</summary>
    /// <remarks>Method: r the least count with P(X ≤ r) ≥ q, limit (r − (P(X ≤ r) − q)/P(X = r))/n, at q = (1 − level)/2 and (1 + level)/2. Spiegelhalter, Stat Med 2005;24:1185, appendix A.1.1.</remarks>
    /// <param name="target">Target as a fraction, above 0 and below 1.</param>
    /// <param name="total">Exposures, 1 or more.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    public static Interval Binomial(double target, long total, double level)
    {
        CheckTarget(target, total);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        double End(double area) => Math.Clamp(Interpolated(k => Tails.BinomialAtMost(k, total, target), total, area) / total, 0, 1);
        return new Interval(End(tail), End(1 - tail), level);
    }

    /// <summary>Normal limits of a rate.</summary>
    /// <remarks>Method: target ± z·√(φ·target(1 − target)/n), cut at 0 and 1.</remarks>
    /// <param name="target">Target as a fraction, above 0 and below 1.</param>
    /// <param name="total">Exposures, 1 or more.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <param name="overdispersionFactor">φ, above 0.</param>
    public static Interval Normal(double target, long total, double level, double overdispersionFactor = 1)
    {
        CheckTarget(target, total);
        double half = Tails.TwoSidedZ(level) * Math.Sqrt(Preconditions.AboveZero(overdispersionFactor) * target * (1 - target) / total);
        return new Interval(Math.Max(0, target - half), Math.Min(1, target + half), level);
    }

    /// <summary>Exact Poisson limits of a standardised ratio, interpolated between whole counts.</summary>
    /// <remarks>Method: as <see cref="Binomial"/>, with X Poisson of mean target·E, over E. Spiegelhalter, Stat Med 2005;24:1185, appendix.</remarks>
    /// <param name="target">Target ratio, above 0.</param>
    /// <param name="expected">Expected events E, above 0.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    public static Interval Poisson(double target, double expected, double level)
    {
        double mean = Preconditions.AboveZero(target) * Preconditions.AboveZero(expected);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        long highest = (long)Math.Ceiling(mean + (10 * Math.Sqrt(mean)) + 30);
        double End(double area) => Math.Max(0, Interpolated(k => Tails.PoissonAtMost(k, mean), highest, area) / expected);
        return new Interval(End(tail), End(1 - tail), level);
    }

    /// <summary>Normal limits of a standardised ratio.</summary>
    /// <remarks>Method: target ± z·√(φ·target/E), cut at 0.</remarks>
    /// <param name="target">Target ratio, above 0.</param>
    /// <param name="expected">Expected events E, above 0.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <param name="overdispersionFactor">φ, above 0.</param>
    public static Interval NormalRatio(double target, double expected, double level, double overdispersionFactor = 1)
    {
        double half = Tails.TwoSidedZ(level) * Math.Sqrt(Preconditions.AboveZero(overdispersionFactor) * Preconditions.AboveZero(target) / Preconditions.AboveZero(expected));
        return new Interval(Math.Max(0, target - half), target + half, level);
    }

    private static double Interpolated(Func<long, double> atMost, long highest, double area)
    {
        long count = Tails.Quantile(atMost, highest, area);
        double below = atMost(count - 1);
        double upTo = atMost(count);
        return upTo > below ? count - ((upTo - area) / (upTo - below)) : count;
    }

    private static void CheckTarget(double target, long total)
    {
        if (!(target > 0 && target < 1))
        {
            throw new ArgumentOutOfRangeException(nameof(target), target, $"The target is {target}; it must be above 0 and below 1.");
        }

        if (total < 1)
        {
            throw new ArgumentOutOfRangeException(nameof(total), total, $"The exposures are {total}; they must be 1 or more.");
        }
    }
}
