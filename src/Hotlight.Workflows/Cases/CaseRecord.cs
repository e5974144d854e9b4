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

    /// <summary>Longest key, label or UID, in characters; a UID of DICOM has 64 at most.</summary>
    public const int KeyMaxLength = 128;

    /// <summary>Longest tags, all together, in characters.</summary>
    public const int TagsMaxLength = 200;

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

    /// <summary>How the file came in.</summary>
    public CaseOrigin ReceivedBy { get; init; }

    /// <summary>Tells one patient's cases from another's: a hash with this store's own key, never an identifier; null where the file names nobody. At most <see cref="KeyMaxLength"/> characters.</summary>
    public string? PatientKey { get; init; }

    /// <summary>Pseudonym of the patient, for the reader; null where there is none. At most <see cref="KeyMaxLength"/> characters.</summary>
    public string? PatientLabel { get; init; }

    /// <summary>Tells one examination's exposures from another's: Study Instance UID, or what replaced it; null in a file without one. At most <see cref="KeyMaxLength"/> characters.</summary>
    public string? ExaminationKey { get; init; }

    /// <summary>Series Instance UID, or what replaced it; null in a file without one.</summary>
    public string? SeriesUid { get; init; }

    /// <summary>SOP Instance UID, or what replaced it; null in a file without one.</summary>
    public string? SopInstanceUid { get; init; }

    /// <summary>A hash of the Accession Number with this store's own key; null in a file without one.</summary>
    public string? AccessionKey { get; init; }

    /// <summary>When the exposure was made, as the file says; null where it does not.</summary>
    public DateTimeOffset? AcquiredAt { get; init; }

    /// <summary>Modality (0008,0060), such as "DX"; null in a file without one. At most 16 characters.</summary>
    public string? Modality { get; init; }

    /// <summary>Image Laterality (0020,0062), "R", "L", "U" or "B"; null in a file without one. At most 16 characters.</summary>
    public string? Laterality { get; init; }

    /// <summary>Whether the kept file was de-identified when it came in.</summary>
    public bool IsDeidentified { get; init; }

    /// <summary>What de-identification changed, as JSON without any value; null where nothing was.</summary>
    public string? DeidentificationReportJson { get; init; }

    /// <summary>Key of the clinic's settings the case was measured and judged with; empty: those built in.</summary>
    public string MeasuredWith { get; init; } = string.Empty;

    /// <summary>Who is to read the case; null: nobody yet.</summary>
    public Guid? AssigneeId { get; init; }

    /// <summary>How far the reading is.</summary>
    public CaseState State { get; init; }

    /// <summary>Which cases go first.</summary>
    public CasePriority Priority { get; init; }

    /// <summary>The reader's own words for finding the case again, with ", " between; empty: none. At most <see cref="TagsMaxLength"/> characters.</summary>
    public string Tags { get; init; } = string.Empty;

    /// <summary>How long the case was read, in seconds, all sittings together, 0 or more.</summary>
    public double ReadingSeconds { get; init; }

    /// <summary>Goes up by one with every change of assignee, state, priority or tags; answers do not move it.</summary>
    public int FilingVersion { get; init; } = 1;

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

    /// <summary>How the file came in.</summary>
    public CaseOrigin ReceivedBy { get; init; }

    /// <summary>Tells one patient's cases from another's; null where the file names nobody.</summary>
    public string? PatientKey { get; init; }

    /// <summary>Pseudonym of the patient; null where there is none.</summary>
    public string? PatientLabel { get; init; }

    /// <summary>Tells one examination's exposures from another's; null in a file without one.</summary>
    public string? ExaminationKey { get; init; }

    /// <summary>SOP Instance UID, or what replaced it; null in a file without one.</summary>
    public string? SopInstanceUid { get; init; }

    /// <summary>When the exposure was made, as the file says; null where it does not.</summary>
    public DateTimeOffset? AcquiredAt { get; init; }

    /// <summary>Who is to read the case; null: nobody yet.</summary>
    public Guid? AssigneeId { get; init; }

    /// <summary>How far the reading is.</summary>
    public CaseState State { get; init; }

    /// <summary>Which cases go first.</summary>
    public CasePriority Priority { get; init; }

    /// <summary>The reader's own words for finding the case again, with ", " between.</summary>
    public string Tags { get; init; } = string.Empty;

    /// <summary>How long the case was read, in seconds.</summary>
    public double ReadingSeconds { get; init; }

    /// <summary>Version of Hotlight that measured.</summary>
    public required string MeasuredBy { get; init; }

    /// <summary>Key of the clinic's settings the case was measured and judged with; empty: those built in.</summary>
    public string MeasuredWith { get; init; } = string.Empty;

    /// <summary>The version a change of assignee, state, priority or tags starts from.</summary>
    public int FilingVersion { get; init; } = 1;

    /// <summary>When the case was made.</summary>
    public required DateTimeOffset Created { get; init; }

    /// <summary>When the case last changed.</summary>
    public required DateTimeOffset Changed { get; init; }
}

/// <summary>How a file came onto the bench.</summary>
public enum CaseOrigin
{
    /// <summary>Dropped or chosen on the page.</summary>
    Upload = 0,

    /// <summary>Taken from the watched inbox.</summary>
    Inbox = 1,

    /// <summary>Received by the DICOM network service.</summary>
    Network = 2,

    /// <summary>Stored by a DICOMweb service.</summary>
    Web = 3,

    /// <summary>Of the invented demo set.</summary>
    Demo = 4,

    /// <summary>Exposed in the phantom lab.</summary>
    Lab = 5,
}

/// <summary>How far the reading of a case is.</summary>
public enum CaseState
{
    /// <summary>Nobody has answered anything yet.</summary>
    New = 0,

    /// <summary>Something was answered.</summary>
    InWork = 1,

    /// <summary>The reader said that it is done.</summary>
    Done = 2,
}

/// <summary>Which cases go first; terms of DICOM's Requested Procedure Priority (0040,1003).</summary>
public enum CasePriority
{
    /// <summary>After the others.</summary>
    Low = -1,

    /// <summary>In its turn.</summary>
    Routine = 0,

    /// <summary>Before the others.</summary>
    High = 1,
}

/// <summary>Which way to walk in the history of answers.</summary>
public enum AnswerStepDirection
{
    /// <summary>Take the last answer back.</summary>
    Undo,

    /// <summary>Give the answer again that was taken back.</summary>
    Redo,
}
