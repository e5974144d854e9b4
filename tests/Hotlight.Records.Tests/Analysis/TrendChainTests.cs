using Hotlight.Records.Analysis;

namespace Hotlight.Records.Tests.Analysis;

/// <summary>From entries to alerts, over simulated departments: planted changes are found as often, and nothing as seldom, as the charts promise.</summary>
public sealed class TrendChainTests
{
    private const int Weeks = 52;
    private const int WeeklyExposures = 150;
    private static readonly DateOnly Start = new(2025, 1, 6);

    private static List<ExposureEntry> Department(int seed, Func<int, double> rate, Func<int, double>? index = null)
    {
        var random = new Random(seed);
        List<ExposureEntry> entries = [];
        for (int week = 0; week < Weeks; week++)
        {
            for (int each = 0; each < WeeklyExposures; each++)
            {
                bool rejected = random.NextDouble() < rate(week);
                double normal = Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
                entries.Add(new ExposureEntry
                {
                    Id = Guid.NewGuid(),
                    Key = $"{week}.{each}",
                    ExposedAt = Start.AddDays((7 * week) + (each % 7)).ToDateTime(new TimeOnly(8 + (each % 12), 0)),
                    Use = rejected ? ExposureUse.Rejected : ExposureUse.Kept,
                    Receptor = "Table 1",
                    ExposureIndex = index is null ? null : 300,
                    DeviationIndex = index is null ? null : index(week) + (1.5 * normal),
                });
            }
        }

        return entries;
    }

    private static RateTrend Weekly(IEnumerable<ExposureEntry> entries)
        => RateTrend.Of(RateKind.Rejects, LogDimension.Week, CountedEntries.By(entries, LogDimension.Week), Start, Start.AddDays(7 * Weeks));

    [Fact]
    public void Alerts_WhereNothingChanged_AreAsRareAsPromised()
    {
        const int Departments = 200;
        int cusumCalls = 0;
        int limitCalls = 0;
        double promised = 0;
        for (int seed = 1; seed <= Departments; seed++)
        {
            RateTrend trend = Weekly(Department(seed, _ => 0.10));
            cusumCalls += trend.Cusum.Value!.Signals.Count > 0 ? 1 : 0;
            if (trend.Chart.Value!.SigmaZ == 1)
            {
                limitCalls += trend.Chart.Value.Signals.Count(signal => signal.Index >= trend.BaselinePeriods);
                promised += trend.Chart.Value.FalseAlarms.Expected;
            }
        }

        // What is promised holds for a known centre. Here it is the rate of 26 weeks of 150, whose standard error is √(1/26) of one week's deviation, so a
        // watched week's distance has variance 1 + 1/26: the tails beyond 3 grow from 0.0027 to 0.0033, by 1.22. Calls are Poisson: 4 standard deviations.
        double expected = 1.22 * promised;
        Assert.InRange(limitCalls, expected - (4 * Math.Sqrt(expected)), expected + (4 * Math.Sqrt(expected)));

        // CUSUM, k = 0.5, h = 5: run length 465 (NIST), so 26 weeks call in 1 − exp(−26/465) = 5.4 % of departments at a known centre. An estimated centre that is off
        // by 1/√26 = 0.2 deviations shortens it: one-sided run lengths at 0.2 are about 125 and 8,000, so 19 % at one standard error. No department above that on average.
        Assert.InRange(cusumCalls, 1, (int)((0.19 * Departments) + (4 * Math.Sqrt(0.19 * 0.81 * Departments))));
    }

    [Fact]
    public void Alerts_WherePositioningRejectsFall_AreFoundAndDated()
    {
        const int Departments = 40;
        int found = 0;
        int dated = 0;
        for (int seed = 1; seed <= Departments; seed++)
        {
            // From 10 % to 5 % at week 34: in deviations of one week, 0.05/√(0.1·0.9/150) = 2.0. CUSUM calls after 4 weeks on average (NIST table, h = 5, shift 2: 4.01); 18 follow.
            RateTrend trend = Weekly(Department(1000 + seed, week => week < 34 ? 0.10 : 0.05));
            RepeatAlert? alert = RepeatAlerts.Of(trend).FirstOrDefault(alert => alert.Sentence.Contains("running sum", StringComparison.Ordinal) && !alert.IsHigher);
            found += alert is null ? 0 : 1;

            // The sum's start dates the change to within six weeks in nearly every department.
            dated += alert?.From is { } from && Math.Abs(from.DayNumber - Start.AddDays(7 * 34).DayNumber) <= 42 ? 1 : 0;
        }

        // Missing one of 40 has a chance below 1 in 1,000 each: with a mean of 4 and a deviation of about 1.5 weeks, 18 weeks are 9 deviations away.
        Assert.Equal(Departments, found);
        Assert.InRange(dated, 32, Departments);
    }

    [Fact]
    public void Trend_WhereWeeksDifferByMoreThanChance_TakesLaneysLimitsAndSaysSo()
    {
        // Every second week has twice the rate: spread that no binomial has.
        RateTrend spread = Weekly(Department(7, week => week % 2 == 0 ? 0.07 : 0.14));
        Assert.True(spread.Chart.Value!.SigmaZ > 1.2);
        Assert.StartsWith("Laney's p′ chart", spread.Choice, StringComparison.Ordinal);
        Assert.Contains("p ", spread.Choice, StringComparison.Ordinal);
        RateTrend plain = Weekly(Department(8, _ => 0.10));
        Assert.Equal(1, plain.Chart.Value!.SigmaZ);
        Assert.StartsWith("p chart: the 26 weeks of the baseline do not differ", plain.Choice, StringComparison.Ordinal);
    }

    [Fact]
    public void Trend_WithAnEmptyWeek_KeepsItsPlaceWithoutAPoint()
    {
        List<ExposureEntry> entries = Department(9, _ => 0.10);
        entries.RemoveAll(entry => DateOnly.FromDateTime(entry.ExposedAt) is { } day && day >= Start.AddDays(70) && day < Start.AddDays(77));
        RateTrend trend = Weekly(entries);
        Assert.Equal(Weeks, trend.Periods.Count);
        Assert.Null(trend.Chart.Value!.Points[10].Value);
        Assert.Equal("2025-03-17", trend.Periods[10].Key);
    }

    [Fact]
    public void Creep_PlantedAtOneAYear_IsFound_AndNoneWhereThereIsNone()
    {
        IndexTrend Of(int seed, double perYear) => IndexTrend.Of("Table 1", CountedEntries.Index(Department(seed, _ => 0.1, week => perYear * week / 52), LogDimension.Month));
        IndexTrend creeping = Of(11, 1.0);
        Assert.True(creeping.Creep.Value!.Creeping);

        // The interval at 95 % holds the planted slope; 1 in 20 seeds would miss it.
        Assert.True(creeping.Creep.Value.SlopePerYear.Interval.Contains(1.0));
        Assert.Single(RepeatAlerts.Of(LogDimension.Receptor, [creeping]));

        const int Quiet = 100;
        int calls = Enumerable.Range(100, Quiet).Count(seed => RepeatAlerts.Of(LogDimension.Receptor, [Of(seed, 0)]).Count > 0);

        // 5 % promised; binomial, 4 standard deviations above 5: 5 + 4·√(100·0.05·0.95) = 13.7.
        Assert.InRange(calls, 0, 13);
    }
}
