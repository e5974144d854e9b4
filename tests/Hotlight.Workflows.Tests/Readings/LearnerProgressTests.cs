using Hotlight.Judgement;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Tests.Readings;

public sealed class LearnerProgressTests
{
    private static readonly DateTimeOffset Day = new(2026, 3, 1, 8, 0, 0, TimeSpan.Zero);
    private static readonly CaseReader Knot = new(Guid.NewGuid(), "Knot", PersonRole.Learner);
    private static readonly CompetencyRequirement Wrists = new() { Id = Guid.NewGuid(), Title = "Wrists", Region = "wrist", Count = 2, LeastAgreementPercent = 75 };

    [Fact]
    public void ProgressReading_AgainstAReference_ComparesWhatOneOfThemAnswered()
    {
        ReadingResult own = Result(VerdictKind.Accept, ("a", ChecklistState.Met, DecidedBy.Reader), ("b", ChecklistState.Met, DecidedBy.Reader), ("c", ChecklistState.CannotTell, DecidedBy.Nobody), ("d", ChecklistState.Met, DecidedBy.Measurement), ("e", ChecklistState.Met, DecidedBy.Reader));
        ReadingResult other = Result(VerdictKind.Repeat, ("a", ChecklistState.Met, DecidedBy.Reader), ("b", ChecklistState.NotMet, DecidedBy.Reader), ("c", ChecklistState.Met, DecidedBy.Reader), ("d", ChecklistState.Met, DecidedBy.Measurement), ("e", ChecklistState.CannotTell, DecidedBy.Reader));

        ProgressReading held = ProgressReading.Of(Reading(0, own), own, new Reference("Gull", other));

        // a alike, b not, c left open by the learner; d was measured for both, and on e the reference cannot tell.
        Assert.Equal([("a", true), ("b", false), ("c", false)], held.Lines.Select(line => (line.Id, line.Agrees)));
        Assert.Equal(1.0 / 3, held.Share!.Value, 1e-12);
        Assert.False(held.VerdictAgrees);
        Assert.Null(ProgressReading.Of(Reading(0, own), own, null).Share);
        Assert.Null(ProgressReading.Of(Reading(0, own), own, new Reference("Gull", other with { Verdict = VerdictKind.Undetermined })).VerdictAgrees);
        Assert.True(ProgressReading.Of(Reading(0, own), own, new Reference("Gull", other with { OwnVerdict = VerdictKind.Accept })).VerdictAgrees);
    }

    [Fact]
    public void Of_ReadingsOfTwoProjections_CountsWithWilsonAndTellsWhatIsMissing()
    {
        ProgressReading[] held =
        [
            Held(0, "wrist-pa", agreed: 3, compared: 4, same: true),
            Held(1, "wrist-pa", agreed: 2, compared: 4, same: true),
            Held(2, "knee-ap", agreed: 4, compared: 4, same: true),
            Held(3, "wrist-pa", agreed: 4, compared: 4, same: false),
        ];
        LearnerProgress told = LearnerProgress.Of(Knot, held, [Wrists, Wrists with { Id = Guid.NewGuid(), Role = PersonRole.Reader }], id => id.Split('-')[0], [], 0);

        // Wilson's interval of 9 of 12 at 95 %, worked by hand: centre (0.75 + 1.9207/12)/(1 + 3.8415/12) = 0.68938, half 1.95996·√(0.75·0.25/12 + 3.8415/576)/1.32012 = 0.22168: 0.4677 and 0.9111.
        ProjectionProgress wrist = told.Projections.Single(each => each.ProjectionId == "wrist-pa");
        Assert.Equal((3, 3, 9L, 12L), (wrist.Readings, wrist.Compared, wrist.Lines.Value!.Count.Events, wrist.Lines.Value.Count.Total));
        Assert.Equal(0.4677, wrist.Lines.Value.Interval.Lower, 1e-4);
        Assert.Equal(0.9111, wrist.Lines.Value.Interval.Upper, 1e-4);
        Assert.Equal((2L, 3L), (wrist.Verdicts.Value!.Count.Events, wrist.Verdicts.Value.Count.Total));

        // Of three wrists only the first has 75 % of lines and the verdict: one of two is missing.
        RequirementProgress asked = Assert.Single(told.Requirements);
        Assert.Equal((3, 1, 1, false), (asked.Read, asked.Reached, asked.Missing, asked.IsReached));

        // Shares 0.75, 0.5, 1, 1 in order of time: five pairs differ, of which 0.75-0.5 falls: S = 4 − 1 = 3.
        Assert.Equal(3, told.Trend.Value!.Score);
        Assert.Equal((13L, 16L), (told.AllLines.Value!.Count.Events, told.AllLines.Value.Count.Total));
    }

