using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store;

/// <summary>Keeps readings, discussions and sign-offs in a database through EF Core; every call opens a context of its own.</summary>
public sealed class ReadingStore : IReadingStore
{
    // Above that many keys in one question, databases refuse it.
    private const int KeysAtOnce = 500;

    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;

    /// <summary>Creates the store.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time.</param>
    public ReadingStore(Func<RecordContext> open, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
    }

    /// <inheritdoc/>
    public async Task<OwnReading> AddAsync(OwnReading reading, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(reading);
        if (reading.AnswerStep != 0 || reading.IsFinished)
        {
            throw new ArgumentException("A new reading has no history of answers.", nameof(reading));
        }

        await using RecordContext context = open();
        var row = new ReadingRow
        {
            Id = reading.Id,
            CaseId = reading.CaseId,
            CaseTitle = reading.CaseTitle,
            ProjectionId = reading.ProjectionId,
            ReaderId = reading.Reader.Id,
            ReaderPseudonym = reading.Reader.Pseudonym,
            ReaderRole = reading.Reader.Role,
            IsInvented = reading.Reader.IsInvented,
            Number = reading.Number,
            Condition = reading.Condition,
            AnswersJson = reading.AnswersJson,
            Version = 1,
            Begun = reading.Begun,
            Changed = reading.Changed,
        };
        context.Set<ReadingRow>().Add(row);
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateException)
        {
            // Of two windows that begin at once the later one goes on with the earlier one's.
            await using RecordContext fresh = open();
            ReadingRow? kept = await fresh.Set<ReadingRow>().AsNoTracking().SingleOrDefaultAsync(each => each.CaseId == reading.CaseId && each.ReaderId == reading.Reader.Id && each.Number == reading.Number, cancellation);
            if (kept is null)
            {
                throw;
            }

            return await ToReadingAsync(fresh, kept, cancellation);
        }

        return await ToReadingAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading?> FindAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        ReadingRow? row = await context.Set<ReadingRow>().AsNoTracking().SingleOrDefaultAsync(each => each.Id == id, cancellation);
        return row is null ? null : await ToReadingAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<OwnReading>> ListAsync(ReadingQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        IQueryable<ReadingRow> rows = context.Set<ReadingRow>().AsNoTracking();
        if (query.IsFinished is { } isFinished)
        {
            rows = rows.Where(each => each.Finished != null == isFinished);
        }

        if (query.From is { } from)
        {
            rows = rows.Where(each => each.Finished >= from);
        }

        if (query.Before is { } before)
        {
            rows = rows.Where(each => each.Finished < before);
        }

        if (query.ReaderIds is { } readers)
        {
            List<Guid> wanted = [.. readers];
            rows = rows.Where(each => wanted.Contains(each.ReaderId));
        }

        var found = new List<ReadingRow>();
        if (query.CaseIds is { } cases)
        {
            foreach (Guid[] some in cases.Distinct().Chunk(KeysAtOnce))
            {
                List<Guid> wanted = [.. some];
                found.AddRange(await rows.Where(each => wanted.Contains(each.CaseId)).ToListAsync(cancellation));
            }
        }
        else
        {
            found.AddRange(await rows.ToListAsync(cancellation));
        }

        // Labels of undo and redo belong to the page of one reading, not to a list.
        return [.. found.OrderBy(each => each.Begun).ThenBy(each => each.Id).Select(each => ToReading(each, []))];
    }

    /// <inheritdoc/>
    public async Task<OwnReading> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(step);
        await using RecordContext context = open();
        ReadingRow row = await LoadAsync(context, id, version, cancellation);
        List<ReadingStepRow> later = await context.Set<ReadingStepRow>().Where(each => each.ReadingId == id && each.Step >= row.AnswerStep).OrderBy(each => each.Step).ToListAsync(cancellation);
        AnswerHistory.Keep(context, row, later, step, clock.GetUtcNow(), _ => true, () => new ReadingStepRow { ReadingId = id, AnswersJson = step.AnswersJson, Label = step.Label });
        row.AnswersJson = step.AnswersJson;
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        ReadingRow row = await LoadAsync(context, id, version, cancellation);
        if (AnswerHistory.Target(row, direction) is not { } target)
        {
            return await ToReadingAsync(context, row, cancellation);
        }

