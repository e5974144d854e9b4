using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>The printed critique: what is asked, what is decided and by whom, and the way to every verdict.</summary>
[Collection("command line")]
public sealed class CritiqueCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Critique_WithoutAnswers_AsksOnlyForWhatIsUndecided()
    {
        string text = CommandLineCall.Run("critique", Limb(), "--projection", "chest-pa").Output;
        Assert.Contains("Answer as \"anatomy.apices\"", text, StringComparison.Ordinal);
        Assert.Contains("The trunk may leave the field by every side.", text, StringComparison.Ordinal);
        Assert.DoesNotContain("Answer as \"anatomy.skin\"", text, StringComparison.Ordinal);
        Assert.DoesNotContain("? (", text, StringComparison.Ordinal);
        Assert.DoesNotContain("± 0 ", text, StringComparison.Ordinal);
        Assert.DoesNotContain("± 0.0 ", text, StringComparison.Ordinal);
        Assert.Contains("not a diagnostic device", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Critique_AMissOfWeightRepeat_EndsInRepeatWithItsCostAndGain()
    {
        string text = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", Answered("knee-ap", "anatomy.femur")).Output);
        Assert.Contains("VERDICT Repeat. Weigh a repeat against its dose", text, StringComparison.Ordinal);
        Assert.Contains("What a repeat costs", text, StringComparison.Ordinal);
        Assert.Contains("A good repeat would give a reader ", text, StringComparison.Ordinal);
        Assert.DoesNotContain("by the reader", text, StringComparison.Ordinal);
        Assert.DoesNotContain("look there first", text, StringComparison.Ordinal);
        Assert.Contains("because The field ends", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Critique_ARemarkBesideARepeat_IsNotGivenAsItsReason()
    {
        string text = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", Answered("knee-ap", "anatomy.femur", "marker.side")).Output);
        Assert.Contains("besides No marker is seen.", text, StringComparison.Ordinal);
        Assert.DoesNotContain("because No marker", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Projections_TheCentralRay_IsOneSentence()
    {
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            string text = Unwrapped(CommandLineCall.Run("projections", projection.Id).Output);
            Assert.Matches(@"central ray [^,]+(, [^,]+)*, through (a|the) ", text);
            Assert.Matches("centred on (a|the) ", CritiqueBuilder.BlankChecklist(projection).Single(line => line.Id == "collimation.centre").Question);
        }
    }

    [Fact]
    public void Critique_EveryRequiredLineMet_LeavesNothingOpen()
    {
        using JsonDocument critique = JsonDocument.Parse(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", Answered("knee-ap"), "--json").Output);
        JsonElement verdict = critique.RootElement.GetProperty("verdict");
        Assert.StartsWith("accept", verdict.GetProperty("kind").GetString(), StringComparison.Ordinal);
        Assert.Equal(0, verdict.GetProperty("open").GetArrayLength());
    }

    [Fact]
    public void Critique_WithExplain_PrintsRulesWeightsAndWhatWouldHaveChangedIt()
    {
        string text = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", Answered("knee-ap", "position.patella-central"), "--purpose", "fracture-check", "--repeats", "1", "--explain").Output);
        Assert.Contains("VERDICT Accept with remark.", text, StringComparison.Ordinal);
        Assert.Contains("How the verdict came about", text, StringComparison.Ordinal);
        Assert.Contains("position.patella-central, repeat to consult. The purpose, check for a fracture after an injury, does not need it: one step less.", text, StringComparison.Ordinal);
        Assert.Contains("Without the purpose 'check for a fracture after an injury', a repeat would be weighed.", text, StringComparison.Ordinal);
        Assert.Contains("has been repeated once already", text, StringComparison.Ordinal);
        Assert.DoesNotContain("How the verdict came about", CommandLineCall.Run("critique", Limb(), "-p", "knee-ap").Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Critique_WithLandmarks_DecidesTheRelationAndSizesTheCorrection()
    {
        // The patella 100 pixels of 0.2 mm outward of the middle: about 19 mm at the knee, and 11 are accepted.
        File.WriteAllText(folder["marks.json"], """{"schema": "hotlight.landmarks/1", "projection": "knee-ap", "landmarks": {"femur-middle": {"x": 150, "y": 200}, "patella-middle": {"x": 250, "y": 200}, "inner-epicondyle": {"x": 100, "y": 200}, "outer-epicondyle": {"x": 280, "y": 200}}}""");
        string text = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", Answered("knee-ap"), "--landmarks", folder["marks.json"], "--explain").Output);
        Assert.Matches("not met Is the patella in the middle[^?]*[?] 1[89]\\.[0-9] ± [0-9.]+ mm \\(measured\\)", text);
        string answers = Answered("knee-ap").Replace("answers.json", "open.json", StringComparison.Ordinal);
        File.WriteAllText(answers, File.ReadAllText(folder["answers.json"]).Replace("\"position.patella-central\":{\"state\":\"met\"},", string.Empty, StringComparison.Ordinal));
        string open = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", answers, "--landmarks", folder["marks.json"], "--explain").Output);
        Assert.Contains("VERDICT Accept with remark.", open, StringComparison.Ordinal);
        Assert.Contains("Figures never order a repeat alone", open, StringComparison.Ordinal);
        Assert.Contains("A repeat would be weighed if a reader saw one of these: ", open, StringComparison.Ordinal);
        Assert.Contains("Rotate the leg internally until the patella is in the middle.", open, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--purpose", "beauty", "'beauty' is not a purpose of knee-ap; there are fracture-check (check for a fracture after an injury)")]
    [InlineData("--ability", "lazy", "--ability is can, cannot-move, trauma, child, cast or large-body; 'lazy' is none of them.")]
    [InlineData("--repeats", "some", "--repeats takes a whole number from 0 to 100, such as --repeats 1; 'some' is not one.")]
    [InlineData("--shown", "anatomy.femr", "the nearest is 'anatomy.femur'.")]
    [InlineData("--landmarks", "none.json", "none.json: there is no such file")]
    [InlineData("--thresholds", "none.json", "none.json, $: there is no such file.")]
    public void Critique_AWrongOption_SaysInOneSentenceWhatItTakes(string option, string value, string words)
    {
        Assert.Contains(words, CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", option, value).OneSentence(), StringComparison.Ordinal);
    }

    [Fact]
    public void Critique_AReadersVerdict_StandsBesideTheTools()
    {
        string path = Answered("knee-ap", "anatomy.femur");
        File.WriteAllText(path, File.ReadAllText(path).TrimEnd()[..^1] + ", \"verdict\": {\"kind\": \"accept\", \"reason\": \"Only the tibia was asked for.\"}}");
        string text = Unwrapped(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "-a", path).Output);
        Assert.Contains("VERDICT Repeat.", text, StringComparison.Ordinal);
        Assert.Contains("READER Accept, against the verdict above, which stays beside it. Only the tibia was asked for.", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Critique_WithTheClinicsSettings_MeasuresAndJudgesWithThem()
    {
        File.WriteAllText(folder["clinic.json"], "{\"schema\":\"hotlight.clinic/1\",\"targetExposureIndices\":{\"knee-ap\":400},\"thresholds\":{\"deviationLow\":-1.05,\"deviationTargetLow\":-1.0}}");

        // IEC 62494-1: 10·log10(312/400) = −1.079; an option of the call goes before the file.
        using JsonDocument critique = JsonDocument.Parse(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "--clinic", folder["clinic.json"], "--json").Output);
        JsonElement exposure = critique.RootElement.GetProperty("measurements").GetProperty("exposure");
        Assert.Equal(400, exposure.GetProperty("targetExposureIndex").GetDouble());
        Assert.Equal(10 * Math.Log10(312.0 / 400), exposure.GetProperty("deviationIndex").GetDouble(), 3);
        using JsonDocument called = JsonDocument.Parse(CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "--clinic", folder["clinic.json"], "--target-ei", "312", "--json").Output);
        Assert.Equal(312, called.RootElement.GetProperty("measurements").GetProperty("exposure").GetProperty("targetExposureIndex").GetDouble());
    }

    [Theory]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"thresholds\":{\"deviationLow\":7}}", "the bands rise")]
    [InlineData("a letter", "not a file of a clinic's settings")]
    [InlineData(null, "no such file of settings")]
    public void Critique_SettingsThatCannotBeUsed_AreOneSentence(string? text, string words)
    {
        if (text is not null)
        {
            File.WriteAllText(folder["clinic.json"], text);
        }

        Assert.Contains(words, CommandLineCall.Run("critique", Limb(), "-p", "knee-ap", "--clinic", folder["clinic.json"]).OneSentence(), StringComparison.Ordinal);
        Assert.Contains(words, CommandLineCall.Run("measure", Limb(), "--clinic", folder["clinic.json"]).OneSentence(), StringComparison.Ordinal);
    }

    private static string Unwrapped(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    private string Limb()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        return folder["limb.dcm"];
    }

    private string Answered(string projectionId, params string?[] missed)
    {
        var answers = CritiqueBuilder.BlankChecklist(ProjectionCatalogue.BuiltIn.Get(projectionId))
            .Where(line => line.Required)
            .ToDictionary(
                line => line.Id,
                object (line) => missed.Contains(line.Id) ? new { state = "not-met", miss = line.Misses[0].Id } : new { state = "met" });
        File.WriteAllText(folder["answers.json"], JsonSerializer.Serialize(new { schema = "hotlight.answers/1", projection = projectionId, reader = "Reader 1", answers }));
        return folder["answers.json"];
    }
}
