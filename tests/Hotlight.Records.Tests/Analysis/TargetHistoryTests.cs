using Hotlight.Records.Analysis;

namespace Hotlight.Records.Tests.Analysis;

/// <summary>Targets that moved are told with what they do to the deviation index: DI = 10·log10(EI/target), IEC 62494-1.</summary>
public sealed class TargetHistoryTests
{
    private static readonly DateOnly Day = new(2026, 3, 1);

    private static TargetUse Use(double target, int first, int last, long exposures = 10, string? receptor = "Table 1", string? projection = "wrist-pa")
        => new(receptor, projection, target, exposures, Day.AddDays(first), Day.AddDays(last));

    [Fact]
    public void Of_TargetDoubledAndBack_MovesTheDeviationIndexByThreeDown_AndUp()
    {
        TargetHistory history = Assert.Single(TargetHistory.Of([Use(500, 10, 19), Use(250, 0, 9), Use(250.5, 20, 29, 5)]));

        Assert.Equal([250, 500, 250.5], history.Steps.Select(step => step.Use.Target));
        Assert.Null(history.Steps[0].DeviationShift);

        // An exposure of EI 500 lies at 10·log10(500/250) = +3.01 before and at 0 after.
        Assert.Equal(-10 * Math.Log10(2), history.Steps[1].DeviationShift!.Value, 12);
        Assert.Equal(10 * Math.Log10(500 / 250.5), history.Steps[2].DeviationShift!.Value, 12);
        Assert.False(history.IsMixed);
        Assert.Equal(25, history.Exposures);
    }

    [Fact]
    public void Of_TargetsUsedInTheSameDays_IsMixed()
        => Assert.True(Assert.Single(TargetHistory.Of([Use(250, 0, 9), Use(500, 9, 19)])).IsMixed);

    [Fact]
    public void Of_OneTargetEach_IsNoHistory()
        => Assert.Empty(TargetHistory.Of([Use(250, 0, 9), Use(500, 0, 9, receptor: "Table 2"), Use(400, 0, 9, projection: null), Use(300, 0, 3, receptor: null)]));

    [Fact]
    public void Of_Several_TheOneWithMostExposuresIsFirst()
        => Assert.Equal(["chest-pa", "wrist-pa"], TargetHistory.Of([Use(1, 0, 1), Use(2, 2, 3), Use(1, 0, 1, 100, projection: "chest-pa"), Use(2, 2, 3, projection: "chest-pa")]).Select(history => history.ProjectionId));
}
