namespace Hotlight.Store;

/// <summary>A case as it is kept; see <see cref="Workflows.Cases.CaseRecord"/> for what the members mean.</summary>
public sealed class CaseRow
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

    /// <summary>The header's record of the exposure, as JSON.</summary>
    public required string ExposureRecordJson { get; set; }

    /// <summary>The measurement document, as JSON.</summary>
    public required string MeasurementsJson { get; set; }

    /// <summary>Version of Hotlight that measured.</summary>
    public required string MeasuredBy { get; set; }

    /// <summary>The answers, as JSON.</summary>
    public required string AnswersJson { get; set; }

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
}

/// <summary>A step in the history of a case's answers.</summary>
public sealed class AnswerStepRow
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
}

/// <summary>A remembered fact of the store itself.</summary>
public sealed class FactRow
{
    /// <summary>Name of the fact.</summary>
    public required string Name { get; set; }

    /// <summary>Its value.</summary>
    public required string Value { get; set; }
}
