namespace Hotlight.Workflows.Cases;

/// <summary>Which cases stand on the worklist, and in which order. Everything left empty picks all.</summary>
public sealed record WorklistQuery
{
    /// <summary>Words a case must all hold: in title, file name, pseudonym, tags, or by its projection.</summary>
    public IReadOnlyList<SearchWord> Words { get; init; } = [];

    /// <summary>States; empty: any.</summary>
    public IReadOnlyList<CaseState> States { get; init; } = [];

    /// <summary>Terms of verdicts, such as "repeat"; the empty term stands for a case without a projection. Empty list: any.</summary>
    public IReadOnlyList<string> Verdicts { get; init; } = [];

    /// <summary>Projections; the empty identifier stands for none chosen. Empty list: any.</summary>
    public IReadOnlyList<string> ProjectionIds { get; init; } = [];

    /// <summary>Who is to read; <see cref="Guid.Empty"/> stands for nobody. Null: anybody.</summary>
    public Guid? AssigneeId { get; init; }

    /// <summary>How the files came in; empty: any.</summary>
    public IReadOnlyList<CaseOrigin> Origins { get; init; } = [];

    /// <summary>Exposed (or, where the file does not say when, brought in) at this time or later; null: no limit.</summary>
    public DateTimeOffset? From { get; init; }

    /// <summary>Exposed (or brought in) before this time; null: no limit.</summary>
    public DateTimeOffset? Before { get; init; }

    /// <summary>Only invented cases (true) or only real ones (false); null: both.</summary>
    public bool? IsInvented { get; init; }

    /// <summary>The column that orders.</summary>
    public WorklistSort Sort { get; init; } = WorklistSort.AsItComes;

    /// <summary>Whether the order is turned round. As it comes: the oldest first.</summary>
    public bool IsDescending { get; init; }
}

/// <summary>A word that is looked for.</summary>
/// <param name="Text">The word, in any case, not empty.</param>
/// <param name="ProjectionIds">Projections whose name holds the word.</param>
public sealed record SearchWord(string Text, IReadOnlyList<string> ProjectionIds);

/// <summary>What orders the worklist.</summary>
public enum WorklistSort
{
    /// <summary>Own cases, the last changed first, then the phantom lab's, then the demo set in its order.</summary>
    AsItComes = 0,

    /// <summary>By title.</summary>
    Title,

    /// <summary>By pseudonym of the patient.</summary>
    Patient,

    /// <summary>By identifier of the projection.</summary>
    Projection,

    /// <summary>By term of the verdict.</summary>
    Verdict,

    /// <summary>New, in work, done.</summary>
    State,

    /// <summary>By pseudonym of who is to read.</summary>
    Assignee,

    /// <summary>By when it was exposed, or brought in where the file does not say.</summary>
    Exposed,

    /// <summary>By when it last changed.</summary>
    Changed,
}

/// <summary>What stands together on the worklist.</summary>
public enum WorklistGrouping
{
    /// <summary>Exposures of one examination.</summary>
    Examination,

    /// <summary>Exposures of one patient.</summary>
    Patient,
}

/// <summary>An examination or a patient on the worklist.</summary>
/// <param name="Key">Its key.</param>
/// <param name="Cases">How many of its cases were picked, 1 or more.</param>
public sealed record WorklistGroup(string Key, int Cases);

/// <summary>A case and the filing version that a change of its filing starts from.</summary>
/// <param name="Id">The case.</param>
/// <param name="FilingVersion">Its <see cref="CaseRecord.FilingVersion"/>.</param>
public readonly record struct FiledCase(Guid Id, int FilingVersion);

/// <summary>A change of how cases are filed; what is null stays as it is.</summary>
public sealed record CaseFiling
{
    /// <summary>Who is to read; <see cref="Guid.Empty"/> takes the case from everybody. Null: unchanged.</summary>
    public Guid? AssigneeId { get; init; }

    /// <summary>The state; null: unchanged.</summary>
    public CaseState? State { get; init; }

    /// <summary>The priority; null: unchanged.</summary>
    public CasePriority? Priority { get; init; }

    /// <summary>The tags with commas between; empty takes them away. Null: unchanged.</summary>
    public string? Tags { get; init; }
}

/// <summary>How many cases a query picks.</summary>
public sealed record WorklistCounts
{
    /// <summary>How many of each state, verdict and origin; none is 0.</summary>
    public required IReadOnlyList<WorklistCount> Parts { get; init; }

    /// <summary>How many in all.</summary>
    public int Total => Parts.Sum(part => part.Cases);

    /// <summary>How many of a kind.</summary>
    /// <param name="of">Which parts are counted.</param>
    public int Of(Func<WorklistCount, bool> of) => Parts.Where(of).Sum(part => part.Cases);
}

/// <summary>How many cases share state, verdict and origin.</summary>
/// <param name="State">Their state.</param>
/// <param name="Verdict">Term of their verdict; null: none yet.</param>
/// <param name="Origin">How they came in.</param>
/// <param name="Cases">How many, 1 or more.</param>
public sealed record WorklistCount(CaseState State, string? Verdict, CaseOrigin Origin, int Cases);
