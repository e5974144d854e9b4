using System.Globalization;
using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace Hotlight.Store;

/// <summary>The worklist: picking, ordering, counting and filing many cases.</summary>
public sealed partial class RecordStore
{
    /// <summary>Most identifiers named in one statement.</summary>
    private const int AtOnce = 500;

    /// <inheritdoc/>
    public async Task<IReadOnlyList<CaseSummary>> ListAsync(WorklistQuery query, int skip, int take, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        ArgumentOutOfRangeException.ThrowIfNegative(skip);
        Preconditions.AtLeastOne(take);
        await using RecordContext context = open();

        // First which cases, from an index alone; then their rows: a page deep in the list reads no row that it passes over.
        List<Guid> ids = await Ordered(Picked(context, query), query).Select(each => each.Id).Skip(skip).Take(take).ToListAsync(cancellation);
        List<CaseSummary> found = [];
        foreach (Guid[] part in ids.Chunk(AtOnce))
        {
            found.AddRange(await Summaries(context.Cases.Where(each => part.Contains(each.Id))).ToListAsync(cancellation));
        }

        Dictionary<Guid, int> places = ids.Select((id, place) => (id, place)).ToDictionary(each => each.id, each => each.place);
        return [.. found.OrderBy(each => places[each.Id])];
    }

