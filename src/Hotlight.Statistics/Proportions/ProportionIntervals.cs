using Hotlight.Core;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics.Proportions;

/// <summary>Intervals of one rate: docs/methods/repeat-statistics.md#rates.</summary>
public static class ProportionIntervals
{
    /// <summary>The Wilson score interval.</summary>
    public static StatisticalMethod WilsonMethod { get; } = new("Wilson score interval", "Wilson, J Am Stat Assoc 1927;22:209 (formula read in secondary sources)");

    /// <summary>The exact interval.</summary>
    public static StatisticalMethod ClopperPearsonMethod { get; } = new("Clopper-Pearson exact interval", "Clopper and Pearson, Biometrika 1934;26:404 (from memory)");

    /// <summary>Rate with the Wilson score interval: near its level on average, the one for reports.</summary>
    /// <remarks>
    /// <para>Method: centre (p + z²/2n)/(1 + z²/n), half width z·√(p(1−p)/n + z²/4n²)/(1 + z²/n), with z the normal quantile of the level.</para>
    /// <para>Holds when: the exposures are independent of each other with one chance of the event. Not: limits of a chart or a funnel, which are drawn about the target.</para>
    /// </remarks>
    /// <param name="count">Events and total.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The rate; cannot-tell when the total is 0.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The level is outside its interval.</exception>
    public static Figure<ProportionEstimate> Wilson(EventCount count, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(count);
        double z = Tails.TwoSidedZ(level);
        if (count.Total == 0)
        {
            return Nothing();
        }

        (double lower, double upper) = WilsonEnds(count, z);
        return Figure<ProportionEstimate>.Measured(new ProportionEstimate(count, count.Fraction(), new Interval(lower, upper, level), WilsonMethod));
    }

    /// <summary>Rate with the Wilson score interval corrected for continuity: covers about what the exact one covers.</summary>
    /// <remarks>Method: (2np + z² − 1 − z·√(z² − 2 − 1/n + 4p(n(1 − p) + 1)))/(2(n + z²)) to (2np + z² + 1 + z·√(z² + 2 − 1/n + 4p(n(1 − p) − 1)))/(2(n + z²)); 0 with no events, 1 with nothing but events. Newcombe, Stat Med 1998;17:857, method 4.</remarks>
    /// <param name="count">Events and total.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The rate; cannot-tell when the total is 0.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The level is outside its interval.</exception>
    public static Figure<ProportionEstimate> WilsonCorrected(EventCount count, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(count);
        double z = Tails.TwoSidedZ(level);
        if (count.Total == 0)
        {
            return Nothing();
        }

        double n = count.Total;
        double p = count.Fraction();
        double scale = 2 * (n + (z * z));
        double middle = (2 * n * p) + (z * z);
        double lower = (middle - 1 - (z * Math.Sqrt(Math.Max(0, (z * z) - 2 - (1 / n) + (4 * p * ((n * (1 - p)) + 1)))))) / scale;
        double upper = (middle + 1 + (z * Math.Sqrt(Math.Max(0, (z * z) + 2 - (1 / n) + (4 * p * ((n * (1 - p)) - 1)))))) / scale;
        Interval interval = new(count.Events == 0 ? 0 : Math.Max(0, lower), count.Events == count.Total ? 1 : Math.Min(1, upper), level);
        return Figure<ProportionEstimate>.Measured(new ProportionEstimate(count, p, interval, new StatisticalMethod("Wilson score interval, corrected for continuity", "Newcombe, Stat Med 1998;17:857, method 4 (from memory)")));
    }

    /// <summary>Rate with the Clopper-Pearson interval: covers at least its level, whatever the true rate; wider than Wilson's.</summary>
    /// <remarks>Method: the lower end has P(X ≥ x) = α/2, the upper end P(X ≤ x) = α/2 for X binomial; these are quantiles of Beta(x, n − x + 1) and Beta(x + 1, n − x). With no events the lower end is 0, with nothing but events the upper is 1.</remarks>
    /// <param name="count">Events and total.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The rate; cannot-tell when the total is 0.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The level is outside its interval.</exception>
    public static Figure<ProportionEstimate> ClopperPearson(EventCount count, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(count);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        if (count.Total == 0)
        {
            return Nothing();
        }

        double lower = count.Events == 0 ? 0 : Beta.InvCDF(count.Events, count.Total - count.Events + 1, tail);
        double upper = count.Events == count.Total ? 1 : Beta.InvCDF(count.Events + 1, count.Total - count.Events, 1 - tail);
        return Figure<ProportionEstimate>.Measured(new ProportionEstimate(count, count.Fraction(), new Interval(lower, upper, level), ClopperPearsonMethod));
    }

    /// <summary>Ends of the Wilson interval; with no events the lower is exactly 0, with nothing but events the upper exactly 1.</summary>
    /// <param name="count">Events and a total above 0.</param>
    /// <param name="z">Normal quantile of the level.</param>
    internal static (double Lower, double Upper) WilsonEnds(EventCount count, double z)
    {
        double n = count.Total;
        double p = count.Fraction();
        double scale = 1 + (z * z / n);
        double centre = (p + (z * z / (2 * n))) / scale;
        double half = z * Math.Sqrt((p * (1 - p) / n) + (z * z / (4 * n * n))) / scale;
        return (count.Events == 0 ? 0 : Math.Max(0, centre - half), count.Events == count.Total ? 1 : Math.Min(1, centre + half));
    }

    private static Figure<ProportionEstimate> Nothing()
        => Figure<ProportionEstimate>.CannotTell("There is nothing to count here, so there is no rate.");
}
