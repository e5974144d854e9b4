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
