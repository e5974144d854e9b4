using System.Runtime.CompilerServices;
using Hotlight.Audit;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace Hotlight.Store;

/// <summary>Keeps the audit trail in a database through EF Core.</summary>
/// <param name="open">Opens a context of the provider.</param>
public sealed class AuditStore(Func<RecordContext> open) : IAuditStore
{
    /// <inheritdoc/>
    public async Task<AuditEntry> AppendAsync(ReadOnlyMemory<byte> key, IReadOnlyList<(AuditEvent Event, AuditActor By, DateTimeOffset At)> told, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(told);
        ArgumentOutOfRangeException.ThrowIfZero(told.Count);
        await using RecordContext context = open();
        await using IDbContextTransaction alone = await context.Database.BeginTransactionAsync(cancellation);
        await context.HoldTrailAsync(cancellation);
        (long Number, string Seal)? last = await LastAsync(context, cancellation);
        IReadOnlyList<AuditEntry> entries = AuditSeal.Continue(key.Span, last, told);
        context.AddRange(entries.Select(ToRow));
        await context.SaveChangesAsync(cancellation);
        await alone.CommitAsync(cancellation);
        return entries[^1];
    }

    /// <inheritdoc/>
    public async IAsyncEnumerable<AuditEntry> ReadAsync(AuditQuery query, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        IQueryable<AuditRow> rows = context.Set<AuditRow>().AsNoTracking();
        if (query.Number is { } number)
        {
            rows = rows.Where(each => each.Number == number);
        }

        if (query.Below is { } below)
        {
            rows = rows.Where(each => each.Number < below);
        }

        if (query.From is { } from)
        {
            rows = rows.Where(each => each.At >= from);
        }

        if (query.Before is { } before)
        {
            rows = rows.Where(each => each.At < before);
        }

        if (query.Subject is { } subject)
        {
            rows = rows.Where(each => each.Subject == subject);
        }

        if (query.SubjectId is { } subjectId)
        {
            rows = rows.Where(each => each.SubjectId == subjectId);
        }

        if (query.By is { } by)
        {
            rows = rows.Where(each => each.By == by);
        }

        if (query.Acts is { } acts)
        {
            AuditAct[] asked = [.. acts];
            rows = rows.Where(each => asked.Contains(each.Act));
        }

        if (query.Newest is { } most)
        {
            // So few that they are held: the newest first in the database, in order for the reader.
            List<AuditRow> newest = await rows.OrderByDescending(each => each.Number).Take(most).ToListAsync(cancellation);
            foreach (AuditRow row in Enumerable.Reverse(newest))
            {
                yield return ToEntry(row);
            }

            yield break;
        }

        await foreach (AuditRow row in rows.OrderBy(each => each.Number).AsAsyncEnumerable().WithCancellation(cancellation))
        {
            yield return ToEntry(row);
        }
    }

    /// <inheritdoc/>
    public async Task<(long Removed, AuditEntry? Entry)> RetainAsync(ReadOnlyMemory<byte> key, DateTimeOffset before, DateTimeOffset now, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        await using IDbContextTransaction alone = await context.Database.BeginTransactionAsync(cancellation);
        await context.HoldTrailAsync(cancellation);

        // By number and not by time: clocks jump, and what is removed is always the beginning of the trail.
        long? firstKept = await context.Set<AuditRow>().Where(each => each.At >= before).MinAsync(each => (long?)each.Number, cancellation);
        long newest = await context.Set<AuditRow>().MaxAsync(each => (long?)each.Number, cancellation) ?? 0;
        long upTo = (firstKept ?? newest) - 1;
        AuditRow? removedLast = await context.Set<AuditRow>().AsNoTracking().SingleOrDefaultAsync(each => each.Number == upTo, cancellation);
        if (removedLast is null)
        {
            return (0, null);
        }

        var said = new AuditEvent(AuditAct.Retained, AuditSubject.Trail, detail: AuditCheck.RetentionDetail(removedLast.Number, removedLast.Seal));
        (long Number, string Seal)? newestNow = await LastAsync(context, cancellation);
        AuditEntry entry = AuditSeal.Continue(key.Span, newestNow, [(said, AuditActor.Current, now)])[0];
        context.Add(ToRow(entry));
        AuditRetentionRow? allowed = await context.Set<AuditRetentionRow>().SingleOrDefaultAsync(cancellation);
        if (allowed is null)
        {
            context.Add(new AuditRetentionRow { Id = 1, UpTo = upTo });
        }
        else
        {
            allowed.UpTo = upTo;
        }

        await context.SaveChangesAsync(cancellation);
        long removed = await context.Set<AuditRow>().Where(each => each.Number <= upTo).ExecuteDeleteAsync(cancellation);
        await alone.CommitAsync(cancellation);
        return (removed, entry);
    }

    private static async Task<(long Number, string Seal)?> LastAsync(RecordContext context, CancellationToken cancellation)
    {
        AuditRow? last = await context.Set<AuditRow>().AsNoTracking().OrderByDescending(each => each.Number).FirstOrDefaultAsync(cancellation);
        return last is null ? null : (last.Number, last.Seal);
    }

    private static AuditRow ToRow(AuditEntry entry) => new()
    {
        Number = entry.Number,
        At = entry.At,
        By = entry.By.Name,
        ById = entry.By.Id,
        Role = entry.By.Role,
        Address = entry.By.Address,
        Act = entry.Act,
        Subject = entry.Subject,
        SubjectId = entry.SubjectId,
        Detail = entry.Detail,
        IsFailure = entry.IsFailure,
        Previous = entry.Previous,
        Seal = entry.Seal,
    };

    private static AuditEntry ToEntry(AuditRow row) => new()
    {
        Number = row.Number,
        At = row.At,
        By = new AuditActor(row.By, row.ById, row.Role, row.Address),
        Act = row.Act,
        Subject = row.Subject,
        SubjectId = row.SubjectId,
        Detail = row.Detail,
        IsFailure = row.IsFailure,
        Previous = row.Previous,
        Seal = row.Seal,
    };
}
