using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Statistics.Scores;
using Hotlight.Teaching.Practice;

namespace Hotlight.Teaching.Tests.Practice;

public sealed class ExerciseScoreTests
{
    private static readonly IReadOnlyList<ChecklistLine> Knee = CritiqueBuilder.BlankChecklist(ProjectionCatalogue.BuiltIn.Get("knee-lateral"));

    // The table of docs/practice.md, worked by hand: the truth is that the medial condyle lies behind.
    [Theory]
    [InlineData(ChecklistState.NotMet, "medial-posterior", 1, LineOutcome.Right)]
    [InlineData(ChecklistState.NotMet, null, 0.5, LineOutcome.RightOtherWay)]
    [InlineData(ChecklistState.CannotTell, null, 0.25, LineOutcome.Undecided)]
    [InlineData(ChecklistState.NotApplicable, null, 0.25, LineOutcome.Undecided)]
    [InlineData(ChecklistState.Met, null, 0, LineOutcome.Missed)]
    public void Fault_ByItsAnswer_HasTheCreditOfTheTable(ChecklistState state, string? miss, double credit, LineOutcome outcome)
    {
        LineScore line = One(new TrueLine("position.condyles-front-back", ChecklistState.NotMet, ["medial-posterior"], "turned"), new PracticeAnswer(state, miss, "sure"));
        Assert.Equal((credit, outcome), (line.Credit, line.Outcome));
    }

    [Fact]
    public void Fault_WithTheOppositeWayNamed_HasAQuarter()
    {
        Miss named = Knee.Single(line => line.Id == "position.condyles-front-back").Misses.Single(miss => miss.Id == "medial-anterior");
        LineScore line = One(new TrueLine("position.condyles-front-back", ChecklistState.NotMet, ["medial-posterior"], "turned"), new PracticeAnswer(ChecklistState.NotMet, "medial-anterior", "sure"));

        // The catalogue says whether the two are opposite errors; without that it is another way, worth a half.
        Assert.Equal(named.Opposite == "medial-posterior" ? 0.25 : 0.5, line.Credit);
    }

    [Theory]
    [InlineData(ChecklistState.Met, 1, LineOutcome.Right)]
    [InlineData(ChecklistState.CannotTell, 0.25, LineOutcome.Undecided)]
    [InlineData(ChecklistState.NotMet, 0, LineOutcome.Imagined)]
    public void SoundLine_ByItsAnswer_HasTheCreditOfTheTable(ChecklistState state, double credit, LineOutcome outcome)
    {
        LineScore line = One(new TrueLine("sharpness.edges", ChecklistState.Met, [], "still"), new PracticeAnswer(state));
        Assert.Equal((credit, outcome), (line.Credit, line.Outcome));
    }

    [Fact]
    public void Exercise_WorkedByHand_IsTheMeanOfItsThreeParts()
    {
        // Fault seen, way not named: 0.5. Sound: right, imagined, open: (1 + 0 + 0)/3. Truth orders a repeat, the answer is accept with remark: 0.5. Mean: (1/2 + 1/3 + 1/2)/3 = 4/9.
        TrueLine[] truth =
        [
            new("sharpness.edges", ChecklistState.NotMet, ["moved"], "moved"),
            new("artifacts.clear", ChecklistState.Met, [], "clear"),
            new("marker.side", ChecklistState.Met, [], "there"),
            new("exposure.mottle", ChecklistState.Met, [], "enough"),
        ];
        PracticeAnswers answers = new PracticeAnswers { Verdict = VerdictKind.AcceptWithRemark, VerdictCertainty = "rather" }
            .With("sharpness.edges", new PracticeAnswer(ChecklistState.NotMet, null, "sure"))
            .With("artifacts.clear", new PracticeAnswer(ChecklistState.Met, null, "sure"))
            .With("marker.side", new PracticeAnswer(ChecklistState.NotMet, "absent", "guess"));
        IReadOnlyList<VerdictKind> verdicts = TrueVerdict.Of(truth, Knee);
        Assert.Equal([VerdictKind.Repeat], verdicts);
        ExerciseScore score = ExerciseScore.Of(truth, verdicts, answers, Knee);
        Assert.Equal(0.5, score.Faults!.Value, 12);
        Assert.Equal(1.0 / 3, score.Sound!.Value, 12);
        Assert.Equal(0.5, score.Verdict!.Value, 12);
        Assert.Equal(4.0 / 9, score.Total!.Value, 12);
        Assert.Equal((0.75, false), score.VerdictForecast);
    }

    [Theory]
    [InlineData(VerdictKind.Accept, 0)]
    [InlineData(VerdictKind.AcceptWithRemark, 0.5)]
    [InlineData(VerdictKind.Repeat, 1)]
    [InlineData(VerdictKind.Undetermined, 0)]
    public void Verdict_ByItsDistance_HasTheCreditOfTheTable(VerdictKind given, double credit)
        => Assert.Equal(credit, ExerciseScore.Of([], [VerdictKind.Repeat], new PracticeAnswers { Verdict = given }, Knee).Verdict);

