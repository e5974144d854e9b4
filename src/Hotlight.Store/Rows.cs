using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Store;

/// <summary>A case as it is kept; see <see cref="CaseRecord"/> for what the members mean.</summary>
public sealed class CaseRow : IAnsweredRow
{
    /// <summary>Identifies the case.</summary>
    public Guid Id { get; set; }

    /// <summary>What the reader calls the case.</summary>
    public required string Title { get; set; }

    /// <summary>Name of the file as it was given.</summary>
    public required string FileName { get; set; }

    /// <summary>SHA-256 of the file.</summary>
    public required string ContentHash { get; set; }

    /// <summary>Size of the file, in bytes.</summary>
    public long ContentBytes { get; set; }

    /// <summary>Projection the reader chose.</summary>
    public string? ProjectionId { get; set; }

    /// <summary>Row spacing the reader gave, in mm at the receptor.</summary>
    public double? GivenRowSpacingMm { get; set; }

    /// <summary>Column spacing the reader gave, in mm at the receptor.</summary>
    public double? GivenColumnSpacingMm { get; set; }

    /// <summary>Version of Hotlight that measured.</summary>
    public required string MeasuredBy { get; set; }

    /// <summary>Key of the clinic's settings it was measured and judged with.</summary>
    public string MeasuredWith { get; set; } = string.Empty;

    /// <summary>Term of the verdict as it last stood.</summary>
    public string? Verdict { get; set; }

    /// <summary>Place in the history of answers.</summary>
    public int AnswerStep { get; set; }

    /// <summary>Last step the history holds.</summary>
    public int LastAnswerStep { get; set; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; set; }

    /// <summary>Whether the case is a made one for demonstration.</summary>
    public bool IsInvented { get; set; }

    /// <summary>Whether the kept file carries a patient's identity.</summary>
    public bool FileCarriesPatientIdentity { get; set; }

    /// <summary>When the case was made.</summary>
    public DateTimeOffset Created { get; set; }

    /// <summary>When the case last changed.</summary>
    public DateTimeOffset Changed { get; set; }

    /// <summary>When the case was deleted; null while it is kept.</summary>
    public DateTimeOffset? Deleted { get; set; }

    /// <summary>How the file came in.</summary>
    public CaseOrigin ReceivedBy { get; set; }

    /// <summary>Tells one patient's cases from another's.</summary>
    public string? PatientKey { get; set; }

    /// <summary>Pseudonym of the patient.</summary>
    public string? PatientLabel { get; set; }

    /// <summary>Tells one examination's exposures from another's.</summary>
    public string? ExaminationKey { get; set; }

    /// <summary>Series Instance UID, or what replaced it.</summary>
    public string? SeriesUid { get; set; }

    /// <summary>SOP Instance UID, or what replaced it.</summary>
    public string? SopInstanceUid { get; set; }

    /// <summary>Hash of the Accession Number.</summary>
    public string? AccessionKey { get; set; }

    /// <summary>When the exposure was made, as the file says.</summary>
    public DateTimeOffset? AcquiredAt { get; set; }

    /// <summary>Modality (0008,0060).</summary>
    public string? Modality { get; set; }

    /// <summary>Image Laterality (0020,0062).</summary>
    public string? Laterality { get; set; }

    /// <summary>Whether the kept file was de-identified when it came in.</summary>
    public bool IsDeidentified { get; set; }

    /// <summary>Who is to read the case.</summary>
    public Guid? AssigneeId { get; set; }

    /// <summary>How far the reading is.</summary>
    public CaseState State { get; set; }

    /// <summary>Which cases go first.</summary>
    public CasePriority Priority { get; set; }

    /// <summary>The reader's own words for finding the case again.</summary>
    public string Tags { get; set; } = string.Empty;

    /// <summary>How long the case was read, in seconds.</summary>
    public double ReadingSeconds { get; set; }

    /// <summary>Goes up by one with every change of the filing.</summary>
    public int FilingVersion { get; set; } = 1;

