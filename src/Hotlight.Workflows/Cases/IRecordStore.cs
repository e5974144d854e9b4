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

    /// <summary>Changes title, projection, given spacing, header record, measurements and verdict of a case. Answers and their history are left as they are.</summary>
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
}
