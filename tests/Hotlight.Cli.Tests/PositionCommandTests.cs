using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>Landmarks on the command line, and the check of a clinic's own projections.</summary>
[Collection("command line")]
public sealed class PositionCommandTests : IDisposable
{
    private const string Knee = """
        {"schema": "hotlight.landmarks/1", "projection": "knee-lateral", "landmarks": {
          "lateral-condyle-back": {"x": 100, "y": 150}, "medial-condyle-back": {"x": 180, "y": 152},
          "shaft-far": {"x": 150, "y": 20}, "shaft-near": {"x": 150, "y": 90}, "patella-front": {"x": 250, "y": 140}}}
        """;

    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Position_WithoutLandmarks_ListsThoseToMarkWithAFileToStartFrom()
    {
        CommandLineCall result = CommandLineCall.Run("position", "-p", "knee-lateral");
        Assert.Equal(0, result.ExitStatus);
        Assert.Contains("hotlight.landmarks/1", result.Output, StringComparison.Ordinal);
        foreach (Landmark landmark in ProjectionCatalogue.BuiltIn.Get("knee-lateral").Landmarks)
        {
            Assert.Contains(landmark.Id, result.Output, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Position_MarkedKnee_TellsTheMissItsDegreesAndWhatIsStillToMark()
    {
        File.WriteAllText(folder["marks.json"], Knee);
        string text = Unwrapped(CommandLineCall.Run("position", Image(), "-p", "knee-lateral", "-l", folder["marks.json"]).Output);
        Assert.Contains("missed Do the posterior edges of the two femoral condyles lie over each other?", text, StringComparison.Ordinal);
        Assert.Contains("Rotate the leg internally", text, StringComparison.Ordinal);
        Assert.Matches(@"By about \d+° \(\d+° to \d+°\)\.", text);
        Assert.Contains("Mark also: lateral femoral condyle, lowest point", text, StringComparison.Ordinal);
        Assert.Contains("not a diagnostic device", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Position_AsJson_HoldsFigureUncertaintyAndCaution()
    {
        File.WriteAllText(folder["marks.json"], Knee);
        using JsonDocument json = JsonDocument.Parse(CommandLineCall.Run("position", Image(), "-p", "knee-lateral", "-l", folder["marks.json"], "--json").Output);
        JsonElement row = json.RootElement.GetProperty("relations").EnumerateArray().Single(item => item.GetProperty("relation").GetString() == "condyles-front-back");
        JsonElement result = row.GetProperty("result");

        // 80 pixels of 0.2 mm, less the magnification of a part 40 to 80 mm over the receptor at 1 m: 16/1.064 = 15.04 mm.
        Assert.Equal(15.04, result.GetProperty("value").GetDouble(), 0.01);
        Assert.Equal("missed", result.GetProperty("state").GetString());
        Assert.True(result.GetProperty("uncertainty").GetDouble() > 1);
        Assert.Contains("not a diagnostic device", json.RootElement.GetProperty("caution").GetString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("no-such.json", "there is no such file")]
    [InlineData("other.json", "but 'knee-lateral' is judged")]
    public void Position_BadLandmarks_AreRefusedInOneSentence(string file, string words)
    {
        File.WriteAllText(folder["other.json"], Knee.Replace("knee-lateral", "knee-ap", StringComparison.Ordinal));
        CommandLineCall result = CommandLineCall.Run("position", Image(), "-p", "knee-lateral", "-l", folder[file]);
        Assert.Equal(2, result.ExitStatus);
        Assert.Contains(words, result.Errors, StringComparison.Ordinal);
        Assert.Single(result.Errors.Trim().Split('\n'));
    }

    [Fact]
    public void CatalogueCheck_BuiltIn_HasNoFault()
        => Assert.Contains("no fault", CommandLineCall.Run("catalogue", "check").Output, StringComparison.Ordinal);

    [Fact]
    public void CatalogueCheck_BrokenFiles_ListsEveryFaultAndRefuses()
    {
        Directory.CreateDirectory(folder["wrist"]);
        File.WriteAllText(Path.Combine(folder["wrist"], "one.json"), "{}");
        File.WriteAllText(Path.Combine(folder["wrist"], "two.json"), "[");
        CommandLineCall result = CommandLineCall.Run("catalogue", "check", folder.Path);
        Assert.Equal(2, result.ExitStatus);
        Assert.Contains("wrist/one.json, $.requiredAnatomy: the member requiredAnatomy is missing; a list is expected.", result.Output, StringComparison.Ordinal);
        Assert.Contains("wrist/two.json", result.Output, StringComparison.Ordinal);
        Assert.Contains("faults in the catalogue", result.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void Projections_AClinicsOwnFolder_LiesOverTheBuiltInOnes()
    {
        Directory.CreateDirectory(folder["wrist"]);
        string own = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "data", "catalogue", "wrist", "wrist-pa.json")).Replace("\"name\": \"Wrist PA\"", "\"name\": \"Wrist PA of our clinic\"", StringComparison.Ordinal);
        File.WriteAllText(Path.Combine(folder["wrist"], "wrist-pa.json"), own);
        Assert.Contains("Wrist PA of our clinic", CommandLineCall.Run("projections", "wrist-pa", "--catalogue", folder.Path).Output, StringComparison.Ordinal);
        Assert.DoesNotContain("of our clinic", CommandLineCall.Run("projections", "wrist-pa").Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Projections_UnknownIdentifier_SuggestsTheNearest()
    {
        CommandLineCall result = CommandLineCall.Run("projections", "wrist-pe");
        Assert.Equal(2, result.ExitStatus);
        Assert.Contains("Did you mean 'wrist-pa'", result.Errors, StringComparison.Ordinal);
    }

    private static string Unwrapped(string text) => System.Text.RegularExpressions.Regex.Replace(text, @"\s+", " ");

    private string Image()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["knee.dcm"]);
        return folder["knee.dcm"];
    }
}
