using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Teaching.Practice;

/// <summary>An exposure that the learner made, and what became of it.</summary>
public sealed record ExposeAttempt
{
    /// <summary>Its number, from 1.</summary>
    public required int Number { get; init; }

    /// <summary>The scene as the learner set it, as JSON; the patient lay otherwise by what the task hides.</summary>
    public required string SetJson { get; init; }

    /// <summary>How it truly stands.</summary>
    public required IReadOnlyList<TrueLine> Truth { get; init; }

    /// <summary>Verdicts that follow from the truth.</summary>
    public required IReadOnlyList<VerdictKind> Verdicts { get; init; }

    /// <summary>Exposure index, IEC 62494-1, by construction.</summary>
    public required double ExposureIndex { get; init; }

    /// <summary>Its target.</summary>
    public required double TargetExposureIndex { get; init; }

    /// <summary>The learner's verdict; null: not given yet.</summary>
    public VerdictKind? Verdict { get; init; }

    /// <summary>The learner's answers to the lines, with how sure the verdict is; the verdict itself stands in <see cref="Verdict"/>.</summary>
    public PracticeAnswers Answers { get; init; } = new();

    /// <summary>When it was made.</summary>
    public required DateTimeOffset At { get; init; }

    /// <summary>When its judgement was finished, by the next exposure or by accepting it; null: not yet.</summary>
    public DateTimeOffset? Judged { get; init; }

    /// <summary>The score of the judgement as it was then, 0 to 1; null: not finished, or nothing could be scored.</summary>
    public double? Total { get; init; }

    /// <summary>Answers and verdict.</summary>
    public PracticeAnswers Judgement => Answers with { Verdict = Verdict };

    /// <summary>The same image with another judgement.</summary>
    /// <param name="judgement">Answers and verdict.</param>
    public ExposeAttempt With(PracticeAnswers judgement)
    {
        ArgumentNullException.ThrowIfNull(judgement);
        return this with { Answers = judgement with { Verdict = null }, Verdict = judgement.Verdict };
    }

    /// <summary>How the judgement stands against the truth.</summary>
    /// <param name="checklist">The projection's checklist.</param>
    public ExerciseScore Score(IReadOnlyList<ChecklistLine> checklist) => ExerciseScore.Of(Truth, Verdicts, Judgement, checklist);

    /// <summary>Whether the image can be kept: a verdict other than a repeat follows.</summary>
    public bool IsAcceptable => Verdicts.Any(verdict => verdict is VerdictKind.Accept or VerdictKind.AcceptWithRemark);
}

/// <summary>A task of exposing a phantom oneself: an imagined patient who does not lie quite as demanded, and is thinner or thicker than usual.</summary>
public sealed record ExposeTask
{
    private const double LeastHabitus = 0.85;
    private const double MostHabitus = 1.25;

    /// <summary>Identifier of the projection.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>Side, "R" or "L".</summary>
    public required string Side { get; init; }

    /// <summary>Seed of the person.</summary>
    public required ulong Person { get; init; }

    /// <summary>How far the patient lies turned already, in degrees; the learner sees it on the image only.</summary>
    public required double HiddenTurnDegrees { get; init; }

    /// <summary>How far the patient lies tilted already, in degrees.</summary>
    public required double HiddenTiltDegrees { get; init; }

    /// <summary>Fat and muscle over those of an average body; said as a word.</summary>
    public required double Habitus { get; init; }

    /// <summary>The exposures made.</summary>
    public IReadOnlyList<ExposeAttempt> Attempts { get; init; } = [];

    /// <summary>What is known of the view.</summary>
    public PracticeView KnownView => PracticeView.Find(ProjectionId) ?? throw new InvalidOperationException($"{ProjectionId} cannot be practised.");

    /// <summary>The patient's build in a word.</summary>
    public string Build => Habitus < 0.95 ? "slim" : Habitus > 1.1 ? "stout" : "of average build";

    /// <summary>Makes a task; the same seed gives the same.</summary>
    /// <param name="view">The view.</param>
    /// <param name="seed">Seed.</param>
    public static ExposeTask Make(PracticeView view, int seed)
    {
        ArgumentNullException.ThrowIfNull(view);
        var random = new Random(seed);
        string side = random.Next(2) == 0 || !view.LabPart.IsPaired ? "R" : "L";

        // One of the two is plainly off, by what would miss a line of the projection.
        PracticePosition[] turning = [.. view.Positions.Where(each => each.Setting is "turn" or "tilt" && each.MissedFrom < 90)];
        PracticePosition? off = turning.Length == 0 ? null : turning[random.Next(turning.Length)];
        double by = off is null ? 0 : Math.Round(off.Rest + ((off.Above is not null && (off.Below is null || random.Next(2) == 0) ? 1 : -1) * (off.MissedFrom + (random.NextDouble() * 0.5 * (off.Most - off.MissedFrom)))), 0);
        return new ExposeTask
        {
            ProjectionId = view.Projection,
            Side = side,
            Person = (ulong)(5000 + random.Next(100_000)),
            HiddenTurnDegrees = off?.Setting == "turn" ? by : 0,
            HiddenTiltDegrees = off?.Setting == "tilt" ? by : 0,
            Habitus = Math.Round(LeastHabitus + (random.NextDouble() * (MostHabitus - LeastHabitus)), 2),
        };
    }

