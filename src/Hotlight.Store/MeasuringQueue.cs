using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Measuring;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace Hotlight.Store;

/// <summary>The measuring queue in the database of the records.</summary>
/// <remarks>
/// <para>Locks are taken in one order, the case's row before the job's, so that no two writers wait for each other in a circle.</para>
/// <para>A row goes when its result is kept, so the table is as long as what is left to do.</para>
/// </remarks>
public sealed class MeasuringQueue : IMeasuringQueue
{
    private const string Table = "\"MeasuringJobs\"";

    // The longest a lease or a pause reaches.
    private static readonly TimeSpan LongestWait = MeasuringJob.PauseAfter(MeasuringJob.MostAttempts);

    // The place in the worklist (RecordStore.Derive: -7.54e18 to 1.54e18), halved so that a case that was never measured fits above all others.
    private const string PlaceOfCase = "c.\"ListOrder\" / 2 + CASE WHEN c.\"MeasuredBy\" = '' THEN 4600000000000000000 ELSE 0 END";

    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;
    private readonly CaseNews? news;

    /// <summary>Creates the queue.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time; leases go by it.</param>
    /// <param name="news">Told of every change once it is kept; null: nobody is.</param>
    public MeasuringQueue(Func<RecordContext> open, TimeProvider clock, CaseNews? news = null)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
        this.news = news;
    }

    /// <inheritdoc/>
    public async Task<int> AskAsync(MeasuringTarget target, IReadOnlyList<Guid>? caseIds = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(target);
        int asked = 0;
        if (caseIds is null)
        {
            asked = await AskAsync(target, string.Empty, [], cancellation);
        }
        else
        {
            foreach (Guid each in caseIds)
            {
                asked += await AskAsync(target, "AND c.\"Id\" = {4}", [each], cancellation);
            }
        }

        Told(asked > 0);
        return asked;
    }

    /// <inheritdoc/>
    public async Task<MeasuringJob?> TakeAsync(MeasuringTarget target, string worker, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(target);
        ArgumentException.ThrowIfNullOrWhiteSpace(worker);
        await using RecordContext context = open();
        DateTimeOffset now = clock.GetUtcNow();
        await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);

        // Nothing of it is from outside: what is comes as a parameter.
        // What falls due later than any lease or pause reaches was written before the clock was put back: it is free now, and its lease, if anybody still holds it, is lost.
        string take =
            $$"""
            UPDATE {{Table}} SET "State" = 1, "Lease" = {0}, "Due" = {1}, "Worker" = {2}, "Attempts" = "Attempts" + 1
            WHERE "CaseId" = (
              SELECT j."CaseId" FROM {{Table}} j
              WHERE j."State" < 2 AND (j."Due" <= {5} OR j."Due" > {6}) AND j."MeasureBy" = {3} AND j."MeasureWith" = {4} AND EXISTS (SELECT 1 FROM "Cases" c WHERE c."Id" = j."CaseId" AND c."Deleted" IS NULL)
              ORDER BY j."Place" DESC NULLS LAST, j."CaseId" DESC NULLS LAST LIMIT 1 {{context.SkipWhatOthersHold}})
            RETURNING *
            """;
        MeasuringJob? job = null;
        bool isChanged = false;
        while (job is null)
        {
            List<MeasuringJobRow> taken = await context.MeasuringJobs.FromSqlRaw(
                take,
                Guid.NewGuid(),
                (now + MeasuringJob.LeaseTime).UtcTicks,
                worker.Length <= MeasuringModel.WorkerMaxLength ? worker : worker[..MeasuringModel.WorkerMaxLength],
                target.MeasuredBy,
                target.MeasuredWith,
                now.UtcTicks,
                (now + LongestWait).UtcTicks).AsNoTracking().ToListAsync(cancellation);
            if (taken is not [{ Lease: { } lease } row])
            {
                break;
            }

            isChanged = true;
            job = new MeasuringJob(row.CaseId, lease, row.Attempts);
            if (job.Attempt > MeasuringJob.MostAttempts)
            {
                // A file that brings every worker down with it is not handed on for ever.
                string reason = $"Measuring did not come to an end in {MeasuringJob.MostAttempts} attempts: the program that measured ended each time.";
                await Held(context, job).ExecuteUpdateAsync(
                    update => update.SetProperty(each => each.State, QueuedState.GivenUp).SetProperty(each => each.Attempts, MeasuringJob.MostAttempts).SetProperty(each => each.Lease, (Guid?)null)
                        .SetProperty(each => each.Reason, reason),
                    cancellation);
                job = null;
            }
        }

        await transaction.CommitAsync(cancellation);
        Told(isChanged);
        return job;
    }

    /// <inheritdoc/>
    public async Task<bool> ExtendAsync(MeasuringJob job, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        DateTimeOffset ends = clock.GetUtcNow() + MeasuringJob.LeaseTime;
        return await Held(context, job).ExecuteUpdateAsync(update => update.SetProperty(each => each.Due, ends), cancellation) == 1;
    }

    /// <inheritdoc/>
    public async Task<CaseRecord?> KeepAsync(MeasuringJob job, CaseRecord measured, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(job);
        ArgumentNullException.ThrowIfNull(measured);
        await using RecordContext context = open();
        await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);
        CaseRow row = await context.CasesToChange([job.CaseId]).Where(each => each.Deleted == null).Include(each => each.Documents).SingleOrDefaultAsync(cancellation)
            ?? throw new CaseGoneException(job.CaseId);
        if (await Held(context, job).ExecuteDeleteAsync(cancellation) != 1)
        {
            return null;
        }

        if (row.Version != measured.Version)
        {
            throw new CaseChangedException(job.CaseId);
        }

        bool isNews = row.Verdict != measured.Verdict || row.Documents!.ExposureRecordJson != measured.ExposureRecordJson;
        RecordStore.CopyMeasured(measured, row);
        row.Version++;
        if (isNews)
        {
            row.Changed = clock.GetUtcNow();
            RecordStore.Derive(row);
        }

        await context.SaveChangesAsync(cancellation);
        await transaction.CommitAsync(cancellation);
        news?.Tell(row.Id, CaseEvent.Changed, row.Version);
        Told(true);
        return await RecordStore.ToRecordAsync(context, row, cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> DropAsync(MeasuringJob job, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return Told(await Held(context, job).ExecuteDeleteAsync(cancellation) == 1);
    }

    /// <inheritdoc/>
    public async Task<bool> FailAsync(MeasuringJob job, string reason, bool isFinal = false, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(job);
        ArgumentException.ThrowIfNullOrWhiteSpace(reason);
        bool isLast = isFinal || job.Attempt >= MeasuringJob.MostAttempts;
        string cut = reason.Length <= MeasuringModel.ReasonMaxLength ? reason : reason[..(MeasuringModel.ReasonMaxLength - 1)] + "…";
        DateTimeOffset due = clock.GetUtcNow() + MeasuringJob.PauseAfter(job.Attempt);
        await using RecordContext context = open();
        return Told(await Held(context, job).ExecuteUpdateAsync(
            update => update.SetProperty(each => each.State, isLast ? QueuedState.GivenUp : QueuedState.Waiting).SetProperty(each => each.Due, due).SetProperty(each => each.Reason, cut)
                .SetProperty(each => each.Lease, (Guid?)null),
            cancellation) == 1);
    }

    /// <inheritdoc/>
    public async Task<bool> ReleaseAsync(MeasuringJob job, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        DateTimeOffset now = clock.GetUtcNow();
        return Told(await Held(context, job).ExecuteUpdateAsync(
            update => update.SetProperty(each => each.State, QueuedState.Waiting).SetProperty(each => each.Attempts, each => each.Attempts - 1).SetProperty(each => each.Lease, (Guid?)null).SetProperty(each => each.Due, now),
            cancellation) == 1);
    }

    /// <inheritdoc/>
    public async Task<MeasuringProgress> ProgressAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        Dictionary<QueuedState, int> counts = await Left(context).GroupBy(each => each.Job.State).Select(group => new { group.Key, Count = group.Count() }).ToDictionaryAsync(each => each.Key, each => each.Count, cancellation);
        return counts.Count == 0
            ? MeasuringProgress.None
            : new MeasuringProgress(
                counts.GetValueOrDefault(QueuedState.Waiting),
                counts.GetValueOrDefault(QueuedState.Running),
                counts.GetValueOrDefault(QueuedState.GivenUp),
                await context.Cases.CountAsync(each => each.Deleted == null, cancellation));
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<QueuedCase>> ListAsync(int take, CancellationToken cancellation = default)
    {
        Preconditions.AtLeastOne(take);
        await using RecordContext context = open();
        return await Left(context)
            .OrderBy(each => each.Job.State == QueuedState.Running ? 0 : each.Job.State == QueuedState.Waiting ? 1 : 2).ThenByDescending(each => each.Job.Place).ThenBy(each => each.Job.CaseId).Take(take)
            .Select(each => new QueuedCase(each.Job.CaseId, each.Title, each.Job.State, each.Job.Attempts, each.Job.Asked, each.Job.Due, each.Job.Worker, each.Job.Reason)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyDictionary<Guid, string>> ReasonsAsync(IReadOnlyList<Guid> caseIds, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(caseIds);
        await using RecordContext context = open();
        return await Left(context).Where(each => each.Job.State == QueuedState.GivenUp && caseIds.Contains(each.Job.CaseId))
            .ToDictionaryAsync(each => each.Job.CaseId, each => each.Job.Reason ?? string.Empty, cancellation);
    }

    /// <inheritdoc/>
    public async Task<int> AskAgainAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        DateTimeOffset now = clock.GetUtcNow();
        int again = await context.MeasuringJobs.Where(each => each.State == QueuedState.GivenUp)
            .ExecuteUpdateAsync(update => update.SetProperty(each => each.State, QueuedState.Waiting).SetProperty(each => each.Attempts, 0).SetProperty(each => each.Due, now), cancellation);
        Told(again > 0);
        return again;
    }

    private static IQueryable<MeasuringJobRow> Held(RecordContext context, MeasuringJob job)
    {
        ArgumentNullException.ThrowIfNull(job);
        return context.MeasuringJobs.Where(each => each.CaseId == job.CaseId && each.Lease == job.Lease && each.State == QueuedState.Running);
    }

    // A case that was opened meanwhile, and so was measured, is done although its row is still there.
    private static IQueryable<JobOfCase> Left(RecordContext context)
        => from job in context.MeasuringJobs.AsNoTracking()
           join row in context.Cases on job.CaseId equals row.Id
           where row.Deleted == null && (row.MeasuredBy != job.MeasureBy || row.MeasuredWith != job.MeasureWith)
           select new JobOfCase { Job = job, Title = row.Title };

    private async Task<int> AskAsync(MeasuringTarget target, string which, object[] parameters, CancellationToken cancellation)
    {
        await using RecordContext context = open();
        object[] all = [target.MeasuredBy, target.MeasuredWith, target.SettingsNumber, clock.GetUtcNow().UtcTicks, .. parameters];
        string ask =
            $$"""
            INSERT INTO {{Table}} ("CaseId", "MeasureBy", "MeasureWith", "SettingsNumber", "Place", "State", "Attempts", "Asked", "Due")
            SELECT c."Id", {0}, {1}, {2}, {{PlaceOfCase}}, 0, 0, {3}, {3} FROM "Cases" c
            WHERE (c."MeasuredBy" <> {0} OR c."MeasuredWith" <> {1}) {{which}} ORDER BY c."Id"
            ON CONFLICT ("CaseId") DO UPDATE SET "MeasureBy" = excluded."MeasureBy", "MeasureWith" = excluded."MeasureWith", "SettingsNumber" = excluded."SettingsNumber", "Place" = excluded."Place",
              "State" = 0, "Attempts" = 0, "Lease" = NULL, "Asked" = excluded."Asked", "Due" = excluded."Due", "Reason" = NULL
            WHERE {{Table}}."SettingsNumber" <= excluded."SettingsNumber" AND ({{Table}}."MeasureBy" <> excluded."MeasureBy" OR {{Table}}."MeasureWith" <> excluded."MeasureWith")
            """;
        string drop =
            $$"""
            DELETE FROM {{Table}} WHERE "SettingsNumber" <= {2} AND EXISTS (
              SELECT 1 FROM "Cases" c WHERE c."Id" = {{Table}}."CaseId" AND c."MeasuredBy" = {0} AND c."MeasuredWith" = {1} {{which}})
            """;
        await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);
        int asked = await context.Database.ExecuteSqlRawAsync(ask, all, cancellation);

        // What is measured so by now, such as before settings were changed back, needs nothing.
        await context.Database.ExecuteSqlRawAsync(drop, all, cancellation);
        await transaction.CommitAsync(cancellation);
        return asked;
    }

    private bool Told(bool isChanged)
    {
        if (isChanged)
        {
            news?.TellBeside(StoreTopic.Queue);
        }

        return isChanged;
    }

    private sealed class JobOfCase
    {
        public required MeasuringJobRow Job { get; init; }

        public required string Title { get; init; }
    }
}
