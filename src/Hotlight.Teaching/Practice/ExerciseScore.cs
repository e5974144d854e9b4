using Hotlight.Judgement;

namespace Hotlight.Teaching.Practice;

/// <summary>A learner's answer to a line, with its certainty.</summary>
/// <param name="State">How the line stands in the learner's eyes.</param>
/// <param name="Miss">Which way it is missed; null: none named.</param>
/// <param name="Certainty">Identifier of a word of certainty; null: none said.</param>
public sealed record PracticeAnswer(ChecklistState State, string? Miss = null, string? Certainty = null);

/// <summary>A learner's answers to an exercise.</summary>
public sealed record PracticeAnswers
{
    /// <summary>Answers by identifier of the line.</summary>
    public IReadOnlyDictionary<string, PracticeAnswer> Lines { get; init; } = new Dictionary<string, PracticeAnswer>();

    /// <summary>The verdict; null: none given.</summary>
    public VerdictKind? Verdict { get; init; }

    /// <summary>Certainty of the verdict; null: none said.</summary>
    public string? VerdictCertainty { get; init; }

    /// <summary>The same answers with one more or one changed; null takes it away.</summary>
    /// <param name="lineId">The line.</param>
    /// <param name="answer">The answer.</param>
    public PracticeAnswers With(string lineId, PracticeAnswer? answer)
    {
        var lines = new Dictionary<string, PracticeAnswer>(Lines, StringComparer.Ordinal);
        if (answer is null)
        {
            lines.Remove(lineId);
        }
        else
        {
            lines[lineId] = answer;
        }

        return this with { Lines = lines };
    }

    /// <summary>The answers that the truth would give, sure of each.</summary>
    /// <param name="truth">The true lines.</param>
    /// <param name="verdicts">Verdicts that follow.</param>
    /// <param name="certainty">Identifier of the certainty.</param>
    public static PracticeAnswers OfTruth(IReadOnlyList<TrueLine> truth, IReadOnlyList<VerdictKind> verdicts, string certainty)
    {
        ArgumentNullException.ThrowIfNull(truth);
        ArgumentNullException.ThrowIfNull(verdicts);
        return new PracticeAnswers
        {
            Lines = truth.ToDictionary(line => line.LineId, line => new PracticeAnswer(line.State, line.Misses.Count > 0 ? line.Misses[0] : null, certainty), StringComparer.Ordinal),
            Verdict = verdicts.Count > 0 ? verdicts[0] : null,
            VerdictCertainty = certainty,
        };
    }
}

/// <summary>What became of an answer.</summary>
public enum LineOutcome
{
    /// <summary>The state is right, and of a fault the way of missing it.</summary>
    Right,

    /// <summary>A fault was seen, but its way not named or named wrongly.</summary>
    RightOtherWay,

    /// <summary>A fault was not seen.</summary>
    Missed,

    /// <summary>A fault was seen where there is none.</summary>
    Imagined,

    /// <summary>The learner could not tell what can be told.</summary>
    Undecided,

    /// <summary>No answer.</summary>
    Open,
}

/// <summary>One line of an exercise, scored.</summary>
/// <param name="Truth">How it truly stands.</param>
/// <param name="Answer">The answer; null: none.</param>
/// <param name="Outcome">What became of it.</param>
/// <param name="Credit">Credit, 0 to 1.</param>
/// <param name="Chance">The stated chance that the answer is right; null where none was said or nothing was decided.</param>
/// <param name="IsStateRight">Whether the state is right; null where nothing was decided.</param>
public sealed record LineScore(TrueLine Truth, PracticeAnswer? Answer, LineOutcome Outcome, double Credit, double? Chance, bool? IsStateRight);

/// <summary>An exercise, scored.</summary>
/// <remarks>The score is the mean of up to three parts, so that many sound lines do not drown one fault: the mean credit of the lines with a fault, the mean credit of the sound lines, and the verdict. A part that the exercise has not is left out.</remarks>
public sealed record ExerciseScore
{
    /// <summary>The lines, in the order of the truth.</summary>
    public required IReadOnlyList<LineScore> Lines { get; init; }

    /// <summary>Mean credit of lines with a fault, 0 to 1; null where there is none.</summary>
    public required double? Faults { get; init; }

    /// <summary>Mean credit of sound lines, 0 to 1; null where there is none.</summary>
    public required double? Sound { get; init; }

