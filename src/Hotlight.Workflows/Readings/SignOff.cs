namespace Hotlight.Workflows.Readings;

/// <summary>A named supervisor's word that a learner has reached a requirement of the school's list, with what stood then. It is never changed; taken back, both stay.</summary>
public sealed record SignOff
{
    /// <summary>Longest reason or note, in characters.</summary>
    public const int ReasonMaxLength = 500;

    /// <summary>Identifies the sign-off.</summary>
    public required Guid Id { get; init; }

    /// <summary>The learner.</summary>
    public required CaseReader Learner { get; init; }

    /// <summary>Who signed.</summary>
    public required CaseReader Supervisor { get; init; }

    /// <summary>The requirement's identifier in the school's list.</summary>
    public required Guid RequirementId { get; init; }

    /// <summary>What was signed, as the list had it: title, number and standard in words.</summary>
    public required string Requirement { get; init; }

    /// <summary>What stood when it was signed, in words with figures.</summary>
    public required string Stood { get; init; }

    /// <summary>When.</summary>
    public required DateTimeOffset Signed { get; init; }

    /// <summary>When it was taken back; null: it stands.</summary>
    public DateTimeOffset? Withdrawn { get; init; }

    /// <summary>Pseudonym of who took it back; null while it stands.</summary>
    public string? WithdrawnBy { get; init; }

    /// <summary>Why it was taken back; null while it stands.</summary>
    public string? WithdrawnReason { get; init; }

    /// <summary>Whether it stands.</summary>
    public bool Stands => Withdrawn is null;
}
