using System.Globalization;
using System.Text.Json;
using Hotlight.Testing;

namespace Hotlight.Judgement.Tests;

public sealed class CritiqueJsonTests
{
    [Fact]
    [Trait("evidence", "invariant")]
    public void Read_WhatWasWritten_WritesTheSameAgain()
    {
        string text = CritiqueJson.Write(Example());
        Assert.Equal(text, CritiqueJson.Write(CritiqueJson.Read(text)));
        Assert.DoesNotContain('\n', text);
    }

    [Fact]
    public void Read_AnotherSchema_SaysWhichIsRead()
        => Assert.Contains("hotlight.critique/1", Assert.Throws<JsonException>(() => CritiqueJson.Read(CritiqueJson.Write(Example()).Replace("hotlight.critique/1", "hotlight.critique/7", StringComparison.Ordinal))).Message, StringComparison.Ordinal);

    // A critique written before there were traces, steps and contexts is read as it was.
    [Fact]
    public void Read_ADocumentWithoutTheLaterMembers_LeavesThemOut()
    {
        var older = System.Text.Json.Nodes.JsonNode.Parse(CritiqueJson.Write(Example()))!.AsObject();
        older.Remove("trace");
        foreach (System.Text.Json.Nodes.JsonNode? change in older["changes"]!.AsArray())
        {
            change!.AsObject().Remove("step");
        }

        string text = older.ToJsonString(new JsonSerializerOptions { Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping });
        Critique critique = CritiqueJson.Read(text);
        Assert.Null(critique.Trace);
        Assert.Null(critique.Context);
        Assert.Null(critique.ReaderVerdict);
        Assert.All(critique.Changes, change => Assert.Null(change.Step));
        Assert.Equal(text, CritiqueJson.Write(critique));
    }

    // Our own text, approved by reading it; it guards change, in a culture with a decimal comma as in the invariant one.
    [Theory]
    [InlineData("")]
    [InlineData("de-DE")]
    [Trait("evidence", "golden")]
    public void Write_ExampleInACulture_IsTheApprovedText(string culture)
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo(culture);
        try
        {
            string approved = Path.Combine(SharedData.RepositoryRoot, "tests", "Hotlight.Judgement.Tests", "approved", "critique.json");
            string text = CritiqueJson.Write(Example(), indented: true).ReplaceLineEndings("\n") + "\n";
            Assert.True(File.Exists(approved) && File.ReadAllText(approved) == text, "The critique differs from tests/Hotlight.Judgement.Tests/approved/critique.json; the text now is:\n" + text);
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    private static Critique Example()
    {
        Answers answers = (Cases.AllMet(Cases.WristPa) with { Reader = "Reader 3" })
            .With("position.palm-flat", new Answer(ChecklistState.NotMet, "thumb-side-raised"))
            .With("marker.side", new Answer(ChecklistState.NotMet, "drawn-or-outside"))
            .With("exposure.skin-line", new Answer(ChecklistState.NotMet, "window", "Skin is dark at the thumb."))
            .With("exposure.mottle", new Answer(ChecklistState.NotMet, "seen"));
        return Cases.Judge(Cases.Measured(-2.0412, deviationUncertainty: 0.15, mottleVisible: true, reductionPercent: 38), answers, Cases.WristHeader with { ExposureIndex = 156.25, DeviationIndex = -2 });
    }
}
