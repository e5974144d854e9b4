using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store;

/// <summary>Keeps cases in a database through EF Core; every call opens a context of its own.</summary>
public sealed partial class RecordStore : IRecordStore
{
    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;
    private readonly CaseNews? news;

    /// <summary>Creates the store.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Told of every change once it is kept; null: nobody is.</param>
    public RecordStore(Func<RecordContext> open, TimeProvider clock, CaseNews? news = null)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
        this.news = news;
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> AddAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        if (record.AnswerStep != 0 || record.LastAnswerStep != 0)
        {
            throw new ArgumentException("A new case has no history of answers.", nameof(record));
        }

        await using RecordContext context = open();
        var row = new CaseRow
        {
            Id = record.Id,
            Title = record.Title,
            FileName = record.FileName,
            ContentHash = record.ContentHash,
            ContentBytes = record.ContentBytes,
            MeasuredBy = record.MeasuredBy,
            Version = 1,
            IsInvented = record.IsInvented,
            FileCarriesPatientIdentity = record.FileCarriesPatientIdentity,
            ReceivedBy = record.ReceivedBy,
            AssigneeId = record.AssigneeId,
            State = record.State,
            Priority = record.Priority,
            Tags = record.Tags,
            ReadingSeconds = record.ReadingSeconds,
            FilingVersion = 1,
            Created = record.Created,
            Changed = record.Changed,
            Documents = new CaseDocumentsRow
            {
                CaseId = record.Id,
                ExposureRecordJson = record.ExposureRecordJson,
                MeasurementsJson = record.MeasurementsJson,
                AnswersJson = record.AnswersJson,
                DeidentificationReportJson = record.DeidentificationReportJson,
            },
        };
        CopyChangeable(record, row);
        row.AssigneeOrder = await PseudonymAsync(context, row.AssigneeId, cancellation);
        Derive(row);
        context.Cases.Add(row);
        await context.SaveChangesAsync(cancellation);
        news?.Tell(row.Id, CaseEvent.Added, row.Version);
        return await ToRecordAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<CaseRecord?> FindAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        CaseRow? row = await context.Cases.AsNoTracking().Include(each => each.Documents).SingleOrDefaultAsync(each => each.Id == id && each.Deleted == null, cancellation);
        return row is null ? null : await ToRecordAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(int skip, int take, CancellationToken cancellation = default) => ListAsync(new WorklistQuery(), skip, take, cancellation);

