using Hotlight.Catalogue;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

/// <summary>The verdict's truth table, row by row as docs/methods/judgement.md states it.</summary>
public sealed class VerdictTests
{
    // DI with nothing else wrong and mottle too weak to be seen. Low: ask; high: remark; gap: nothing; never a repeat.
    [Theory]
    [InlineData(4.0, VerdictKind.AcceptWithRemark, Weight.Remark)]
    [InlineData(2.0, VerdictKind.AcceptWithRemark, Weight.Remark)]
    [InlineData(-2.0, VerdictKind.AcceptWithRemark, Weight.Consult)]
    [InlineData(-4.0, VerdictKind.AcceptWithRemark, Weight.Consult)]
    [Trait("evidence", "published")]
    public void Decide_DeviationIndexAlone_NeverOrdersARepeat(double deviationIndex, VerdictKind verdict, Weight weight)
    {
        Critique critique = Cases.Judge(Cases.Measured(deviationIndex));
        Assert.Equal(verdict, critique.Verdict.Kind);
        Assert.Equal(ChecklistState.NotMet, critique.Line("exposure.deviation-index").State);
        Assert.Equal(weight, critique.Line("exposure.deviation-index").Weight);
        Assert.Contains(critique.Verdict.Reasons, reason => reason.LineId == "exposure.deviation-index");
    }

    [Theory]
    [InlineData(0.75)]
    [InlineData(-0.75)]
    [InlineData(-1.0)]
    [Trait("evidence", "published")]
    public void Decide_DeviationIndexBetweenBands_DrawsNothingFromIt(double deviationIndex)
    {
        Critique critique = Cases.Judge(Cases.Measured(deviationIndex));
        Assert.Equal(VerdictKind.Accept, critique.Verdict.Kind);
        Assert.Equal(ChecklistState.CannotTell, critique.Line("exposure.deviation-index").State);
        Assert.DoesNotContain(critique.Changes, change => change.MasFactor is not null);
    }

    // Low index × what the reader says of mottle that can be seen.
    [Theory]
    [InlineData(-2.0, null, VerdictKind.Undetermined)]
    [InlineData(-2.0, "seen", VerdictKind.AcceptWithRemark)]
    [InlineData(-2.0, "hides-detail", VerdictKind.Repeat)]
    [InlineData(-4.0, null, VerdictKind.Undetermined)]
    [InlineData(-4.0, "seen", VerdictKind.AcceptWithRemark)]
    [InlineData(-4.0, "hides-detail", VerdictKind.Repeat)]
    [InlineData(0.0, null, VerdictKind.Undetermined)]
    [InlineData(0.0, "seen", VerdictKind.AcceptWithRemark)]
    public void Decide_MottleThatCanBeSeen_IsWeighedByTheReader(double deviationIndex, string? miss, VerdictKind verdict)
    {
        Answers answers = Cases.AllMet(Cases.WristPa).With("exposure.mottle", miss is null ? null : new Answer(ChecklistState.NotMet, miss));
        Critique critique = Cases.Judge(Cases.Measured(deviationIndex, mottleVisible: true), answers);
        Assert.Equal(verdict, critique.Verdict.Kind);
        Assert.Equal(miss is null, critique.Verdict.Open.Any(reason => reason.LineId == "exposure.mottle"));
    }

    // High index × burned-out anatomy: only the reader says whether it is a needed part.
    [Theory]
    [InlineData(0.0, null, VerdictKind.AcceptWithRemark)]
    [InlineData(0.49, null, VerdictKind.AcceptWithRemark)]
    [InlineData(0.5, null, VerdictKind.Undetermined)]
    [InlineData(5.0, "edge-only", VerdictKind.AcceptWithRemark)]
    [InlineData(5.0, "needed-part", VerdictKind.Repeat)]
    public void Decide_BurnedOutAnatomy_AsksWhetherItIsNeeded(double saturatedPercent, string? miss, VerdictKind verdict)
    {
        Answers answers = miss is null ? Cases.AllMet(Cases.WristPa) : Cases.AllMet(Cases.WristPa).With("exposure.saturation", new Answer(ChecklistState.NotMet, miss));
        Assert.Equal(verdict, Cases.Judge(Cases.Measured(deviationIndex: 4, saturatedPercent: saturatedPercent), answers).Verdict.Kind);
    }

