using Hotlight.Core;
using Hotlight.Statistics.Proportions;
using Hotlight.Statistics.Scores;

namespace Hotlight.Teaching.Practice;

/// <summary>A finished exercise with what it was about.</summary>
/// <param name="Kind">What was planted; null where it is a case of the clinic.</param>
/// <param name="ProjectionId">Its projection.</param>
/// <param name="Finished">When.</param>
/// <param name="Score">Its score.</param>
public sealed record ScoredExercise(FaultKind? Kind, string ProjectionId, DateTimeOffset Finished, ExerciseScore Score)
{
    /// <summary>Whether it failed: a fault was not seen, or, where there is none, one was seen.</summary>
    public bool Failed => Score.Faults is null
        ? Score.Lines.Any(line => line.Outcome == LineOutcome.Imagined)
        : Score.Lines.Any(line => line.Truth.IsFault && line.Outcome is not (LineOutcome.Right or LineOutcome.RightOtherWay));
}

/// <summary>What was missed and imagined of a kind of fault.</summary>
/// <param name="Kind">The kind.</param>
/// <param name="Faults">Lines with a fault.</param>
/// <param name="Seen">Of those, seen, with Wilson's interval.</param>
/// <param name="Missed">Of those, answered as met.</param>
/// <param name="Sound">Sound lines.</param>
/// <param name="Imagined">Of those, answered as not met, with Wilson's interval.</param>
public sealed record KindConfusion(FaultKind Kind, int Faults, Figure<ProportionEstimate> Seen, int Missed, int Sound, Figure<ProportionEstimate> Imagined);

/// <summary>Credit of one line over many exercises.</summary>
/// <param name="LineId">The line.</param>
/// <param name="Exercises">In how many it counted.</param>
/// <param name="Credit">Mean credit, 0 to 1.</param>
/// <param name="Missed">How often its fault was not seen.</param>
/// <param name="Imagined">How often a fault was seen where there is none.</param>
public sealed record LineCredit(string LineId, int Exercises, double Credit, int Missed, int Imagined);

/// <summary>What many exercises together say of a learner.</summary>
public sealed record PracticeStatistics
{
    /// <summary>Number of exercises.</summary>
    public required int Exercises { get; init; }

    /// <summary>Mean score, 0 to 1; null without one.</summary>
    public required double? MeanScore { get; init; }

    /// <summary>Brier score of the stated certainties, with Murphy's parts; cannot-tell with too few.</summary>
    public required Figure<BrierScore> Brier { get; init; }

    /// <summary>What was said beside what happened, a bin for each certainty that was used; cannot-tell with too few.</summary>
    public required Figure<IReadOnlyList<CalibrationBin>> Calibration { get; init; }

    /// <summary>By kind of fault.</summary>
    public required IReadOnlyList<KindConfusion> Kinds { get; init; }

    /// <summary>By line, the weakest first.</summary>
    public required IReadOnlyList<LineCredit> Lines { get; init; }

    /// <summary>Works them out.</summary>
    /// <remarks>A forecast is the stated chance that an answer's state is right, over all lines and verdicts with a certainty; lines of one image hang together, so intervals and standard error are somewhat too narrow.</remarks>
    /// <param name="exercises">Finished exercises.</param>
    /// <param name="rules">The rules; null: as shipped.</param>
    public static PracticeStatistics Of(IReadOnlyList<ScoredExercise> exercises, PracticeRules? rules = null)
    {
        ArgumentNullException.ThrowIfNull(exercises);
        PracticeRules used = rules ?? PracticeRules.Default;
        LineScore[] lines = [.. exercises.SelectMany(each => each.Score.Lines)];
        (double Chance, bool IsRight)[] said =
        [
            .. lines.Where(line => line is { Chance: not null, IsStateRight: not null }).Select(line => (line.Chance!.Value, line.IsStateRight!.Value)),
            .. exercises.Select(each => each.Score.VerdictForecast).OfType<(double, bool)>(),
        ];
        double[] chances = [.. said.Select(each => each.Chance)];
        bool[] right = [.. said.Select(each => each.IsRight)];
        string few = $"{said.Length} answers with a certainty are too few for a figure; {used.LeastAnswers} are needed.";
        double[] scores = [.. exercises.Select(each => each.Score.Total).OfType<double>()];
        return new PracticeStatistics
        {
            Exercises = exercises.Count,
            MeanScore = scores.Length == 0 ? null : scores.Average(),
            Brier = said.Length < used.LeastAnswers ? Figure<BrierScore>.CannotTell(few) : BrierScore.Of(chances, right),
            Calibration = said.Length < used.LeastAnswers
                ? Figure<IReadOnlyList<CalibrationBin>>.CannotTell(few)
                : Figure<IReadOnlyList<CalibrationBin>>.Measured([.. CalibrationBins.Of(chances, right, 10).Where(bin => bin.MeanForecast is not null)]),
            Kinds =
            [
                .. FaultKinds.Planted.Append(FaultKind.Other).Select(kind => Confusion(kind, [.. lines.Where(line => FaultKinds.Of(line.Truth.LineId) == kind)], used.LeastLines)).Where(kind => kind.Faults + kind.Sound > 0),
            ],
            Lines =
            [
                .. lines.GroupBy(line => line.Truth.LineId, StringComparer.Ordinal)
                    .Select(group => new LineCredit(group.Key, group.Count(), group.Average(line => line.Credit), group.Count(line => line.Outcome == LineOutcome.Missed), group.Count(line => line.Outcome == LineOutcome.Imagined)))
                    .OrderBy(line => line.Credit).ThenByDescending(line => line.Exercises).ThenBy(line => line.LineId, StringComparer.Ordinal),
            ],
        };
    }

    private static KindConfusion Confusion(FaultKind kind, LineScore[] lines, int least)
    {
        LineScore[] faults = [.. lines.Where(line => line.Truth.IsFault)];
        LineScore[] sound = [.. lines.Where(line => !line.Truth.IsFault)];
        return new KindConfusion(
            kind,
            faults.Length,
            Rate(faults.Count(line => line.Outcome is LineOutcome.Right or LineOutcome.RightOtherWay), faults.Length, least),
            faults.Count(line => line.Outcome == LineOutcome.Missed),
            sound.Length,
            Rate(sound.Count(line => line.Outcome == LineOutcome.Imagined), sound.Length, least));
    }

    private static Figure<ProportionEstimate> Rate(int events, int total, int least)
        => total < least
            ? Figure<ProportionEstimate>.CannotTell(total == 0 ? "None yet." : $"{events} of {total}: too few for a rate, {least} are needed.")
            : ProportionIntervals.Wilson(new EventCount(events, total));
}