    /// <summary>Credit of the verdict, 0 to 1; null where no verdict can be held against it.</summary>
    public required double? Verdict { get; init; }

    /// <summary>The stated chance of the verdict and whether it was right; null where either is missing.</summary>
    public (double Chance, bool IsRight)? VerdictForecast { get; init; }

    /// <summary>The score, 0 to 1: the mean of the parts that there are; null: nothing could be scored.</summary>
    public double? Total => new[] { Faults, Sound, Verdict }.OfType<double>().ToArray() is { Length: > 0 } parts ? parts.Average() : null;

    /// <summary>Scores answers.</summary>
    /// <param name="truth">The true lines.</param>
    /// <param name="verdicts">Verdicts that follow from them; empty: the verdict is not scored.</param>
    /// <param name="answers">The answers.</param>
    /// <param name="checklist">The projection's checklist, for opposite ways of missing a line.</param>
    /// <param name="rules">The rules; null: as shipped.</param>
    public static ExerciseScore Of(IReadOnlyList<TrueLine> truth, IReadOnlyList<VerdictKind> verdicts, PracticeAnswers answers, IReadOnlyList<ChecklistLine> checklist, PracticeRules? rules = null)
    {
        ArgumentNullException.ThrowIfNull(truth);
        ArgumentNullException.ThrowIfNull(verdicts);
        ArgumentNullException.ThrowIfNull(answers);
        ArgumentNullException.ThrowIfNull(checklist);
        PracticeRules used = rules ?? PracticeRules.Default;
        LineScore[] lines = [.. truth.Select(line => Score(line, answers.Lines.GetValueOrDefault(line.LineId), checklist.FirstOrDefault(each => each.Id == line.LineId), used))];
        double? verdict = verdicts.Count == 0 ? null : Verdicted(verdicts, answers.Verdict, used.Credit);
        return new ExerciseScore
        {
            Lines = lines,
            Faults = Mean(lines.Where(line => line.Truth.IsFault)),
            Sound = Mean(lines.Where(line => !line.Truth.IsFault)),
            Verdict = verdict,
            VerdictForecast = verdicts.Count > 0 && answers.Verdict is { } given && used.ChanceOf(answers.VerdictCertainty) is { } chance ? (chance, verdicts.Contains(given)) : null,
        };
    }

    private static double? Mean(IEnumerable<LineScore> lines) => lines.Any() ? lines.Average(line => line.Credit) : null;

    private static LineScore Score(TrueLine truth, PracticeAnswer? answer, ChecklistLine? line, PracticeRules rules)
    {
        CreditRules credit = rules.Credit;
        if (answer is null)
        {
            return new LineScore(truth, null, LineOutcome.Open, credit.Open, null, null);
        }

        if (answer.State is ChecklistState.CannotTell or ChecklistState.NotApplicable)
        {
            return new LineScore(truth, answer, LineOutcome.Undecided, credit.CannotTell, null, null);
        }

        double? chance = rules.ChanceOf(answer.Certainty);
        bool isRight = answer.State == truth.State;
        if (!isRight)
        {
            return truth.IsFault
                ? new LineScore(truth, answer, LineOutcome.Missed, credit.Missed, chance, false)
                : new LineScore(truth, answer, LineOutcome.Imagined, credit.Imagined, chance, false);
        }

        if (!truth.IsFault || truth.Misses.Count == 0 || (answer.Miss is not null && truth.Misses.Contains(answer.Miss)))
        {
            return new LineScore(truth, answer, LineOutcome.Right, credit.Right, chance, true);
        }

        bool isOpposite = answer.Miss is not null && line?.Misses.FirstOrDefault(miss => miss.Id == answer.Miss)?.Opposite is { } opposite && truth.Misses.Contains(opposite);
        return new LineScore(truth, answer, LineOutcome.RightOtherWay, answer.Miss is null ? credit.RightStateNoWay : isOpposite ? credit.RightStateOppositeWay : credit.RightStateOtherWay, chance, true);
    }

    private static double Verdicted(IReadOnlyList<VerdictKind> verdicts, VerdictKind? given, CreditRules credit)
    {
        if (given is not { } kind || kind == VerdictKind.Undetermined)
        {
            return credit.Open;
        }

        return verdicts.Min(each => Math.Abs((int)each - (int)kind)) switch
        {
            0 => credit.VerdictRight,
            1 => credit.VerdictOneStepOff,
            _ => credit.VerdictTwoStepsOff,
        };
    }
}