    /// <summary>The scene that the learner begins with: nothing is set for this patient, the field is open as wide as the receptor, and no marker lies in it.</summary>
    public SceneDocument Begin()
    {
        SceneDocument start = KnownView.Start(Side, Person);
        return start with
        {
            Id = $"practice-expose-{ProjectionId}",
            Part = start.Part! with { Habitus = Habitus },
            Collimator = start.Collimator with { WidthMm = start.Receptor.WidthMm, HeightMm = start.Receptor.HeightMm },
            Marker = null,
        };
    }

    /// <summary>The scene that is exposed: as it was set, on the patient as he lies.</summary>
    /// <param name="set">The scene as the learner set it.</param>
    public SceneDocument Actual(SceneDocument set)
    {
        ArgumentNullException.ThrowIfNull(set);
        return set with
        {
            Seed = Person + (ulong)Attempts.Count,
            Part = set.Part! with { TurnDegrees = set.Part.TurnDegrees + HiddenTurnDegrees, TiltDegrees = set.Part.TiltDegrees + HiddenTiltDegrees, Habitus = Habitus, Person = Person },
        };
    }

    /// <summary>What one exposure would have sufficed with: position as demanded, the field of the projection, the marker in place, and the mAs of the last exposure brought to the target at its voltage and distance.</summary>
    /// <returns>The scene as it would have been set; null before any exposure.</returns>
    public SceneDocument? Sufficient()
    {
        if (Attempts.Count == 0)
        {
            return null;
        }

        ExposeAttempt last = Attempts[^1];
        SceneDocument set = SceneJson.Read(last.SetJson, "exposure");
        SceneDocument start = KnownView.Start(Side, Person);
        return set with
        {
            Part = start.Part! with { TurnDegrees = -HiddenTurnDegrees, TiltDegrees = -HiddenTiltDegrees, Habitus = Habitus },
            Tube = set.Tube with { ExposureMas = last.ExposureIndex > 0 ? Math.Round(set.Tube.ExposureMas * last.TargetExposureIndex / last.ExposureIndex, 3) : set.Tube.ExposureMas },
            Collimator = start.Collimator,
            Marker = start.Marker,
        };
    }

    /// <summary>The score of all images whose judgement is finished, 0 to 1: their mean; null: there is none.</summary>
    public double? Total => Attempts.Where(each => each.Judged is not null).Select(each => each.Total).OfType<double>().ToArray() is { Length: > 0 } totals ? totals.Average() : null;

    /// <summary>The task with the judgement of its last image finished.</summary>
    /// <param name="checklist">The projection's checklist.</param>
    /// <param name="at">When.</param>
    public ExposeTask Finished(IReadOnlyList<ChecklistLine> checklist, DateTimeOffset at)
        => Attempts.Count == 0 ? this : this with { Attempts = [.. Attempts.SkipLast(1), Attempts[^1] with { Judged = at, Total = Attempts[^1].Score(checklist).Total }] };

    /// <summary>The task with one more exposure.</summary>
    /// <param name="set">The scene as the learner set it.</param>
    /// <param name="truth">What is true of it.</param>
    /// <param name="checklist">The projection's checklist.</param>
    /// <param name="at">When.</param>
    public ExposeTask With(SceneDocument set, SceneTruth truth, IReadOnlyList<ChecklistLine> checklist, DateTimeOffset at)
    {
        ArgumentNullException.ThrowIfNull(set);
        ArgumentNullException.ThrowIfNull(truth);
        ArgumentNullException.ThrowIfNull(checklist);
        IReadOnlyList<TrueLine> lines = SceneReferee.Tell(KnownView, Actual(set), truth.DeviationIndex, truth.SaturatedPercentOfAnatomy);
        return this with
        {
            Attempts =
            [
                .. Attempts,
                new ExposeAttempt
                {
                    Number = Attempts.Count + 1,
                    SetJson = SceneJson.Write(set),
                    Truth = lines,
                    Verdicts = TrueVerdict.Of(lines, checklist),
                    ExposureIndex = truth.ExposureIndex,
                    TargetExposureIndex = truth.TargetExposureIndex,
                    At = at,
                },
            ],
        };
    }
}
