using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Judgement;

/// <summary>A reader's answer to one line.</summary>
/// <param name="State">How the line stands in the reader's eyes.</param>
/// <param name="Miss">Which way it is missed, an identifier of the line's misses; null where none is named.</param>
/// <param name="Remark">The reader's remark; a reason is needed to decide against measurement or header.</param>
public sealed record Answer(ChecklistState State, string? Miss = null, string? Remark = null);

/// <summary>A reader's own verdict, which stands beside the tool's and never in its place.</summary>
/// <param name="Kind">Accept, accept with remark, or repeat.</param>
/// <param name="Reason">Why, in the reader's words; not empty.</param>
public sealed record VerdictAnswer(VerdictKind Kind, string Reason);

/// <summary>A reader's answers to the checklist of one image.</summary>
public sealed record Answers
{
    /// <summary>The value of the file's <c>schema</c> in this version.</summary>
    public const string SchemaName = "hotlight.answers/1";

    /// <summary>Identifier of the projection that was judged.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>A pseudonym of the reader; null where none was given.</summary>
    public string? Reader { get; init; }

    /// <summary>Answers by identifier of the line.</summary>
    public IReadOnlyDictionary<string, Answer> Lines { get; init; } = new Dictionary<string, Answer>();

    /// <summary>Landmarks that the reader marked, by the catalogue's identifiers; empty where none is.</summary>
    public IReadOnlyDictionary<string, LandmarkPoint> Landmarks { get; init; } = new Dictionary<string, LandmarkPoint>();

    /// <summary>The reader's own verdict; null where none is given.</summary>
    public VerdictAnswer? Verdict { get; init; }

    /// <summary>What is known of the examination beside the image; null: nothing was given.</summary>
    public ExaminationContext? Examination { get; init; }

    /// <summary>What the reader gave to find out how the part lay in space; null: nothing.</summary>
    public PoseMarks? Pose { get; init; }

    /// <summary>The reader's edits of the plan for the next exposure; empty where it stands as proposed.</summary>
    public IReadOnlyList<PlanEdit> Plan { get; init; } = [];

    /// <summary>No answers yet.</summary>
    /// <param name="projectionId">Identifier of the projection.</param>
    public static Answers None(string projectionId) => new() { ProjectionId = projectionId };

    /// <summary>The same answers with one more, or one changed.</summary>
    /// <param name="lineId">Identifier of the line.</param>
    /// <param name="answer">The answer; null takes the line's answer away.</param>
    public Answers With(string lineId, Answer? answer)
    {
        var lines = new Dictionary<string, Answer>(Lines, StringComparer.Ordinal);
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

    /// <summary>The same answers with one edit of the plan; an earlier one of the same proposed change goes.</summary>
    /// <param name="edit">The edit.</param>
    public Answers WithPlanEdit(PlanEdit edit)
    {
        ArgumentNullException.ThrowIfNull(edit);
        return this with { Plan = [.. Plan.Where(each => !each.IsAboutTheSameAs(edit)), edit] };
    }

    /// <summary>The same answers with one landmark more, or one moved.</summary>
    /// <param name="landmarkId">Identifier of the landmark.</param>
    /// <param name="point">Its place; null takes the mark away.</param>
    public Answers WithLandmark(string landmarkId, LandmarkPoint? point)
    {
        var landmarks = new Dictionary<string, LandmarkPoint>(Landmarks, StringComparer.Ordinal);
        if (point is { } place)
        {
            landmarks[landmarkId] = place;
        }
        else
        {
            landmarks.Remove(landmarkId);
        }

        return this with { Landmarks = landmarks };
    }
}

/// <summary>A file of answers cannot be used. The message is one sentence.</summary>
public sealed class UnreadableAnswersException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="file">Name of the file as the user gave it.</param>
    /// <param name="reason">What is wrong, one sentence without the file's name.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public UnreadableAnswersException(string file, string reason, Exception? inner = null)
        : base(PlainText.Of($"{file}: {reason}"), inner)
    {
        File = file;
        Reason = PlainText.Of(reason);
    }

    /// <summary>Name of the file as the user gave it.</summary>
    public string File { get; }

    /// <summary>What is wrong, one sentence.</summary>
    public string Reason { get; }
}