    [Theory]
    [InlineData("anatomy.carpus", "cut", VerdictKind.Repeat)]
    [InlineData("anatomy.forearm", "cut", VerdictKind.Repeat)]
    [InlineData("anatomy.skin", "soft-tissue-cut", VerdictKind.AcceptWithRemark)]
    [InlineData("position.palm-flat", "thumb-side-raised", VerdictKind.Repeat)]
    [InlineData("position.forearm-level", "styloid-over-head", VerdictKind.AcceptWithRemark)]
    [InlineData("position.hand-in-line", "toward-thumb", VerdictKind.AcceptWithRemark)]
    [InlineData("sharpness.edges", "moved", VerdictKind.Repeat)]
    [InlineData("sharpness.edges", "soft", VerdictKind.AcceptWithRemark)]
    [InlineData("artifacts.clear", "object-over-anatomy", VerdictKind.Repeat)]
    [InlineData("artifacts.clear", "object-beside", VerdictKind.AcceptWithRemark)]
    [InlineData("brightness.tissues", "window", VerdictKind.Accept)]
    [InlineData("brightness.tissues", "not-penetrated", VerdictKind.AcceptWithRemark)]
    [InlineData("marker.side", "absent", VerdictKind.AcceptWithRemark)]
    [InlineData("marker.side", "wrong-side", VerdictKind.AcceptWithRemark)]
    [InlineData("collimation.centre", "off-centre", VerdictKind.AcceptWithRemark)]
    [InlineData("records.shielding", "not-as-policy", VerdictKind.AcceptWithRemark)]
    [InlineData("processing.complete", "cropped", VerdictKind.AcceptWithRemark)]
    public void Decide_OneLineMissed_FollowsTheWayItIsMissed(string line, string miss, VerdictKind verdict)
    {
        string? remark = line == "anatomy.skin" ? "Swelling over the ulna is cut." : null;
        Critique critique = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With(line, new Answer(ChecklistState.NotMet, miss, remark)));
        Assert.Equal(verdict, critique.Verdict.Kind);
        Assert.Equal(ChecklistState.NotMet, critique.Line(line).State);
        Change change = Assert.Single(critique.Changes);
        Assert.Equal(line, change.LineId);
        Assert.Equal(critique.Line(line).Misses.Single(way => way.Id == miss).Correction, change.Instruction);
    }

    [Fact]
    public void Decide_WideField_IsRemarkedAndNeverRepeated()
    {
        Critique critique = Cases.Judge(Cases.Measured(reductionPercent: 80));
        Assert.Equal(VerdictKind.AcceptWithRemark, critique.Verdict.Kind);
        Assert.Equal(Weight.Remark, critique.Line("collimation.size").Weight);
        Assert.Contains("dose of this exposure is spent", Assert.Single(critique.Changes).Why, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(19.9, ChecklistState.Met)]
    [InlineData(20.0, ChecklistState.NotMet)]
    public void Decide_FieldAtTheLimit_IsCalledWideFromThereOn(double reductionPercent, ChecklistState state)
        => Assert.Equal(state, Cases.Judge(Cases.Measured(reductionPercent: reductionPercent)).Line("collimation.size").State);

    [Fact]
    public void Decide_OneRequiredLineOpen_IsUndeterminedThoughAllElseIsMet()
    {
        foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(Cases.WristPa).Where(line => line.Required && line.Id != "exposure.mottle"))
        {
            Critique critique = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With(line.Id, null));
            Assert.Equal(VerdictKind.Undetermined, critique.Verdict.Kind);
            Assert.Equal(line.Id, Assert.Single(critique.Verdict.Open).LineId);
        }
    }

    [Fact]
    public void Decide_ARepeatAndOpenLines_SaysRepeatAndKeepsTheQuestions()
    {
        Critique critique = Cases.Judge(Cases.Measured(), Answers.None("wrist-pa").With("anatomy.carpus", new Answer(ChecklistState.NotMet, "cut")));
        Assert.Equal(VerdictKind.Repeat, critique.Verdict.Kind);
        Assert.NotEmpty(critique.Verdict.Open);
        Assert.DoesNotContain(critique.Verdict.Open, reason => reason.LineId == "anatomy.carpus");
    }

    [Fact]
    public void Decide_NoWithoutAWay_StaysOpenWhereTheWaysWeighDifferently()
    {
        Critique critique = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With("artifacts.clear", new Answer(ChecklistState.NotMet)));
        Assert.Equal(VerdictKind.Undetermined, critique.Verdict.Kind);
        Assert.StartsWith("Say which way", Assert.Single(critique.Verdict.Open).Sentence, StringComparison.Ordinal);

        // Both ways of lifting a side weigh a repeat: the way is not needed for the verdict.
        Critique clear = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With("position.palm-flat", new Answer(ChecklistState.NotMet)));
        Assert.Equal(VerdictKind.Repeat, clear.Verdict.Kind);
        Assert.Empty(clear.Changes);
    }

    // No document and no header can order a repeat: every way of missing that weighs one is a reader's.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Decide_WithoutAReader_NeverSaysRepeat()
    {
        foreach (double deviationIndex in new[] { -15.0, -4, -2, 0, 2, 4, 15 })
        {
            foreach (bool mottle in new[] { false, true })
            {
                foreach (double saturated in new[] { 0.0, 50 })
                {
                    MeasurementDocument document = Cases.Measured(deviationIndex, mottleVisible: mottle, saturatedPercent: saturated, reductionPercent: 90) with { Anatomy = Cases.Leaving(FieldSide.Left, FieldSide.Bottom) };
                    foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
                    {
                        Critique critique = CritiqueBuilder.Build(new ExposureRecord(), document, projection, Answers.None(projection.Id));
                        Assert.Equal(VerdictKind.Undetermined, critique.Verdict.Kind);
                    }
                }
            }
        }
    }

    // A repeat is never urged without its cost and what a reader gains.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Decide_EveryRepeat_SaysCostAndGain()
    {
        int repeats = 0;
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(projection))
            {
                foreach (Miss miss in line.Misses.Where(miss => miss.Weight == Weight.Repeat))
                {
                    Answers answers = Cases.AllMet(projection).With(line.Id, new Answer(ChecklistState.NotMet, miss.Id));
                    Critique critique = CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), projection, answers);
                    Assert.Equal(VerdictKind.Repeat, critique.Verdict.Kind);
                    Assert.StartsWith("A good repeat would give a reader ", critique.Cost.Gain, StringComparison.Ordinal);
                    Assert.StartsWith("A repeat costs the patient about the same exposure again", critique.Cost.Sentence, StringComparison.Ordinal);
                    repeats++;
                }
            }
        }

        Assert.True(repeats > 40, $"only {repeats} ways of missing weigh a repeat");
    }

    // Every way of missing of every line of every projection leads somewhere: a reason or a note, and a change.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Build_EveryWayOfMissing_HasACorrectionThatArrives()
    {
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(projection).Where(line => line.State != ChecklistState.NotApplicable))
            {
                foreach (Miss miss in line.Misses)
                {
                    Critique critique = CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), projection, Answers.None(projection.Id).With(line.Id, new Answer(ChecklistState.NotMet, miss.Id)));
                    Assert.Equal(miss.Correction, Assert.Single(critique.Changes).Instruction);
                    Assert.Equal(miss.Weight, critique.Line(line.Id).Weight);
                    Assert.Equal(miss.Weight == Weight.Note ? 0 : 1, critique.Verdict.Reasons.Count);
                }
            }
        }
    }
}
