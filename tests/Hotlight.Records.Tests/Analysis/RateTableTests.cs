using Hotlight.Records.Analysis;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Records.Tests.Analysis;

/// <summary>Figures of a repeat analysis against counts worked out by hand.</summary>
public sealed class RateTableTests
{
    private static LogCount Count(string? key, long exposures, long rejected, long repeats = 0)
        => new() { Keys = [key], Exposures = exposures, Rejected = rejected, Repeats = repeats };

    [Fact]
    public void Of_ThreeRooms_GivesEachAndTheSum()
    {
        RateTable table = RateTable.Of([Count("A", 20, 4, 3), Count("B", 38, 19, 1), Count(null, 10, 0)]);

        // Wilson intervals of 4/20, 19/38 and 0/10: reference sheet, R values and computed; printed to 6 digits or more.
        ProportionEstimate first = table.Rows[0].Rejects.Value!;
        Assert.Equal(0.2, first.Fraction, 12);
        Assert.Equal(0.0806576625797981, first.Interval.Lower, 10);
        Assert.Equal(0.4160174322518935, first.Interval.Upper, 10);
        Assert.Equal(0.348499283643951, table.Rows[1].Rejects.Value!.Interval.Lower, 10);
        Assert.Equal(0.277533, table.Rows[2].Rejects.Value!.Interval.Upper, 6);
        Assert.Equal(3.0 / 20, table.Rows[0].Repeats.Value!.Fraction, 12);

        // 4 + 19 + 0 of 20 + 38 + 10.
        Assert.Equal((23, 68), (table.All.Rejects.Value!.Count.Events, table.All.Rejects.Value.Count.Total));
        Assert.Equal(0, table.Suppressed);
    }

    [Fact]
    public void Of_SmallGroupsOfPeople_HidesThemAndWhatWouldGiveThemAway()
    {
        // 4 is under 10; alone it is the sum less the others, so the next smallest goes with it.
        RateTable table = RateTable.Of([Count("Avocet", 100, 8), Count("Brent", 4, 2), Count("Curlew", 30, 3)], RateTable.PeopleLeastTotal);
        Assert.True(table.Rows[0].Counts.IsMeasured);
        Assert.False(table.Rows[1].Counts.IsMeasured);
        Assert.False(table.Rows[2].Counts.IsMeasured);
        Assert.False(table.Rows[1].Rejects.IsMeasured);
        Assert.DoesNotContain("4", table.Rows[1].Counts.Why, StringComparison.Ordinal);
        Assert.Equal(2, table.Suppressed);
        Assert.Equal(134, table.All.Counts.Value!.Exposures);
    }

    [Fact]
    public void Of_NoExposures_CannotTellARate()
        => Assert.False(RateTable.Of([]).All.Rejects.IsMeasured);

    [Fact]
    public void Pareto_OrdersReasonsAndKeepsRejectsWithoutOne()
    {
        LogCount Reason(string? name, long rejected) => new() { Keys = [name], Exposures = rejected, Rejected = rejected };
        ReasonPareto pareto = ReasonPareto.Of([Reason("Exposure", 30), Reason("Positioning", 55), Reason(null, 15)]);
        Assert.Equal(["Positioning", "Exposure", ReasonPareto.NotTold], pareto.Rows.Value!.Select(row => row.Name));
        Assert.Equal([0.55, 0.85, 1.0], pareto.Rows.Value!.Select(row => Math.Round(row.CumulativeFraction, 12)));
        Assert.Equal(15, pareto.WithoutReason);
        Assert.Equal(100, pareto.Rejected);
    }

    [Fact]
    public void Dose_OfRejects_SaysHowManyLackIt()
    {
        RejectDose dose = RejectDose.Of(new LogCount { Keys = [], Exposures = 100, Rejected = 10, WithKermaAreaProduct = 90, KermaAreaProductDgyCm2 = 200, RejectedWithKermaAreaProduct = 7, RejectedKermaAreaProductDgyCm2 = 15 });
        Assert.Equal(3, dose.Lacking);
        Assert.Equal(0.075, dose.ShareOfKnown.Value!.Fraction, 12);
        Assert.False(RejectDose.Of(new LogCount { Keys = [], Exposures = 3, Rejected = 1 }).ShareOfKnown.IsMeasured);
    }

