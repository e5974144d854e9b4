using System.Text.Json;
using Hotlight.Statistics.Agreement;
using Hotlight.Statistics.ControlCharts;
using Hotlight.Statistics.Distributions;
using Hotlight.Statistics.Funnels;
using Hotlight.Statistics.Pareto;
using Hotlight.Statistics.Proportions;
using Hotlight.Statistics.Scores;
using Hotlight.Statistics.Tests.Agreement;
using Hotlight.Statistics.Trends;

namespace Hotlight.Statistics.Tests;

/// <summary>Small, empty and lopsided data: every result is figures or a reason. Writing JSON refuses NaN and infinity, so it finds either wherever it hides.</summary>
public sealed class NothingIsNotANumberTests
{
    [Fact]
    [Trait("evidence", "invariant")]
    public void Results_OfSmallRandomTables_AreAllFinite()
    {
        Random random = new(41);
        for (int trial = 0; trial < 300; trial++)
        {
            EventCount first = Count(random);
            EventCount second = Count(random);
            GroupCount[] groups = [.. Enumerable.Range(0, random.Next(4)).Select(index => new GroupCount($"g{index}", Count(random)))];
            GroupCount[] reference = [.. Enumerable.Range(0, 4).Select(index => new GroupCount($"g{index}", Count(random)))];
            Write(ProportionIntervals.Wilson(first), ProportionIntervals.WilsonCorrected(first), ProportionIntervals.ClopperPearson(first));
            Write(ProportionComparison.Difference(first, second), ProportionComparison.RiskRatio(first, second), ProportionComparison.CohenH(first, second));
            Write([.. Enum.GetValues<TwoSampleTest>().Select(test => ProportionComparison.Test(first, second, test))]);
            Write(CaseMix.Indirect(groups, reference), CaseMix.Direct(groups, reference), SmallGroups.Suppress(groups, 3));
            Write(FunnelPlots.Rates(groups), FunnelPlots.Rates(groups, new FunnelSettings { Overdispersion = true, GivenTarget = 0.1 }));
            Write(FunnelPlots.Ratios([.. groups.Select(group => new ObservedExpected(group.Name, group.Count.Events, random.NextDouble() + 1e-3))]));
            Write(ParetoTables.Of([.. groups.Select(group => new ReasonCount(group.Name, group.Count.Events))]).Value ?? []);

            Subgroup[] subgroups = [.. Enumerable.Range(0, random.Next(5)).Select(index => (Count: Count(random), index)).Select(pair => new Subgroup($"{pair.index}", pair.Count.Events, pair.Count.Total))];
            foreach (ChartKind kind in new[] { ChartKind.Proportion, ChartKind.Rate })
            {
                foreach (ChartSettings settings in new[] { new ChartSettings(), new ChartSettings { Overdispersion = true }, new ChartSettings { GivenCentre = 0.2, Rules = Enum.GetValues<RunRule>() } })
                {
                    if (subgroups.Length > 0)
                    {
                        Write(ShewhartCharts.Make(subgroups, kind, settings), ShewhartCharts.DispersionTest(subgroups, kind));
                    }
                }

                if (trial < 30)
                {
                    Write(SmallShiftCharts.EwmaOfCounts(subgroups, kind), SmallShiftCharts.CusumOfCounts(subgroups, kind));
                }
            }

            double[] values = [.. Enumerable.Range(0, random.Next(9)).Select(_ => Math.Round(random.NextDouble() * 3) - 1)];
            double[] times = [.. values.Select((_, index) => (double)index)];
            Write(MonotoneTrend.TheilSen(times, values), MonotoneTrend.MannKendall(times, values), DoseCreep.Of(times, values), DeviationIndexSummary.Of(values));
            Write(BrierScore.Of([.. values.Select(value => Math.Clamp(value, 0, 1))], [.. values.Select(_ => random.Next(2) == 0)]));

            ReadingTable table = Readings(random);
            Write(PercentAgreement.OfAll(table), FleissKappa.Of(table.Counts()), FleissKappa.ByCategory(table.Counts(), table.Scale), FreeMarginalKappa.Of(table), CaseDivision.Of(table));
            Write(ReaderDrift.Of(table, [.. table.Cases.Select(_ => random.Next(2))], ["one", "two"]), McNemar.Of(random.Next(3), random.Next(3)));
            Write([.. Enum.GetValues<AlphaMetric>().Select(metric => KrippendorffAlpha.Of(table, metric, trial, 100))]);
            foreach (KappaWeights weights in Enum.GetValues<KappaWeights>())
            {
                Write(GwetCoefficient.Of(table, weights));
                if (table.Readers.Count > 1)
                {
                    Write(CohenKappa.Of(table.Pair(0, 1), table.Scale, weights), PercentAgreement.OfPair(table.Pair(0, 1)));
                }
            }
        }
    }

    private static EventCount Count(Random random)
    {
        int total = random.Next(4) switch { 0 => 0, 1 => random.Next(1, 3), 2 => random.Next(3, 12), _ => random.Next(12, 200) };
        return new EventCount(random.Next(3) switch { 0 => 0, 1 => total, _ => random.Next(total + 1) }, total);
    }

    private static ReadingTable Readings(Random random)
    {
        int categories = random.Next(1, 4);
        int readers = random.Next(1, 4);
        return new ReadingTable(Tables.Scale(categories), [.. Enumerable.Range(0, readers).Select(reader => $"{reader}")], [.. Enumerable.Range(0, random.Next(5)).Select(index => new CaseReadings($"{index}", [.. Enumerable.Range(0, readers).Select(_ => random.Next(4) == 0 ? (int?)null : random.Next(categories))]))]);
    }

    private static void Write(params object[] results)
    {
        foreach (object result in results)
        {
            Assert.NotEmpty(JsonSerializer.Serialize(result));
        }
    }
}
