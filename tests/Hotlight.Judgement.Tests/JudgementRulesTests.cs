using System.Text.Json.Nodes;
using Hotlight.Catalogue;
using Hotlight.Testing;
using Json.Schema;

namespace Hotlight.Judgement.Tests;

public sealed class JudgementRulesTests
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "data", "judgement");

    private static string Text => File.ReadAllText(Path.Combine(Folder, "thresholds.json"));

    [Fact]
    public void BuiltIn_IsTheFileInData()
        => Assert.Equal(JudgementRules.Default, JudgementRulesJson.Read(Text, "thresholds.json"));

    // The fixed bands stand in code as the scheme's own; file and code must not drift apart.
    [Fact]
    public void BuiltIn_HasTheFixedBands() => Assert.Equal(DeviationBands.Fixed, JudgementRules.Default.DeviationBands);

    [Fact]
    public void File_FollowsItsSchema()
        => Assert.True(JsonSchema.FromText(File.ReadAllText(Path.Combine(Folder, "thresholds.schema.json"))).Evaluate(System.Text.Json.JsonDocument.Parse(Text).RootElement).IsValid);

    [Fact]
    public void Read_AClinicsOwnFile_ChangesTheVerdict()
    {
        JsonNode file = JsonNode.Parse(Text)!;
        file["thresholds"]!["fieldReductionPercent"]!["value"] = 50;
        JudgementRules own = JudgementRulesJson.Read(file.ToJsonString(), "own.json");
        Assert.Equal(VerdictKind.AcceptWithRemark, Cases.Judge(Cases.Measured(reductionPercent: 40)).Verdict.Kind);
        Assert.Equal(VerdictKind.Accept, Cases.Judge(Cases.Measured(reductionPercent: 40), rules: own).Verdict.Kind);
    }

    [Theory]
    [InlineData("fieldReductionPercent", "value", "\"20\"", "$.thresholds.fieldReductionPercent.value: a number from 1 to 100 is expected, not \"20\".")]
    [InlineData("fieldReductionPercent", "value", "0", "$.thresholds.fieldReductionPercent.value: a number from 1 to 100")]
    [InlineData("fieldReductionPercent", "unit", "\"mm\"", "$.thresholds.fieldReductionPercent.unit: the unit is '%', not 'mm'.")]
    [InlineData("fieldReductionPercent", "basis", "\"hearsay\"", "$.thresholds.fieldReductionPercent.basis: the source 'hearsay' is not in the register")]
    [InlineData("fieldReductionPercent", "why", "\" \"", "$.thresholds.fieldReductionPercent.why: a text that is not empty")]
    [InlineData("fieldReductionPercent", "note", "1", "'note' is not a member known here")]
    [InlineData("collimatorEdges", "value", "1.5", "a whole number from 0 to 4")]
    [InlineData("deviationLow", "value", "0", "$.thresholds.deviationTargetLow.value: the bands rise")]
    public void Read_AWrongMember_IsNamedWithWhatIsExpected(string threshold, string member, string value, string words)
    {
        JsonNode file = JsonNode.Parse(Text)!;
        file["thresholds"]![threshold]![member] = JsonNode.Parse(value);
        UnreadableThresholdsException error = Assert.Throws<UnreadableThresholdsException>(() => JudgementRulesJson.Read(file.ToJsonString(), "own.json"));
        Assert.StartsWith("own.json, ", error.Message, StringComparison.Ordinal);
        Assert.Contains(words, error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_SeveralFaults_NamesThemAll()
    {
        JsonNode file = JsonNode.Parse(Text)!;
        file["schema"] = "hotlight.thresholds/9";
        file["thresholds"]!["smallestTrimMm"]!["value"] = -1;
        file["thresholds"]!["sharpEdgeBlurMm"]!.AsObject().Remove("why");
        Assert.Equal(3, Assert.Throws<UnreadableThresholdsException>(() => JudgementRulesJson.Read(file.ToJsonString(), "own.json")).Errors.Count);
        file["thresholds"]!.AsObject().Remove("smallestTrimMm");
        Assert.Contains("the member smallestTrimMm is missing", Assert.Throws<UnreadableThresholdsException>(() => JudgementRulesJson.Read(file.ToJsonString(), "own.json")).Message, StringComparison.Ordinal);
        Assert.Contains("not JSON", Assert.Throws<UnreadableThresholdsException>(() => JudgementRulesJson.Read("{", "own.json")).Message, StringComparison.Ordinal);
        Assert.Contains("an object with schema", Assert.Throws<UnreadableThresholdsException>(() => JudgementRulesJson.Read("[]", "own.json")).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void File_EveryThreshold_SaysWhyInOneSentence()
    {
        foreach ((string name, JsonNode? threshold) in JsonNode.Parse(Text)!["thresholds"]!.AsObject())
        {
            Assert.EndsWith(".", threshold!["why"]!.GetValue<string>(), StringComparison.Ordinal);
            Assert.True(SourceRegister.BuiltIn.Sources.ContainsKey(threshold["basis"]!.GetValue<string>()), name);
        }
    }
}