    [Fact]
    public void Reference_OfChildrenAlone_IsTheirs()
    {
        Assert.Equal([0.05, 0.07], RateReference.Of(new LogQuery { AgeGroups = [AgeGroup.Child] }).Select(line => line.Fraction));
        Assert.Equal([0.08, 0.10], RateReference.Of(new LogQuery()).Select(line => line.Fraction));
        Assert.All(RateReference.Adult, line => Assert.Contains("from memory", line.Source, StringComparison.Ordinal));
    }

    [Fact]
    public void Funnel_HoldsEachRoomAgainstItsOwnProjections()
    {
        LogCount Cell(string? room, string projection, long exposures, long rejected) => new() { Keys = [room, projection], Exposures = exposures, Rejected = rejected };

        // Knees are rejected at (20 + 10)/(100 + 100) = 15 %, hands at (2 + 4 + 2)/(100 + 200 + 100) = 2 %.
        MixFunnel funnel = MixFunnel.Of(LogDimension.Room, RateKind.Rejects,
        [
            Cell("1", "knee-ap", 100, 20), Cell("1", "hand-pa", 100, 2),
            Cell("2", "knee-ap", 100, 10), Cell("2", "hand-pa", 200, 4),
            Cell(null, "hand-pa", 100, 2),
        ]);

        // Room 1: 100·0.15 + 100·0.02 = 17 expected, 22 seen; room 2: 100·0.15 + 200·0.02 = 19 expected, 14 seen.
        Assert.Equal(17, funnel.Ratios["1"].Value!.Expected, 9);
        Assert.Equal(22 / 17.0, funnel.Ratios["1"].Value!.Ratio, 9);
        Assert.Equal(14 / 19.0, funnel.Ratios["2"].Value!.Ratio, 9);
        Assert.Equal(100, funnel.NotTold);
        Assert.False(funnel.IsWidened);
        Assert.Empty(RepeatAlerts.Of(funnel));
    }

    [Fact]
    public void Comparison_WithControl_TakesTheControlsChangeOff()
    {
        LogCount Cell(long exposures, long rejected) => new() { Keys = ["knee-ap"], Exposures = exposures, Rejected = rejected };
        TrainingComparison comparison = TrainingComparison.Of(new DateOnly(2026, 3, 1), RateKind.Rejects, [Cell(1000, 120)], [Cell(1000, 80)], [Cell(500, 50)], [Cell(500, 45)]);

        // 8 % − 12 % = −4 points; control 9 % − 10 % = −1; together −3.
        Assert.Equal(-0.04, comparison.Group.Difference.Value!.Difference, 12);
        Assert.Equal(-0.03, comparison.Controlled.Value!.Difference, 12);

        // Chi-square without correction: 2000·(120·920 − 80·880)²/(200·1800·1000·1000) = 8.8889.
        Assert.Equal(80.0 / 9, comparison.Group.Test.Value!.Statistic!.Value, 9);

        // Of one projection the mix cannot change: expected 1000·0.12.
        Assert.Equal(80 / 120.0, comparison.Group.MixAdjusted.Value!.Ratio, 12);
        Assert.False(TrainingComparison.Of(new DateOnly(2026, 3, 1), RateKind.Rejects, [Cell(10, 1)], [Cell(10, 1)]).Controlled.IsMeasured);
    }

    [Fact]
    public void Index_OfBins_CountsOutsideTheBands()
    {
        // 10 at 0.0, 5 at +1.0 (on the band, inside), 3 at +1.1, 2 at −3.1; 4 more without an index.
        IndexFigures figures = IndexFigures.Of(new IndexSpread { Key = null, Exposures = 24, Missing = 4, Bins = new Dictionary<int, long> { [0] = 10, [10] = 5, [11] = 3, [-31] = 2 } });
        Assert.Equal((5, 20), (figures.BeyondOne.Value!.Count.Events, figures.BeyondOne.Value.Count.Total));
        Assert.Equal(2, figures.BeyondThree.Value!.Count.Events);
        Assert.Equal(3, figures.AboveOne.Value!.Count.Events);
        Assert.Equal((4, 24), (figures.Missing.Value!.Count.Events, figures.Missing.Value.Count.Total));

        // (5·1.0 + 3·1.1 − 2·3.1)/20.
        Assert.Equal(0.105, figures.MeanAndDeviation.Value!.Mean, 12);

        // Ranks 10 and 11 of 20: places 8 and 9 of the ten values spread over [−0.05, 0.05).
        Assert.Equal((-0.05 + (7.5 * 0.01) + (-0.05) + (8.5 * 0.01)) / 2, figures.Median.Value!.Value, 9);
    }
}
