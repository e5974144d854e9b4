using System.Text.Json.Nodes;
using Hotlight.Statistics.Trends;

namespace Hotlight.Statistics.Tests.Trends;

public sealed class TrendTests
{
    [Fact]
    [Trait("evidence", "independent")]
    public void SlopesAndTests_AreThoseOfAnotherLibrary()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("trends"))
        {
            double[] values = row!["values"].Numbers();
            double[] times = [.. values.Select((_, index) => index * 1.5)];
            TrendSlope slope = MonotoneTrend.TheilSen(times, values).Value!;
            Assert.Equal(row["slope"].Number(), slope.Slope, 1e-12);
            Assert.Equal(row["lower"].Number(), slope.Interval.Lower, 1e-12);
            Assert.Equal(row["upper"].Number(), slope.Interval.Upper, 1e-12);
            TrendTest test = MonotoneTrend.MannKendall(times, values).Value!;
            Assert.Equal(row["tau"].Number(), test.Tau, 1e-12);
            if (row["exactP"] is { } exact)
            {
                Assert.Equal(exact.Number(), test.Test.PValue, 1e-12);
            }
            else
            {
                // The other library leaves out the correction for continuity: z there is (|S|)/(|S| − 1) times ours.
                double uncorrected = test.Test.Statistic!.Value * Math.Abs(test.Score) / (Math.Abs(test.Score) - 1.0);
                Assert.Equal(row["asymptoticP"].Number(), MathNet.Numerics.SpecialFunctions.Erfc(Math.Abs(uncorrected) / Math.Sqrt(2)), 1e-12);
            }
        }
    }

    // All of four values rising: 2 of 4! orders are as far, so p = 1/12.
    [Fact]
    [Trait("evidence", "analytic")]
    public void MannKendall_FourRising_IsTwoOrdersInTwentyFour()
        => Assert.Equal(1 / 12.0, MonotoneTrend.MannKendall([1, 2, 3, 4], [1, 2, 3, 9]).Value!.Test.PValue, 1e-12);

    // 24 months with a planted slope of 0.6 a year and normal noise of 0.3: the interval holds the truth in 95 % of 2000 trials, within 4·√(0.95·0.05/2000) = 0.0195.
    [Fact]
    [Trait("evidence", "analytic")]
    public void DoseCreep_PlantedSlope_IsHeldAsOftenAsPromised()
    {
        Random random = new(9);
        int held = 0;
        int creeping = 0;
        int falseCreep = 0;
        const int Trials = 2000;
        double[] months = [.. Enumerable.Range(0, 24).Select(month => month + 0.5)];
        for (int trial = 0; trial < Trials; trial++)
        {
            double[] noise = [.. months.Select(_ => MathNet.Numerics.Distributions.Normal.Sample(random, 0, 0.3))];
            DoseCreep creep = DoseCreep.Of(months, [.. months.Select((month, index) => (0.6 * month / 12) + noise[index])]).Value!;
            held += creep.SlopePerYear.Interval.Contains(0.6) ? 1 : 0;
            creeping += creep.Creeping ? 1 : 0;
            falseCreep += DoseCreep.Of(months, noise).Value!.Creeping ? 1 : 0;
        }

        Assert.Equal(0.95, held / (double)Trials, 0.0195);

        // A false upward call is one side of it: 0.025 within 4·√(0.025·0.975/2000) = 0.014.
        Assert.Equal(0.025, falseCreep / (double)Trials, 0.014);

        // Least squares would have a deviation of 0.3/√Σ(t − t̄)² = 0.3·12/√1150 = 0.106 a year; rank methods have 3/π of that efficiency: power Φ(0.6/(0.106/√0.955) − 1.96) = Φ(3.57).
        Assert.True(creeping / (double)Trials > 0.99);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void DoseCreep_OneAYear_IsAQuarterMoreExposure()
    {
        DoseCreep creep = DoseCreep.Of([0, 3, 6, 9, 12, 24], [0, 0.25, 0.5, 0.75, 1, 2]).Value!;
        Assert.Equal(1, creep.SlopePerYear.Slope, 1e-12);
        Assert.Equal(25.89, creep.ExposureChangePercentPerYear, 0.005);
        Assert.True(creep.Creeping);
        Assert.Contains("too few", DoseCreep.Of([0, 1, 2, 3], [0, 1, 2, 3]).Why, StringComparison.Ordinal);
        Assert.False(DoseCreep.Of([0, 1, 2, 3, 4, 5], [1, 1, 1, 1, 1, 1]).IsMeasured);
        Assert.Throws<ArgumentException>(() => DoseCreep.Of([0, 1, 1], [1, 2, 3]));
    }

    // A target doubled lowers the index of the same exposure by 10·log₁₀2 = 3.0103.
    [Fact]
    [Trait("evidence", "analytic")]
    public void TargetDrift_ADoubledTarget_LowersTheIndexByThree()
    {
        IReadOnlyList<TargetStep> steps = TargetDrift.Steps([400, null, 400, 800, 800, 400]);
        Assert.Equal([3, 5], steps.Select(step => step.Index));
        Assert.Equal(-3.0103, steps[0].DeviationIndexShift, 5e-5);
        Assert.Equal(3.0103, steps[1].DeviationIndexShift, 5e-5);
    }
}