        ReadingStepRow? step = await context.Set<ReadingStepRow>().AsNoTracking().SingleOrDefaultAsync(each => each.ReadingId == id && each.Step == target, cancellation);
        row.AnswerStep = target;
        row.AnswersJson = step?.AnswersJson ?? "{}";
        row.Verdict = step?.Verdict;
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading> KeepVerdictAsync(Guid id, int version, string? verdict, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        ReadingRow row = await LoadAsync(context, id, version, cancellation);
        row.Verdict = verdict;
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        Guid? reader = await context.Set<ReadingRow>().Where(each => each.Id == id).Select(each => (Guid?)each.ReaderId).SingleOrDefaultAsync(cancellation);
        List<ReadingStepRow> rows = await context.Set<ReadingStepRow>().AsNoTracking().Where(each => each.ReadingId == id).OrderBy(each => each.Step).ToListAsync(cancellation);
        return [.. rows.Select(each => new GivenStep(each.Step, each.Label, each.Verdict, each.Given, reader))];
    }

    /// <inheritdoc/>
    public async Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(seconds);
        await using RecordContext context = open();
        await context.Set<ReadingRow>().Where(each => each.Id == id && each.Finished == null)
            .ExecuteUpdateAsync(update => update.SetProperty(each => each.ReadingSeconds, each => each.ReadingSeconds + seconds), cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading> FinishAsync(Guid id, int version, string caseTitle, ReadingResult result, DateTimeOffset? at = null, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(caseTitle);
        ArgumentNullException.ThrowIfNull(result);
        await using RecordContext context = open();
        ReadingRow row = await LoadAsync(context, id, version, cancellation);
        row.CaseTitle = caseTitle;
        row.ProjectionId = result.ProjectionId;
        row.ResultJson = result.Write();
        row.Finished = at ?? clock.GetUtcNow();
        return await SaveAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<ReadingRow>().Where(each => each.Id == id && each.Finished == null).ExecuteDeleteAsync(cancellation) == 1;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<ReadCase>> CasesAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ids);
        await using RecordContext context = open();
        var found = new List<ReadCase>();
        foreach (Guid[] some in ids.Distinct().Chunk(KeysAtOnce))
        {
            List<Guid> wanted = [.. some];
            found.AddRange(await context.Cases.AsNoTracking().Where(each => each.Deleted == null && wanted.Contains(each.Id))
                .Select(each => new ReadCase(each.Id, each.Title, each.ProjectionId, each.Tags, each.IsInvented, each.State, each.Version)).ToListAsync(cancellation));
        }

        return found;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<BlindCall>> CallsAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<BlindCallRow> rows = await context.Set<BlindCallRow>().AsNoTracking().ToListAsync(cancellation);
        return [.. rows.OrderBy(each => each.Called).Select(each => new BlindCall(each.CaseId, each.Called, each.CalledBy))];
    }

