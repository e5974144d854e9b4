using Hotlight.Core;
using Hotlight.Statistics.ControlCharts;

namespace Hotlight.Statistics.Tests.ControlCharts;

public sealed class ShewhartChartsTests
{
    // NIST/SEMATECH e-Handbook 6.3.3.2: 30 wafers of 50 (data from memory, their sum 347 of 1500 checks); centre 0.2313 printed, limits worked out from it to 4 digits.
    private static readonly int[] Wafers = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6];

    // NIST/SEMATECH e-Handbook 6.3.3.1: defects of 25 wafers (data from memory, their sum 400 checks).
    private static readonly int[] Defects = [16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13];

    // 30 batches of 500 circuits, read: the largest is 0.036, all in control.
    private static readonly int[] Circuits = [5, 6, 11, 6, 4, 9, 17, 10, 12, 9, 8, 7, 7, 15, 8, 18, 12, 16, 4, 7, 17, 12, 8, 7, 15, 6, 8, 12, 7, 9];

    [Fact]
    [Trait("evidence", "published")]
    public void Make_WafersOfTheHandbook_HasItsCentreLimitsAndSignals()
    {
        ShewhartChart chart = ShewhartCharts.Make(Of(Wafers, 50), ChartKind.Proportion).Value!;
        Assert.Equal(0.2313, chart.Centre, 5e-5);
        Assert.Equal((347, 1500), (chart.BaselineEvents, chart.BaselineSize));
        Assert.Equal(0.4102, chart.Points[0].Upper!.Value, 5e-5);
        Assert.Equal(0.0524, chart.Points[0].Lower!.Value, 1e-4);
        Assert.Equal([14, 22], chart.Signals.Select(signal => signal.Index));
        Assert.All(chart.Signals, signal => Assert.True(signal.Higher));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Make_DefectsOfTheHandbook_CountsOnTheLimitAsInside()
    {
        ShewhartChart chart = ShewhartCharts.Make(Of(Defects, 1), ChartKind.Count).Value!;
        Assert.Equal(16, chart.Centre);
        Assert.Equal(28, chart.Points[0].Upper!.Value, 1e-12);
        Assert.Equal(4, chart.Points[0].Lower!.Value, 1e-12);
        Assert.Equal([23], chart.Signals.Select(signal => signal.Index));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Make_Circuits_AreAllInControl()
    {
        ShewhartChart chart = ShewhartCharts.Make(Of(Circuits, 500), ChartKind.Proportion).Value!;
        Assert.Equal(0.019467, chart.Centre, 5e-7);
        Assert.Equal(0.038003, chart.Points[0].Upper!.Value, 5e-7);
        Assert.Equal(0.000931, chart.Points[0].Lower!.Value, 5e-7);
        Assert.Empty(chart.Signals);
    }

    [Theory]
    [InlineData(0.08, 250, 0.0285, 0.1315)]
    [InlineData(0.08, 50, 0, 0.1951)]
    [InlineData(0.12, 100, 0.0225, 0.2175)]
    [Trait("evidence", "analytic")]
    public void Make_WithAGivenCentre_HasTheLimitsOfItsSize(double centre, int size, double lower, double upper)
    {
        ShewhartChart chart = ShewhartCharts.Make([new Subgroup("a", 1, size)], ChartKind.Proportion, new ChartSettings { GivenCentre = centre }).Value!;
        Assert.Equal(lower, chart.Points[0].Lower!.Value, 5e-5);
        Assert.Equal(upper, chart.Points[0].Upper!.Value, 5e-5);
    }

    // Limits by hand: u = 20/40 = 0.5 a unit; sizes 10 and 5 → 0.5 ± 3√(0.05) and 0.5 ± 3√0.1.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Make_UnequalAreas_HaveLimitsOfTheirOwn()
    {
        ShewhartChart chart = ShewhartCharts.Make([new("a", 5, 10), new("b", 2, 5), new("c", 13, 25), new("empty", 0, 0)], ChartKind.Rate).Value!;
        Assert.Equal(0.5, chart.Centre, 1e-12);
        Assert.Equal(0.5 + (3 * Math.Sqrt(0.05)), chart.Points[0].Upper!.Value, 1e-12);
        Assert.Equal(0.5 + (3 * Math.Sqrt(0.1)), chart.Points[1].Upper!.Value, 1e-12);
        Assert.Equal(0, chart.Points[1].Lower);
        Assert.Null(chart.Points[3].Value);
    }

    // Laney by hand: n = 100, counts 10 30 10 30: p = 0.2, se = 0.04, z = ∓2.5 → mean moving range 5, σ_z = 5/(2/√π) = 4.4311; limits 0.2 ± 3·0.04·4.4311.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Make_Laney_WidensByTheMovingRange()
    {
        ShewhartChart chart = ShewhartCharts.Make(Of([10, 30, 10, 30], 100), ChartKind.Proportion, new ChartSettings { Overdispersion = true }).Value!;
        double sigmaZ = 2.5 * Math.Sqrt(Math.PI);
        Assert.Equal(sigmaZ, chart.SigmaZ, 1e-12);
        Assert.Equal(Math.Min(1, 0.2 + (0.12 * sigmaZ)), chart.Points[0].Upper!.Value, 1e-12);
        Assert.Equal(-2.5 / sigmaZ, chart.Points[0].Z!.Value, 1e-12);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Make_ABaselineApart_IsNotMovedByTheChangeItWatches()
    {
        int[] events = [.. Enumerable.Repeat(8, 10), .. Enumerable.Repeat(20, 10)];
        ShewhartChart apart = ShewhartCharts.Make(Of(events, 100), ChartKind.Proportion, new ChartSettings { BaselineSubgroups = 10 }).Value!;
        Assert.Equal(0.08, apart.Centre, 1e-12);
        Assert.Equal(10, apart.Signals.Count);
        Assert.Equal(10, apart.FalseAlarms.Points);
        Assert.Empty(ShewhartCharts.Make(Of(events, 100), ChartKind.Proportion).Value!.Signals);
    }

    [Fact]
    public void Make_RunRules_SayWhichAndSinceWhen()
    {
        int[] events = [10, 10, 10, 10, 10, 10, 11, 11, 11, 11, 11, 11, 11, 11, 17, 10, 17];
        ChartSettings settings = new() { GivenCentre = 0.1, Rules = [RunRule.BeyondLimits, RunRule.TwoOfThreeBeyondTwoSigma, RunRule.EightOnOneSide] };
        ShewhartChart chart = ShewhartCharts.Make(Of(events, 100), ChartKind.Proportion, settings).Value!;
        Assert.Contains(chart.Signals, signal => signal is { Index: 13, Since: 6 } && signal.Rule.StartsWith("Eight", StringComparison.Ordinal));
        Assert.Contains(chart.Signals, signal => signal is { Index: 16, Since: 14 } && signal.Rule.StartsWith("Two", StringComparison.Ordinal));
        Assert.Equal(3, chart.Signals.Count);
    }

    // Σz² over groups is the chi-square of a 2×m table: 10/100 and 30/100 → z² = 2·(0.1/0.04)² = 12.5.
    [Fact]
    [Trait("evidence", "analytic")]
    public void DispersionTest_TwoGroups_IsTheChiSquareOfTheirTable()
    {
        TestResult test = ShewhartCharts.DispersionTest(Of([10, 30], 100), ChartKind.Proportion).Value!;
        Assert.Equal(12.5, test.Statistic!.Value, 1e-12);
        TestResult two = Hotlight.Statistics.Proportions.ProportionComparison.Test(new(10, 100), new(30, 100), Hotlight.Statistics.Proportions.TwoSampleTest.ChiSquare).Value!;
        Assert.Equal(two.PValue, test.PValue, 1e-12);
    }

    // Sum of binomial chances outside the limits, by hand-made recurrence: limits of p = 0.1, n = 50 are −0.027 and 0.2273, so 12 and more call (0.24).
    [Fact]
    [Trait("evidence", "analytic")]
    public void FalseAlarms_OfAPChart_AreTheExactTails()
    {
        ShewhartChart chart = ShewhartCharts.Make(Of([5, 5, 5, 5], 50), ChartKind.Proportion).Value!;
        double chance = Math.Pow(0.9, 50);
        double below = 0;
        for (int k = 0; k < 12; k++)
        {
            below += chance;
            chance *= (50 - k) / (k + 1.0) * (0.1 / 0.9);
        }

        Assert.Equal(4 * (1 - below), chart.FalseAlarms.Expected, 1e-10);
        Assert.Contains("4 points", chart.FalseAlarms.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Make_WhereNothingCanBeSaid_GivesAReason()
    {
        Assert.False(ShewhartCharts.Make([], ChartKind.Rate).IsMeasured);
        Assert.Contains("no event", ShewhartCharts.Make(Of([0, 0], 10), ChartKind.Proportion).Why, StringComparison.Ordinal);
        Assert.Contains("Everything", ShewhartCharts.Make(Of([10, 10], 10), ChartKind.Proportion).Why, StringComparison.Ordinal);
        Assert.Contains("alike", ShewhartCharts.Make(Of([1, 1], 10), ChartKind.Proportion, new ChartSettings { Overdispersion = true }).Why, StringComparison.Ordinal);
        Assert.Contains("fewer than two", ShewhartCharts.Make(Of([1], 10), ChartKind.Proportion, new ChartSettings { Overdispersion = true }).Why, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => ShewhartCharts.Make(Of([11], 10), ChartKind.Proportion));
        Assert.Throws<ArgumentException>(() => ShewhartCharts.Make(Of([1, 2], 10), ChartKind.Proportion, new ChartSettings { BaselineFirst = 1, BaselineSubgroups = 2 }));
    }

    private static Subgroup[] Of(int[] events, double size) => [.. events.Select((count, index) => new Subgroup($"{index + 1}", count, size))];
}