    // Brier, Monthly Weather Review 78 (1950) 1, table 1 (from memory): ten forecasts of rain, of which the second to fourth came true; his score over both classes is 0.19, this one is half of it.
    [Fact]
    [Trait("evidence", "published")]
    public void Certainties_OfBriersExample_HaveHisScore()
    {
        double[] chances = [0.7, 0.9, 0.8, 0.4, 0.2, 0, 0, 0, 0, 0.1];
        bool[] rain = [false, true, true, true, false, false, false, false, false, false];
        PracticeRules rules = PracticeRules.Default with { Certainty = [.. chances.Distinct().Select(chance => new CertaintyWord($"p{chance}", "", chance))] };
        ScoredExercise[] exercises =
        [
            .. chances.Select((chance, place) => new ScoredExercise(FaultKind.None, "knee-lateral", DateTimeOffset.UnixEpoch, ExerciseScore.Of(
                [new TrueLine("sharpness.edges", ChecklistState.Met, [], "")],
                [],
                new PracticeAnswers().With("sharpness.edges", new PracticeAnswer(rain[place] ? ChecklistState.Met : ChecklistState.NotMet, null, $"p{chance}")),
                Knee,
                rules))),
        ];
        BrierScore brier = PracticeStatistics.Of(exercises, rules).Brier.Value!;
        Assert.Equal(0.19, 2 * brier.Score, 12);

        // Murphy's parts of the same ten, by hand: ō = 0.3, uncertainty 0.21; each value stands alone but 0, which stands four times. Reliability (0.49 + 0.01 + 0.04 + 0.36 + 0.04 + 0 + 0.01)/10 = 0.095; resolution (3·0.49 + 7·0.09)/10 = 0.21.
        Assert.Equal(0.095, brier.Reliability, 12);
        Assert.Equal(0.21, brier.Resolution, 12);
        Assert.Equal(0.21, brier.Uncertainty, 12);
    }

    [Fact]
    public void Statistics_OfFewAnswers_CannotTell()
    {
        ExerciseScore score = ExerciseScore.Of([new TrueLine("sharpness.edges", ChecklistState.Met, [], "")], [], new PracticeAnswers().With("sharpness.edges", new PracticeAnswer(ChecklistState.Met, null, "sure")), Knee);
        PracticeStatistics told = PracticeStatistics.Of([new ScoredExercise(FaultKind.None, "knee-lateral", DateTimeOffset.UnixEpoch, score)]);
        Assert.False(told.Brier.IsMeasured);
        Assert.False(told.Calibration.IsMeasured);
        Assert.Contains("10 are needed", told.Brier.Why, StringComparison.Ordinal);
        Assert.False(told.Kinds.Single().Imagined.IsMeasured);
        Assert.Equal(1, told.MeanScore);
    }

    [Fact]
    public void Confusion_OfTwentyLines_CountsMissedAndImaginedWithWilson()
    {
        // Of 10 faults 7 seen, 2 missed, 1 left open; of 10 sound lines 3 imagined. Wilson's interval of 7 of 10: 0.397 to 0.892 (Newcombe, Stat Med 17 (1998) 857, from his formula 3 with z = 1.959964).
        ScoredExercise Of(bool isFault, ChecklistState? said) => new(isFault ? FaultKind.Motion : FaultKind.None, "knee-lateral", DateTimeOffset.UnixEpoch, ExerciseScore.Of(
            [new TrueLine("sharpness.edges", isFault ? ChecklistState.NotMet : ChecklistState.Met, isFault ? ["moved"] : [], "")],
            [],
            said is { } state ? new PracticeAnswers().With("sharpness.edges", new PracticeAnswer(state)) : new PracticeAnswers(),
            Knee));
        ScoredExercise[] exercises =
        [
            .. Enumerable.Repeat(Of(true, ChecklistState.NotMet), 7), .. Enumerable.Repeat(Of(true, ChecklistState.Met), 2), Of(true, null),
            .. Enumerable.Repeat(Of(false, ChecklistState.NotMet), 3), .. Enumerable.Repeat(Of(false, ChecklistState.Met), 7),
        ];
        KindConfusion told = PracticeStatistics.Of(exercises).Kinds.Single();
        Assert.Equal((FaultKind.Motion, 10, 2, 10), (told.Kind, told.Faults, told.Missed, told.Sound));
        Assert.Equal(7, told.Seen.Value!.Count.Events);
        Assert.Equal(0.397, told.Seen.Value.Interval.Lower, 3);
        Assert.Equal(0.892, told.Seen.Value.Interval.Upper, 3);
        Assert.Equal(3, told.Imagined.Value!.Count.Events);
    }

    private static LineScore One(TrueLine truth, PracticeAnswer answer) => ExerciseScore.Of([truth], [], new PracticeAnswers().With(truth.LineId, answer), Knee).Lines.Single();
}
