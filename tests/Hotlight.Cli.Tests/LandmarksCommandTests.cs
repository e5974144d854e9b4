using System.Text.Json;
using Hotlight.Poses;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>Proposed landmarks on the command line.</summary>
[Collection("command line")]
public sealed class LandmarksCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Landmarks_AnkleOfTheLab_ProposesPointsAndWritesAFileThatIsRefusedUntilLookedAt()
    {
        string image = Ankle();
        CommandLineCall call = CommandLineCall.Run("landmarks", image, "-p", "ankle-ap", "--out", folder["proposed.json"]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("inner-malleolus", call.Output, StringComparison.Ordinal);
        Assert.Contains("look at each before it counts", call.Output, StringComparison.Ordinal);
        Assert.Contains("not a diagnostic device", call.Output.ReplaceLineEndings(" "), StringComparison.Ordinal);

        string text = File.ReadAllText(folder["proposed.json"]);
        using JsonDocument json = JsonDocument.Parse(text);
        JsonElement landmarks = json.RootElement.GetProperty("landmarks");
        Assert.True(landmarks.EnumerateObject().Count() >= 10);
        Assert.All(landmarks.EnumerateObject(), point => Assert.True(point.Value.GetProperty("proposed").GetBoolean()));

        // Alone, a point of the catalogue: refused as proposed, taken once that is out.
        string one = $$"""{"schema": "hotlight.landmarks/1", "projection": "ankle-ap", "landmarks": {"inner-malleolus": {{landmarks.GetProperty("inner-malleolus").GetRawText()}} } }""";
        File.WriteAllText(folder["one.json"], one);
        CommandLineCall refused = CommandLineCall.Run("position", image, "-p", "ankle-ap", "-l", folder["one.json"]);
        Assert.NotEqual(0, refused.ExitStatus);
        Assert.Contains("only proposed", refused.Errors, StringComparison.Ordinal);
        File.WriteAllText(folder["one.json"], one.Replace("true", "false", StringComparison.Ordinal));
        Assert.Equal(0, CommandLineCall.Run("position", image, "-p", "ankle-ap", "-l", folder["one.json"]).ExitStatus);
    }

    [Fact]
    public void Landmarks_AsJson_HasAPlaceOrAReasonForEachPointOfTheModel()
    {
        using JsonDocument json = JsonDocument.Parse(CommandLineCall.Run("landmarks", Ankle(), "-p", "ankle-mortise", "--json").Output);
        Assert.Equal("hotlight.proposal/1", json.RootElement.GetProperty("schema").GetString());
        JsonElement[] points = [.. json.RootElement.GetProperty("proposed").EnumerateArray()];
        Assert.Equal(PoseModels.For("ankle-mortise")!.Points.Select(point => point.Id), points.Select(point => point.GetProperty("id").GetString()));
        Assert.All(points, point => Assert.True(point.TryGetProperty("x", out _) != point.TryGetProperty("why", out _)));
    }

    [Theory]
    [InlineData("No points are proposed for 'wrist-pa'", "-p", "wrist-pa")]
    [InlineData("--projection")]
    public void Landmarks_WhatCannotBeProposed_OneSentence(string sentence, params string[] options)
    {
        CommandLineCall call = CommandLineCall.Run(["landmarks", Ankle(), .. options]);
        Assert.NotEqual(0, call.ExitStatus);
        Assert.Contains(sentence, call.Errors, StringComparison.Ordinal);
    }

    private string Ankle()
    {
        SceneDocument scene = SceneStarts.For("foot", "ankle-ap");
        string path = folder["ankle.dcm"];
        if (!File.Exists(path))
        {
            File.WriteAllBytes(path, Lab.Expose(scene with { Receptor = scene.Receptor with { SpacingMm = 0.4 } }).ForPresentation());
        }

        return path;
    }
}
