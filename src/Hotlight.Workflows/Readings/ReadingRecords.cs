using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Readings;

/// <summary>A record store in which every reading under way can be opened like a case of its own: the case's image and measurements with the reader's answers laid over them. On no list.</summary>
/// <remarks>
/// <para>Everything that works on one case by its identifier works on a reading without knowing it: opening, answering, undo, two windows at once, time worked. All else goes to the store below unchanged.</para>
/// <para>A reading has no title, projection, spacing or measurements of its own: those change with the case, so that all readers judge the same.</para>
/// </remarks>
public sealed class ReadingRecords : IRecordStore
{
    private readonly IRecordStore cases;
    private readonly IReadingStore readings;
    private readonly CaseNews? news;

    /// <summary>Creates the store.</summary>
    /// <param name="cases">Where cases are kept.</param>
    /// <param name="readings">Where readings are kept.</param>
    /// <param name="news">Told of every change of a reading once it is kept; null: nobody is.</param>
    public ReadingRecords(IRecordStore cases, IReadingStore readings, CaseNews? news = null)
    {
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(readings);
        this.cases = cases;
        this.readings = readings;
        this.news = news;
    }

    /// <inheritdoc/>
    public async Task<CaseRecord?> FindAsync(Guid id, CancellationToken cancellation = default)
    {
        if (await cases.FindAsync(id, cancellation) is { } record)
        {
            return record;
        }

        return await readings.FindAsync(id, cancellation) is { } reading && await cases.FindAsync(reading.CaseId, cancellation) is { } read ? Lay(read, reading) : null;
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> ChangeAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        if (await readings.FindAsync(record.Id, cancellation) is not { } reading)
        {
            return await cases.ChangeAsync(record, cancellation);
        }

        CaseRecord read = await cases.FindAsync(reading.CaseId, cancellation) ?? throw new CaseGoneException(record.Id);
        if (record.ProjectionId != read.ProjectionId || record.GivenSpacing != read.GivenSpacing || record.Title != read.Title)
        {
            throw new ReadingRefusedException("Title, projection and pixel spacing are the case's own: change them there, before anybody reads it.");
        }

        // The case itself is measured again when it is opened, and the reading shows that.
        return record.MeasuredBy != read.MeasuredBy || record.MeasuredWith != read.MeasuredWith
            ? throw new CaseChangedException(record.Id)
            : Told(Lay(read, await readings.KeepVerdictAsync(record.Id, record.Version, record.Verdict, cancellation)));
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
    {
        if (await readings.FindAsync(id, cancellation) is not { } reading)
        {
            return await cases.KeepAnswersAsync(id, version, step, cancellation);
        }

        CaseRecord read = await cases.FindAsync(reading.CaseId, cancellation) ?? throw new CaseGoneException(id);
        return Told(Lay(read, await readings.KeepAnswersAsync(id, version, step, cancellation)));
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        if (await readings.FindAsync(id, cancellation) is not { } reading)
        {
            return await cases.StepAnswersAsync(id, version, direction, cancellation);
        }

        CaseRecord read = await cases.FindAsync(reading.CaseId, cancellation) ?? throw new CaseGoneException(id);
        return Told(Lay(read, await readings.StepAnswersAsync(id, version, direction, cancellation)));
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default)
        => await readings.FindAsync(id, cancellation) is null ? await cases.StepsAsync(id, cancellation) : await readings.StepsAsync(id, cancellation);

    /// <inheritdoc/>
    public async Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default)
    {
        if (await readings.FindAsync(id, cancellation) is null)
        {
            await cases.AddReadingTimeAsync(id, seconds, cancellation);
        }
        else
        {
            await readings.AddReadingTimeAsync(id, seconds, cancellation);
        }
    }

    /// <inheritdoc/>
    public Task<CaseRecord> AddAsync(CaseRecord record, CancellationToken cancellation = default) => cases.AddAsync(record, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(int skip, int take, CancellationToken cancellation = default) => cases.ListAsync(skip, take, cancellation);

    /// <inheritdoc/>
    public Task<int> CountAsync(CancellationToken cancellation = default) => cases.CountAsync(cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> FindByContentAsync(string contentHash, CancellationToken cancellation = default) => cases.FindByContentAsync(contentHash, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> FindBySopInstanceAsync(string sopInstanceUid, CancellationToken cancellation = default) => cases.FindBySopInstanceAsync(sopInstanceUid, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(WorklistQuery query, int skip, int take, CancellationToken cancellation = default) => cases.ListAsync(query, skip, take, cancellation);

    /// <inheritdoc/>
    public Task<WorklistCounts> CountAsync(WorklistQuery query, CancellationToken cancellation = default) => cases.CountAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<WorklistGroup>> GroupsAsync(WorklistQuery query, WorklistGrouping grouping, CancellationToken cancellation = default) => cases.GroupsAsync(query, grouping, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>>> ListGroupsAsync(WorklistQuery query, WorklistGrouping grouping, IReadOnlyList<string> keys, CancellationToken cancellation = default) => cases.ListGroupsAsync(query, grouping, keys, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<FiledCase>> PickAsync(WorklistQuery query, CancellationToken cancellation = default) => cases.PickAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> FileAsync(IReadOnlyList<FiledCase> cases, CaseFiling change, CancellationToken cancellation = default) => this.cases.FileAsync(cases, change, cancellation);

    /// <inheritdoc/>
    public Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default) => cases.DeleteAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default) => cases.RestoreAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> DeleteAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => cases.DeleteAsync(ids, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> RestoreAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => cases.RestoreAsync(ids, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<string>> RemoveDeletedAsync(DateTimeOffset deletedBefore, CancellationToken cancellation = default) => cases.RemoveDeletedAsync(deletedBefore, cancellation);

    /// <inheritdoc/>
    public Task<string?> FindFactAsync(string name, CancellationToken cancellation = default) => cases.FindFactAsync(name, cancellation);

    /// <inheritdoc/>
    public Task KeepFactAsync(string name, string value, CancellationToken cancellation = default) => cases.KeepFactAsync(name, value, cancellation);

    // Nothing of the case's shared answers comes through: answers, verdict, history, time and filing are the reading's or empty.
    private static CaseRecord Lay(CaseRecord read, OwnReading reading) => read with
    {
        Id = reading.Id,
        AnswersJson = reading.AnswersJson,
        Verdict = reading.Verdict,
        AnswerStep = reading.AnswerStep,
        LastAnswerStep = reading.LastAnswerStep,
        UndoLabel = reading.UndoLabel,
        RedoLabel = reading.RedoLabel,
        Version = reading.Version,
        State = reading.IsFinished ? CaseState.Done : reading.AnswerStep > 0 ? CaseState.InWork : CaseState.New,
        AssigneeId = reading.Reader.Id,
        ReadingSeconds = reading.ReadingSeconds,
        Created = reading.Begun,
        Changed = reading.Changed,
    };

    private CaseRecord Told(CaseRecord record)
    {
        news?.Tell(record.Id, CaseEvent.Changed, record.Version);
        return record;
    }
}
