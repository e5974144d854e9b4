using Hotlight.Statistics.ControlCharts;
using Hotlight.Statistics.Proportions;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics.Tests.ControlCharts;

/// <summary>Invented departments with and without a change: found as often, and called falsely as rarely, as the methods promise.</summary>
public sealed class PlantedShiftTests
{
    // 20,000 weeks of 250 exposures at 8 %, centre known: the chart's own promise is the exact tail; 4·√(p(1 − p)/n).
    [Fact]
    [Trait("evidence", "analytic")]
    public void PChart_InControl_CallsAsRarelyAsItSays()
    {
        const int Weeks = 20_000;
        Random random = new(31);
        ShewhartChart chart = ShewhartCharts.Make(Weeks250(random, Weeks, 0.08), ChartKind.Proportion, new ChartSettings { GivenCentre = 0.08 }).Value!;
        double promised = chart.FalseAlarms.Expected / Weeks;
        Assert.InRange(promised, 0.001, 0.006);
        Assert.Equal(promised, chart.Signals.Count / (double)Weeks, 4 * Math.Sqrt(promised / Weeks));
        Assert.Equal(1 / promised, chart.FalseAlarms.AverageRunLength!.Value, 1e-6);
    }

    // From 8 to 12 %: a week calls when its events pass 250·0.1315 = 32.9; the chance of 33 and more at 12 % is the closed form.
    [Fact]
    [Trait("evidence", "analytic")]
    public void PChart_ShiftToTwelvePercent_IsFoundAsOftenAsTheBinomialSays()
    {
        const int Weeks = 4000;
        Random random = new(32);
        ShewhartChart chart = ShewhartCharts.Make(Weeks250(random, Weeks, 0.12), ChartKind.Proportion, new ChartSettings { GivenCentre = 0.08 }).Value!;
        double power = 1 - Binomial.CDF(0.12, 250, 32);
        Assert.Equal(power, chart.Signals.Count / (double)Weeks, 4 * Math.Sqrt(power * (1 - power) / Weeks));
    }

    // Weeks whose true rate wanders by a standard deviation of 3 points beside chance: σ_z² = 1 + n·0.03²/(p(1 − p)) less 1/n of it.
    // The p chart calls far too often, Laney's at 0.0027. Tolerance: 4·√(0.0027/40000) = 0.00104 for the count of calls, and as much again for σ_z, about 1.4, from 40,000 weeks (0.9/√40000 = 0.45 %, of which the tail takes ten times: 4.5 % · 4 = 18 % of 0.0027 = 0.0005), and the tail of a rate that is not quite normal, taken as a third of 0.0027.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Laney_WanderingRate_CallsNearItsPromiseWhereThePChartDoesNot()
    {
        const int Weeks = 40_000;
        Random random = new(33);
        Subgroup[] weeks = [.. Enumerable.Range(0, 2 * Weeks).Select(week => new Subgroup($"{week}", Binomial.Sample(random, Math.Clamp(Normal.Sample(random, 0.4, 0.03), 0.01, 0.99), 200), 200))];
        ChartSettings apart = new() { BaselineSubgroups = Weeks };
        double plain = Watched(ShewhartCharts.Make(weeks, ChartKind.Proportion, apart).Value!, Weeks);
        ShewhartChart laney = ShewhartCharts.Make(weeks, ChartKind.Proportion, apart with { Overdispersion = true }).Value!;
        Assert.Equal(Math.Sqrt(1 + ((200 - 1) * 0.0009 / 0.24)), laney.SigmaZ, 4 * 0.0045 * 1.4);
        Assert.True(plain > 0.01, $"{plain}");
        Assert.Equal(0.0027, Watched(laney, Weeks), 0.00104 + 0.0005 + 0.0009);
        Assert.True(ShewhartCharts.DispersionTest([.. weeks.Take(200)], ChartKind.Proportion).Value!.PValue < 0.001);
    }

    // Rates whose points are close to normal (400 expected): lengths to the first call against the promised average; 4·s/√n, n = 300 runs. Not found within 1500 points: e^−10 of the runs.
    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [Trait("evidence", "analytic")]
    public void EwmaAndCusumOfCounts_FirstCall_ComesWhenPromised(int shift)
    {
        const int Runs = 300;
        Random random = new(34 + shift);
        List<double> ewma = [];
        List<double> cusum = [];
        for (int run = 0; run < Runs; run++)
        {
            Subgroup[] points = [.. Enumerable.Range(0, shift == 0 ? 1500 : 100).Select(point => new Subgroup($"{point}", Poisson.Sample(random, 400 + (20 * shift)), 1))];
            ChartSettings known = new() { GivenCentre = 400 };
            ewma.Add(SmallShiftCharts.EwmaOfCounts(points, ChartKind.Rate, known, 0.2, 2.5).Value!.Signals[0].Index + 1);
            cusum.Add(SmallShiftCharts.CusumOfCounts(points, ChartKind.Rate, known, 0.5, 3).Value!.Signals[0].Index + 1);
        }

        Near(ewma, RunLengths.Ewma(0.2, 2.5, shift));
        Near(cusum, RunLengths.Cusum(0.5, 3, shift));
    }

    // Before and after a training, 400 exposures each, 12 to 8 %: power of the chi-square test summed over all pairs of counts, against the textbook formula Φ((|d| − z·√(2p̄q̄/n))/√((p₁q₁ + p₂q₂)/n)). The formula leaves out that counts are whole: a count of 400 moves d by 0.0025, an eighth of the standard deviation 0.021, so at most half of that, 0.06 · φ(0) = 0.024.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Test_BeforeAndAfter_HasThePowerOfTheFormula()
    {
        double[] before = [.. Enumerable.Range(0, 120).Select(count => Binomial.PMF(0.12, 400, count))];
        double[] after = [.. Enumerable.Range(0, 120).Select(count => Binomial.PMF(0.08, 400, count))];
        double power = 0;
        for (int first = 0; first < before.Length; first++)
        {
            for (int second = 0; second < after.Length; second++)
            {
                double chance = before[first] * after[second];
                power += chance > 1e-12 && ProportionComparison.Test(new(first, 400), new(second, 400), TwoSampleTest.ChiSquare).Value!.PValue < 0.05 ? chance : 0;
            }
        }

        double formula = Normal.CDF(0, 1, (0.04 - (1.959964 * Math.Sqrt(2 * 0.1 * 0.9 / 400))) / Math.Sqrt(((0.12 * 0.88) + (0.08 * 0.92)) / 400));
        Assert.Equal(formula, power, 0.024);
    }

    private static Subgroup[] Weeks250(Random random, int weeks, double rate)
        => [.. Enumerable.Range(0, weeks).Select(week => new Subgroup($"{week}", Binomial.Sample(random, rate, 250), 250))];

    private static double Watched(ShewhartChart chart, int first) => chart.Signals.Count(signal => signal.Index >= first) / (double)(chart.Points.Count - first);

    private static void Near(List<double> lengths, double promised)
    {
        double mean = lengths.Average();
        double deviation = Math.Sqrt(lengths.Sum(length => (length - mean) * (length - mean)) / (lengths.Count - 1));
        Assert.Equal(promised, mean, 4 * deviation / Math.Sqrt(lengths.Count));
    }
}
