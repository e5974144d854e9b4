using System.Text.Json.Nodes;
using Hotlight.Statistics.Distributions;

namespace Hotlight.Statistics.Tests.Distributions;

public sealed class DeviationIndexSummaryTests
{
    [Fact]
    [Trait("evidence", "independent")]
    public void Quantiles_AreThoseOfAnotherLibrary()
    {
        JsonObject expected = OtherLibraries.One("quantiles");
        DeviationIndexSummary summary = DeviationIndexSummary.Of(expected["values"].Numbers(), fractions: expected["fractions"].Numbers()).Value!;
        Assert.Equal(expected["quantiles"].Numbers(), summary.Quantiles.Select(quantile => quantile.Value), (a, b) => Math.Abs(a - b) < 1e-12);
    }

    // The sign test's interval of a median of ten: the 2nd to the 9th value, 97.9 % (tables of the sign test, from memory: 1 − 2·11/1024); of five at 95 % there is none, 1 − 2/32 = 93.75 %.
    [Fact]
    [Trait("evidence", "published")]
    public void MedianOfTen_HasTheSignTestsInterval()
    {
        double[] values = [10, 9, 8, 7, 6, 5, 4, 3, 2, 1];
        Interval interval = QuantileIntervals.Of(values, 0.5).Value!.Interval.Value!;
        Assert.Equal((2, 9), (interval.Lower, interval.Upper));
        Assert.False(QuantileIntervals.Of([1, 2, 3, 4, 5], 0.5).Value!.Interval.IsMeasured);
        Assert.True(QuantileIntervals.Of([1, 2, 3, 4, 5, 6], 0.5).Value!.Interval.IsMeasured);
    }

    // Coverage of the 90th percentile of 80 uniform values: at least 0.95; 2000 trials, 4·√(0.95·0.05/2000) = 0.0195.
    [Fact]
    [Trait("evidence", "analytic")]
    public void QuantileInterval_CoversAtLeastItsLevel()
    {
        Random random = new(21);
        int held = 0;
        for (int trial = 0; trial < 2000; trial++)
        {
            double[] values = [.. Enumerable.Range(0, 80).Select(_ => random.NextDouble())];
            held += QuantileIntervals.Of(values, 0.9).Value!.Interval.Value!.Contains(0.9) ? 1 : 0;
        }

        Assert.InRange(held / 2000.0, 0.95 - 0.0195, 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_ByHand_CountsBandsBarsAndMissing()
    {
        DeviationIndexSummary summary = DeviationIndexSummary.Of([-3.5, -1, 0, 0.2, 1, 1.1, 4], missing: 3, binWidth: 1).Value!;
        Assert.Equal((3, 10), (summary.Missing.Events, summary.Missing.Total));
        Assert.Equal((1, 2, 3), (summary.Outside[0].Below.Count.Events, summary.Outside[0].Above.Count.Events, summary.Outside[0].Outside.Count.Events));
        Assert.Equal((1, 1, 2), (summary.Outside[1].Below.Count.Events, summary.Outside[1].Above.Count.Events, summary.Outside[1].Outside.Count.Events));
        Assert.Equal(9, summary.Histogram.Count);
        Assert.Equal(-4, summary.Histogram[0].Lower);
        Assert.Equal([1, 0, 0, 1, 2, 2, 0, 0, 1], summary.Histogram.Select(bar => (int)bar.Count));
        Assert.Equal(1.8 / 7, summary.Mean, 1e-12);
        Assert.Contains("No exposure", DeviationIndexSummary.Of([], 5).Why, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => DeviationIndexSummary.Of([double.NaN]));
        Assert.Throws<ArgumentException>(() => DeviationIndexSummary.Of([0, 1e9]));
    }
}