    /// <inheritdoc/>
    public async Task<WorklistCounts> CountAsync(WorklistQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        IQueryable<CaseRow> rows = Picked(context, query);
        bool looksFarther = query.Words.Count > 0 || query.ProjectionIds.Count > 0 || query.AssigneeId is not null || query.From is not null || query.Before is not null || query.IsInvented is not null;

        // Grouped by the column itself, SQLite walks the index of the counts and fetches every row to look at what the filters ask for: 206 ms of processor
        // time for 100,000 cases. Grouped by an expression it searches the worklist's index, which holds all of it: 31 ms.
        IQueryable<WorklistCount> parts = looksFarther
            ? rows.GroupBy(each => new { State = each.State == CaseState.New ? CaseState.New : each.State == CaseState.InWork ? CaseState.InWork : CaseState.Done, each.Verdict, each.ReceivedBy })
                .Select(part => new WorklistCount(part.Key.State, part.Key.Verdict, part.Key.ReceivedBy, part.Count()))
            : rows.GroupBy(each => new { each.State, each.Verdict, each.ReceivedBy })
                .Select(part => new WorklistCount(part.Key.State, part.Key.Verdict, part.Key.ReceivedBy, part.Count()));
        return new WorklistCounts { Parts = await parts.ToListAsync(cancellation) };
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<WorklistGroup>> GroupsAsync(WorklistQuery query, WorklistGrouping grouping, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        IQueryable<CaseRow> rows = Picked(context, query);
        IQueryable<IGrouping<string, CaseRow>> groups = grouping == WorklistGrouping.Patient
            ? rows.GroupBy(each => each.PatientGroup)
            : rows.GroupBy(each => each.ExaminationGroup);

        // A group stands where the first of its cases would stand.
        IQueryable<IGrouping<string, CaseRow>> ordered = (query.Sort, query.IsDescending) switch
        {
            (WorklistSort.AsItComes, false) => groups.OrderByDescending(group => group.Max(each => each.ListOrder)),
            (WorklistSort.AsItComes, true) => groups.OrderBy(group => group.Min(each => each.ListOrder)),
            (WorklistSort.Title, false) => groups.OrderBy(group => group.Min(each => each.TitleOrder)),
            (WorklistSort.Title, true) => groups.OrderByDescending(group => group.Max(each => each.TitleOrder)),
            (WorklistSort.Patient, false) => groups.OrderBy(group => group.Min(each => each.PatientLabel)),
            (WorklistSort.Patient, true) => groups.OrderByDescending(group => group.Max(each => each.PatientLabel)),
            (WorklistSort.Projection, false) => groups.OrderBy(group => group.Min(each => each.ProjectionId)),
            (WorklistSort.Projection, true) => groups.OrderByDescending(group => group.Max(each => each.ProjectionId)),
            (WorklistSort.Verdict, false) => groups.OrderBy(group => group.Min(each => each.Verdict)),
            (WorklistSort.Verdict, true) => groups.OrderByDescending(group => group.Max(each => each.Verdict)),
            (WorklistSort.State, false) => groups.OrderBy(group => group.Min(each => each.State)),
            (WorklistSort.State, true) => groups.OrderByDescending(group => group.Max(each => each.State)),
            (WorklistSort.Assignee, false) => groups.OrderBy(group => group.Min(each => each.AssigneeOrder)),
            (WorklistSort.Assignee, true) => groups.OrderByDescending(group => group.Max(each => each.AssigneeOrder)),
            (WorklistSort.Exposed, false) => groups.OrderBy(group => group.Min(each => each.Dated)),
            (WorklistSort.Exposed, true) => groups.OrderByDescending(group => group.Max(each => each.Dated)),
            (_, false) => groups.OrderBy(group => group.Min(each => each.Changed)),
            _ => groups.OrderByDescending(group => group.Max(each => each.Changed)),
        };
        return await ordered.Select(group => new WorklistGroup(group.Key, group.Count())).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>>> ListGroupsAsync(
        WorklistQuery query, WorklistGrouping grouping, IReadOnlyList<string> keys, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        ArgumentNullException.ThrowIfNull(keys);
        await using RecordContext context = open();
        bool byPatient = grouping == WorklistGrouping.Patient;
        IQueryable<CaseRow> rows = Picked(context, query);
        rows = byPatient ? rows.Where(each => keys.Contains(each.PatientGroup)) : rows.Where(each => keys.Contains(each.ExaminationGroup));
        List<CaseSummary> found = await Summaries(rows.OrderBy(each => each.Dated).ThenByDescending(each => each.ListOrder).ThenBy(each => each.Id)).ToListAsync(cancellation);
        return found.GroupBy(each => (byPatient ? each.PatientKey : each.ExaminationKey) ?? AlonePrefix + each.Id.ToString("N"))
            .ToDictionary(group => group.Key, IReadOnlyList<CaseSummary> (group) => [.. group], StringComparer.Ordinal);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<FiledCase>> PickAsync(WorklistQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using RecordContext context = open();
        return await Ordered(Picked(context, query), query).Select(each => new FiledCase(each.Id, each.FilingVersion)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<Guid>> FileAsync(IReadOnlyList<FiledCase> cases, CaseFiling change, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(change);
        var leftAlone = new List<Guid>();
        await using RecordContext context = open();
        string? pseudonym = await PseudonymAsync(context, change.AssigneeId, cancellation);
        foreach (FiledCase[] part in cases.Chunk(AtOnce))
        {
            // A step for some hundred cases at a time: others who write wait for moments, not for the whole list.
            await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);
            Guid[] ids = [.. part.Select(each => each.Id)];
            Dictionary<Guid, CaseRow> rows = await context.CasesToChange(ids).Where(each => each.Deleted == null).ToDictionaryAsync(each => each.Id, cancellation);
            var filed = new List<CaseRow>(part.Length);
            foreach (FiledCase each in part)
            {
                if (!rows.TryGetValue(each.Id, out CaseRow? row) || row.FilingVersion != each.FilingVersion)
                {
                    leftAlone.Add(each.Id);
                    continue;
                }

                row.AssigneeId = change.AssigneeId is { } person ? person == Guid.Empty ? null : person : row.AssigneeId;
                row.AssigneeOrder = change.AssigneeId is null ? row.AssigneeOrder : pseudonym;
                row.State = change.State ?? row.State;
                row.Priority = change.Priority ?? row.Priority;
                row.Tags = change.Tags is null ? row.Tags : CleanTags(change.Tags);
                row.FilingVersion++;
                Derive(row);
                filed.Add(row);
            }

            // The transaction holds other writers off between the look at the versions and this.
            await context.SaveChangesAsync(cancellation);
            await transaction.CommitAsync(cancellation);
            context.ChangeTracker.Clear();
            foreach (CaseRow row in filed)
            {
                news?.Tell(row.Id, CaseEvent.Changed, row.Version);
            }
        }

        return leftAlone;
    }

    /// <inheritdoc/>
    public async Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default)
    {
        if (!double.IsFinite(seconds) || seconds < 0)
        {
            throw new ArgumentOutOfRangeException(nameof(seconds), seconds, "A reading time is 0 s or more.");
        }

        await using RecordContext context = open();
        await context.Cases.Where(each => each.Id == id && each.Deleted == null)
            .ExecuteUpdateAsync(update => update.SetProperty(each => each.ReadingSeconds, each => each.ReadingSeconds + seconds), cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.AnswerSteps.Where(each => each.CaseId == id).OrderBy(each => each.Step)
            .Select(each => new GivenStep(each.Step, each.Label, each.Verdict, each.Given, each.GivenBy)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> DeleteAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => SetDeletedAsync(ids, clock.GetUtcNow(), cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Guid>> RestoreAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => SetDeletedAsync(ids, null, cancellation);

    /// <summary>Fills what an earlier version of the store did not keep beside its rows.</summary>
    /// <param name="cancellation">Stops the filling; the next opening goes on.</param>
    public async Task CompleteRowsAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        while (true)
        {
            List<CaseRow> rows = await context.Cases.Where(each => each.SearchText == null).OrderBy(each => each.Id).Take(AtOnce).ToListAsync(cancellation);
            if (rows.Count == 0)
            {
                return;
            }

            foreach (CaseRow row in rows)
            {
                Derive(row);
            }

            await context.SaveChangesAsync(cancellation);
            context.ChangeTracker.Clear();
        }
    }

    /// <summary>Tags as they are kept: trimmed, each once, ", " between, whole ones up to the limit.</summary>
    /// <param name="tags">Tags with commas between.</param>
    internal static string CleanTags(string tags)
    {
        string kept = string.Empty;
        foreach (string tag in tags.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Distinct(StringComparer.OrdinalIgnoreCase))
        {
            string next = kept.Length == 0 ? tag : $"{kept}, {tag}";
            kept = next.Length <= CaseRecord.TagsMaxLength ? next : kept;
        }

        return kept;
    }

    /// <summary>Begins the group of a case that has no examination or patient.</summary>
    private const string AlonePrefix = "case ";

    /// <summary>Fills what the worklist is searched and ordered by, in short columns; called on every write.</summary>
    /// <param name="row">The case.</param>
    internal static void Derive(CaseRow row)
    {
        row.SearchText = string.Join('\n', new[] { row.Title, row.FileName, row.PatientLabel, row.Tags }.Where(text => !string.IsNullOrEmpty(text))).ToLowerInvariant();
        row.TitleOrder = row.Title.ToLowerInvariant();
        row.Dated = row.AcquiredAt ?? row.Created;
        string alone = AlonePrefix + row.Id.ToString("N", CultureInfo.InvariantCulture);
        row.ExaminationGroup = row.ExaminationKey ?? alone;
        row.PatientGroup = row.PatientKey ?? alone;

        // Three parts, own, lab, demo, each wide enough for any time in ticks (below 0.7e18 until the year 2219) and the priorities.
        const long PartWidth = 3_000_000_000_000_000_000;
        const long PriorityWidth = 900_000_000_000_000_000;
        (long part, long place) = (row.IsInvented, row.ReceivedBy) switch
        {
            (false, _) => (0L, row.Changed.UtcTicks),
            (true, CaseOrigin.Lab) => (1L, row.Changed.UtcTicks),
            _ => (2L, -row.Created.UtcTicks),
        };
        row.ListOrder = (-part * PartWidth) + ((long)row.Priority * PriorityWidth) + place;
    }

    private static IQueryable<CaseRow> Picked(RecordContext context, WorklistQuery query)
    {
        IQueryable<CaseRow> rows = context.Cases.AsNoTracking().Where(each => each.Deleted == null);
        foreach (SearchWord word in query.Words)
        {
            string text = word.Text.ToLowerInvariant();
            IReadOnlyList<string> projections = word.ProjectionIds;
            rows = projections.Count == 0
                ? rows.Where(each => each.SearchText!.Contains(text))
                : rows.Where(each => each.SearchText!.Contains(text) || projections.Contains(each.ProjectionId!));
        }

        if (query.States.Count > 0)
        {
            rows = rows.Where(each => query.States.Contains(each.State));
        }

        if (query.Verdicts.Count > 0)
        {
            bool withNone = query.Verdicts.Contains(string.Empty);
            rows = rows.Where(each => query.Verdicts.Contains(each.Verdict!) || (withNone && each.Verdict == null));
        }

        if (query.ProjectionIds.Count > 0)
        {
            bool withNone = query.ProjectionIds.Contains(string.Empty);
            rows = rows.Where(each => query.ProjectionIds.Contains(each.ProjectionId!) || (withNone && each.ProjectionId == null));
        }

        if (query.AssigneeId is { } assignee)
        {
            rows = assignee == Guid.Empty ? rows.Where(each => each.AssigneeId == null) : rows.Where(each => each.AssigneeId == assignee);
        }

        if (query.Origins.Count > 0)
        {
            rows = rows.Where(each => query.Origins.Contains(each.ReceivedBy));
        }

        if (query.From is { } from)
        {
            rows = rows.Where(each => each.Dated >= from);
        }

        if (query.Before is { } before)
        {
            rows = rows.Where(each => each.Dated < before);
        }

        if (query.IsInvented is { } invented)
        {
            rows = rows.Where(each => each.IsInvented == invented);
        }

        return rows;
    }

    // Ties keep the order of the index that the column has, so that a page deep in the list is read without sorting.
    private static IQueryable<CaseRow> Ordered(IQueryable<CaseRow> rows, WorklistQuery query)
        => (query.Sort, query.IsDescending) switch
        {
            (WorklistSort.AsItComes, false) => rows.OrderByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.AsItComes, true) => rows.OrderBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Title, false) => rows.OrderBy(each => each.TitleOrder).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Title, true) => rows.OrderByDescending(each => each.TitleOrder).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.Patient, false) => rows.OrderBy(each => each.PatientLabel).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Patient, true) => rows.OrderByDescending(each => each.PatientLabel).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.Projection, false) => rows.OrderBy(each => each.ProjectionId).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Projection, true) => rows.OrderByDescending(each => each.ProjectionId).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.Verdict, false) => rows.OrderBy(each => each.Verdict).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Verdict, true) => rows.OrderByDescending(each => each.Verdict).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.State, false) => rows.OrderBy(each => each.State).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.State, true) => rows.OrderByDescending(each => each.State).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.Assignee, false) => rows.OrderBy(each => each.AssigneeOrder).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Assignee, true) => rows.OrderByDescending(each => each.AssigneeOrder).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (WorklistSort.Exposed, false) => rows.OrderBy(each => each.Dated).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            (WorklistSort.Exposed, true) => rows.OrderByDescending(each => each.Dated).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
            (_, false) => rows.OrderBy(each => each.Changed).ThenBy(each => each.ListOrder).ThenBy(each => each.Id),
            _ => rows.OrderByDescending(each => each.Changed).ThenByDescending(each => each.ListOrder).ThenByDescending(each => each.Id),
        };

    private static async Task<string?> PseudonymAsync(RecordContext context, Guid? person, CancellationToken cancellation)
        => person is null ? null : (await context.People.Where(each => each.Id == person).Select(each => each.Pseudonym).SingleOrDefaultAsync(cancellation))?.ToLowerInvariant();

    private async Task<IReadOnlyList<Guid>> SetDeletedAsync(IReadOnlyList<Guid> ids, DateTimeOffset? time, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(ids);
        var changed = new List<Guid>();
        await using RecordContext context = open();
        foreach (Guid[] part in ids.Distinct().Chunk(AtOnce))
        {
            await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);
            List<CaseRow> rows = await context.CasesToChange(part).Where(each => (each.Deleted == null) == (time != null)).ToListAsync(cancellation);
            foreach (CaseRow row in rows)
            {
                row.Deleted = time;
                row.Version++;
                row.Changed = clock.GetUtcNow();
                Derive(row);
                changed.Add(row.Id);
            }

            await context.SaveChangesAsync(cancellation);
            await transaction.CommitAsync(cancellation);
            context.ChangeTracker.Clear();
        }

        foreach (Guid id in changed)
        {
            news?.Tell(id, time is null ? CaseEvent.PutBack : CaseEvent.Deleted);
        }

        return changed;
    }
}
