using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

public sealed class EditedPlanTests
{
    private const string DeviationLine = "exposure.deviation-index";

    // DI +3.0103 asks for half the mAs, a field 40 % smaller for 0.6 of the area: 0.3 of the kerma-area product.
    private static readonly MeasurementDocument HighAndWide = Cases.Measured(3.0103, reductionPercent: 40);

    [Fact]
    public void Plan_WithoutEdits_StandsAsProposed()
    {
        Critique critique = Cases.Judge(HighAndWide);
        Assert.All(critique.Changes, change => Assert.Null(change.Proposed));
        Assert.Null(critique.Struck);
    }

    [Fact]
    public void Edit_WordsAChangeOtherwise_AndItsSizesGo()
    {
        Answers answers = Cases.AllMet(Cases.WristPa).WithPlanEdit(new PlanEdit { LineId = DeviationLine, Instruction = " Ask the service to check the automatic exposure first. " });
        Change change = Cases.Judge(HighAndWide, answers).Changes.Single(each => each.LineId == DeviationLine);
        Assert.Equal("Ask the service to check the automatic exposure first.", change.Instruction);
        Assert.Contains("mAs", change.Proposed, StringComparison.Ordinal);
        Assert.Null(change.MasFactor);
        Assert.Null(change.GeneratorMas);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Struck_Changes_LeaveTheCost()
    {
        Critique asProposed = Cases.Judge(HighAndWide);
        Critique withoutMas = Cases.Judge(HighAndWide, Cases.AllMet(Cases.WristPa).WithPlanEdit(new PlanEdit { LineId = DeviationLine }));
        Assert.Equal(0.3, asProposed.Cost.RelativeToThisExposure!.Value, 1e-4);
        Assert.Equal(0.6, withoutMas.Cost.RelativeToThisExposure!.Value, 1e-4);
        Assert.DoesNotContain(withoutMas.Changes, change => change.LineId == DeviationLine);
        Assert.Equal(DeviationLine, Assert.Single(withoutMas.Struck!).LineId);

        Critique withoutBoth = Cases.Judge(HighAndWide, Cases.AllMet(Cases.WristPa)
            .WithPlanEdit(new PlanEdit { LineId = DeviationLine })
            .WithPlanEdit(new PlanEdit { LineId = "collimation.size", Instruction = "Leave the field as it is." }));
        Assert.Equal(1, withoutBoth.Cost.RelativeToThisExposure!.Value, 1e-6);
    }

    [Fact]
    public void Own_Change_StandsAtItsStep()
    {
        Answers answers = Cases.AllMet(Cases.WristPa).WithPlanEdit(new PlanEdit { Step = TableStep.Patient, Instruction = "Take the bracelet off." });
        Critique critique = Cases.Judge(HighAndWide, answers);
        Assert.Equal(Change.OwnLineId, critique.Changes[0].LineId);
        Assert.Equal("Take the bracelet off.", critique.Changes[0].Instruction);
        Assert.Equal(critique.Changes.OrderBy(change => change.Step).Select(change => change.Instruction), critique.Changes.Select(change => change.Instruction));
    }

    [Fact]
    public void Edit_OfAChangeThatIsNotProposedAnyMore_IsPassedOver()
    {
        Answers answers = Cases.AllMet(Cases.WristPa).WithPlanEdit(new PlanEdit { LineId = DeviationLine, Instruction = "Less." });
        Assert.DoesNotContain(Cases.Judge(Cases.Measured(0), answers).Changes, change => change.LineId == DeviationLine);
    }

    [Fact]
    public void LaterEdit_OfTheSameChange_ReplacesTheEarlier()
    {
        Answers answers = Answers.None("wrist-pa")
            .WithPlanEdit(new PlanEdit { LineId = DeviationLine, Step = TableStep.Technique, Instruction = "One." })
            .WithPlanEdit(new PlanEdit { LineId = DeviationLine, Step = TableStep.Technique })
            .WithPlanEdit(new PlanEdit { Step = TableStep.Part, Instruction = "Own." })
            .WithPlanEdit(new PlanEdit { Step = TableStep.Part, Instruction = "Own." });
        Assert.Equal([null, "Own.", "Own."], answers.Plan.Select(edit => edit.Instruction));
    }

    [Fact]
    public void Answers_WithAPlan_ComeBackFromJson()
    {
        Answers given = Answers.None("wrist-pa")
            .WithPlanEdit(new PlanEdit { LineId = DeviationLine, Step = TableStep.Technique, Instruction = "Halve the mAs, “twice” if need be." })
            .WithPlanEdit(new PlanEdit { LineId = "collimation.size" })
            .WithPlanEdit(new PlanEdit { Step = TableStep.AfterExposure, Instruction = "Tell the ward." });
        Answers read = AnswersJson.Read(AnswersJson.Write(given), "answers.json", Cases.WristPa);
        Assert.Equal(given.Plan, read.Plan);
    }

    [Theory]
    [InlineData("""[{"line":"exposure.deviation-indeks"}]""", "is not a line of the checklist")]
    [InlineData("""[{"step":"part"}]""", "has a step and an instruction")]
    [InlineData("""[{"instruction":"Own."}]""", "has a step and an instruction")]
    [InlineData("""[{"step":"couch","instruction":"Own."}]""", "is not a step at the table")]
    [InlineData("""[{"line":"collimation.size","why":"x"}]""", "plan is a list of edits")]
    [InlineData("""{"line":"collimation.size"}""", "plan is a list of edits")]
    [InlineData("""["collimation.size"]""", "plan is a list of edits")]
    public void Plan_ThatSaysNothing_IsRefusedInOneSentence(string plan, string part)
    {
        string json = $$"""{"schema":"hotlight.answers/1","projection":"wrist-pa","answers":{},"plan":{{plan}}}""";
        UnreadableAnswersException error = Assert.Throws<UnreadableAnswersException>(() => AnswersJson.Read(json, "answers.json", Cases.WristPa));
        Assert.Contains(part, error.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', error.Message);
    }
}
