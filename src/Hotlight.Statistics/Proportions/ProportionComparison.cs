using Hotlight.Core;

namespace Hotlight.Statistics.Proportions;

/// <summary>Compares two rates, such as before and after a training: docs/methods/repeat-statistics.md#two-rates.</summary>
/// <remarks>The two counts share no exposure. The same cases read twice are pairs: McNemar's test is for those.</remarks>
public static class ProportionComparison
{
    private const string NothingToCompare = "One of the two groups is empty, so they cannot be compared.";

    /// <summary>Difference of two rates with Newcombe's interval built from two Wilson intervals.</summary>
    /// <remarks>Method: d = p₂ − p₁; lower d − √((p₂ − l₂)² + (u₁ − p₁)²), upper d + √((u₂ − p₂)² + (p₁ − l₁)²), with l and u the Wilson ends of each. Newcombe, Stat Med 1998;17:873, method 10.</remarks>
    /// <param name="first">First count.</param>
    /// <param name="second">Second count.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The difference; cannot-tell when a total is 0.</returns>
    public static Figure<DifferenceEstimate> Difference(EventCount first, EventCount second, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        double z = Tails.TwoSidedZ(level);
        if (first.Total == 0 || second.Total == 0)
        {
            return Figure<DifferenceEstimate>.CannotTell(NothingToCompare);
        }

        (double lower1, double upper1) = ProportionIntervals.WilsonEnds(first, z);
        (double lower2, double upper2) = ProportionIntervals.WilsonEnds(second, z);
        double p1 = first.Fraction();
        double p2 = second.Fraction();
        double difference = p2 - p1;
        Interval interval = new(difference - Hypotenuse(p2 - lower2, upper1 - p1), difference + Hypotenuse(upper2 - p2, p1 - lower1), level);
        return Figure<DifferenceEstimate>.Measured(new DifferenceEstimate(first, second, difference, interval, new StatisticalMethod("Newcombe interval from two Wilson intervals", "Newcombe, Stat Med 1998;17:873, method 10 (from memory)")));
    }

    /// <summary>Ratio of two rates with the interval of its logarithm.</summary>
    /// <remarks>Method: ln(p₂/p₁) ± z·√(1/x₁ − 1/n₁ + 1/x₂ − 1/n₂). Katz, Baptista, Azen and Pike, Biometrics 1978;34:469.</remarks>
    /// <param name="first">First count.</param>
    /// <param name="second">Second count.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The ratio; cannot-tell when a total or a number of events is 0, since the logarithm then has no value.</returns>
    public static Figure<RiskRatioEstimate> RiskRatio(EventCount first, EventCount second, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        double z = Tails.TwoSidedZ(level);
        if (first.Total == 0 || second.Total == 0)
        {
            return Figure<RiskRatioEstimate>.CannotTell(NothingToCompare);
        }

        if (first.Events == 0 || second.Events == 0)
        {
            return Figure<RiskRatioEstimate>.CannotTell("One of the two groups has no event, so a ratio of the rates has no interval; look at the difference.");
        }

        double log = Math.Log(second.Fraction() / first.Fraction());
        double half = z * Math.Sqrt((1.0 / first.Events) - (1.0 / first.Total) + (1.0 / second.Events) - (1.0 / second.Total));
        return Figure<RiskRatioEstimate>.Measured(new RiskRatioEstimate(first, second, Math.Exp(log), new Interval(Math.Exp(log - half), Math.Exp(log + half), level), new StatisticalMethod("Risk ratio with log interval", "Katz et al., Biometrics 1978;34:469 (from memory)")));
    }

    /// <summary>Cohen's h of two rates.</summary>
    /// <remarks>Method: h = 2·asin√p₂ − 2·asin√p₁ ± z·√(1/n₁ + 1/n₂). Words: below 0.2 very small, from 0.2 small, from 0.5 medium, from 0.8 large. Cohen, Statistical Power Analysis, 2nd edition 1988, section 6.2.</remarks>
    /// <param name="first">First count.</param>
    /// <param name="second">Second count.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The effect size; cannot-tell when a total is 0.</returns>
    public static Figure<EffectSize> CohenH(EventCount first, EventCount second, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        double z = Tails.TwoSidedZ(level);
        if (first.Total == 0 || second.Total == 0)
        {
            return Figure<EffectSize>.CannotTell(NothingToCompare);
        }

        double h = (2 * Math.Asin(Math.Sqrt(second.Fraction()))) - (2 * Math.Asin(Math.Sqrt(first.Fraction())));
        double half = z * Math.Sqrt((1.0 / first.Total) + (1.0 / second.Total));
        string word = Math.Abs(h) switch { < 0.2 => "very small", < 0.5 => "small", < 0.8 => "medium", _ => "large" };
        return Figure<EffectSize>.Measured(new EffectSize(h, new Interval(h - half, h + half, level), word, new StatisticalMethod("Cohen's h", "Cohen, Statistical Power Analysis, 2nd edition 1988, section 6.2 (from memory)")));
    }