    /// <summary>What words are looked for in, in lower case; derived. Null in a row of an earlier version until the store is opened.</summary>
    public string? SearchText { get; set; }

    /// <summary>The title in lower case, by which it is ordered; derived.</summary>
    public string TitleOrder { get; set; } = string.Empty;

    /// <summary>Pseudonym of who is to read, in lower case, by which it is ordered; derived from the people. Null: nobody, or nobody known.</summary>
    public string? AssigneeOrder { get; set; }

    /// <summary>Place in the list as it comes, the highest first; derived.</summary>
    public long ListOrder { get; set; }

    /// <summary>When it was exposed, or brought in where the file does not say; derived.</summary>
    public DateTimeOffset Dated { get; set; }

    /// <summary>The examination, or the case itself where it has none; derived.</summary>
    public string ExaminationGroup { get; set; } = string.Empty;

    /// <summary>The patient, or the case itself where none is known; derived.</summary>
    public string PatientGroup { get; set; } = string.Empty;

    /// <summary>The long texts of the case; null where they were not asked for.</summary>
    public CaseDocumentsRow? Documents { get; set; }
}

/// <summary>The long texts of a case, apart from its row so that lists read short rows only.</summary>
public sealed class CaseDocumentsRow
{
    /// <summary>The case.</summary>
    public Guid CaseId { get; set; }

    /// <summary>The header's record of the exposure, as JSON.</summary>
    public required string ExposureRecordJson { get; set; }

    /// <summary>The measurement document, as JSON.</summary>
    public required string MeasurementsJson { get; set; }

    /// <summary>The answers, as JSON.</summary>
    public required string AnswersJson { get; set; }

    /// <summary>What de-identification changed, as JSON.</summary>
    public string? DeidentificationReportJson { get; set; }
}

/// <summary>A step in the history of a case's answers.</summary>
public sealed class AnswerStepRow : IAnswerStepRow
{
    /// <summary>The case.</summary>
    public Guid CaseId { get; set; }

    /// <summary>Number of the step, from 1.</summary>
    public int Step { get; set; }

    /// <summary>All answers after the step, as JSON.</summary>
    public required string AnswersJson { get; set; }

    /// <summary>Term of the verdict after the step.</summary>
    public string? Verdict { get; set; }

    /// <summary>What changed, for the reader.</summary>
    public required string Label { get; set; }

    /// <summary>Key under which following steps become one.</summary>
    public string? MergeKey { get; set; }

    /// <summary>When it was given.</summary>
    public DateTimeOffset Given { get; set; }

    /// <summary>Who gave it; null: not known.</summary>
    public Guid? GivenBy { get; set; }
}

/// <summary>Somebody of the clinic, as the newest settings have it.</summary>
public sealed class PersonRow
{
    /// <summary>Identifies the person.</summary>
    public Guid Id { get; set; }

    /// <summary>What the person is called.</summary>
    public required string Pseudonym { get; set; }

    /// <summary>What the person does.</summary>
    public PersonRole Role { get; set; }

    /// <summary>Whether the person can be chosen.</summary>
    public bool IsActive { get; set; }
}

/// <summary>A version of the clinic's settings.</summary>
public sealed class ClinicRow
{
    /// <summary>Number of the version, from 1.</summary>
    public int Number { get; set; }

    /// <summary>The settings, as JSON.</summary>
    public required string SettingsJson { get; set; }

    /// <summary>What changed, for the reader.</summary>
    public required string Label { get; set; }

    /// <summary>When it was changed.</summary>
    public DateTimeOffset Changed { get; set; }

    /// <summary>Who changed it; null: not known.</summary>
    public Guid? ChangedBy { get; set; }
}

/// <summary>A remembered fact of the store itself.</summary>
public sealed class FactRow
{
    /// <summary>Name of the fact.</summary>
    public required string Name { get; set; }

    /// <summary>Its value.</summary>
    public required string Value { get; set; }
}
