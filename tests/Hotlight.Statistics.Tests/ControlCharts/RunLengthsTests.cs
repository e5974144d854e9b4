using Hotlight.Statistics.ControlCharts;

namespace Hotlight.Statistics.Tests.ControlCharts;

public sealed class RunLengthsTests
{
    // NIST/SEMATECH e-Handbook 6.3.2.3.1, as quoted, k = 0.5: 336 and 930 one-sided, 168 and 465 two-sided without shift; 8.38 and 10.4 at one standard deviation. Tolerance: half of the last digit printed; the two one-sided ones without shift are twice the two-sided ones, so 1.
    [Theory]
    [InlineData(4, 0, 336, 1)]
    [InlineData(5, 0, 930, 1)]
    [InlineData(4, 1, 8.38, 0.005)]
    [InlineData(5, 1, 10.4, 0.05)]
    [Trait("evidence", "published")]
    public void CusumOneSided_PrintedLengths_AreMet(double decision, double shift, double printed, double tolerance)
        => Assert.Equal(printed, RunLengths.CusumOneSided(0.5, decision, shift), tolerance);

    [Theory]
    [InlineData(4, 168, 0.5)]
    [InlineData(5, 465, 0.5)]
    [Trait("evidence", "published")]
    public void Cusum_TwoSided_PrintedLengthsAreMet(double decision, double printed, double tolerance)
        => Assert.Equal(printed, RunLengths.Cusum(0.5, decision), tolerance);

    // One rule alone is geometric: 1/P(|Z| > 3) = 370.4, and 43.9 at one standard deviation (both printed so).
    [Theory]
    [InlineData(0, 370.4, 0.05)]
    [InlineData(1, 43.9, 0.05)]
    [Trait("evidence", "published")]
    public void Shewhart_LimitsAlone_IsGeometric(double shift, double printed, double tolerance)
        => Assert.Equal(printed, RunLengths.Shewhart([RunRule.BeyondLimits], 3, shift), tolerance);

    // Champ and Woodall, Technometrics 1987;29:393, Table 1 (from memory): 225.44 with two of three, 152.73 with eight on one side, 122.05 with both.
    [Theory]
    [InlineData(new[] { RunRule.BeyondLimits, RunRule.TwoOfThreeBeyondTwoSigma }, 225.44)]
    [InlineData(new[] { RunRule.BeyondLimits, RunRule.EightOnOneSide }, 152.73)]
    [InlineData(new[] { RunRule.BeyondLimits, RunRule.TwoOfThreeBeyondTwoSigma, RunRule.EightOnOneSide }, 122.05)]
    [Trait("evidence", "published")]
    public void Shewhart_RulesTogether_PrintedLengthsAreMet(RunRule[] rules, double printed)
        => Assert.Equal(printed, RunLengths.Shewhart(rules), 0.005);

    // Eight on one side alone, with p = 1/2: run of 8 of either sign takes 2⁸ − 1 points on average.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Shewhart_EightOnOneSideAlone_IsARunOfACoin()
        => Assert.Equal(255, RunLengths.Shewhart([RunRule.EightOnOneSide]), 1e-9);

    // λ = 1 is a Shewhart chart.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Ewma_WholeWeight_IsAShewhartChart()
        => Assert.Equal(RunLengths.Shewhart([RunRule.BeyondLimits]), RunLengths.Ewma(1, 3), 1e-6);

    // Lucas and Saccucci, Technometrics 1990;32:1 (from memory): 500 with steady limits. L is printed to 0.001 and ln ARL falls by about 3 a unit of L there: 500 · 3 · 0.0005 = 0.8.
    [Theory]
    [InlineData(0.1, 2.814)]
    [InlineData(0.2, 2.962)]
    [InlineData(0.25, 2.998)]
    [Trait("evidence", "published")]
    public void Ewma_PrintedPairs_HaveFiveHundredPoints(double weight, double limit)
        => Assert.Equal(500, RunLengths.Ewma(weight, limit, exactLimits: false), 0.8);

    // Narrower first limits can only shorten the run.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Ewma_ExactLimits_CallSooner()
    {
        Assert.True(RunLengths.Ewma(0.1, 2.814) < RunLengths.Ewma(0.1, 2.814, exactLimits: false));
        Assert.True(RunLengths.Ewma(0.1, 2.814, 1) < RunLengths.Ewma(0.1, 2.814, 1, exactLimits: false));
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(1.0)]
    [Trait("evidence", "independent")]
    public void Lengths_AreThoseOfSimulatedCharts(double shift)
    {
        const int Runs = 4000;
        Random random = new(11);
        double[] ewma = new double[Runs];
        double[] cusum = new double[Runs];
        for (int run = 0; run < Runs; run++)
        {
            ewma[run] = Length(random, shift, true);
            cusum[run] = Length(random, shift, false);
        }

        Near(ewma, RunLengths.Ewma(0.2, 2.5, shift));
        Near(cusum, RunLengths.Cusum(0.5, 3, shift));
    }

    // 4·s/√n, n = 4000 runs.
    private static void Near(double[] lengths, double expected)
    {
        double mean = lengths.Average();
        double deviation = Math.Sqrt(lengths.Sum(length => (length - mean) * (length - mean)) / (lengths.Length - 1));
        Assert.Equal(expected, mean, 4 * deviation / Math.Sqrt(lengths.Length));
    }

    private static int Length(Random random, double shift, bool ewma)
    {
        double average = 0;
        double high = 0;
        double low = 0;
        double decay = 1;
        for (int point = 1; ; point++)
        {
            double value = shift + (Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble()));
            average = (0.2 * value) + (0.8 * average);
            decay *= 0.64;
            high = Math.Max(0, high + value - 0.5);
            low = Math.Max(0, low - value - 0.5);
            if (ewma ? Math.Abs(average) > 2.5 * Math.Sqrt(0.2 / 1.8 * (1 - decay)) : Math.Max(high, low) > 3)
            {
                return point;
            }
        }
    }
}
