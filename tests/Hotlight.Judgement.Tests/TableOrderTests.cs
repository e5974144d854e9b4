using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

/// <summary>Corrections: in the order of the table, once each, none against another.</summary>
public sealed class TableOrderTests
{
    private static Critique Judge(string id, MeasurementDocument document, params (string Line, string Miss)[] missed)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        Answers answers = missed.Aggregate(Cases.AllMet(projection), (all, miss) => all.With(miss.Line, new Answer(ChecklistState.NotMet, miss.Miss, "Seen.")));
        return CritiqueBuilder.Build(Cases.Header(projection), document, projection, answers);
    }

    [Fact]
    public void Changes_OfEveryStep_StandInTheOrderOfTheTable()
    {
        Critique critique = Judge(
            "elbow-lateral",
            Cases.Measured(4),
            ("marker.side", "absent"),
            ("sharpness.edges", "moved"),
            ("artifacts.clear", "receptor-beside"),
            ("position.right-angle", "too-straight"),
            ("position.shoulder-level", "head-anterior"),
            ("collimation.centre", "off-centre"),
            ("anatomy.humerus", "cut"),
            ("processing.complete", "cropped"));
        Assert.Equal(
            [TableStep.Patient, TableStep.Part, TableStep.Tube, TableStep.Receptor, TableStep.Collimation, TableStep.Marker, TableStep.Technique, TableStep.Instructions, TableStep.AfterExposure],
            critique.Changes.Select(change => change.Step!.Value));
        Assert.Equal("position.shoulder-level", critique.Changes[0].LineId);
        Assert.Equal("exposure.deviation-index", critique.Changes[6].LineId);
    }

    [Theory]
    [InlineData("chest-pa", "position.no-rotation", "right-end-nearer", TableStep.Patient)]
    [InlineData("chest-pa", "position.inspiration", "few-ribs", TableStep.Instructions)]
    [InlineData("knee-lateral", "position.condyles-front-back", "medial-posterior", TableStep.Part)]
    [InlineData("knee-lateral", "position.condyles-up-down", "medial-distal", TableStep.Tube)]
    [InlineData("wrist-pa", "position.palm-flat", "thumb-side-raised", TableStep.Part)]
    [InlineData("wrist-pa", "anatomy.carpus", "cut", TableStep.Tube)]
    [InlineData("wrist-pa", "anatomy.forearm", "cut", TableStep.Collimation)]
    [InlineData("lumbar-spine-ap", "position.no-rotation", "left-side-raised", TableStep.Patient)]
    public void StepOf_ACorrection_IsWhereItIsDone(string id, string line, string miss, TableStep step)
        => Assert.Equal(step, Assert.Single(Judge(id, Cases.NothingKnown(), (line, miss)).Changes).Step);

    // An injured knee is not turned, but the tube can be: only what moves the patient is ruled out.
    [Fact]
    public void Changes_ForAPatientWhoCannotMove_StillMoveTheTube()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
        Critique Of(string line, string miss) => CritiqueBuilder.Build(Cases.Header(knee), Cases.Measured(), knee, Cases.AllMet(knee).With(line, new Answer(ChecklistState.NotMet, miss)), context: new ExaminationContext { Ability = PatientAbility.Trauma });

        Critique tube = Of("position.condyles-up-down", "medial-distal");
        Assert.Equal(VerdictKind.Repeat, tube.Verdict.Kind);
        Assert.StartsWith("Increase the angle of the beam", Assert.Single(tube.Changes).Instruction, StringComparison.Ordinal);
        Critique leg = Of("position.condyles-front-back", "medial-posterior");
        Assert.Equal(VerdictKind.AcceptWithRemark, leg.Verdict.Kind);
        Assert.StartsWith("Leave the leg as it lies", Assert.Single(leg.Changes).Instruction, StringComparison.Ordinal);
    }

    // A projection whose file has no word on the situation: no movement is asked for either.
    [Fact]
    public void Changes_WithoutAnAdaptation_LeaveThePartAsItLies()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral") with { Adaptations = [] };
        Critique critique = CritiqueBuilder.Build(Cases.Header(knee), Cases.Measured(), knee, Cases.AllMet(knee).With("position.condyles-front-back", new Answer(ChecklistState.NotMet, "medial-posterior")), context: new ExaminationContext { Ability = PatientAbility.CannotMove });
        Assert.Equal("Leave the part as it lies, and write down why the usual position was not possible.", Assert.Single(critique.Changes).Instruction);
    }

    [Fact]
    public void Changes_TwoTurnsOfOneLegAgainstEachOther_FollowTheHeavierAndSaySo()
    {
        Change change = Assert.Single(Judge("knee-ap", Cases.NothingKnown(), ("position.patella-central", "patella-lateral"), ("position.fibular-head", "free")).Changes);
        Assert.Equal("position.patella-central", change.LineId);
        Assert.Equal("position.fibular-head asks for the opposite (externally); position.patella-central weighs more, so follow this one and look again.", change.Settled);
    }

    [Fact]
    public void Changes_TwoTurnsOfOneLegTheSameWay_AreOne()
    {
        Change change = Assert.Single(Judge("knee-ap", Cases.NothingKnown(), ("position.patella-central", "patella-lateral"), ("position.fibular-head", "much-overlap")).Changes);
        Assert.Equal(["position.fibular-head"], change.AlsoFor!);
        Assert.Null(change.Settled);
    }

    [Fact]
    public void Changes_OpenAndClose_LeaveTheOpeningAndSaySo()
    {
        Critique critique = Judge("wrist-pa", Cases.Measured(reductionPercent: 40), ("anatomy.forearm", "cut"));
        Change change = Assert.Single(critique.Changes);
        Assert.Equal("Open the field toward the elbow until the distal quarter of the forearm is in it.", change.Instruction);
        Assert.StartsWith("collimation.size asks for a smaller field; what must be seen goes first", change.Settled, StringComparison.Ordinal);
        Assert.Null(critique.Cost.RelativeToThisExposure);
    }

    [Fact]
    public void Changes_MoreAndLessExposure_LookForTheCause()
    {
        MeasurementDocument document = Cases.Measured(mottleVisible: true, saturatedPercent: 5) with { Exposure = Figure<ExposureMeasurement>.CannotTell("No index.") };
        Change change = Assert.Single(Judge("wrist-pa", document, ("exposure.mottle", "hides-detail"), ("exposure.saturation", "needed-part")).Changes);
        Assert.StartsWith("Have receptor, target and processing checked", change.Instruction, StringComparison.Ordinal);

        // A remark does not stop a repeat's correction.
        Change heavier = Assert.Single(Judge("wrist-pa", document, ("exposure.mottle", "hides-detail"), ("exposure.saturation", "edge-only")).Changes);
        Assert.StartsWith("Raise", heavier.Instruction, StringComparison.Ordinal);
        Assert.Equal("exposure.saturation asks for less; exposure.mottle goes first.", heavier.Settled);
    }

    // No pair of misses of any projection gives two instructions for one thing in opposite directions; every instruction is a sentence that tells "you" what to do.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Changes_OfAnyPairOfMisses_NeverTellBothWays()
    {
        string[] notOrders = ["the", "it", "this", "there", "a", "an", "is", "was", "no"];
        (string, string)[] opposites = [("internally", "externally"), ("pronate", "supinate")];
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            (string Line, Miss Miss)[] all = [.. projection.Relations.SelectMany(relation => relation.Misses, (relation, miss) => ("position." + relation.Id, miss))];
            foreach ((string line, Miss miss) in all)
            {
                Assert.DoesNotContain(miss.Correction.Split(' ')[0].ToLowerInvariant(), notOrders);
                foreach ((string otherLine, Miss other) in all.Where(other => string.CompareOrdinal(other.Line, line) > 0))
                {
                    IReadOnlyList<Change> changes = Judge(projection.Id, Cases.NothingKnown(), (line, miss.Id), (otherLine, other.Id)).Changes;
                    Assert.Equal(changes.Select(change => change.Step), changes.Select(change => change.Step).Order());
                    foreach ((string one, string opposite) in opposites.Where(_ => changes.Count == 2 && Object(changes[0]) == Object(changes[1])))
                    {
                        Assert.False(
                            changes.Any(change => change.Direction == one) && changes.Any(change => change.Direction == opposite),
                            $"{projection.Id}: {changes[0].Instruction} {changes[1].Instruction}");
                    }
                }
            }
        }

        // The two words after the first "the", where both name the same thing.
        static string Object(Change change) => string.Join(' ', change.Instruction.Split(' ').SkipWhile(word => word != "the").Skip(1).Take(1));
    }
}
