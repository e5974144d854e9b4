using Hotlight.Statistics.ControlCharts;

namespace Hotlight.Statistics.Tests.ControlCharts;

public sealed class SmallShiftChartsTests
{
    // NIST/SEMATECH e-Handbook 6.3.2.4, read: target 50, s 2.0539, λ 0.3, L 3.
    private static readonly double[] EwmaValues = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    private static readonly double[] EwmaPrinted = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99];

    // NIST/SEMATECH e-Handbook 6.3.2.3: group means, unrounded ones from memory; the printed sums are read.
    private static readonly double[] CusumValues = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350];
    private static readonly double[] HighPrinted = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04];
    private static readonly double[] LowPrinted = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0];

    [Fact]
    [Trait("evidence", "published")]
    public void EwmaOfValues_ExampleOfTheHandbook_IsMet()
    {
        EwmaChart chart = SmallShiftCharts.EwmaOfValues(EwmaValues, 50, 2.0539, 0.3, 3).Value!;
        for (int index = 0; index < EwmaPrinted.Length; index++)
        {
            // Printed to 0.01: half of that.
            Assert.Equal(EwmaPrinted[index], chart.Points[index].Average, 0.0051);
        }

        // Steady limits 52.5884 and 47.4115 with the factor printed as 0.4201; by point 20 the exact ones are within (0.7)^40 of them.
        Assert.Equal(52.5884, chart.Points[19].Upper, 0.0005);
        Assert.Equal(47.4115, chart.Points[19].Lower, 0.0005);
        Assert.Equal(50 + (3 * 2.0539 * 0.3), chart.Points[0].Upper, 1e-9);
        Assert.Empty(chart.Signals);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void CusumOfValues_ExampleOfTheHandbook_IsMet()
    {
        CusumChart chart = SmallShiftCharts.CusumOfValues(CusumValues, 325, 0.635, 0.5, 4.1959 / 0.635).Value!;
        for (int index = 0; index < HighPrinted.Length; index++)
        {
            // Printed to 0.01; group 18 is 14.445, on the edge of rounding.
            Assert.Equal(HighPrinted[index], chart.Points[index].High, 0.006);
            Assert.Equal(index < LowPrinted.Length ? LowPrinted[index] : 0, chart.Points[index].Low, 0.006);
        }

        Assert.Equal(0.3175, chart.Reference, 1e-12);
        ChartSignal first = chart.Signals[0];
        Assert.Equal((13, 12, true), (first.Index, first.Since, first.Higher));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Counts_AreWatchedAfterTheirBaseline()
    {
        Subgroup[] subgroups = [.. Enumerable.Range(0, 40).Select(index => new Subgroup($"{index}", index < 20 ? 8 + ((index % 2 * 4) - 2) : 12, 100))];
        ChartSettings settings = new() { BaselineSubgroups = 20 };
        EwmaChart ewma = SmallShiftCharts.EwmaOfCounts(subgroups, ChartKind.Proportion, settings).Value!;
        CusumChart cusum = SmallShiftCharts.CusumOfCounts(subgroups, ChartKind.Proportion, settings).Value!;
        Assert.Equal(20, ewma.Points[0].Index);
        Assert.Equal(0.08, ewma.Ground!.Centre, 1e-12);

        // Each point lies z = 0.04/√(0.08·0.92/100) = 1.474 up: the sum grows by z − 0.5 and passes 5 at the sixth.
        double z = 0.04 / Math.Sqrt(0.08 * 0.92 / 100);
        Assert.Equal(6 * (z - 0.5), cusum.Points[5].High, 1e-9);
        Assert.Equal((25, 20), (cusum.Signals[0].Index, cusum.Signals[0].Since));
        Assert.Equal(z * (1 - Math.Pow(0.8, 5)), ewma.Points[4].Average, 1e-9);
        Assert.Equal(20, ewma.Signals[0].Since);
    }

    [Fact]
    public void Values_ThatAreNotThere_CannotBeCharted()
    {
        Assert.False(SmallShiftCharts.EwmaOfValues([], 0, 1).IsMeasured);
        Assert.False(SmallShiftCharts.CusumOfValues([], 0, 1).IsMeasured);
        Assert.Throws<ArgumentException>(() => SmallShiftCharts.CusumOfValues([double.NaN], 0, 1));
    }
}
