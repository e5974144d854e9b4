using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Readings;

/// <summary>Where readings, the discussion of cases, calls for blind reading and sign-offs are kept. A call that returned has been written to disk.</summary>
public interface IReadingStore
{
    /// <summary>Keeps a new reading; one of the same reader, case and number that is kept already is given back as it stands.</summary>
    /// <param name="reading">The reading, with a fresh identifier and no answers.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task<OwnReading> AddAsync(OwnReading reading, CancellationToken cancellation = default);

    /// <summary>A reading, or null when it is not kept.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<OwnReading?> FindAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>The readings that a query picks, by the time they began.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<OwnReading>> ListAsync(ReadingQuery query, CancellationToken cancellation = default);

    /// <summary>Keeps answers of a reading as a new step of its history; steps that were taken back are dropped.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="version">The version the answers started from.</param>
    /// <param name="step">The answers and what changed in them.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The reading is not kept.</exception>
    /// <exception cref="CaseChangedException">The reading moved on.</exception>
    /// <exception cref="ReadingRefusedException">It is finished.</exception>
    Task<OwnReading> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default);

    /// <summary>Takes an answer of a reading back or gives it again; at either end of the history nothing changes.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="version">The version the reader saw.</param>
    /// <param name="direction">Which way.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The reading is not kept.</exception>
    /// <exception cref="CaseChangedException">The reading moved on.</exception>
    /// <exception cref="ReadingRefusedException">It is finished.</exception>
    Task<OwnReading> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default);

    /// <summary>Keeps the verdict as it stands now; answers and history stay.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="version">The version it started from.</param>
    /// <param name="verdict">Term of the verdict; null: none.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The reading is not kept.</exception>
    /// <exception cref="CaseChangedException">The reading moved on.</exception>
    /// <exception cref="ReadingRefusedException">It is finished.</exception>
    Task<OwnReading> KeepVerdictAsync(Guid id, int version, string? verdict, CancellationToken cancellation = default);

    /// <summary>The history of a reading's answers, the first first.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>Adds to the time a reading took.</summary>
    /// <param name="id">The reading; one that is gone is no error.</param>
    /// <param name="seconds">Seconds to add, 0 or more.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default);

    /// <summary>Finishes a reading: from here on it does not change.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="version">The version the reader saw.</param>
    /// <param name="caseTitle">Title of the case as it stands.</param>
    /// <param name="result">What it came to.</param>
    /// <param name="at">When; null: now.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The reading is not kept.</exception>
    /// <exception cref="CaseChangedException">The reading moved on.</exception>
    /// <exception cref="ReadingRefusedException">It is finished already.</exception>
    Task<OwnReading> FinishAsync(Guid id, int version, string caseTitle, ReadingResult result, DateTimeOffset? at = null, CancellationToken cancellation = default);

    /// <summary>Removes a reading that is under way, with its history; a finished one stays.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when there was none under way.</returns>
    Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>What is known of cases without opening them; those that were deleted are left out.</summary>
    /// <param name="ids">The cases.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<ReadCase>> CasesAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default);

    /// <summary>The cases that are read blind now.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<BlindCall>> CallsAsync(CancellationToken cancellation = default);

    /// <summary>Calls a case for blind reading; one that is called already stays as it is.</summary>
    /// <param name="call">The call.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task CallAsync(BlindCall call, CancellationToken cancellation = default);

    /// <summary>Ends the blind reading of a case.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when it was not called.</returns>
    Task<bool> EndCallAsync(Guid caseId, CancellationToken cancellation = default);

    /// <summary>The remarks on a case, the oldest first.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<CaseRemark>> RemarksAsync(Guid caseId, CancellationToken cancellation = default);

    /// <summary>Keeps a remark.</summary>
    /// <param name="remark">The remark, with a fresh identifier.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddRemarkAsync(CaseRemark remark, CancellationToken cancellation = default);

    /// <summary>Changes the text of a remark.</summary>
    /// <param name="id">The remark.</param>
    /// <param name="authorId">Who changes it: only its author may.</param>
    /// <param name="version">The version that was changed.</param>
    /// <param name="text">The text; empty takes it away.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">It is somebody else's, gone, or was changed meanwhile.</exception>
    Task<CaseRemark> EditRemarkAsync(Guid id, Guid authorId, int version, string text, CancellationToken cancellation = default);

    /// <summary>The sign-offs of a learner, or of all, the newest first.</summary>
    /// <param name="learnerId">The learner; null: all.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<SignOff>> SignOffsAsync(Guid? learnerId, CancellationToken cancellation = default);

    /// <summary>Keeps a sign-off.</summary>
    /// <param name="signOff">The sign-off, with a fresh identifier.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddSignOffAsync(SignOff signOff, CancellationToken cancellation = default);

    /// <summary>Takes a sign-off back; it stays, with who took it back and why.</summary>
    /// <param name="id">The sign-off.</param>
    /// <param name="by">Pseudonym of who takes it back.</param>
    /// <param name="reason">Why, not empty.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">It is gone or was taken back already.</exception>
    Task<SignOff> WithdrawAsync(Guid id, string by, string reason, CancellationToken cancellation = default);
}

/// <summary>Which readings are picked. Everything left empty picks all.</summary>
public sealed record ReadingQuery
{
    /// <summary>Cases; null: any.</summary>
    public IReadOnlyList<Guid>? CaseIds { get; init; }

    /// <summary>Readers; null: any.</summary>
    public IReadOnlyList<Guid>? ReaderIds { get; init; }

    /// <summary>Only finished ones (true) or only those under way (false); null: both.</summary>
    public bool? IsFinished { get; init; }

    /// <summary>Finished at this time or later; null: no limit.</summary>
    public DateTimeOffset? From { get; init; }

    /// <summary>Finished before this time; null: no limit.</summary>
    public DateTimeOffset? Before { get; init; }
}

/// <summary>What is known of a case that is read, without its answers.</summary>
/// <param name="Id">The case.</param>
/// <param name="Title">Its title.</param>
/// <param name="ProjectionId">Its projection; null: none chosen.</param>
/// <param name="Tags">Its tags, with ", " between.</param>
/// <param name="IsInvented">Whether it is an invented one.</param>
/// <param name="State">How far its shared reading is.</param>
/// <param name="Version">Its version.</param>
public sealed record ReadCase(Guid Id, string Title, string? ProjectionId, string Tags, bool IsInvented, CaseState State, int Version);
