using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Tests.Proportions;

/// <summary>A change beside a control group's.</summary>
public sealed class ControlledComparisonTests
{
    [Fact]
    public void Of_AControlWithoutChangeAndWithoutEnd_IsTheDifferenceAlone()
    {
        // A control of 10¹² exposures has no spread of its own: analytic limit, Newcombe's interval of the group alone, to 1e-6.
        EventCount control = new(100_000_000_000, 1_000_000_000_000);
        ControlledDifference found = ControlledComparison.Of(new EventCount(120, 1000), new EventCount(80, 1000), control, control).Value!;
        DifferenceEstimate alone = ProportionComparison.Difference(new EventCount(120, 1000), new EventCount(80, 1000)).Value!;
        Assert.Equal(alone.Difference, found.Difference, 12);
        Assert.Equal(alone.Interval.Lower, found.Interval.Lower, 6);
        Assert.Equal(alone.Interval.Upper, found.Interval.Upper, 6);
    }

    [Fact]
    public void Of_TwoLikeChanges_IsNoDifferenceAndPOne()
    {
        EventCount before = new(120, 1000);
        EventCount after = new(80, 1000);
        ControlledDifference found = ControlledComparison.Of(before, after, before, after).Value!;
        Assert.Equal(0, found.Difference, 12);
        Assert.True(found.Interval.Contains(0));
        Assert.Equal(1, found.Test.Value!.PValue, 12);
    }

    [Fact]
    public void Interval_OverManyTrials_HoldsTheTruthAsOftenAsItSays()
    {
        const int Trials = 2000;
        var random = new Random(20261127);
        EventCount Draw(int total, double rate) => new(Enumerable.Range(0, total).Count(_ => random.NextDouble() < rate), total);
        int held = Enumerable.Range(0, Trials).Count(_ => ControlledComparison.Of(Draw(300, 0.12), Draw(300, 0.07), Draw(200, 0.10), Draw(200, 0.09)).Value!.Interval.Contains(-0.04));

        // 95 % nominal; the square-and-add interval may cover a little more. Below: 4·√(0.95·0.05/2000) = 0.0195.
        Assert.InRange(held / (double)Trials, 0.95 - 0.0195, 0.985);
    }

    [Fact]
    public void Of_NothingBefore_CannotTell()
        => Assert.False(ControlledComparison.Of(new EventCount(0, 0), new EventCount(1, 10), new EventCount(1, 10), new EventCount(1, 10)).IsMeasured);
}