    [Fact]
    public void Of_NothingToCompare_CannotTellWithWhatToDo()
    {
        ReadingResult result = Result(VerdictKind.Accept, ("a", ChecklistState.Met, DecidedBy.Reader));
        LearnerProgress told = LearnerProgress.Of(Knot, [ProgressReading.Of(Reading(0, result), result, null)], [Wrists], _ => "wrist", [], 1);

        Assert.Contains("supervisor's finished reading", told.AllLines.Why, StringComparison.Ordinal);
        Assert.False(told.Trend.IsMeasured);
        Assert.Equal((1, 0, 1), (told.Requirements[0].Read, told.Requirements[0].Reached, told.Requirements[0].WithoutReference));
        Assert.Empty(told.Lines);
    }

    [Fact]
    public void Requirements_InTheSettings_AreKeptAndBearOnNoFigure()
    {
        ClinicSettings settings = ClinicSettings.None with { Requirements = [Wrists] };
        Assert.Empty(settings.Faults());
        Assert.Equal(Wrists, Assert.Single(ClinicSettingsJson.Read(ClinicSettingsJson.Write(settings), "x").Requirements));
        Assert.Empty(settings.ResultKey);
        Assert.NotEmpty((settings with { Requirements = [Wrists with { Count = 0 }] }).Faults());
        Assert.NotEmpty((settings with { Requirements = [Wrists with { ProjectionId = "wrist-pa" }] }).Faults());
        Assert.NotEmpty((settings with { Requirements = [Wrists with { LeastAgreementPercent = double.NaN }] }).Faults());
        Assert.NotEmpty((settings with { Requirements = [Wrists, Wrists] }).Faults());
    }

    private static ProgressReading Held(int day, string projection, int agreed, int compared, bool same)
    {
        (string, ChecklistState, DecidedBy)[] mine = [.. Enumerable.Range(0, compared).Select(place => ($"line-{place}", place < agreed ? ChecklistState.Met : ChecklistState.NotMet, DecidedBy.Reader))];
        (string, ChecklistState, DecidedBy)[] theirs = [.. mine.Select(line => (line.Item1, ChecklistState.Met, DecidedBy.Reader))];
        ReadingResult own = Result(VerdictKind.Accept, mine) with { ProjectionId = projection };
        return ProgressReading.Of(Reading(day, own), own, new Reference("Gull", Result(same ? VerdictKind.Accept : VerdictKind.Repeat, theirs) with { ProjectionId = projection }));
    }

    private static OwnReading Reading(int day, ReadingResult result) => new()
    {
        Id = Guid.NewGuid(),
        CaseId = Guid.NewGuid(),
        CaseTitle = "case",
        ProjectionId = result.ProjectionId,
        Reader = Knot,
        Number = 1,
        Condition = ReadingCondition.Open,
        Begun = Day,
        Changed = Day,
        Finished = Day.AddDays(day),
        ResultJson = result.Write(),
    };

    private static ReadingResult Result(VerdictKind verdict, params (string Id, ChecklistState State, DecidedBy By)[] lines) => new()
    {
        ProjectionId = "wrist-pa",
        ProjectionName = "Wrist PA",
        Lines = [.. lines.Select(line => new ReadLine(line.Id, ChecklistSection.Positioning, line.Id, line.State, line.By, line.By == DecidedBy.Reader, null, null, null))],
        Verdict = verdict,
        VerdictSentence = "",
        JudgedBy = "1",
        MeasuredBy = "1",
        MeasuredWith = "",
        DeviationScheme = "",
    };
}
