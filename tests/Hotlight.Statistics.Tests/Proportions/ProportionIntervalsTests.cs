using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Tests.Proportions;

public sealed class ProportionIntervalsTests
{
    // Values to all digits are R's, as printed in a test of another library; 7 and 4 digits as printed; 6 digits worked out from the formula by hand.
    [Theory]
    [InlineData(4, 20, 0.0806576625797981, 0.4160174322518935, 1e-12)]
    [InlineData(19, 38, 0.348499283643951, 0.651500716356049, 1e-12)]
    [InlineData(100, 200, 0.4313609, 0.5686391, 5e-8)]
    [InlineData(13, 16, 0.5699, 0.9341, 5e-5)]
    [InlineData(3206, 27284, 0.113737, 0.121380, 5e-7)]
    [InlineData(0, 10, 0, 0.277533, 5e-7)]
    [InlineData(10, 10, 0.722467, 1, 5e-7)]
    [InlineData(1, 10, 0.017876, 0.404150, 5e-7)]
    [InlineData(8, 100, 0.041093, 0.149981, 5e-7)]
    [InlineData(12, 100, 0.069994, 0.198121, 5e-7)]
    [InlineData(0, 77, 0, 0.047518, 5e-7)]
    [InlineData(250, 533, 0.427050, 0.511480, 5e-7)]
    [Trait("evidence", "published")]
    public void Wilson_PrintedIntervals_AreMet(long events, long total, double lower, double upper, double tolerance)
    {
        ProportionEstimate estimate = ProportionIntervals.Wilson(new EventCount(events, total)).Value!;
        Assert.Equal(lower, estimate.Interval.Lower, tolerance);
        Assert.Equal(upper, estimate.Interval.Upper, tolerance);
        Assert.Equal((double)events / total, estimate.Fraction);
        Assert.Equal(total, estimate.Count.Total);
    }

    // 13 of 16, printed 0.5369 to 0.9503 in another author's book of contingency tables.
    [Fact]
    [Trait("evidence", "published")]
    public void WilsonCorrected_PrintedInterval_IsMet()
    {
        Interval interval = ProportionIntervals.WilsonCorrected(new EventCount(13, 16)).Value!.Interval;
        Assert.Equal(0.5369, interval.Lower, 5e-5);
        Assert.Equal(0.9503, interval.Upper, 5e-5);
        Assert.Equal(0, ProportionIntervals.WilsonCorrected(new EventCount(0, 16)).Value!.Interval.Lower);
        Assert.Equal(1, ProportionIntervals.WilsonCorrected(new EventCount(16, 16)).Value!.Interval.Upper);
        Assert.False(ProportionIntervals.WilsonCorrected(new EventCount(0, 0)).IsMeasured);
    }

    // With no events the upper end solves (1 − p)^n = α/2; the rule of three is its neighbour.
    [Theory]
    [InlineData(10)]
    [InlineData(77)]
    [InlineData(100000)]
    [Trait("evidence", "analytic")]
    public void ClopperPearson_NoEvents_EndsWhereNoneHasHalfTheChance(long total)
    {
        ProportionEstimate none = ProportionIntervals.ClopperPearson(new EventCount(0, total)).Value!;
        double upper = 1 - Math.Pow(0.025, 1.0 / total);
        Assert.Equal(0, none.Interval.Lower);
        Assert.Equal(upper, none.Interval.Upper, 1e-9);
        ProportionEstimate all = ProportionIntervals.ClopperPearson(new EventCount(total, total)).Value!;
        Assert.Equal(1, all.Interval.Upper);
        Assert.Equal(1 - upper, all.Interval.Lower, 1e-9);
    }

    // The definition itself: at either end the tail from the count on holds half of 1 − level. Summed here term by term, apart from the product's incomplete beta function.
    [Theory]
    [InlineData(8, 100, 0.95)]
    [InlineData(13, 16, 0.9)]
    [InlineData(3, 40, 0.998)]
    [Trait("evidence", "analytic")]
    public void ClopperPearson_EachEnd_LeavesHalfOfTheRestInItsTail(int events, int total, double level)
    {
        Interval interval = ProportionIntervals.ClopperPearson(new EventCount(events, total), level).Value!.Interval;
        double tail = (1 - level) / 2;
        Assert.Equal(tail, Enumerable.Range(events, total - events + 1).Sum(k => Chance(k, total, interval.Lower)), 1e-9);
        Assert.Equal(tail, Enumerable.Range(0, events + 1).Sum(k => Chance(k, total, interval.Upper)), 1e-9);
    }

    [Theory]
    [InlineData(0.02, 100)]
    [InlineData(0.08, 50)]
    [InlineData(0.08, 400)]
    [InlineData(0.3, 60)]
    [Trait("evidence", "analytic")]
    public void Coverage_SummedOverAllCounts_IsAsPromised(double truth, int total)
    {
        double wilson = 0;
        double exact = 0;
        for (int events = 0; events <= total; events++)
        {
            double chance = Chance(events, total, truth);
            wilson += ProportionIntervals.Wilson(new EventCount(events, total)).Value!.Interval.Contains(truth) ? chance : 0;
            exact += ProportionIntervals.ClopperPearson(new EventCount(events, total)).Value!.Interval.Contains(truth) ? chance : 0;
        }

        // Clopper-Pearson promises at least its level; Wilson's is near it: within 4 points here, the largest single binomial chance being what a step can cost.
        Assert.True(exact >= 0.95 - 1e-9, $"{exact}");
        Assert.InRange(wilson, 0.91, 0.99);
    }

    [Fact]
    public void Intervals_OfNothing_CannotBeTold()
    {
        Assert.False(ProportionIntervals.Wilson(new EventCount(0, 0)).IsMeasured);
        Assert.Contains("nothing to count", ProportionIntervals.ClopperPearson(new EventCount(0, 0)).Why, StringComparison.Ordinal);
        Assert.Throws<ArgumentOutOfRangeException>(() => new EventCount(3, 2));
        Assert.Throws<ArgumentOutOfRangeException>(() => new EventCount(0, -1));
        Assert.Throws<ArgumentOutOfRangeException>(() => ProportionIntervals.Wilson(new EventCount(1, 2), double.NaN));
    }

    // 10 million exposures, as a network has them: the exact and the normal interval then agree to the second order, 1/n relative to their width.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Intervals_OfTenMillion_AgreeWithTheNormalOne()
    {
        EventCount count = new(800_000, 10_000_000);
        double half = 1.959963985 * Math.Sqrt(0.08 * 0.92 / 1e7);
        foreach (Interval interval in new[] { ProportionIntervals.Wilson(count).Value!.Interval, ProportionIntervals.ClopperPearson(count).Value!.Interval })
        {
            Assert.Equal(0.08 - half, interval.Lower, 1e-6);
            Assert.Equal(0.08 + half, interval.Upper, 1e-6);
        }
    }

    private static double Chance(int events, int total, double chance)
    {
        double value = 1;
        for (int index = 1; index <= events; index++)
        {
            value *= (total - events + index) / (double)index * chance * (index <= total - events ? 1 - chance : 1);
        }

        for (int index = events + 1; index <= total - events; index++)
        {
            value *= 1 - chance;
        }

        return value;
    }
}
