using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Practice;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Practice;

namespace Hotlight.Workflows.Tests.Teaching.Practice;

public sealed class PracticeSessionTests
{
    private static readonly DateTimeOffset Day = new(2026, 3, 1, 8, 0, 0, TimeSpan.Zero);
    private static readonly CaseReader Knot = new(Guid.NewGuid(), "Knot", PersonRole.Learner);

    [Fact]
    public void Session_WrittenAndRead_IsTheSame()
    {
        PracticeSession session = Session(0.8, isVerdictRight: true) with { Task = ExposeTask.Make(PracticeView.Find("knee-lateral")!, 7) };
        string written = session.Write();
        Assert.Equal(written, PracticeSession.Read(written).Write());
        PracticeExercise read = PracticeSession.Read(written).Exercises[0];
        Assert.Equal(new PracticeAnswer(ChecklistState.NotMet, "moved", "sure"), read.Answers.Lines["sharpness.edges"]);
        Assert.Equal(["moved"], read.Truth[0].Misses);
        Assert.Equal(session.Task.HiddenTurnDegrees, PracticeSession.Read(written).Task!.HiddenTurnDegrees);
        Assert.Throws<System.Text.Json.JsonException>(() => PracticeSession.Read(written.Replace("hotlight.practice/1", "hotlight.practice/2", StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(51)]
    public void Order_OfNoneOrTooMany_SaysWhy(int count) => Assert.Contains("1 to 50", new PracticeOrder { Count = count }.Fault, StringComparison.Ordinal);

    [Fact]
    public void Order_OfWhatCannotBePractised_SaysWhy()
    {
        Assert.Contains("skull-ap", new PracticeOrder { ProjectionIds = ["skull-ap"] }.Fault, StringComparison.Ordinal);
        Assert.NotNull(new PracticeOrder { Kinds = [FaultKind.Other] }.Fault);
        Assert.NotNull(new PracticeOrder { Source = PracticeSource.Cases }.Fault);
        Assert.Null(new PracticeOrder { ProjectionIds = ["knee-ap"], Kinds = [FaultKind.Motion] }.Fault);
    }

    [Fact]
    public void Requirement_CountsPracticeOnlyWhereItSaysSo()
    {
        // Three exercises of the knee: 80 % and verdict right, 80 % and verdict wrong, 60 %.
        IReadOnlyList<PracticedExercise> practised = PracticedExercise.Of([Kept(Session(0.8, true)), Kept(Session(0.8, false)), Kept(Session(0.6, true))]);
        Assert.Equal(3, practised.Count);
        Assert.Equal((1, 0), (practised[0].Lines, practised[0].Wrong.Count));
        CompetencyRequirement knees = new() { Id = Guid.NewGuid(), Title = "Knees", Region = "knee", Count = 3, LeastAgreementPercent = 75, VerdictMustAgree = false };
        RequirementProgress Of(CompetencyRequirement requirement) => LearnerProgress.Of(Knot, [], [requirement], id => id.Split('-')[0], [], 0, practised).Requirements.Single();

        Assert.Equal((0, 0), (Of(knees).Read, Of(knees).Reached));
        Assert.Equal((3, 2), (Of(knees with { Counts = RequirementSource.Practice }).Read, Of(knees with { Counts = RequirementSource.Practice }).Reached));
        Assert.Equal(1, Of(knees with { Counts = RequirementSource.Either, VerdictMustAgree = true }).Reached);
        Assert.Equal(0, Of(knees with { Counts = RequirementSource.Practice, Region = "chest" }).Read);
        string table = ProgressWorkflow.Table(LearnerProgress.Of(Knot, [], [], _ => null, [], 0, practised));
        Assert.Equal(4, table.Split('\n', StringSplitOptions.RemoveEmptyEntries).Length);
        Assert.Contains(",practice,", table, StringComparison.Ordinal);
    }

    [Fact]
    public void Settings_OfARequirement_KeepWhatCountsAndReadListsThatDoNotSayIt()
    {
        CompetencyRequirement practice = new() { Id = Guid.NewGuid(), Title = "Practice", Count = 20, Counts = RequirementSource.Either };
        ClinicSettings settings = new() { Requirements = [practice, practice with { Id = Guid.NewGuid(), Title = "Readings", Counts = RequirementSource.Readings }] };
        string written = ClinicSettingsJson.Write(settings);
        Assert.Equal(settings.Requirements, ClinicSettingsJson.Read(written, "clinic.json").Requirements);

        // A list written before says nothing of it.
        Assert.Single(written.Split("\"counts\"").Skip(1));
    }

    [Fact]
    public void ReferenceLines_AreThoseThatAPersonDecidedOrThatWereFoundMissed()
    {
        IReadOnlyList<ChecklistLine> checklist = CritiqueBuilder.BlankChecklist(ProjectionCatalogue.BuiltIn.Get("knee-ap"));
        string looks = checklist.Single(line => line.Id == "sharpness.edges").Misses.Single(miss => miss.Id == "moved").Looks;
        ReadingResult result = new()
        {
            ProjectionId = "knee-ap",
            ProjectionName = "Knee AP",
            Verdict = VerdictKind.Repeat,
            VerdictSentence = "",
            JudgedBy = "",
            MeasuredBy = "",
            MeasuredWith = "",
            DeviationScheme = "",
            Lines =
            [
                new ReadLine("sharpness.edges", ChecklistSection.Sharpness, "", ChecklistState.NotMet, DecidedBy.Reader, true, looks, null, null),
                new ReadLine("artifacts.clear", ChecklistSection.Artifacts, "", ChecklistState.Met, DecidedBy.Reader, true, null, null, null),
                new ReadLine("marker.side", ChecklistSection.SideMarker, "", ChecklistState.CannotTell, DecidedBy.Reader, true, null, null, null),
                new ReadLine("exposure.mottle", ChecklistSection.Exposure, "", ChecklistState.Met, DecidedBy.Measurement, false, null, null, null),
                new ReadLine("exposure.deviation-index", ChecklistSection.Exposure, "", ChecklistState.NotMet, DecidedBy.Header, false, null, null, "DI −5.0"),
                new ReadLine("records.dose", ChecklistSection.ShieldingAndRecords, "", ChecklistState.NotMet, DecidedBy.Header, false, null, null, null),
            ],
        };
        IReadOnlyList<TrueLine> lines = ReferenceLines.Of(result, checklist);
        Assert.Equal(["sharpness.edges", "artifacts.clear", "exposure.deviation-index"], lines.Select(line => line.LineId));
        Assert.Equal(["moved"], lines[0].Misses);
    }

    [Fact]
    public void ExposeTask_SetAsItWouldSuffice_IsAcceptableByItsOwnTruth()
    {
        foreach (PracticeView view in PracticeView.All)
        {
            for (int seed = 0; seed < 12; seed++)
            {
                ExposeTask task = ExposeTask.Make(view, seed);
                Assert.True(task.HiddenTurnDegrees != 0 || task.HiddenTiltDegrees != 0 || view.Positions.All(each => each.Setting is not ("turn" or "tilt")));
                IReadOnlyList<TrueLine> first = SceneReferee.Tell(view, task.Actual(task.Begin()), -3, 0);
                Assert.Contains(first, line => line.LineId == "marker.side" && line.IsFault);
                Assert.True(first.Any(line => FaultKinds.Of(line.LineId) == FaultKind.Position && line.IsFault), $"{view.Projection}, seed {seed}");

                // Half the exposure that is needed: the sufficient one has twice the mAs.
                ExposeTask once = task with { Attempts = [new ExposeAttempt { Number = 1, SetJson = SceneJson.Write(task.Begin()), Truth = first, Verdicts = [VerdictKind.Repeat], ExposureIndex = 100, TargetExposureIndex = 200, At = Day }] };
                SceneDocument enough = once.Sufficient()!;
                Assert.Equal(2 * task.Begin().Tube.ExposureMas, enough.Tube.ExposureMas, 2);
                Assert.DoesNotContain(SceneReferee.Tell(view, once.Actual(enough), 0, 0), line => line.IsFault);
                Assert.True(ExposureCost.Of(view, enough).KermaAreaProduct.Value!.DgyCm2 > 0);
            }
        }
    }

    [Fact]
    public void ExposeTask_JudgedLineByLine_IsScoredLikeAnExercise()
    {
        // By hand, of the first image: two faults, one seen with its way (1), one met in the learner's eyes (0); two sound lines, one right (1), one imagined (0); repeat is right (1): (0.5 + 0.5 + 1)/3.
        // Of the second: no fault; two sound lines right (1), one open (0); accepted with a remark where accept is right (0.5): (2/3 + 0.5)/2.
        IReadOnlyList<ChecklistLine> checklist = CritiqueBuilder.BlankChecklist(ProjectionCatalogue.BuiltIn.Get("knee-ap"));
        ExposeAttempt first = Attempt(1, [new("marker.side", ChecklistState.NotMet, ["absent"], ""), new("collimation.size", ChecklistState.NotMet, ["too-wide"], ""), new("sharpness.edges", ChecklistState.Met, [], ""), new("artifacts.clear", ChecklistState.Met, [], "")], VerdictKind.Repeat)
            .With(new PracticeAnswers { Verdict = VerdictKind.Repeat, VerdictCertainty = "sure" }
                .With("marker.side", new PracticeAnswer(ChecklistState.NotMet, "absent", "sure")).With("collimation.size", new PracticeAnswer(ChecklistState.Met, null, "rather"))
                .With("sharpness.edges", new PracticeAnswer(ChecklistState.Met)).With("artifacts.clear", new PracticeAnswer(ChecklistState.NotMet, null, "guess")));
        ExposeAttempt second = Attempt(2, [new("marker.side", ChecklistState.Met, [], ""), new("sharpness.edges", ChecklistState.Met, [], ""), new("artifacts.clear", ChecklistState.Met, [], "")], VerdictKind.Accept)
            .With(new PracticeAnswers { Verdict = VerdictKind.AcceptWithRemark }.With("marker.side", new PracticeAnswer(ChecklistState.Met)).With("sharpness.edges", new PracticeAnswer(ChecklistState.Met)));
        ExposeTask task = ExposeTask.Make(PracticeView.Find("knee-ap")!, 3);
        Assert.Null((task with { Attempts = [first] }).Total);
        task = (task with { Attempts = [first] }).Finished(checklist, Day);
        task = (task with { Attempts = [.. task.Attempts, second] }).Finished(checklist, Day.AddMinutes(2));
        Assert.Equal(2.0 / 3, task.Attempts[0].Total!.Value, 12);
        Assert.Equal(7.0 / 12, task.Attempts[1].Total!.Value, 12);
        Assert.Equal(0.625, task.Total!.Value, 12);

        // Kept and read it is the same, and one entry of the competency record.
        PracticeSession session = new() { Order = new PracticeOrder { Source = PracticeSource.Expose, Count = 1 }, Task = task };
        Assert.Equal(session.Write(), PracticeSession.Read(session.Write()).Write());
        Assert.Empty(PracticedExercise.Of([Kept(session)]));
        PracticedExercise counted = Assert.Single(PracticedExercise.Of([Kept(session) with { Ended = Day.AddMinutes(2) }]));
        Assert.Equal((7, 4, false), (counted.Lines, counted.Right, counted.VerdictRight!.Value));
        Assert.Equal(0.625, counted.Score!.Value, 12);

        // Stated chances: marker 0.95 right, size 0.75 wrong, artifact 0.5 wrong, verdict 0.95 right.
        ExerciseScore scored = task.Attempts[0].Score(checklist);
        Assert.Equal([(0.95, true), (0.75, false), (0.5, false)], scored.Lines.Where(line => line.Chance is not null).Select(line => (line.Chance!.Value, line.IsStateRight!.Value)));
        Assert.Equal((0.95, true), scored.VerdictForecast);

        ExposeAttempt Attempt(int number, IReadOnlyList<TrueLine> truth, VerdictKind right)
            => new() { Number = number, SetJson = "{}", Truth = truth, Verdicts = [right], ExposureIndex = 260, TargetExposureIndex = 260, At = Day };
    }

    [Fact]
    public void Costs_OfRepeats_AddWithTheirUncertainties()
    {
        PracticeView view = PracticeView.Find("chest-pa")!;
        ExposureCost one = ExposureCost.Of(view, view.Start("R", 1));
        ExposureCost three = ExposureCost.Sum([one, one, one], view);
        Assert.Equal(3 * one.KermaAreaProduct.Value!.DgyCm2, three.KermaAreaProduct.Value!.DgyCm2, 12);
        Assert.Equal(3 * one.KermaAreaProduct.Value.UncertaintyDgyCm2, three.KermaAreaProduct.Value.UncertaintyDgyCm2, 12);

        // 0.158 mSv/(Gy·cm²), and 1 dGy·cm² is 0.1 Gy·cm².
        Assert.Equal(0.0158 * three.KermaAreaProduct.Value.DgyCm2, three.EffectiveDose.Value!.Millisievert, 12);
        Assert.False(ExposureCost.Of(PracticeView.Find("knee-ap")!, PracticeView.Find("knee-ap")!.Start("R", 1)).EffectiveDose.IsMeasured);
    }

    private static PracticeSession Session(double total, bool isVerdictRight) => new()
    {
        Order = new PracticeOrder { Count = 1, Seed = 1 },
        Exercises =
        [
            new PracticeExercise
            {
                Number = 1,
                ProjectionId = "knee-ap",
                Title = "Knee AP, right",
                Kind = FaultKind.Motion,
                SceneJson = SceneJson.Write(PracticeView.Find("knee-ap")!.Start("R", 1)),
                Truth = [new TrueLine("sharpness.edges", ChecklistState.NotMet, ["moved"], "moved")],
                Verdicts = [VerdictKind.Repeat],
                Answers = new PracticeAnswers { Verdict = VerdictKind.Repeat }.With("sharpness.edges", new PracticeAnswer(ChecklistState.NotMet, "moved", "sure")),
                Finished = Day,
                Total = total,
                VerdictRight = isVerdictRight,
            },
        ],
    };

    private static Lesson Kept(PracticeSession session) => new() { Id = Guid.NewGuid(), Kind = LessonKind.Practice, Title = "practice", BodyJson = session.Write(), Begun = Day, Changed = Day };
}