    /// <summary>Tests whether two rates are the same, two-sided.</summary>
    /// <remarks>
    /// <para>Chi-square: Σ (observed − expected)²/expected over the four cells, one degree of freedom (Pearson 1900). Fits where every expected count is 5 or more (Cochran, Biometrics 1954;10:417: a convention).</para>
    /// <para>Fisher: with the margins held, p is the sum of the hypergeometric chances of all tables no likelier than the one seen (Fisher 1935); mid-P takes half of those exactly as likely (Lancaster 1961).</para>
    /// </remarks>
    /// <param name="first">First count.</param>
    /// <param name="second">Second count.</param>
    /// <param name="test">Which test; left out, the one that fits.</param>
    /// <returns>The test; cannot-tell when a total is 0. No events at all, or nothing but events, is p = 1.</returns>
    public static Figure<TestResult> Test(EventCount first, EventCount second, TwoSampleTest test = TwoSampleTest.AsFits)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        if (first.Total == 0 || second.Total == 0)
        {
            return Figure<TestResult>.CannotTell(NothingToCompare);
        }

        double n = (double)first.Total + second.Total;
        double pooled = (first.Events + (double)second.Events) / n;
        double leastExpected = Math.Min(first.Total, second.Total) * Math.Min(pooled, 1 - pooled);
        bool chiSquare = test == TwoSampleTest.ChiSquare || (test == TwoSampleTest.AsFits && leastExpected >= 5);
        return Figure<TestResult>.Measured(chiSquare ? ChiSquare(first, second, pooled) : Fisher(first, second, test == TwoSampleTest.FisherMidP));
    }

    private static TestResult ChiSquare(EventCount first, EventCount second, double pooled)
    {
        double spread = pooled * (1 - pooled) * ((1.0 / first.Total) + (1.0 / second.Total));
        double difference = second.Fraction() - first.Fraction();
        double statistic = spread > 0 ? difference * difference / spread : 0;
        return new TestResult(Tails.ChiSquareAbove(statistic, 1), statistic, "The two rates are the same.", first.Total + second.Total, new StatisticalMethod("Chi-square test without correction", "Pearson, Phil Mag 1900;50:157 (from memory)"));
    }

    private static TestResult Fisher(EventCount first, EventCount second, bool midP)
    {
        long events = first.Events + second.Events;
        long low = Math.Max(0, events - second.Total);
        long high = Math.Min(events, first.Total);
        double whole = Tails.LogChoose(first.Total + second.Total, events);
        double Chance(long k) => Math.Exp(Tails.LogChoose(first.Total, k) + Tails.LogChoose(second.Total, events - k) - whole);
        double seen = Chance(first.Events);

        // Tables as likely as the one seen differ from it by rounding alone: 1e-7 relative, as other programs take it.
        double below = 0;
        double ties = 0;
        for (long k = low; k <= high; k++)
        {
            double chance = Chance(k);
            if (Math.Abs(chance - seen) <= 1e-7 * seen)
            {
                ties += chance;
            }
            else if (chance < seen)
            {
                below += chance;
            }
        }

        double p = Math.Min(1, below + (midP ? ties / 2 : ties));
        StatisticalMethod method = midP
            ? new StatisticalMethod("Fisher's test, mid-P", "Lancaster, J Am Stat Assoc 1961;56:223 (from memory)")
            : new StatisticalMethod("Fisher's exact test", "Fisher, J R Stat Soc 1935;98:39 (from memory)");
        return new TestResult(p, null, "The two rates are the same.", first.Total + second.Total, method);
    }

    private static double Hypotenuse(double a, double b) => Math.Sqrt((a * a) + (b * b));
}
