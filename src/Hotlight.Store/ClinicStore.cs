using Hotlight.Core;
using Hotlight.Workflows.Clinic;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace Hotlight.Store;

/// <summary>Keeps every version of the clinic's settings in the database of the records.</summary>
public sealed class ClinicStore : IClinicStore
{
    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;

    /// <summary>Creates the store.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time.</param>
    public ClinicStore(Func<RecordContext> open, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
    }

    /// <inheritdoc/>
    public async Task<ClinicVersion?> NewestAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        ClinicRow? row = await context.ClinicVersions.AsNoTracking().OrderByDescending(each => each.Number).FirstOrDefaultAsync(cancellation);
        return row is null ? null : ToVersion(row);
    }

    /// <inheritdoc/>
    public async Task<ClinicVersion?> FindAsync(int number, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        ClinicRow? row = await context.ClinicVersions.AsNoTracking().SingleOrDefaultAsync(each => each.Number == number, cancellation);
        return row is null ? null : ToVersion(row);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<ClinicChange>> HistoryAsync(int take, CancellationToken cancellation = default)
    {
        Preconditions.AtLeastOne(take);
        await using RecordContext context = open();
        return await context.ClinicVersions.OrderByDescending(each => each.Number).Take(take)
            .Select(each => new ClinicChange(each.Number, each.Label, each.Changed, each.ChangedBy)).ToListAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<ClinicVersion> KeepAsync(int startedFrom, string settingsJson, IReadOnlyList<Person> people, string label, Guid? changedBy, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(settingsJson);
        ArgumentNullException.ThrowIfNull(people);
        ArgumentException.ThrowIfNullOrWhiteSpace(label);
        await using RecordContext context = open();
        int newest = await context.ClinicVersions.MaxAsync(each => (int?)each.Number, cancellation) ?? 0;
        if (newest != startedFrom)
        {
            throw new ClinicChangedException();
        }

        var row = new ClinicRow { Number = startedFrom + 1, SettingsJson = settingsJson, Label = label, Changed = clock.GetUtcNow(), ChangedBy = changedBy };
        context.ClinicVersions.Add(row);
        List<PersonRow> known = await context.People.ToListAsync(cancellation);
        context.People.RemoveRange(known.Where(each => people.All(person => person.Id != each.Id)));
        foreach (Person person in people)
        {
            PersonRow? kept = known.FirstOrDefault(each => each.Id == person.Id);
            if (kept is null)
            {
                context.People.Add(new PersonRow { Id = person.Id, Pseudonym = person.Pseudonym, Role = person.Role, IsActive = person.IsActive });
            }
            else
            {
                kept.Pseudonym = person.Pseudonym;
                kept.Role = person.Role;
                kept.IsActive = person.IsActive;
            }
        }

        // The worklist is ordered by pseudonym: a new one goes to that person's cases in the same step.
        (Guid Id, string? Order)[] renamed =
        [
            .. people.Where(person => known.All(each => each.Id != person.Id || context.Entry(each).Property(row => row.Pseudonym).IsModified)).Select(person => (person.Id, (string?)person.Pseudonym.ToLowerInvariant())),
            .. known.Where(each => context.Entry(each).State == EntityState.Deleted).Select(each => (each.Id, (string?)null)),
        ];
        try
        {
            await using IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation);
            await context.SaveChangesAsync(cancellation);
            foreach ((Guid id, string? order) in renamed)
            {
                await context.Cases.Where(each => each.AssigneeId == id).ExecuteUpdateAsync(update => update.SetProperty(each => each.AssigneeOrder, order), cancellation);
            }

            await transaction.CommitAsync(cancellation);
        }
        catch (DbUpdateException)
        {
            // Of two writers at once the later meets the earlier's number.
            await using RecordContext fresh = open();
            if (await fresh.ClinicVersions.AnyAsync(each => each.Number > startedFrom, cancellation))
            {
                throw new ClinicChangedException();
            }

            throw;
        }

        return ToVersion(row);
    }

    private static ClinicVersion ToVersion(ClinicRow row) => new(new ClinicChange(row.Number, row.Label, row.Changed, row.ChangedBy), row.SettingsJson);
}
