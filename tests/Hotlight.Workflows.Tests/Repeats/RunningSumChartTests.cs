using Hotlight.Drawing.Charts;
using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Workflows.Repeats;
using ChartPoint = Hotlight.Drawing.Charts.ChartPoint;

namespace Hotlight.Workflows.Tests.Repeats;

/// <summary>The running sums say when a rate began to be another, and which way.</summary>
public sealed class RunningSumChartTests
{
    // 12 weeks of 40 in 500 set the limits; 12 more are watched.
    private const int Watched = 12;
    private static readonly DateOnly Monday = new(2026, 1, 5);

    private static Chart ChartOf(params long[] watched)
    {
        long[] rejected = [.. Enumerable.Repeat(40L, Watched), .. watched];
        LogCount[] counts = [.. rejected.Select((count, week) => new LogCount { Keys = [$"{Monday.AddDays(7 * week):yyyy-MM-dd}"], Exposures = 500, Rejected = count })];
        RateTrend trend = RateTrend.Of(RateKind.Rejects, LogDimension.Week, counts);
        var charts = new RepeatCharts("an invented department", (_, key) => key ?? string.Empty, query => $"/repeats/entries?from={query.From:yyyy-MM-dd}");
        return charts.Cusum(new RepeatQuestion { Query = new LogQuery { Site = "invented" } }, trend)!;
    }

    [Fact]
    public void Cusum_OfALastingRise_CallsAboveAndStaysAtNothingBelow()
    {
        // 40 in 500 has a standard deviation of √(500·0.08·0.92) = 6.07; 52 lies 1.98 of them above, so each week adds 1.98 − 0.5 and the fourth is past 5.
        Chart chart = ChartOf([.. Enumerable.Repeat(52L, Watched)]);

        ChartSeries above = chart.Series[0], below = chart.Series[1];
        double step = (12 / Math.Sqrt(500 * 0.08 * 0.92)) - 0.5;
        Assert.Equal(Enumerable.Range(1, Watched).Select(week => week * step), above.Points.Select(point => point.Value!.Value), (a, b) => Math.Abs(a - b) < 1e-9);
        Assert.Equal(Enumerable.Range(1, Watched).Select(week => week * step > 5), above.Points.Select(point => point.CallsForALook));
        Assert.All(below.Points, point => Assert.Equal(0, point.Value));
        Assert.DoesNotContain(below.Points, point => point.CallsForALook);
        Assert.Equal("/repeats/entries?from=2026-03-30", above.Points[0].Link);
        Assert.Equal(Watched, chart.Table.Rows.Count);
    }

    [Fact]
    public void Cusum_OfALastingFall_GoesDown()
    {
        Chart chart = ChartOf([.. Enumerable.Repeat(28L, Watched)]);

        Assert.All(chart.Series[0].Points, point => Assert.Equal(0, point.Value));
        ChartPoint last = chart.Series[1].Points[^1];
        Assert.True(last.Value < -5 && last.CallsForALook);
        Assert.Equal([5.0, -5.0], chart.Lines.Select(line => line.Value));
        Assert.All(chart.Lines, line => Assert.InRange(line.Value, chart.Up.From!.Value, chart.Up.To!.Value));
    }

    [Fact]
    public void Cusum_OfARateAsBefore_CallsForNothing()
        => Assert.DoesNotContain(ChartOf([.. Enumerable.Repeat(40L, Watched)]).Series.SelectMany(series => series.Points), point => point.CallsForALook);
}
