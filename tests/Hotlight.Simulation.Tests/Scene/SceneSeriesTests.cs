using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class SceneSeriesTests
{
    private static readonly SceneDocument Start = SceneStarts.For("chest", "pa") with { Seed = 40 };

    [Fact]
    [Trait("evidence", "invariant")]
    public void Vary_SameSeed_GivesTheSameScenes()
    {
        string[] kinds = [.. SceneSeries.Kinds.Select(kind => kind.Name)];
        Assert.Equal(
            SceneSeries.Vary(Start, 20, kinds).Select(SceneJson.Write),
            SceneSeries.Vary(Start, 20, [.. kinds.Reverse()]).Select(SceneJson.Write));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Vary_EveryScene_CanBeExposed()
    {
        string[] kinds = [.. SceneSeries.Kinds.Select(kind => kind.Name)];
        Assert.All(SceneSeries.Vary(Start, 200, kinds), scene =>
        {
            // What the checks of a file accept, the lab exposes.
            SceneDocument read = SceneJson.Read(SceneJson.Write(scene), scene.Id);
            Assert.Equal(kinds.Length, read.Varied.Count);
        });
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Vary_Exposure_StaysWithinSixDecibelsAndAQuarterIsAsItWas()
    {
        SceneDocument[] series = [.. SceneSeries.Vary(Start, 400, ["exposure"])];
        Assert.All(series, scene => Assert.InRange(10 * Math.Log10(scene.Tube.ExposureMas / Start.Tube.ExposureMas), -6.01, 6.01));

        // Binomial: 400 at 0.25 gives 100 ± 4·8.7.
        Assert.InRange(series.Count(scene => scene.Varied["exposure"] == 0), 65, 135);
        Assert.All(series, scene => Assert.Equal(Start.Part!.TurnDegrees, scene.Part!.TurnDegrees));
    }

    [Theory]
    [InlineData(0, "position", "1 to 10000")]
    [InlineData(3, "weather", "'weather' cannot be varied")]
    [Trait("evidence", "invariant")]
    public void Vary_WrongAsking_IsRefused(int count, string kind, string expected)
    {
        ArgumentException error = Assert.Throws<ArgumentException>(() => SceneSeries.Vary(Start, count, [kind]));
        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
    }
}
