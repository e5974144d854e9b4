using System.Text.Json.Nodes;
using Hotlight.Statistics.Scores;

namespace Hotlight.Statistics.Tests.Scores;

public sealed class ScoresTests
{
    [Fact]
    [Trait("evidence", "independent")]
    public void Score_IsAnotherLibrarys()
    {
        JsonObject row = OtherLibraries.One("brier");
        BrierScore score = BrierScore.Of(row["forecasts"].Numbers(), [.. row["outcomes"].Numbers().Select(value => value > 0)]).Value!;
        Assert.Equal(row["score"].Number(), score.Score, 1e-12);
        Assert.Equal(score.Score, score.Reliability - score.Resolution + score.Uncertainty, 1e-12);
    }

    // By hand: 0.2 said of five, one happened; 0.8 said of five, four happened: reliability 0, base rate ½, resolution 0.09, uncertainty 0.25, score 0.16.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Parts_ByHand_AreMurphys()
    {
        BrierScore score = BrierScore.Of([0.2, 0.2, 0.2, 0.2, 0.2, 0.8, 0.8, 0.8, 0.8, 0.8], [true, false, false, false, false, true, true, true, true, false]).Value!;
        Assert.Equal(0.16, score.Score, 1e-12);
        Assert.Equal(0, score.Reliability, 1e-12);
        Assert.Equal(0.09, score.Resolution, 1e-12);
        Assert.Equal(0.25, score.Uncertainty, 1e-12);
        Assert.Equal(0.36, score.SkillScore!.Value, 1e-12);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Bins_HoldWhatWasSaidAgainstWhatCame()
    {
        IReadOnlyList<CalibrationBin> bins = CalibrationBins.Of([0.0, 0.3, 0.3, 0.35, 1.0], [false, true, false, false, true]);
        Assert.Equal(10, bins.Count);
        Assert.Equal((1, 3), (bins[3].Happened.Value!.Count.Events, bins[3].Happened.Value!.Count.Total));
        Assert.Equal(0.95 / 3, bins[3].MeanForecast!.Value, 1e-12);
        Assert.Equal(1, bins[9].Happened.Value!.Count.Total);
        Assert.Null(bins[5].MeanForecast);
        Assert.False(bins[5].Happened.IsMeasured);
    }

    [Fact]
    public void Scores_OfNothing_CannotBeTold()
    {
        Assert.False(BrierScore.Of([], []).IsMeasured);
        Assert.Null(BrierScore.Of([0.5], [true]).Value!.SkillScore);
        Assert.Throws<ArgumentOutOfRangeException>(() => BrierScore.Of([1.5], [true]));
        Assert.Throws<ArgumentException>(() => BrierScore.Of([0.5], []));
    }
}
