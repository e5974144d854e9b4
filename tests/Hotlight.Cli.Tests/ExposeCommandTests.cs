using System.Text.Json;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class ExposeCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_AnExample_WritesBothImagesAndTheirTruth()
    {
        string scene = Scene("wrist:pa");
        CommandLineCall call = CommandLineCall.Run("expose", scene, "--out", folder["out"]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Equal("", call.Output);
        Assert.Equal(["truth.json", "wrist-pa-for-processing.dcm", "wrist-pa.dcm"], Directory.EnumerateFiles(folder["out"]).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder["out"], "truth.json")));
        Assert.Equal("hotlight.truth/1", truth.RootElement.GetProperty("schema").GetString());
        Assert.Equal(4, truth.RootElement.GetProperty("field").GetProperty("outline").GetArrayLength());

        // The file is measured like any other, and its header's exposure index is the truth's, rounded.
        using JsonDocument measured = JsonDocument.Parse(CommandLineCall.Run("measure", Path.Combine(folder["out"], "wrist-pa.dcm"), "--json").Output);
        Assert.Equal(
            truth.RootElement.GetProperty("exposure").GetProperty("exposureIndex").GetDouble(),
            measured.RootElement.GetProperty("exposure").GetProperty("exposureIndex").GetDouble(),
            0.51);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_ASeries_WritesOneFolderEachAndSaysWhatWasVaried()
    {
        CommandLineCall call = CommandLineCall.Run("expose", Scene("wrist:pa"), "--series", "2", "--vary", "POSITION,EXPOSURE", "--for-presentation", "--out", folder["series"]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Equal(["wrist-pa-001", "wrist-pa-002"], Directory.EnumerateDirectories(folder["series"]).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder["series"], "wrist-pa-002", "truth.json")));
        Assert.Equal(["exposure", "position"], truth.RootElement.GetProperty("scene").GetProperty("varied").EnumerateObject().Select(one => one.Name).Order(StringComparer.Ordinal));
        Assert.False(File.Exists(Path.Combine(folder["series"], "wrist-pa-002", "wrist-pa-002-for-processing.dcm")));
    }

    [Theory]
    [InlineData("name a scene file", "expose")]
    [InlineData("say where the exposure goes", "expose", "{scene}")]
    [InlineData("there is no part 'tail'", "expose", "--example", "tail")]
    [InlineData("has no view 'sunrise'", "expose", "--example", "knee:sunrise")]
    [InlineData("cannot be read", "expose", "nowhere.json", "--out", "{out}")]
    [InlineData("--vary goes with --series", "expose", "{scene}", "--vary", "position", "--out", "{out}")]
    [InlineData("'weather' cannot be varied", "expose", "{scene}", "--series", "2", "--vary", "weather", "--out", "{out}")]
    [InlineData("there is a file of that name", "expose", "{scene}", "--out", "{scene}")]
    [InlineData("no member 'tub'", "expose", "{broken}", "--out", "{out}")]
    [Trait("evidence", "invariant")]
    public void Expose_AskedWrongly_SaysSoInOneSentenceAndWritesNothing(string expected, params string[] words)
    {
        File.WriteAllText(folder["broken.json"], """{"schema":"hotlight.scene/1","tub":{}}""");
        string scene = Scene("wrist:pa");
        CommandLineCall call = CommandLineCall.Run([.. words.Select(word => word.Replace("{scene}", scene, StringComparison.Ordinal).Replace("{broken}", folder["broken.json"], StringComparison.Ordinal).Replace("{out}", folder["out"], StringComparison.Ordinal))]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Contains(expected, call.Errors, StringComparison.Ordinal);
        Assert.Single(call.Errors.Trim().Split('\n'));
        Assert.False(Directory.Exists(folder["out"]));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_Parts_ListsEveryPartWithItsViews()
    {
        string text = CommandLineCall.Run("expose", "--parts").Output;
        foreach (string part in new[] { "wrist", "elbow", "shoulder", "foot", "knee", "pelvis", "chest", "lumbarSpine" })
        {
            Assert.Contains(part + Environment.NewLine, text, StringComparison.Ordinal);
        }

        Assert.Contains("landmarks", text, StringComparison.Ordinal);
    }

    // Large pixels: quick to make.
    private string Scene(string example)
    {
        string path = folder["scene.json"];
        File.WriteAllText(path, CommandLineCall.Run("expose", "--example", example).Output.Replace("\"spacingMm\": 0.15", "\"spacingMm\": 0.6", StringComparison.Ordinal));
        return path;
    }
}
