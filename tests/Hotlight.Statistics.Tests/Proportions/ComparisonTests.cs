using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Tests.Proportions;

public sealed class ComparisonTests
{
    // Beta quantiles there are good to about 1e-12; ours come from a root search to 1e-8.
    [Fact]
    [Trait("evidence", "independent")]
    public void Intervals_AreThoseOfOtherLibraries()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("intervals"))
        {
            EventCount count = new((long)row!["events"]!, (long)row["total"]!);
            double level = row["level"].Number();
            Near(row["wilson"].Numbers(), ProportionIntervals.Wilson(count, level).Value!.Interval, 1e-12);
            Near(row["exact"].Numbers(), ProportionIntervals.ClopperPearson(count, level).Value!.Interval, 2e-8);
        }
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Comparisons_AreThoseOfOtherLibraries()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("comparisons"))
        {
            double[] one = row!["first"].Numbers();
            double[] two = row["second"].Numbers();
            EventCount first = new((long)one[0], (long)one[1]);
            EventCount second = new((long)two[0], (long)two[1]);
            Near(row["newcombe"].Numbers(), ProportionComparison.Difference(first, second).Value!.Interval, 1e-9);
            Assert.Equal(row["cohenH"].Number(), ProportionComparison.CohenH(first, second).Value!.H, 1e-12);
            Assert.Equal(row["fisher"].Number(), ProportionComparison.Test(first, second, TwoSampleTest.FisherExact).Value!.PValue, 1e-9);
            TestResult chiSquare = ProportionComparison.Test(first, second, TwoSampleTest.ChiSquare).Value!;
            Assert.Equal(row["chiSquare"]![0].Number(), chiSquare.Statistic!.Value, 1e-9);
            Assert.Equal(row["chiSquare"]![1].Number(), chiSquare.PValue, 1e-9);
            if (row["riskRatio"] is { } ratio)
            {
                RiskRatioEstimate ours = ProportionComparison.RiskRatio(first, second).Value!;
                Assert.Equal(ratio[0].Number(), ours.Ratio, 1e-9);
                Assert.Equal(ratio[1].Number(), ours.Interval.Lower, 1e-9);
                Assert.Equal(ratio[2].Number(), ours.Interval.Upper, 1e-9);
            }
        }
    }

    // Newcombe, Stat Med 1998;17:873, Table II, method 10, example (a) 56/70 − 48/80 (from memory): 0.0524 to 0.3339.
    [Fact]
    [Trait("evidence", "published")]
    public void Difference_NewcombesExample_IsMet()
    {
        DifferenceEstimate difference = ProportionComparison.Difference(new(48, 80), new(56, 70)).Value!;
        Assert.Equal(0.2, difference.Difference, 1e-12);
        Assert.Equal(0.0524, difference.Interval.Lower, 5e-5);
        Assert.Equal(0.3339, difference.Interval.Upper, 5e-5);
    }

    // Fisher's tea: 3 of 4 against 1 of 4: tables (4,0) 1/70 twice, (3,1) 16/70 twice, (2,2) 36/70. Exact 34/70; mid-P takes half of the two like it: 2/70 + 16/70.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Test_TheLadyTastingTea_IsWorkedOutByHand()
    {
        Assert.Equal(34.0 / 70, ProportionComparison.Test(new(3, 4), new(1, 4)).Value!.PValue, 1e-12);
        Assert.Equal(18.0 / 70, ProportionComparison.Test(new(3, 4), new(1, 4), TwoSampleTest.FisherMidP).Value!.PValue, 1e-12);
    }

    [Fact]
    public void Test_ChoosesByExpectedCounts()
    {
        Assert.Equal("Fisher's exact test", ProportionComparison.Test(new(3, 50), new(4, 50)).Value!.Method.Name);
        Assert.StartsWith("Chi-square", ProportionComparison.Test(new(5, 50), new(5, 50)).Value!.Method.Name, StringComparison.Ordinal);
        Assert.Equal(1, ProportionComparison.Test(new(0, 50), new(0, 60)).Value!.PValue, 1e-12);
    }

    [Fact]
    public void Comparisons_ThatCannotBeTold_SayWhy()
    {
        Assert.False(ProportionComparison.Difference(new(0, 0), new(1, 2)).IsMeasured);
        Assert.False(ProportionComparison.Test(new(0, 0), new(1, 2)).IsMeasured);
        Assert.False(ProportionComparison.CohenH(new(1, 2), new(0, 0)).IsMeasured);
        Assert.Contains("difference", ProportionComparison.RiskRatio(new(0, 5), new(1, 2)).Why, StringComparison.Ordinal);
    }

    // Twenty thousand pairs of 60 and 90 exposures at 8 and 14 %: coverage within 4·√(0.95·0.05/20000) = 0.0062 of what summing over all pairs gives is not asked; the promise is 0.95, and Newcombe's own tables allow him about a point.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Difference_CoverageSummedOverAllPairs_IsNearItsLevel()
    {
        double covered = 0;
        for (int first = 0; first <= 60; first++)
        {
            for (int second = 0; second <= 90; second++)
            {
                Interval interval = ProportionComparison.Difference(new(first, 60), new(second, 90)).Value!.Interval;
                covered += interval.Contains(0.06) ? MathNet.Numerics.Distributions.Binomial.PMF(0.08, 60, first) * MathNet.Numerics.Distributions.Binomial.PMF(0.14, 90, second) : 0;
            }
        }

        Assert.InRange(covered, 0.94, 0.965);
    }

    // Fisher's test never calls more often than it says; with the closed form of its power on the way: all pairs of two groups of 40 at one rate.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Test_FalseAlarmsSummedOverAllPairs_AreAsPromised()
    {
        double exact = 0;
        double mid = 0;
        for (int first = 0; first <= 40; first++)
        {
            for (int second = 0; second <= 40; second++)
            {
                double chance = MathNet.Numerics.Distributions.Binomial.PMF(0.1, 40, first) * MathNet.Numerics.Distributions.Binomial.PMF(0.1, 40, second);
                exact += ProportionComparison.Test(new(first, 40), new(second, 40), TwoSampleTest.FisherExact).Value!.PValue <= 0.05 ? chance : 0;
                mid += ProportionComparison.Test(new(first, 40), new(second, 40), TwoSampleTest.FisherMidP).Value!.PValue <= 0.05 ? chance : 0;
            }
        }

        Assert.InRange(exact, 0, 0.05);
        Assert.InRange(mid, exact, 0.06);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Poisson_ExactIntervals_AreChiSquareQuantilesOfAnotherLibrary()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("poisson"))
        {
            long count = (long)row!["count"]!;
            Interval ours = PoissonIntervals.Exact(count, row["level"].Number());
            double scale = Math.Max(1, count);
            Assert.Equal(row["exact"]![0].Number() / scale, ours.Lower / scale, 1e-7);
            Assert.Equal(row["exact"]![1].Number() / scale, ours.Upper / scale, 1e-7);
        }

        // Byar's is promised within 0.2 % of exact from 10 events on. By hand at 10: 10·(1 − 1/90 − 1.959964/(3√10))³ = 4.78745.
        Assert.Equal(4.78745, PoissonIntervals.Byar(10).Lower, 5e-6);
        foreach (long count in new long[] { 10, 57, 1000 })
        {
            Assert.Equal(1, PoissonIntervals.Byar(count).Lower / PoissonIntervals.Exact(count).Lower, 2e-3);
            Assert.Equal(1, PoissonIntervals.Byar(count).Upper / PoissonIntervals.Exact(count).Upper, 2e-3);
        }
    }

    // By hand: reference chest 20/1000, pelvis 60/500; own 100 chest and 50 pelvis: expected 2 + 6 = 8; seen 12: ratio 1.5; crude reference 80/1500.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Indirect_ByHand_IsSeenOverExpected()
    {
        GroupCount[] reference = [new("chest", new(20, 1000)), new("pelvis", new(60, 500))];
        StandardisedRatio ratio = CaseMix.Indirect([new("chest", new(3, 100)), new("pelvis", new(9, 50))], reference).Value!;
        Assert.Equal(8, ratio.Expected, 1e-12);
        Assert.Equal(1.5, ratio.Ratio, 1e-12);
        Assert.Equal(1.5 * 80 / 1500, ratio.StandardisedFraction, 1e-12);

        // Garwood's interval of 12 is 6.2006 to 20.9616 (published tables of the Poisson mean, from memory).
        Assert.Equal(6.2006 / 8, ratio.Interval.Lower, 1e-5);
        Assert.Equal(20.9616 / 8, ratio.Interval.Upper, 1e-5);
        Assert.Contains("skull", CaseMix.Indirect([new("skull", new(1, 5))], reference).Why, StringComparison.Ordinal);
        Assert.Equal(1, CaseMix.Indirect(reference, reference).Value!.Ratio, 1e-12);
        Assert.Throws<ArgumentException>(() => CaseMix.Indirect([reference[0], reference[0]], reference));
    }

    // One stratum: the gamma interval is then the exact Poisson one over n, w = 1/n: v = x/n², y = x/n.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Direct_OneStratum_IsThePoissonInterval()
    {
        StandardisedRate rate = CaseMix.Direct([new("chest", new(12, 200))], [new("chest", new(1, 7))]).Value!;
        Interval exact = PoissonIntervals.Exact(12);
        Assert.Equal(0.06, rate.Fraction, 1e-12);
        Assert.Equal(exact.Lower / 200, rate.Interval.Lower, 1e-9);
        Assert.Equal(exact.Upper / 200, rate.Interval.Upper, 1e-9);
        Assert.Equal(0.5 * 0.02 + 0.5 * 0.18, CaseMix.Direct([new("a", new(2, 100)), new("b", new(9, 50))], [new("a", new(0, 10)), new("b", new(0, 10))]).Value!.Fraction, 1e-12);
        Assert.Contains("b", CaseMix.Direct([new("a", new(2, 100))], [new("a", new(0, 10)), new("b", new(0, 10))]).Why, StringComparison.Ordinal);
    }

    private static void Near(double[] expected, Interval interval, double tolerance)
    {
        Assert.Equal(expected[0], interval.Lower, tolerance);
        Assert.Equal(expected[1], interval.Upper, tolerance);
    }
}
