using Hotlight.Catalogue;
using Hotlight.Imaging;

namespace Hotlight.Judgement.Tests;

/// <summary>How a verdict came about and what would have changed it, found by running the rules again.</summary>
public sealed class TraceTests
{
    private static readonly Projection Knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");

    private static readonly Answers Turned = Cases.AllMet(Knee).With("position.condyles-front-back", new Answer(ChecklistState.NotMet, "medial-posterior"));

    private static Critique Judge(Answers answers, ExaminationContext? context = null)
        => CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), Knee, answers, context: context);

    [Fact]
    public void Trace_OfARepeat_SaysWhatWithoutWhichItWouldBeKept()
    {
        VerdictTrace trace = Judge(Turned.With("marker.side", new Answer(ChecklistState.NotMet, "absent"))).Trace!;
        Assert.Equal(["position.condyles-front-back"], trace.DecidedBy);
        OtherVerdict other = Assert.Single(trace.WouldChange);
        Assert.Equal("With position.condyles-front-back met, the image would be kept with a remark.", other.Sentence);
        Assert.Equal(VerdictKind.AcceptWithRemark, other.Kind);
        Assert.Equal([true, false, false, true, false], trace.Rules.Select(rule => rule.Holds));
        Assert.Equal(1, trace.Rules.Single(rule => rule.Decides).Number);
        Assert.Equal("What the examination is asked for is not given, so every line weighs in full.", trace.Unknown[^1].Sentence);
    }

    // Two lines that each order a repeat: only both together change it.
    [Fact]
    public void Trace_OfTwoRepeatLines_NeedsBothAway()
    {
        OtherVerdict other = Assert.Single(Judge(Turned.With("sharpness.edges", new Answer(ChecklistState.NotMet, "moved"))).Trace!.WouldChange);
        Assert.True(other.Together);
        Assert.Equal(["position.condyles-front-back", "sharpness.edges"], other.Lines.Select(line => line.LineId));
    }

    // A low index weighs a repeat only through mottle: taking mottle away is enough, the index alone is not.
    [Fact]
    public void Trace_OfMottleWithALowIndex_FindsThatMottleAloneIsEnough()
    {
        Critique critique = Cases.Judge(Cases.Measured(-4, mottleVisible: true), Cases.AllMet(Cases.WristPa).With("exposure.mottle", new Answer(ChecklistState.NotMet, "hides-detail")));
        Assert.Equal(["exposure.deviation-index", "exposure.mottle"], critique.Trace!.DecidedBy);
        Assert.Equal(["exposure.mottle"], critique.Trace.WouldChange[0].Lines.Select(line => line.LineId));
    }

    [Fact]
    public void Trace_OfAKeptImage_NamesEveryLineThatWouldWeighARepeat()
    {
        VerdictTrace trace = Judge(Cases.AllMet(Knee)).Trace!;
        Assert.Equal(5, trace.Rules.Single(rule => rule.Decides).Number);
        OtherVerdict repeat = trace.WouldChange.Single(other => other.Kind == VerdictKind.Repeat);
        Assert.False(repeat.Together);
        Assert.Equal(
            CritiqueBuilder.BlankChecklist(Knee).SelectMany(line => line.Misses.Where(miss => miss.Weight == Weight.Repeat), (line, miss) => (line.Id, miss.Id)),
            repeat.Lines.Select(line => (line.LineId, line.MissId!)));
    }

    [Fact]
    public void Trace_OfAnOpenVerdict_SaysWhatTheAnswersWouldMake()
    {
        VerdictTrace trace = Judge(Cases.AllMet(Knee).With("anatomy.patella", null)).Trace!;
        Assert.Equal(["anatomy.patella"], trace.DecidedBy);
        Assert.Equal("With anatomy.patella met, the image would be kept.", trace.WouldChange[0].Sentence);
        Assert.Contains(trace.WouldChange, other => other.Kind == VerdictKind.Repeat && other.Lines.Contains(new LineSetting("anatomy.patella", ChecklistState.NotMet, "cut")));
        Assert.Contains(trace.Unknown, reason => reason.LineId == "anatomy.patella");
    }

    [Fact]
    public void Trace_OfAVerdictThatThePurposeMade_SaysSo()
    {
        Critique critique = Judge(Turned, new ExaminationContext { PurposeId = "fracture-check" });
        Assert.Equal(VerdictKind.AcceptWithRemark, critique.Verdict.Kind);
        WeightStep step = Assert.Single(critique.Trace!.Weighed);
        Assert.Equal(("position.condyles-front-back", Weight.Repeat, Weight.Consult), (step.LineId, step.From, step.To));
        Assert.Contains(critique.Trace.WouldChange, other => other.Kind == VerdictKind.Repeat && other.Sentence == "Without the purpose 'check for a fracture or fluid after an injury', a repeat would be weighed.");
        Assert.DoesNotContain(critique.Trace.Unknown, reason => reason.LineId == "purpose");
    }

    // Every set that the trace names is tried again through the front door: as a reader's answers it gives the verdict named.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Trace_EveryOtherVerdict_ComesTrueWhenAnswered()
    {
        int tried = 0;
        foreach (WrittenCase written in WrittenCase.Of("tuning").Where(each => each.Measured is null && each.Landmarks is null))
        {
            Projection projection = ProjectionCatalogue.BuiltIn.Get(written.Projection);
            Critique critique = written.Judge();
            Answers answers = Answers.None(projection.Id);
            foreach (ChecklistLine line in critique.Lines.Where(line => line.DecidedBy == DecidedBy.Reader))
            {
                answers = answers.With(line.Id, new Answer(line.State, line.MissId, "As in the case."));
            }

            foreach (OtherVerdict other in critique.Trace!.WouldChange.Where(other => other.Lines.Count > 0))
            {
                foreach (IReadOnlyList<LineSetting> settings in other.Together ? [other.Lines] : other.Lines.Select(IReadOnlyList<LineSetting> (line) => [line]))
                {
                    Answers changed = settings.Aggregate(answers, (all, setting) => all.With(setting.LineId, new Answer(setting.State, setting.MissId, "Tried.")));
                    Critique again = CritiqueBuilder.Build(Cases.Header(projection), Cases.Measured(), projection, changed, context: critique.Context);
                    Assert.Equal(other.Kind, again.Verdict.Kind);
                    tried++;
                }
            }
        }

        Assert.True(tried > 100, $"only {tried} were tried");
    }

    [Fact]
    public void Build_AReadersVerdict_StandsBesideTheToolsAndChangesNothingElse()
    {
        Critique plain = Judge(Turned);
        Critique own = Judge(Turned with { Verdict = new VerdictAnswer(VerdictKind.Accept, "The surgeon needs the plate only.") });
        Assert.Equal(new ReaderVerdict(VerdictKind.Accept, "The surgeon needs the plate only.", false), own.ReaderVerdict);
        Assert.Equal(CritiqueJson.Write(plain), CritiqueJson.Write(own with { ReaderVerdict = null }));
        Assert.Throws<ArgumentException>(() => Judge(Turned with { Verdict = new VerdictAnswer(VerdictKind.Accept, " ") }));
    }

    [Fact]
    public void Fault_OfAnUnknownPurpose_ListsThoseThereAre()
    {
        Assert.Contains("fracture-check (check for a fracture", new ExaminationContext { PurposeId = "beauty" }.Fault(Knee), StringComparison.Ordinal);
        Assert.Contains("the nearest is 'anatomy.patella'.", new ExaminationContext { ShownElsewhere = ["anatomy.patela"] }.Fault(Knee), StringComparison.Ordinal);
        Assert.Contains("repeats", new ExaminationContext { RepeatsAlready = -1 }.Fault(Knee), StringComparison.Ordinal);
        Assert.Null(new ExaminationContext { PurposeId = "fracture-check", RepeatsAlready = 1, ShownElsewhere = ["anatomy.patella"], Ability = PatientAbility.Trauma }.Fault(Knee));
        Assert.Throws<ArgumentException>(() => Judge(Turned, new ExaminationContext { PurposeId = "beauty" }));
    }

    // A wrong letter weighs the same whatever the purpose, the patient and the repeats: only a repeat is ever made lighter by them.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Build_AnyPurpose_LeavesTheSideMarkerAsItIs()
    {
        foreach (ExaminationPurpose purpose in Knee.Purposes)
        {
            Critique critique = Judge(Cases.AllMet(Knee).With("marker.side", new Answer(ChecklistState.NotMet, "wrong-side")), new ExaminationContext { PurposeId = purpose.Id, Ability = PatientAbility.Trauma, RepeatsAlready = 3 });
            Assert.Equal(Weight.Consult, critique.Line("marker.side").Weight);
            Assert.Equal(["marker.side"], critique.Trace!.DecidedBy);
            Assert.True(critique.Line("marker.side").Required);
        }
    }

    // Context never makes a verdict heavier: every projection, every way of missing, every purpose and ability.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Build_AnyContext_NeverWeighsHeavier()
    {
        foreach (string id in new[] { "knee-lateral", "chest-pa", "elbow-lateral", "hip-ap" })
        {
            Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
            foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(projection).Where(line => line.State != ChecklistState.NotApplicable))
            {
                foreach (Miss miss in line.Misses)
                {
                    Answers answers = Cases.AllMet(projection).With(line.Id, new Answer(ChecklistState.NotMet, miss.Id));
                    foreach (ExaminationPurpose purpose in projection.Purposes)
                    {
                        Critique critique = CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), projection, answers, context: new ExaminationContext { PurposeId = purpose.Id, Ability = PatientAbility.CannotMove, RepeatsAlready = 2 });
                        Assert.InRange(critique.Line(line.Id).Weight, Weight.Note, miss.Weight);
                        Assert.InRange((int)miss.Weight - (int)critique.Line(line.Id).Weight, 0, 1);
                        Assert.NotEqual(VerdictKind.Repeat, critique.Verdict.Kind);
                    }
                }
            }
        }
    }
}
