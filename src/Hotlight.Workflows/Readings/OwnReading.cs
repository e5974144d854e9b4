namespace Hotlight.Workflows.Readings;

/// <summary>What a reader could know of others' answers when a reading began.</summary>
public enum ReadingCondition
{
    /// <summary>The case was being read blind: nobody's answers were shown from the beginning to the end.</summary>
    Blind = 0,

    /// <summary>The case was not called for blind reading: its shared answers could be seen before the reading began, not during it.</summary>
    Open = 1,

    /// <summary>A reading after an earlier one of the same reader, who could look at others' answers meanwhile.</summary>
    Again = 2,
}

/// <summary>One reader's own reading of a case: answers that are this reader's alone. Immutable; a change gives a new record with a higher <see cref="Version"/>.</summary>
/// <remarks>It is kept like a case of its own that stands on no list: image, projection and measurements are the case's, answers, their history and the verdict are its own. docs/decisions says why.</remarks>
public sealed record OwnReading
{
    /// <summary>Identifies the reading; never a case's identifier.</summary>
    public required Guid Id { get; init; }

    /// <summary>The case that is read.</summary>
    public required Guid CaseId { get; init; }

    /// <summary>Title of the case when the reading began or, once finished, as it stood then.</summary>
    public required string CaseTitle { get; init; }

    /// <summary>Projection of the case when the reading began or, once finished, the one it was judged by.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>Who reads.</summary>
    public required CaseReader Reader { get; init; }

    /// <summary>1 for this reader's first reading of the case, 2 for the next, and on.</summary>
    public required int Number { get; init; }

    /// <summary>What the reader could know of others' answers.</summary>
    public required ReadingCondition Condition { get; init; }

    /// <summary>The answers, as JSON; "{}" before the first.</summary>
    public string AnswersJson { get; init; } = "{}";

    /// <summary>Term of the verdict as it last stood; null before the first answer.</summary>
    public string? Verdict { get; init; }

    /// <summary>Place in the history of answers: 0 before the first answer.</summary>
    public int AnswerStep { get; init; }

    /// <summary>Last step the history holds; above <see cref="AnswerStep"/> after an undo.</summary>
    public int LastAnswerStep { get; init; }

    /// <summary>What the step that an undo would take back did; null where there is none.</summary>
    public string? UndoLabel { get; init; }

    /// <summary>What the step that a redo would do again did; null where there is none.</summary>
    public string? RedoLabel { get; init; }

    /// <summary>Goes up by one with every change; a change that names an older version is refused.</summary>
    public int Version { get; init; } = 1;

    /// <summary>How long the reader worked on it, in seconds, 0 or more.</summary>
    public double ReadingSeconds { get; init; }

    /// <summary>When it began.</summary>
    public required DateTimeOffset Begun { get; init; }

    /// <summary>When it last changed.</summary>
    public required DateTimeOffset Changed { get; init; }

    /// <summary>When it was finished; null while it is under way.</summary>
    public DateTimeOffset? Finished { get; init; }

    /// <summary>What it came to when it was finished, as JSON of <see cref="ReadingResult"/>; null while it is under way.</summary>
    public string? ResultJson { get; init; }

    /// <summary>Whether it is finished: its answers no longer change.</summary>
    public bool IsFinished => Finished is not null;

    /// <summary>What it came to; null while it is under way.</summary>
    /// <exception cref="System.Text.Json.JsonException">A later version of Hotlight kept it in a form that this one cannot read.</exception>
    public ReadingResult? Result => ResultJson is null ? null : ReadingResult.Read(ResultJson);
}
