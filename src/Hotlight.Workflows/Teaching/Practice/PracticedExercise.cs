using System.Text.Json;
using Hotlight.Judgement;
using Hotlight.Teaching.Practice;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Teaching.Practice;

/// <summary>A finished exercise as the competency record holds it.</summary>
public sealed record PracticedExercise
{
    /// <summary>The session.</summary>
    public required Guid SessionId { get; init; }

    /// <summary>Its number in the session.</summary>
    public required int Number { get; init; }

    /// <summary>What it was called.</summary>
    public required string Title { get; init; }

    /// <summary>Its projection.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>What was planted; null for a case of the clinic.</summary>
    public FaultKind? Kind { get; init; }

    /// <summary>What it was held against, in words.</summary>
    public required string Reference { get; init; }

    /// <summary>When it was finished.</summary>
    public required DateTimeOffset Finished { get; init; }

    /// <summary>The score as it was then, 0 to 1; null: nothing could be scored.</summary>
    public double? Score { get; init; }

    /// <summary>The learner's verdict; null: none given.</summary>
    public VerdictKind? Verdict { get; init; }

    /// <summary>Verdicts that were right.</summary>
    public required IReadOnlyList<VerdictKind> Verdicts { get; init; }

    /// <summary>Whether the verdict was right; null: nothing to hold it against.</summary>
    public bool? VerdictRight { get; init; }

    /// <summary>Lines that counted.</summary>
    public required int Lines { get; init; }

    /// <summary>Lines whose state was right.</summary>
    public required int Right { get; init; }

    /// <summary>Lines whose state was not, and open ones.</summary>
    public required IReadOnlyList<string> Wrong { get; init; }

    /// <summary>Whether it is of a requirement's projections.</summary>
    /// <param name="requirement">The requirement.</param>
    /// <param name="regionOf">Region of a projection.</param>
    public bool IsOf(CompetencyRequirement requirement, Func<string, string?> regionOf)
    {
        ArgumentNullException.ThrowIfNull(requirement);
        ArgumentNullException.ThrowIfNull(regionOf);
        return requirement.Counts != RequirementSource.Readings
            && (requirement.ProjectionId is null || requirement.ProjectionId == ProjectionId)
            && (requirement.Region is null || requirement.Region == regionOf(ProjectionId));
    }

    /// <summary>Whether it is up to a requirement's standard.</summary>
    /// <param name="requirement">The requirement.</param>
    public bool Meets(CompetencyRequirement requirement)
    {
        ArgumentNullException.ThrowIfNull(requirement);
        return Score is { } score && (100 * score) + 1e-9 >= requirement.LeastAgreementPercent && (!requirement.VerdictMustAgree || VerdictRight == true);
    }

    /// <summary>The finished exercises of sessions, the oldest first; a session that a later version kept is left out.</summary>
    /// <param name="lessons">The sessions.</param>
    public static IReadOnlyList<PracticedExercise> Of(IReadOnlyList<Lesson> lessons)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        var all = new List<PracticedExercise>();
        foreach (Lesson lesson in lessons)
        {
            try
            {
                PracticeSession session = PracticeSession.Read(lesson.BodyJson);
                all.AddRange(session.Exercises.Where(each => each.Finished is not null).Select(each => Of(lesson.Id, each)));
                if (session.Task is { Attempts.Count: > 0 } task && lesson.Ended is { } ended && task.Attempts.Any(each => each.Judged is not null))
                {
                    all.Add(Of(lesson, task, ended));
                }
            }
            catch (JsonException)
            {
                // Kept by a later version.
            }
        }

        return [.. all.OrderBy(each => each.Finished).ThenBy(each => each.Number)];
    }

    // A phantom that the learner exposed is one exercise, however many exposures it took: its score is the mean of its images'.
    private static PracticedExercise Of(Lesson lesson, ExposeTask task, DateTimeOffset ended)
    {
        ExposeAttempt[] judged = [.. task.Attempts.Where(each => each.Judged is not null)];
        (string Line, bool IsRight)[] lines = [.. judged.SelectMany(each => each.Truth.Select(line => (line.LineId, each.Answers.Lines.GetValueOrDefault(line.LineId)?.State == line.State)))];
        return new PracticedExercise
        {
            SessionId = lesson.Id,
            Number = judged.Length,
            Title = lesson.Title,
            ProjectionId = task.ProjectionId,
            Reference = "the phantom lab",
            Finished = ended,
            Score = task.Total,
            Verdict = judged[^1].Verdict,
            Verdicts = judged[^1].Verdicts,
            VerdictRight = judged.All(each => each.Verdict is { } verdict && each.Verdicts.Contains(verdict)),
            Lines = lines.Length,
            Right = lines.Count(line => line.IsRight),
            Wrong = [.. lines.Where(line => !line.IsRight).Select(line => line.Line).Distinct()],
        };
    }

    private static PracticedExercise Of(Guid sessionId, PracticeExercise exercise)
    {
        string[] wrong = [.. exercise.Truth.Where(line => exercise.Answers.Lines.GetValueOrDefault(line.LineId)?.State != line.State).Select(line => line.LineId)];
        return new PracticedExercise
        {
            SessionId = sessionId,
            Number = exercise.Number,
            Title = exercise.Title,
            ProjectionId = exercise.ProjectionId,
            Kind = exercise.Kind,
            Reference = exercise.CaseId is null ? "the phantom lab" : exercise.Reference ?? "",
            Finished = exercise.Finished!.Value,
            Score = exercise.Total,
            Verdict = exercise.Answers.Verdict,
            Verdicts = exercise.Verdicts,
            VerdictRight = exercise.VerdictRight,
            Lines = exercise.Truth.Count,
            Right = exercise.Truth.Count - wrong.Length,
            Wrong = wrong,
        };
    }
}
