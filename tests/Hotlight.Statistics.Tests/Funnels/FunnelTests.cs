using System.Text.Json.Nodes;
using Hotlight.Statistics.Funnels;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Tests.Funnels;

public sealed class FunnelTests
{
    // Limits about 8 %, worked out from the formula to 4 digits; whole counts are quantiles of the binomial.
    [Theory]
    [InlineData(50, 0.0048, 0.1552, 0, 0.1986, 1, 8, 0, 11)]
    [InlineData(100, 0.0268, 0.1332, 0, 0.1638, 3, 14, 1, 17)]
    [InlineData(250, 0.0464, 0.1136, 0.0270, 0.1330, 12, 29, 8, 34)]
    [InlineData(500, 0.0562, 0.1038, 0.0425, 0.1175, 29, 52, 23, 60)]
    [Trait("evidence", "published")]
    public void Limits_AboutEightPercent_AreThoseOfTheSheet(long total, double low95, double high95, double low998, double high998, int q025, int q975, int q001, int q999)
    {
        Interval wide = FunnelLimits.Normal(0.08, total, 0.998);
        Interval narrow = FunnelLimits.Normal(0.08, total, 0.95);
        Assert.Equal([low95, high95, low998, high998], [Math.Round(narrow.Lower, 4), Math.Round(narrow.Upper, 4), Math.Round(wide.Lower, 4), Math.Round(wide.Upper, 4)]);

        // The interpolated limit lies within the count that is the quantile: the whole number above it.
        Assert.Equal([q025, q975, q001, q999], Whole(0.08, total));
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void BinomialLimits_WholeCounts_AreAnotherLibrarysQuantiles()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("funnels"))
        {
            int[] expected = [.. row!["quantiles"].Numbers().Select(value => (int)value)];
            Assert.Equal([expected[1], expected[2], expected[0], expected[3]], Whole(row["target"].Number(), (long)row["total"]!));
        }
    }

    // With many exposures exact and normal limits meet: their distance is of the order of the skewness term (1 − 2p)(z² − 1)/(6n) and of one count.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Limits_OfManyExposures_MeetTheNormalOnes()
    {
        foreach (double level in new[] { 0.95, 0.998 })
        {
            Interval exact = FunnelLimits.Binomial(0.08, 100_000, level);
            Interval normal = FunnelLimits.Normal(0.08, 100_000, level);
            Assert.Equal(normal.Lower, exact.Lower, 3e-5);
            Assert.Equal(normal.Upper, exact.Upper, 3e-5);
            Interval ratio = FunnelLimits.Poisson(1, 100_000, level);
            Assert.Equal(FunnelLimits.NormalRatio(1, 100_000, level).Upper, ratio.Upper, 3e-5);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Rates_OneUnitFarOut_IsMarkedWithItsLevel()
    {
        GroupCount[] units = [.. Enumerable.Range(0, 9).Select(index => new GroupCount($"room {index}", new(40, 500))), new GroupCount("room 9", new(62, 500)), new GroupCount("new room", new(0, 0))];
        Funnel funnel = FunnelPlots.Rates(units, new FunnelSettings { GivenTarget = 0.08 }).Value!;
        Assert.Equal(10, funnel.Units.Count);
        Assert.Equal(0.998, funnel.Units[9].OutsideLevel);
        Assert.True(funnel.Units[9].Higher);
        Assert.Null(funnel.Units[0].OutsideLevel);
        Assert.Equal(0.5, funnel.ExpectedOutside[0], 1e-9);
        Assert.Contains("Of 10 all alike", funnel.Multiplicity, StringComparison.Ordinal);
        Assert.Equal((62 / 500.0 - 0.08) / Math.Sqrt(0.08 * 0.92 / 500), funnel.Units[9].Z, 1e-9);
    }

    // By hand: ten z values −3 … , one drawn in at each end.
    [Fact]
    [Trait("evidence", "analytic")]
    public void OverdispersionFactor_ByHand_DrawsInTheEnds()
    {
        double[] z = [-9, -2, -1, -1, 0, 0, 1, 1, 2, 9];
        Assert.Equal((4 + 4 + 1 + 1 + 1 + 1 + 4 + 4) / 10.0, FunnelPlots.OverdispersionFactor(z), 1e-12);
        Assert.Equal(174 / 10.0, FunnelPlots.OverdispersionFactor(z, 0), 1e-12);
    }

    // E of the winsorised square of a normal value, 10 % at each end: 2·0.1·1.28155² + 0.8 − 2·1.28155·φ(1.28155) = 0.679. Deviation of one square is below 0.65: 4·0.65/√20000.
    [Fact]
    [Trait("evidence", "analytic")]
    public void OverdispersionFactor_OfNormalValues_IsAsTheDocsSay()
    {
        Random random = new(3);
        double[] z = [.. Enumerable.Range(0, 20_000).Select(_ => MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1))];
        Assert.Equal(0.679, FunnelPlots.OverdispersionFactor(z), 0.019);
    }

    // Twenty units of 400 exposures at 8 %, 500 times: units outside per funnel, against exact limits given the target; count per trial has variance below 20·0.05.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Rates_UnitsAllAlike_FallOutsideAsRarelyAsPromised()
    {
        Random random = new(5);
        int outside95 = 0;
        int outside998 = 0;
        const int Trials = 500;
        for (int trial = 0; trial < Trials; trial++)
        {
            GroupCount[] units = [.. Enumerable.Range(0, 20).Select(index => new GroupCount($"{index}", new(MathNet.Numerics.Distributions.Binomial.Sample(random, 0.08, 400), 400)))];
            Funnel funnel = FunnelPlots.Rates(units, new FunnelSettings { GivenTarget = 0.08 }).Value!;
            outside95 += funnel.Units.Count(unit => unit.OutsideLevel is not null);
            outside998 += funnel.Units.Count(unit => unit.OutsideLevel == 0.998);
        }

        // Interpolated limits call for whole counts beyond them: the exact chance is summed here, and lies within a count of 5 % and 0.2 %.
        double Chance(double level)
        {
            Interval limit = FunnelLimits.Binomial(0.08, 400, level);
            return Enumerable.Range(0, 401).Where(k => !limit.Contains(k / 400.0)).Sum(k => MathNet.Numerics.Distributions.Binomial.PMF(0.08, 400, k));
        }

        Assert.InRange(Chance(0.95), 0.03, 0.07);
        Assert.InRange(Chance(0.998), 0.001, 0.004);
        Assert.Equal(Chance(0.95), outside95 / (20.0 * Trials), 4 * Math.Sqrt(0.05 / (20 * Trials)));
        Assert.Equal(Chance(0.998), outside998 / (20.0 * Trials), 4 * Math.Sqrt(0.002 / (20 * Trials)));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Ratios_AreHeldAgainstTheirOwnMix()
    {
        Funnel funnel = FunnelPlots.Ratios([new("a", 10, 10), new("b", 60, 30), new("c", 12, 10)]).Value!;
        Assert.Equal([null, 0.998, null], funnel.Units.Select(unit => unit.OutsideLevel));
        Assert.Equal(2, funnel.Units[1].Value);
        Assert.Equal(30 / Math.Sqrt(30), funnel.Units[1].Z, 1e-12);
        Funnel spread = FunnelPlots.Ratios([new("a", 20, 10), new("b", 60, 30), new("c", 2, 10)], new FunnelSettings { Overdispersion = true }).Value!;
        Assert.Equal((10 + 30 + 6.4) / 3, spread.OverdispersionFactor, 1e-9);
        Assert.All(spread.Units, unit => Assert.Null(unit.OutsideLevel));
    }

    [Fact]
    public void Funnels_OfNothing_CannotBeDrawn()
    {
        Assert.False(FunnelPlots.Rates([]).IsMeasured);
        Assert.False(FunnelPlots.Ratios([]).IsMeasured);
        Assert.Contains("give a target", FunnelPlots.Rates([new("a", new(0, 10))]).Why, StringComparison.Ordinal);
        Assert.Throws<ArgumentOutOfRangeException>(() => FunnelPlots.Ratios([new("a", 1, 0)]));
    }

    private static int[] Whole(double target, long total)
    {
        Interval narrow = FunnelLimits.Binomial(target, total, 0.95);
        Interval wide = FunnelLimits.Binomial(target, total, 0.998);
        return [.. new[] { narrow.Lower, narrow.Upper, wide.Lower, wide.Upper }.Select(limit => (int)Math.Ceiling((limit * total) - 1e-9))];
    }
}
