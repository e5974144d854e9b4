namespace Hotlight.Workflows.Cases;

/// <summary>Where cases are kept. A call that returned has been written to disk.</summary>
/// <remarks>Every change but deleting names the version it started from; when the case moved on, <see cref="CaseChangedException"/> is thrown and nothing is changed.</remarks>
public interface IRecordStore
{
    /// <summary>Keeps a new case.</summary>
    /// <param name="record">The case, with a fresh identifier; its answers must be empty.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task<CaseRecord> AddAsync(CaseRecord record, CancellationToken cancellation = default);

    /// <summary>The case, or null when it is not kept or was deleted.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<CaseRecord?> FindAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>The cases: a reader's own, the last changed first, then the invented ones in the order they were added.</summary>
    /// <param name="skip">How many to pass over, 0 or more.</param>
    /// <param name="take">How many to give at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<CaseSummary>> ListAsync(int skip, int take, CancellationToken cancellation = default);

    /// <summary>How many cases are kept, without deleted ones.</summary>
    /// <param name="cancellation">Stops the counting.</param>
    Task<int> CountAsync(CancellationToken cancellation = default);

    /// <summary>Cases that hold the same file, without deleted ones.</summary>
    /// <param name="contentHash">SHA-256 of the file.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<CaseSummary>> FindByContentAsync(string contentHash, CancellationToken cancellation = default);

    /// <summary>Cases that hold the same SOP instance, without deleted ones.</summary>
    /// <param name="sopInstanceUid">SOP Instance UID, as <see cref="CaseRecord.SopInstanceUid"/> keeps it.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<CaseSummary>> FindBySopInstanceAsync(string sopInstanceUid, CancellationToken cancellation = default);

    /// <summary>A part of the cases that a query picks, in its order.</summary>
    /// <param name="query">What is picked, and in which order.</param>
    /// <param name="skip">How many to pass over, 0 or more.</param>
    /// <param name="take">How many to give at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<CaseSummary>> ListAsync(WorklistQuery query, int skip, int take, CancellationToken cancellation = default);

    /// <summary>How many cases a query picks, by what they are told apart with.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the counting.</param>
    Task<WorklistCounts> CountAsync(WorklistQuery query, CancellationToken cancellation = default);

    /// <summary>The examinations or patients among the cases that a query picks, in its order; a case without one is a group of its own.</summary>
    /// <param name="query">What is picked, and in which order.</param>
    /// <param name="grouping">What stands together.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<WorklistGroup>> GroupsAsync(WorklistQuery query, WorklistGrouping grouping, CancellationToken cancellation = default);

    /// <summary>The picked cases of some groups, each group's in the order they were exposed.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="grouping">What stands together.</param>
    /// <param name="keys">Keys of the groups.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>>> ListGroupsAsync(WorklistQuery query, WorklistGrouping grouping, IReadOnlyList<string> keys, CancellationToken cancellation = default);

    /// <summary>All cases that a query picks, by identifier and filing version, in its order.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<FiledCase>> PickAsync(WorklistQuery query, CancellationToken cancellation = default);

    /// <summary>Changes assignee, state, priority or tags of cases. A case that was filed otherwise meanwhile, or is gone, is left alone.</summary>
    /// <param name="cases">The cases, each with the filing version the change started from.</param>
    /// <param name="change">What changes.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>Those that were left alone.</returns>
    Task<IReadOnlyList<Guid>> FileAsync(IReadOnlyList<FiledCase> cases, CaseFiling change, CancellationToken cancellation = default);

    /// <summary>Adds to the time a case was read.</summary>
    /// <param name="id">The case; one that is gone is no error.</param>
    /// <param name="seconds">Seconds to add, 0 or more.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default);

    /// <summary>The history of a case's answers, the first first; steps that were taken back and not yet dropped with it.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>Changes what was read from the file, title, projection, given spacing, measurements and verdict of a case. Answers, their history and the filing are left as they are.</summary>
    /// <param name="record">The case as it should be; its <see cref="CaseRecord.Version"/> is the one the change started from.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    Task<CaseRecord> ChangeAsync(CaseRecord record, CancellationToken cancellation = default);

    /// <summary>Keeps answers as a new step of the history; steps that were taken back are dropped.</summary>
    /// <param name="id">The case.</param>
    /// <param name="version">The version the answers started from.</param>
    /// <param name="step">The answers and what changed in them.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    Task<CaseRecord> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default);

    /// <summary>Takes an answer back or gives it again; at either end of the history nothing changes.</summary>
    /// <param name="id">The case.</param>
    /// <param name="version">The version the reader saw.</param>
    /// <param name="direction">Which way.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    Task<CaseRecord> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default);

    /// <summary>Deletes a case so that it can be put back until <see cref="RemoveDeletedAsync"/>.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when it was not kept.</returns>
    Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>Puts a deleted case back.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when it is gone for good.</returns>
    Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>Deletes cases so that they can be put back.</summary>
    /// <param name="ids">The cases.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>Those that were kept and are deleted now.</returns>
    Task<IReadOnlyList<Guid>> DeleteAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default);

    /// <summary>Puts deleted cases back.</summary>
    /// <param name="ids">The cases.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>Those that are kept again.</returns>
    Task<IReadOnlyList<Guid>> RestoreAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default);

    /// <summary>Removes for good what was deleted before a time.</summary>
    /// <param name="deletedBefore">Cases deleted earlier than this are removed.</param>
    /// <param name="cancellation">Stops the removing.</param>
    /// <returns>Hashes of files that no case, deleted or not, holds any more.</returns>
    Task<IReadOnlyList<string>> RemoveDeletedAsync(DateTimeOffset deletedBefore, CancellationToken cancellation = default);

    /// <summary>A remembered fact of the store itself, such as that the demo cases were brought in; null when it was never set.</summary>
    /// <param name="name">Name of the fact.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<string?> FindFactAsync(string name, CancellationToken cancellation = default);

    /// <summary>Remembers a fact of the store itself.</summary>
    /// <param name="name">Name of the fact, 1 to 100 characters.</param>
    /// <param name="value">Its value.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task KeepFactAsync(string name, string value, CancellationToken cancellation = default);
}

/// <summary>One step in the history of a case's answers.</summary>
public sealed record AnswerStep
{
    /// <summary>All answers after the step, as JSON.</summary>
    public required string AnswersJson { get; init; }

    /// <summary>Term of the verdict after the step.</summary>
    public string? Verdict { get; init; }

    /// <summary>What changed, for the reader of undo and redo, such as "Side marker: met".</summary>
    public required string Label { get; init; }

    /// <summary>Steps that follow one another with the same key become one, such as the letters of one remark; null: always a step of its own.</summary>
    public string? MergeKey { get; init; }

    /// <summary>Who gave it, a person of the clinic; null: not known.</summary>
    public Guid? GivenBy { get; init; }
}

/// <summary>A step of a case's history as it was given.</summary>
/// <param name="Number">Number of the step, from 1.</param>
/// <param name="Label">What changed, for the reader.</param>
/// <param name="Verdict">Term of the verdict after the step; null: none.</param>
/// <param name="Given">When it was given.</param>
/// <param name="GivenBy">Who gave it; null: not known.</param>
public sealed record GivenStep(int Number, string Label, string? Verdict, DateTimeOffset Given, Guid? GivenBy);