    /// <inheritdoc/>
    public async Task<int> CountAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Cases.CountAsync(each => each.Deleted == null, cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<CaseSummary>> FindByContentAsync(string contentHash, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await Summaries(context.Cases.Where(each => each.ContentHash == contentHash && each.Deleted == null)
            .OrderByDescending(each => each.Created)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<CaseSummary>> FindBySopInstanceAsync(string sopInstanceUid, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(sopInstanceUid);
        await using RecordContext context = open();
        return await Summaries(context.Cases.Where(each => each.SopInstanceUid == sopInstanceUid && each.Deleted == null)
            .OrderByDescending(each => each.Created)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> ChangeAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        await using RecordContext context = open();
        CaseRow row = await LoadAsync(context, record.Id, record.Version, cancellation);
        CopyChangeable(record, row);
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(step);
        await using RecordContext context = open();
        CaseRow row = await LoadAsync(context, id, version, cancellation);
        List<AnswerStepRow> later = await context.AnswerSteps
            .Where(each => each.CaseId == id && each.Step >= row.AnswerStep).OrderBy(each => each.Step).ToListAsync(cancellation);
        AnswerStepRow kept = AnswerHistory.Keep(context, row, later, step, clock.GetUtcNow(), each => each.GivenBy == step.GivenBy, () => new AnswerStepRow { CaseId = id, AnswersJson = step.AnswersJson, Label = step.Label });
        kept.GivenBy = step.GivenBy;
        row.Documents!.AnswersJson = step.AnswersJson;
        row.State = row.State == CaseState.New ? CaseState.InWork : row.State;
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<CaseRecord> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        CaseRow row = await LoadAsync(context, id, version, cancellation);
        if (AnswerHistory.Target(row, direction) is not { } target)
        {
            return await ToRecordAsync(context, row, cancellation);
        }

        AnswerStepRow? step = await context.AnswerSteps.AsNoTracking().SingleOrDefaultAsync(each => each.CaseId == id && each.Step == target, cancellation);
        row.AnswerStep = target;
        row.Documents!.AnswersJson = step?.AnswersJson ?? "{}";
        row.Verdict = step?.Verdict;
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default) => (await DeleteAsync([id], cancellation)).Count == 1;

    /// <inheritdoc/>
    public async Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default) => (await RestoreAsync([id], cancellation)).Count == 1;

    /// <inheritdoc/>
    public async Task<IReadOnlyList<string>> RemoveDeletedAsync(DateTimeOffset deletedBefore, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<CaseRow> rows = await context.Cases.Where(each => each.Deleted != null && each.Deleted < deletedBefore).ToListAsync(cancellation);
        if (rows.Count == 0)
        {
            return [];
        }

        context.Cases.RemoveRange(rows);
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            // Another server on the same store removes or puts back the same cases: the next start looks again.
            return [];
        }

        List<string> hashes = [.. rows.Select(each => each.ContentHash).Distinct()];
        List<string> held = await context.Cases.Where(each => hashes.Contains(each.ContentHash)).Select(each => each.ContentHash).Distinct().ToListAsync(cancellation);
        return [.. hashes.Except(held)];
    }

    /// <inheritdoc/>
    public async Task<string?> FindFactAsync(string name, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Facts.Where(each => each.Name == name).Select(each => each.Value).SingleOrDefaultAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task KeepFactAsync(string name, string value, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(name);
        ArgumentNullException.ThrowIfNull(value);
        await using RecordContext context = open();
        FactRow? row = await context.Facts.SingleOrDefaultAsync(each => each.Name == name, cancellation);
        if (row is null)
        {
            context.Facts.Add(new FactRow { Name = name, Value = value });
        }
        else
        {
            row.Value = value;
        }

        await context.SaveChangesAsync(cancellation);
    }

    private static IQueryable<CaseSummary> Summaries(IQueryable<CaseRow> rows) => rows.AsNoTracking().Select(each => new CaseSummary
    {
        Id = each.Id,
        Title = each.Title,
        FileName = each.FileName,
        ProjectionId = each.ProjectionId,
        Verdict = each.Verdict,
        IsInvented = each.IsInvented,
        ReceivedBy = each.ReceivedBy,
        PatientKey = each.PatientKey,
        PatientLabel = each.PatientLabel,
        ExaminationKey = each.ExaminationKey,
        SopInstanceUid = each.SopInstanceUid,
        AcquiredAt = each.AcquiredAt,
        AssigneeId = each.AssigneeId,
        State = each.State,
        Priority = each.Priority,
        Tags = each.Tags,
        ReadingSeconds = each.ReadingSeconds,
        MeasuredBy = each.MeasuredBy,
        MeasuredWith = each.MeasuredWith,
        FilingVersion = each.FilingVersion,
        Created = each.Created,
        Changed = each.Changed,
    });

    private static void CopyChangeable(CaseRecord record, CaseRow row)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(record.Title);
        row.Title = record.Title;
        row.ProjectionId = record.ProjectionId;
        row.GivenRowSpacingMm = record.GivenSpacing?.RowSpacingMm;
        row.GivenColumnSpacingMm = record.GivenSpacing?.ColumnSpacingMm;
        CopyMeasured(record, row);
        row.PatientKey = record.PatientKey;
        row.PatientLabel = record.PatientLabel;
        row.ExaminationKey = record.ExaminationKey;
        row.SeriesUid = record.SeriesUid;
        row.SopInstanceUid = record.SopInstanceUid;
        row.AccessionKey = record.AccessionKey;
        row.AcquiredAt = record.AcquiredAt;
        row.Modality = record.Modality;
        row.Laterality = record.Laterality;
        row.IsDeidentified = record.IsDeidentified;
    }

    /// <summary>Takes over what measuring gives: header, measurements, verdict, what a first measuring found of privacy.</summary>
    /// <param name="record">The case with what was measured.</param>
    /// <param name="row">The case as it is kept, with its documents.</param>
    internal static void CopyMeasured(CaseRecord record, CaseRow row)
    {
        row.Documents!.ExposureRecordJson = record.ExposureRecordJson;
        row.Documents.MeasurementsJson = record.MeasurementsJson;
        row.Documents.DeidentificationReportJson = record.DeidentificationReportJson;
        row.MeasuredBy = record.MeasuredBy;
        row.MeasuredWith = record.MeasuredWith;
        row.Verdict = record.Verdict;
    }

    private static async Task<CaseRow> LoadAsync(RecordContext context, Guid id, int version, CancellationToken cancellation)
    {
        CaseRow row = await context.Cases.Include(each => each.Documents).SingleOrDefaultAsync(each => each.Id == id && each.Deleted == null, cancellation)
            ?? throw new CaseGoneException(id);
        return row.Version == version ? row : throw new CaseChangedException(id);
    }

    /// <summary>The case as it is kept.</summary>
    /// <param name="context">Where its history is read.</param>
    /// <param name="row">Its row, with its documents.</param>
    /// <param name="cancellation">Stops the reading.</param>
    internal static async Task<CaseRecord> ToRecordAsync(RecordContext context, CaseRow row, CancellationToken cancellation)
    {
        Dictionary<int, string> labels = row.LastAnswerStep == 0
            ? []
            : await context.AnswerSteps.AsNoTracking()
                .Where(each => each.CaseId == row.Id && (each.Step == row.AnswerStep || each.Step == row.AnswerStep + 1))
                .ToDictionaryAsync(each => each.Step, each => each.Label, cancellation);
        return new CaseRecord
        {
            Id = row.Id,
            Title = row.Title,
            FileName = row.FileName,
            ContentHash = row.ContentHash,
            ContentBytes = row.ContentBytes,
            ProjectionId = row.ProjectionId,
            GivenSpacing = row is { GivenRowSpacingMm: { } rowSpacing, GivenColumnSpacingMm: { } columnSpacing }
                ? new PixelSpacing(rowSpacingMm: rowSpacing, columnSpacingMm: columnSpacing)
                : null,
            ExposureRecordJson = row.Documents!.ExposureRecordJson,
            MeasurementsJson = row.Documents.MeasurementsJson,
            MeasuredBy = row.MeasuredBy,
            MeasuredWith = row.MeasuredWith,
            AnswersJson = row.Documents.AnswersJson,
            Verdict = row.Verdict,
            AnswerStep = row.AnswerStep,
            LastAnswerStep = row.LastAnswerStep,
            UndoLabel = row.AnswerStep > 0 ? labels.GetValueOrDefault(row.AnswerStep) : null,
            RedoLabel = row.AnswerStep < row.LastAnswerStep ? labels.GetValueOrDefault(row.AnswerStep + 1) : null,
            Version = row.Version,
            IsInvented = row.IsInvented,
            FileCarriesPatientIdentity = row.FileCarriesPatientIdentity,
            ReceivedBy = row.ReceivedBy,
            PatientKey = row.PatientKey,
            PatientLabel = row.PatientLabel,
            ExaminationKey = row.ExaminationKey,
            SeriesUid = row.SeriesUid,
            SopInstanceUid = row.SopInstanceUid,
            AccessionKey = row.AccessionKey,
            AcquiredAt = row.AcquiredAt,
            Modality = row.Modality,
            Laterality = row.Laterality,
            IsDeidentified = row.IsDeidentified,
            DeidentificationReportJson = row.Documents.DeidentificationReportJson,
            AssigneeId = row.AssigneeId,
            State = row.State,
            Priority = row.Priority,
            Tags = row.Tags,
            ReadingSeconds = row.ReadingSeconds,
            FilingVersion = row.FilingVersion,
            Created = row.Created,
            Changed = row.Changed,
        };
    }

    private async Task<CaseRecord> SaveAsync(RecordContext context, CaseRow row, CancellationToken cancellation)
    {
        int startedFrom = row.Version++;
        row.Changed = clock.GetUtcNow();
        Derive(row);
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            throw new CaseChangedException(row.Id);
        }
        catch (DbUpdateException)
        {
            // Of two writers at once the later may meet the earlier's step before it meets its version.
            await using RecordContext fresh = open();
            if (await fresh.Cases.AnyAsync(each => each.Id == row.Id && each.Version != startedFrom, cancellation))
            {
                throw new CaseChangedException(row.Id);
            }

            throw;
        }

        news?.Tell(row.Id, CaseEvent.Changed, row.Version);
        return await ToRecordAsync(context, row, cancellation);
    }
}
