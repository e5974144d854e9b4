using Hotlight.Audit;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Audit;

/// <summary>Tells the trail of every change of a case before it is made, and again where it then failed: nothing is done that cannot be noted.</summary>
/// <param name="inner">Where the cases lie.</param>
/// <param name="trail">The trail.</param>
public sealed class AuditedRecords(IRecordStore inner, IAuditTrail trail) : IRecordStore
{
    /// <inheritdoc/>
    public Task<CaseRecord> AddAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        return trail.AroundAsync(new AuditEvent(AuditAct.BroughtIn, AuditSubject.Case, record.Id.ToString()), () => inner.AddAsync(record, cancellation));
    }

    /// <inheritdoc/>
    public Task<CaseRecord?> FindAsync(Guid id, CancellationToken cancellation = default) => inner.FindAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(int skip, int take, CancellationToken cancellation = default) => inner.ListAsync(skip, take, cancellation);

    /// <inheritdoc/>
    public Task<int> CountAsync(CancellationToken cancellation = default) => inner.CountAsync(cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> FindByContentAsync(string contentHash, CancellationToken cancellation = default) => inner.FindByContentAsync(contentHash, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> FindBySopInstanceAsync(string sopInstanceUid, CancellationToken cancellation = default) => inner.FindBySopInstanceAsync(sopInstanceUid, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(WorklistQuery query, int skip, int take, CancellationToken cancellation = default) => inner.ListAsync(query, skip, take, cancellation);

    /// <inheritdoc/>
    public Task<WorklistCounts> CountAsync(WorklistQuery query, CancellationToken cancellation = default) => inner.CountAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<WorklistGroup>> GroupsAsync(WorklistQuery query, WorklistGrouping grouping, CancellationToken cancellation = default) => inner.GroupsAsync(query, grouping, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>>> ListGroupsAsync(WorklistQuery query, WorklistGrouping grouping, IReadOnlyList<string> keys, CancellationToken cancellation = default)
        => inner.ListGroupsAsync(query, grouping, keys, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<FiledCase>> PickAsync(WorklistQuery query, CancellationToken cancellation = default) => inner.PickAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> FileAsync(IReadOnlyList<FiledCase> cases, CaseFiling change, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(cases);
        return trail.AroundAllAsync(AuditAct.Changed, AuditSubject.Case, cases.Select(each => each.Id), "filing", () => inner.FileAsync(cases, change, cancellation));
    }

    /// <inheritdoc/>
    public Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default) => inner.AddReadingTimeAsync(id, seconds, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default) => inner.StepsAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<CaseRecord> ChangeAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        return trail.AroundAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Case, record.Id.ToString()), () => inner.ChangeAsync(record, cancellation));
    }

    /// <inheritdoc/>
    public Task<CaseRecord> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Case, id.ToString(), "answers"), () => inner.KeepAnswersAsync(id, version, step, cancellation));

    /// <inheritdoc/>
    public Task<CaseRecord> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Case, id.ToString(), "answers, a step back or forth"), () => inner.StepAnswersAsync(id, version, direction, cancellation));

    /// <inheritdoc/>
    public Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Deleted, AuditSubject.Case, id.ToString()), () => inner.DeleteAsync(id, cancellation));

    /// <inheritdoc/>
    public Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Restored, AuditSubject.Case, id.ToString()), () => inner.RestoreAsync(id, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> DeleteAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default)
        => trail.AroundAllAsync(AuditAct.Deleted, AuditSubject.Case, ids, string.Empty, () => inner.DeleteAsync(ids, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> RestoreAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default)
        => trail.AroundAllAsync(AuditAct.Restored, AuditSubject.Case, ids, string.Empty, () => inner.RestoreAsync(ids, cancellation));

    /// <inheritdoc/>
    public async Task<IReadOnlyList<string>> RemoveDeletedAsync(DateTimeOffset deletedBefore, CancellationToken cancellation = default)
    {
        // Which they are is known only to the database: told afterwards, by what their files hash to.
        IReadOnlyList<string> removed = await inner.RemoveDeletedAsync(deletedBefore, cancellation);
        foreach (string hash in removed)
        {
            await trail.TellAsync(new AuditEvent(AuditAct.Erased, AuditSubject.Case, hash, "content of a case that was put away"), CancellationToken.None);
        }

        return removed;
    }

    /// <inheritdoc/>
    public Task<string?> FindFactAsync(string name, CancellationToken cancellation = default) => inner.FindFactAsync(name, cancellation);

    /// <inheritdoc/>
    public Task KeepFactAsync(string name, string value, CancellationToken cancellation = default) => inner.KeepFactAsync(name, value, cancellation);
}
