using System.Linq.Expressions;
using Hotlight.Workflows.Teaching;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store;

/// <summary>Keeps lessons in a database through EF Core; every call opens a context of its own.</summary>
public sealed class LessonStore : ILessonStore
{
    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;

    /// <summary>Creates the store.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time.</param>
    public LessonStore(Func<RecordContext> open, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
    }

    /// <inheritdoc/>
    public async Task<Lesson> AddAsync(Lesson lesson, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        Check(lesson);
        if (lesson.Version != 1)
        {
            throw new ArgumentException("A new lesson has version 1.", nameof(lesson));
        }

        await using RecordContext context = open();
        var row = new LessonRow
        {
            Id = lesson.Id,
            Kind = lesson.Kind,
            CaseId = lesson.CaseId,
            OwnerId = lesson.OwnerId,
            OwnerPseudonym = lesson.OwnerPseudonym,
            IsInvented = lesson.IsInvented,
            Title = lesson.Title,
            Key = lesson.Key,
            BodyJson = lesson.BodyJson,
            Version = 1,
            Begun = lesson.Begun,
            Changed = lesson.Changed,
            Ended = lesson.Ended,
        };
        context.Set<LessonRow>().Add(row);
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateException)
        {
            await RefuseAsync(lesson, cancellation);
            throw;
        }

        return ToLesson(row);
    }

    /// <inheritdoc/>
    public Task<Lesson?> FindAsync(Guid id, CancellationToken cancellation = default) => OneAsync(each => each.Id == id, cancellation);

    /// <inheritdoc/>
    public Task<Lesson?> FindAsync(LessonKind kind, string key, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(key);
        return OneAsync(each => each.Kind == kind && each.Key == key, cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<Lesson>> ListAsync(LessonQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        IQueryable<LessonRow> rows = context.Set<LessonRow>().AsNoTracking();
        if (query.Kind is { } kind)
        {
            rows = rows.Where(each => each.Kind == kind);
        }

        if (query.CaseId is { } caseId)
        {
            rows = rows.Where(each => each.CaseId == caseId);
        }

        if (query.OwnerId is { } owner)
        {
            rows = rows.Where(each => each.OwnerId == owner);
        }

        if (query.IsEnded is { } isEnded)
        {
            rows = rows.Where(each => each.Ended != null == isEnded);
        }

        List<LessonRow> found = await rows.OrderByDescending(each => each.Changed).ThenBy(each => each.Id).ToListAsync(cancellation);
        return [.. found.Select(ToLesson)];
    }

    /// <inheritdoc/>
    public async Task<Lesson> KeepAsync(Lesson lesson, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        Check(lesson);
        await using RecordContext context = open();
        LessonRow row = await context.Set<LessonRow>().SingleOrDefaultAsync(each => each.Id == lesson.Id, cancellation) ?? throw Gone();
        if (row.Version != lesson.Version)
        {
            throw new LessonChangedException(ToLesson(row));
        }

        (row.Title, row.Key, row.BodyJson, row.Ended) = (lesson.Title, lesson.Key, lesson.BodyJson, lesson.Ended);
        row.Changed = clock.GetUtcNow();
        row.Version++;
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            throw new LessonChangedException(await FindAsync(lesson.Id, cancellation) ?? throw Gone());
        }
        catch (DbUpdateException)
        {
            await RefuseAsync(lesson, cancellation);
            throw;
        }

        return ToLesson(row);
    }

    /// <inheritdoc/>
    public async Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<LessonRow>().Where(each => each.Id == id).ExecuteDeleteAsync(cancellation) > 0;
    }

    private static void Check(Lesson lesson)
    {
        if (lesson.Title.Length is 0 or > Lesson.TitleMaxLength)
        {
            throw new LessonRefusedException($"A title has 1 to {Lesson.TitleMaxLength} characters.");
        }

        ArgumentOutOfRangeException.ThrowIfGreaterThan(lesson.Key?.Length ?? 0, Lesson.KeyMaxLength);
    }

    private static LessonRefusedException Gone() => new("This is no longer there: somebody has removed it.");

    private static Lesson ToLesson(LessonRow row) => new()
    {
        Id = row.Id,
        Kind = row.Kind,
        CaseId = row.CaseId,
        OwnerId = row.OwnerId,
        OwnerPseudonym = row.OwnerPseudonym,
        IsInvented = row.IsInvented,
        Title = row.Title,
        Key = row.Key,
        BodyJson = row.BodyJson,
        Version = row.Version,
        Begun = row.Begun,
        Changed = row.Changed,
        Ended = row.Ended,
    };

    private async Task<Lesson?> OneAsync(Expression<Func<LessonRow, bool>> which, CancellationToken cancellation)
    {
        await using RecordContext context = open();
        LessonRow? row = await context.Set<LessonRow>().AsNoTracking().SingleOrDefaultAsync(which, cancellation);
        return row is null ? null : ToLesson(row);
    }

    /// <summary>Says why the database refused a lesson, where that is a reader's matter.</summary>
    private async Task RefuseAsync(Lesson lesson, CancellationToken cancellation)
    {
        await using RecordContext context = open();
        if (lesson.Key is { } key && await context.Set<LessonRow>().AnyAsync(each => each.Kind == lesson.Kind && each.Key == key && each.Id != lesson.Id, cancellation))
        {
            throw new LessonRefusedException("There is one of this kind with the same key already.");
        }

        if (lesson.CaseId is { } caseId && !await context.Cases.AnyAsync(each => each.Id == caseId, cancellation))
        {
            throw new LessonRefusedException("Its case is no longer there.");
        }
    }
}
