using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;

namespace Hotlight.Web.People.Guards;

/// <summary>The store of cases of a department: what changes a case is asked for first, whatever page or endpoint it came by.</summary>
internal sealed class GuardedRecords(IRecordStore inner) : IRecordStore
{
    /// <inheritdoc/>
    public Task<CaseRecord> AddAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.AddAsync(record, cancellation);
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
    public Task<IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>>> ListGroupsAsync(WorklistQuery query, WorklistGrouping grouping, IReadOnlyList<string> keys, CancellationToken cancellation = default) => inner.ListGroupsAsync(query, grouping, keys, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<FiledCase>> PickAsync(WorklistQuery query, CancellationToken cancellation = default) => inner.PickAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> FileAsync(IReadOnlyList<FiledCase> cases, CaseFiling change, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.FileAsync(cases, change, cancellation);
    }

    /// <inheritdoc/>
    public Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default) => inner.AddReadingTimeAsync(id, seconds, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default) => inner.StepsAsync(id, cancellation);

    /// <inheritdoc/>
    public async Task<CaseRecord> ChangeAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        await CheckAsync(record, cancellation);
        return await inner.ChangeAsync(record, cancellation);
    }

    /// <inheritdoc/>
    public Task<CaseRecord> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.Judge);
        return inner.KeepAnswersAsync(id, version, step, cancellation);
    }

    /// <inheritdoc/>
    public Task<CaseRecord> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.Judge);
        return inner.StepAnswersAsync(id, version, direction, cancellation);
    }

    /// <inheritdoc/>
    public Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.DeleteAsync(id, cancellation);
    }

    /// <inheritdoc/>
    public Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.RestoreAsync(id, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> DeleteAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.DeleteAsync(ids, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> RestoreAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.RestoreAsync(ids, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<string>> RemoveDeletedAsync(DateTimeOffset deletedBefore, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepCases);
        return inner.RemoveDeletedAsync(deletedBefore, cancellation);
    }

    /// <inheritdoc/>
    public Task<string?> FindFactAsync(string name, CancellationToken cancellation = default) => inner.FindFactAsync(name, cancellation);

    /// <inheritdoc/>
    public Task KeepFactAsync(string name, string value, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.Teach);
        return inner.KeepFactAsync(name, value, cancellation);
    }

    // Figures and verdict follow from files, settings and answers: whoever opens a case has them worked out anew. The rest is somebody's doing.
    private async Task CheckAsync(CaseRecord record, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(record);
        CaseRecord? before = await inner.FindAsync(record.Id, cancellation);
        if (before is null || before.ProjectionId != record.ProjectionId || before.GivenSpacing != record.GivenSpacing || before.AnswersJson != record.AnswersJson)
        {
            Acting.Demand(Operation.Judge);
        }
        else if (before.Title != record.Title || before.State != record.State || before.AssigneeId != record.AssigneeId)
        {
            Acting.Demand(Operation.KeepCases);
        }
        else
        {
            Acting.Demand(Operation.ReadForOneself);
        }
    }
}
