using Hotlight.Core;

namespace Hotlight.Workflows.Cases;

/// <summary>One radiograph on the bench with everything that was measured and answered about it. Immutable; a change gives a new record with a higher <see cref="Version"/>.</summary>
/// <remarks>No member holds a patient's name, identifier or birth date. The file itself is kept as it was given.</remarks>
public sealed record CaseRecord
{
    /// <summary>Longest title, in characters.</summary>
    public const int TitleMaxLength = 200;

    /// <summary>Longest file name, in characters.</summary>
    public const int FileNameMaxLength = 255;

    /// <summary>Identifies the case.</summary>
    public required Guid Id { get; init; }

    /// <summary>What the reader calls the case, 1 to <see cref="TitleMaxLength"/> characters.</summary>
    public required string Title { get; init; }

    /// <summary>Name of the file as it was given, for the reader; never used as a path.</summary>
    public required string FileName { get; init; }

    /// <summary>SHA-256 of the file's bytes, 64 lower-case hexadecimal digits; the file is kept under it.</summary>
    public required string ContentHash { get; init; }

    /// <summary>Size of the file, in bytes.</summary>
    public required long ContentBytes { get; init; }

    /// <summary>Projection the reader chose; null until one is chosen.</summary>
    public string? ProjectionId { get; init; }

    /// <summary>Pixel spacing at the receptor that the reader gave for a file without one; null when the file's own is used.</summary>
    public PixelSpacing? GivenSpacing { get; init; }

    /// <summary>What the header says of the exposure, as JSON of <see cref="Imaging.ExposureRecord"/>.</summary>
    public required string ExposureRecordJson { get; init; }

    /// <summary>The measurement document, as JSON.</summary>
    public required string MeasurementsJson { get; init; }

    /// <summary>Version of Hotlight that measured; another version measures again when the case is opened.</summary>
    public required string MeasuredBy { get; init; }

    /// <summary>The reader's answers, as JSON; "{}" before the first.</summary>
    public string AnswersJson { get; init; } = "{}";

    /// <summary>Term of the verdict as it last stood, such as "repeat"; null before a projection is chosen.</summary>
    public string? Verdict { get; init; }

    /// <summary>Place in the history of answers: 0 before the first answer.</summary>
    public int AnswerStep { get; init; }

    /// <summary>Last step the history holds; above <see cref="AnswerStep"/> after an undo.</summary>
    public int LastAnswerStep { get; init; }

    /// <summary>What the step that an undo would take back did, for the reader; null where there is none.</summary>
    public string? UndoLabel { get; init; }

    /// <summary>What the step that a redo would do again did, for the reader; null where there is none.</summary>
    public string? RedoLabel { get; init; }

    /// <summary>Goes up by one with every change; a change that names an older version is refused.</summary>
    public int Version { get; init; } = 1;

    /// <summary>Whether the case is a made one for demonstration: no person was exposed.</summary>
    public bool IsInvented { get; init; }

    /// <summary>Whether the kept file carries a patient's name, identifier or birth date.</summary>
    public bool FileCarriesPatientIdentity { get; init; }

    /// <summary>When the case was made.</summary>
    public required DateTimeOffset Created { get; init; }

    /// <summary>When the case last changed.</summary>
    public required DateTimeOffset Changed { get; init; }

    /// <summary>Whether an answer can be taken back.</summary>
    public bool CanUndo => AnswerStep > 0;

    /// <summary>Whether an answer that was taken back can be given again.</summary>
    public bool CanRedo => AnswerStep < LastAnswerStep;
}

/// <summary>A line of the list of cases.</summary>
public sealed record CaseSummary
{
    /// <summary>Identifies the case.</summary>
    public required Guid Id { get; init; }

    /// <summary>What the reader calls the case.</summary>
    public required string Title { get; init; }

    /// <summary>Name of the file as it was given.</summary>
    public required string FileName { get; init; }

    /// <summary>Projection the reader chose; null until one is chosen.</summary>
    public string? ProjectionId { get; init; }

    /// <summary>Term of the verdict as it last stood.</summary>
    public string? Verdict { get; init; }

    /// <summary>Whether the case is a made one for demonstration.</summary>
    public bool IsInvented { get; init; }

    /// <summary>When the case last changed.</summary>
    public required DateTimeOffset Changed { get; init; }
}

/// <summary>Which way to walk in the history of answers.</summary>
public enum AnswerStepDirection
{
    /// <summary>Take the last answer back.</summary>
    Undo,

    /// <summary>Give the answer again that was taken back.</summary>
    Redo,
}