    /// <inheritdoc/>
    public async Task CallAsync(BlindCall call, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(call);
        await using RecordContext context = open();
        if (await context.Set<BlindCallRow>().AnyAsync(each => each.CaseId == call.CaseId, cancellation))
        {
            return;
        }

        context.Add(new BlindCallRow { CaseId = call.CaseId, Called = call.Called, CalledBy = call.CalledBy });
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateException)
        {
            // Another window called it at the same moment: then it is called.
            await using RecordContext fresh = open();
            if (!await fresh.Set<BlindCallRow>().AnyAsync(each => each.CaseId == call.CaseId, cancellation))
            {
                throw;
            }
        }
    }

    /// <inheritdoc/>
    public async Task<bool> EndCallAsync(Guid caseId, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<BlindCallRow>().Where(each => each.CaseId == caseId).ExecuteDeleteAsync(cancellation) == 1;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<CaseRemark>> RemarksAsync(Guid caseId, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<RemarkRow> rows = await context.Set<RemarkRow>().AsNoTracking().Where(each => each.CaseId == caseId).OrderBy(each => each.Written).ToListAsync(cancellation);
        return [.. rows.Select(ToRemark)];
    }

    /// <inheritdoc/>
    public async Task AddRemarkAsync(CaseRemark remark, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(remark);
        await using RecordContext context = open();
        context.Add(new RemarkRow
        {
            Id = remark.Id,
            CaseId = remark.CaseId,
            LineId = remark.LineId,
            AuthorId = remark.Author.Id,
            AuthorPseudonym = remark.Author.Pseudonym,
            AuthorRole = remark.Author.Role,
            IsInvented = remark.Author.IsInvented,
            Text = remark.Text,
            Written = remark.Written,
            Version = 1,
        });
        await context.SaveChangesAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<CaseRemark> EditRemarkAsync(Guid id, Guid authorId, int version, string text, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(text);
        await using RecordContext context = open();
        RemarkRow row = await context.Set<RemarkRow>().SingleOrDefaultAsync(each => each.Id == id, cancellation) ?? throw new ReadingRefusedException("This remark is gone with its case.");
        if (row.AuthorId != authorId)
        {
            throw new ReadingRefusedException($"This is {row.AuthorPseudonym}'s remark: only {row.AuthorPseudonym} changes it.");
        }

        if (row.Version != version)
        {
            throw new ReadingRefusedException("This remark was changed in another window; nothing was overwritten, and the newer text is shown now.");
        }

        row.Text = text;
        row.Edited = clock.GetUtcNow();
        row.Version++;
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            throw new ReadingRefusedException("This remark was changed in another window; nothing was overwritten, and the newer text is shown now.");
        }

        return ToRemark(row);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<SignOff>> SignOffsAsync(Guid? learnerId, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<SignOffRow> rows = await context.Set<SignOffRow>().AsNoTracking().Where(each => learnerId == null || each.LearnerId == learnerId).OrderByDescending(each => each.Signed).ToListAsync(cancellation);
        return [.. rows.Select(ToSignOff)];
    }

    /// <inheritdoc/>
    public async Task AddSignOffAsync(SignOff signOff, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(signOff);
        await using RecordContext context = open();
        context.Add(new SignOffRow
        {
            Id = signOff.Id,
            LearnerId = signOff.Learner.Id,
            LearnerPseudonym = signOff.Learner.Pseudonym,
            LearnerRole = signOff.Learner.Role,
            SupervisorId = signOff.Supervisor.Id,
            SupervisorPseudonym = signOff.Supervisor.Pseudonym,
            SupervisorRole = signOff.Supervisor.Role,
            IsInvented = signOff.Learner.IsInvented,
            RequirementId = signOff.RequirementId,
            Requirement = signOff.Requirement,
            Stood = signOff.Stood,
            Signed = signOff.Signed,
        });
        await context.SaveChangesAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<SignOff> WithdrawAsync(Guid id, string by, string reason, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(by);
        ArgumentException.ThrowIfNullOrWhiteSpace(reason);
        await using RecordContext context = open();
        SignOffRow row = await context.Set<SignOffRow>().SingleOrDefaultAsync(each => each.Id == id, cancellation) ?? throw new ReadingRefusedException("This sign-off is not kept.");
        if (row.Withdrawn is not null)
        {
            throw new ReadingRefusedException("This sign-off was taken back already.");
        }

        row.Withdrawn = clock.GetUtcNow();
        row.WithdrawnBy = by;
        row.WithdrawnReason = reason;
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            throw new ReadingRefusedException("This sign-off was taken back already.");
        }

        return ToSignOff(row);
    }

    private static async Task<ReadingRow> LoadAsync(RecordContext context, Guid id, int version, CancellationToken cancellation)
    {
        ReadingRow row = await context.Set<ReadingRow>().SingleOrDefaultAsync(each => each.Id == id, cancellation) ?? throw new CaseGoneException(id);
        if (row.Finished is not null)
        {
            throw new ReadingRefusedException("This reading is finished: its answers stay as they were. Begin another reading to answer anew.");
        }

        return row.Version == version ? row : throw new CaseChangedException(id);
    }

    private static async Task<OwnReading> ToReadingAsync(RecordContext context, ReadingRow row, CancellationToken cancellation)
    {
        Dictionary<int, string> labels = row.LastAnswerStep == 0
            ? []
            : await context.Set<ReadingStepRow>().AsNoTracking().Where(each => each.ReadingId == row.Id && (each.Step == row.AnswerStep || each.Step == row.AnswerStep + 1))
                .ToDictionaryAsync(each => each.Step, each => each.Label, cancellation);
        return ToReading(row, labels);
    }

    private static OwnReading ToReading(ReadingRow row, Dictionary<int, string> labels) => new()
    {
        Id = row.Id,
        CaseId = row.CaseId,
        CaseTitle = row.CaseTitle,
        ProjectionId = row.ProjectionId,
        Reader = new CaseReader(row.ReaderId, row.ReaderPseudonym, row.ReaderRole, row.IsInvented),
        Number = row.Number,
        Condition = row.Condition,
        AnswersJson = row.AnswersJson,
        Verdict = row.Verdict,
        AnswerStep = row.AnswerStep,
        LastAnswerStep = row.LastAnswerStep,
        UndoLabel = row.AnswerStep > 0 ? labels.GetValueOrDefault(row.AnswerStep) : null,
        RedoLabel = row.AnswerStep < row.LastAnswerStep ? labels.GetValueOrDefault(row.AnswerStep + 1) : null,
        Version = row.Version,
        ReadingSeconds = row.ReadingSeconds,
        Begun = row.Begun,
        Changed = row.Changed,
        Finished = row.Finished,
        ResultJson = row.ResultJson,
    };

    private static CaseRemark ToRemark(RemarkRow row) => new()
    {
        Id = row.Id,
        CaseId = row.CaseId,
        LineId = row.LineId,
        Author = new CaseReader(row.AuthorId, row.AuthorPseudonym, row.AuthorRole, row.IsInvented),
        Text = row.Text,
        Written = row.Written,
        Edited = row.Edited,
        Version = row.Version,
    };

    private static SignOff ToSignOff(SignOffRow row) => new()
    {
        Id = row.Id,
        Learner = new CaseReader(row.LearnerId, row.LearnerPseudonym, row.LearnerRole, row.IsInvented),
        Supervisor = new CaseReader(row.SupervisorId, row.SupervisorPseudonym, row.SupervisorRole, row.IsInvented),
        RequirementId = row.RequirementId,
        Requirement = row.Requirement,
        Stood = row.Stood,
        Signed = row.Signed,
        Withdrawn = row.Withdrawn,
        WithdrawnBy = row.WithdrawnBy,
        WithdrawnReason = row.WithdrawnReason,
    };

    private async Task<OwnReading> SaveAsync(RecordContext context, ReadingRow row, CancellationToken cancellation)
    {
        int startedFrom = row.Version++;
        row.Changed = clock.GetUtcNow();
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
            if (await fresh.Set<ReadingRow>().AnyAsync(each => each.Id == row.Id && each.Version != startedFrom, cancellation))
            {
                throw new CaseChangedException(row.Id);
            }

            throw;
        }

        return await ToReadingAsync(context, row, cancellation);
    }
}
