using System.Data.Common;
using System.Globalization;
using Hotlight.Records;
using Hotlight.Workflows.Records;

namespace Hotlight.Store.Log;

/// <summary>Keeping, changing and taking back; every call is one transaction.</summary>
public abstract partial class ExposureLog
{
    /// <summary>Entries read and laid down at a time.</summary>
    private const int Batch = 5_000;

    /// <summary>Rows gone through at a time once they are laid down.</summary>
    protected const int Window = 20_000;

    /// <inheritdoc/>
    public async Task<LogImport> AddAsync(LogImport import, IEnumerable<ExposureEntry> entries, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(import);
        ArgumentNullException.ThrowIfNull(entries);
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await codes.KeepAsync(log.Connection, [(NameKind.Site, import.Site)], cancellation);
        try
        {
            // First all of it is laid beside the log, where it holds nobody off: entries may come as slowly as files are read.
            await MakeStagingAsync(log, cancellation);
            long laid = 0;
            var years = new SortedSet<int>();
            foreach (ExposureEntry[] batch in entries.Chunk(Batch))
            {
                cancellation.ThrowIfCancellationRequested();
                foreach (ExposureEntry entry in batch)
                {
                    EntryColumns.Check(entry);
                    if (entry.Site != import.Site)
                    {
                        throw new ArgumentException($"An entry of the site '{entry.Site}' came with a bringing-in of the site '{import.Site}'.", nameof(entries));
                    }

                    years.Add(entry.ExposedAt.Year);
                }

                await codes.KeepAsync(log.Connection, batch.SelectMany(EntryColumns.NamesOf).Distinct(), cancellation);
                await StageAsync(log, [.. batch.Select(entry => EntryColumns.ValuesOf(entry, codes, null))], cancellation);
                laid += batch.Length;
                progress?.Report(laid / 2);
            }

            // Then the step itself: everything or nothing.
            await PrepareYearsAsync(log, years, cancellation);
            await log.BeginAsync(cancellation);
            int site = codes.CodeOf(NameKind.Site, import.Site);
            await LockImportsAsync(log, site, cancellation);
            (int number, DateTimeOffset at) = await KeepImportAsync(log, import, site, cancellation);
            await ClaimStagedAsync(log, cancellation);
            (long completed, long known) = await StageCompletedAsync(log, cancellation);
            await LockSumsAsync(log, site, isAlone: completed > 0, cancellation);
            await ApplyCompletedAsync(log, cancellation);
            long added = await InsertStagedAsync(log, number, kept => progress?.Report((laid / 2) + (kept / 2)), cancellation);
            await using (DbCommand command = log.Command("UPDATE log_imports SET added = added + @added, completed = completed + @completed, known = known + @known, is_taken_back = 0 WHERE seq = @seq"))
            {
                Add(command, "added", added);
                Add(command, "completed", completed);
                Add(command, "known", known);
                Add(command, "seq", number);
                await command.ExecuteNonQueryAsync(cancellation);
            }

            cancellation.ThrowIfCancellationRequested();
            await log.CommitAsync(cancellation);
            progress?.Report(laid);
            await AfterAddingAsync(log, added, CancellationToken.None);
            return import with { At = at, Added = added, Completed = completed, Known = known, IsTakenBack = false };
        }
        finally
        {
            await log.RollBackAsync();
            await RemoveStagingAsync(log);
        }
    }

    /// <inheritdoc/>
    public async Task<bool> ChangeAsync(ExposureEntry entry, CancellationToken cancellation = default)
    {
        EntryColumns.Check(entry);
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await codes.KeepAsync(log.Connection, EntryColumns.NamesOf(entry), cancellation);
        await PrepareYearsAsync(log, [entry.ExposedAt.Year], cancellation);
        await log.BeginAsync(cancellation);
        KeptRow? kept = await FindAsync(log, $"{KeyFilter} AND e.id = @id", entry, cancellation) ?? await FindAsync(log, "e.id = @id", entry, cancellation);
        if (kept is null)
        {
            return false;
        }

        ExposureEntry changed = entry with { Id = kept.Entry.Id, Site = kept.Entry.Site, Key = kept.Entry.Key, Source = kept.Entry.Source };
        await LockSumsAsync(log, codes.CodeOf(NameKind.Site, changed.Site), isAlone: false, cancellation);
        bool isChanged = await UpdateAsync(log, kept, changed, cancellation);
        await log.CommitAsync(cancellation);
        return isChanged;
    }

    /// <inheritdoc/>
    public async Task KeepCasesAsync(IReadOnlyList<ExposureEntry> entries, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(entries);
        if (entries.Count == 0)
        {
            return;
        }

        foreach (ExposureEntry entry in entries)
        {
            EntryColumns.Check(entry);
            if (entry.CaseId is null)
            {
                throw new ArgumentException("An entry of the bench has its case.", nameof(entries));
            }
        }

        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await codes.KeepAsync(log.Connection, entries.SelectMany(EntryColumns.NamesOf).Distinct(), cancellation);
        while (!await TryKeepCasesAsync(log, entries, cancellation))
        {
            // An entry that was there was taken back meanwhile: once more from the beginning.
            await log.RollBackAsync();
        }
    }

    private async Task<bool> TryKeepCasesAsync(LogConnection log, IReadOnlyList<ExposureEntry> entries, CancellationToken cancellation)
    {
        await PrepareYearsAsync(log, [.. entries.Select(entry => entry.ExposedAt.Year).Distinct().Order()], cancellation);
        await log.BeginAsync(cancellation);

        // First the keys, in one order for every writer; then the sums.
        ExposureEntry[] ordered = [.. entries.OrderBy(entry => entry.Site, StringComparer.Ordinal).ThenBy(entry => entry.Key, StringComparer.Ordinal)];
        var claims = new Dictionary<ExposureEntry, long?>(ReferenceEqualityComparer.Instance);
        foreach (ExposureEntry entry in ordered)
        {
            if (await FindCaseAsync(log, entry, cancellation) is null)
            {
                claims[entry] = await ClaimAsync(log, EntryColumns.ValuesOf(entry, codes, null), cancellation);
            }
        }

        foreach (string site in ordered.Select(entry => entry.Site).Distinct())
        {
            await LockSumsAsync(log, codes.CodeOf(NameKind.Site, site), isAlone: ordered.Length > 1, cancellation);
        }

        foreach (ExposureEntry entry in ordered)
        {
            KeptRow? kept = await FindCaseAsync(log, entry, cancellation);
            if (kept is null)
            {
                if (MustClaim && claims.GetValueOrDefault(entry) is null)
                {
                    return false;
                }

                await InsertAsync(log, claims.GetValueOrDefault(entry), EntryColumns.ValuesOf(entry, codes, null), cancellation);
                continue;
            }

            ExposureEntry renewed = EntryJoining.Renewed(kept.Entry, entry);
            if (renewed != kept.Entry)
            {
                await UpdateAsync(log, kept, renewed, cancellation);
            }
        }

        await log.CommitAsync(cancellation);
        return true;
    }

    /// <inheritdoc/>
    public async Task<long> TakeBackAsync(Guid importId, CancellationToken cancellation = default)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        if (await ImportNumberAsync(log, importId, cancellation) is not { } number)
        {
            return 0;
        }

        await log.BeginAsync(cancellation);
        int site = await SiteOfAsync(log, number, cancellation);
        await LockImportsAsync(log, site, cancellation);
        await LockSumsAsync(log, site, isAlone: true, cancellation);

        // What the bench has a case of is the bench's own by now and stays.
        await using DbCommand adopt = log.Command("UPDATE log_entries SET import = NULL, source = 0 WHERE import = @import AND case_id IS NOT NULL");
        Add(adopt, "import", number);
        await adopt.ExecuteNonQueryAsync(cancellation);
        await using DbCommand remove = log.Command("DELETE FROM log_entries WHERE import = @import");
        Add(remove, "import", number);
        long removed = await remove.ExecuteNonQueryAsync(cancellation);
        await using DbCommand mark = log.Command("UPDATE log_imports SET is_taken_back = 1 WHERE seq = @import");
        Add(mark, "import", number);
        await mark.ExecuteNonQueryAsync(cancellation);
        cancellation.ThrowIfCancellationRequested();
        await log.CommitAsync(cancellation);
        return removed;
    }

    /// <summary>Condition on an entry <c>e</c> of the key <c>@key</c> in the site <c>@site</c>.</summary>
    protected abstract string KeyFilter { get; }

    /// <summary>What came in, <c>i</c>, beside the entries <c>e</c> that were there with the same keys: what stands behind FROM.</summary>
    protected abstract string StagedPairs { get; }

    /// <summary>Whether an entry is kept only under a key that <see cref="ClaimAsync"/> took.</summary>
    protected virtual bool MustClaim => false;

    /// <summary>Makes an empty table <c>incoming</c> of this connection alone, with a running <c>place</c> and one row for each key.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task MakeStagingAsync(LogConnection log, CancellationToken cancellation);

    /// <summary>Removes what <see cref="MakeStagingAsync"/> made.</summary>
    /// <param name="log">The connection, without a transaction.</param>
    protected abstract Task RemoveStagingAsync(LogConnection log);

    /// <summary>Lays rows into <c>incoming</c>; of rows with one key the first stays.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="rows">Values in the order of the columns of entries.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task StageAsync(LogConnection log, IReadOnlyList<object?[]> rows, CancellationToken cancellation);

    /// <summary>Makes room for entries of these years, in a step of its own.</summary>
    /// <param name="log">The connection, without a transaction.</param>
    /// <param name="years">The years, rising.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task PrepareYearsAsync(LogConnection log, IReadOnlyCollection<int> years, CancellationToken cancellation);

    /// <summary>Holds off other bringings-in of a site until the transaction ends.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="site">Code of the site.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    protected abstract Task LockImportsAsync(LogConnection log, int site, CancellationToken cancellation);

    /// <summary>Announces a change of a site's sums until the transaction ends: one statement, beside others of its kind, or several, alone.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="site">Code of the site.</param>
    /// <param name="isAlone">Whether several statements follow.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    protected abstract Task LockSumsAsync(LogConnection log, int site, bool isAlone, CancellationToken cancellation);

    /// <summary>Takes the keys of <c>incoming</c> that the site does not have yet, so that no other writer can.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task ClaimStagedAsync(LogConnection log, CancellationToken cancellation);

    /// <summary>Takes one key.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="values">Values of the entry.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Number of the row to be; null: the database gives it, or the key is taken.</returns>
    protected abstract Task<long?> ClaimAsync(LogConnection log, object?[] values, CancellationToken cancellation);

    /// <summary>Keeps rows that are to take the place of entries, until <see cref="ApplyCompletedAsync"/> or at once.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="rows">Number and day of the entry's row, and its new values with the bringing-in it has.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task StageChangesAsync(LogConnection log, IReadOnlyList<(long Seq, int Day, object?[] Values)> rows, CancellationToken cancellation);

    /// <summary>Puts the rows of <see cref="StageChangesAsync"/> in their places.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task ApplyCompletedAsync(LogConnection log, CancellationToken cancellation);

    /// <summary>Keeps what came in and was not there.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="import">Number of the bringing-in; null: each row has its own.</param>
    /// <param name="progress">Told how many rows are through.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>How many were new.</returns>
    protected abstract Task<long> InsertStagedAsync(LogConnection log, int? import, Action<long> progress, CancellationToken cancellation);

    /// <summary>Does what is good after many new entries; they are kept by now.</summary>
    /// <param name="log">The connection, without a transaction.</param>
    /// <param name="added">How many were new.</param>
    /// <param name="cancellation">Stops it.</param>
    protected virtual Task AfterAddingAsync(LogConnection log, long added, CancellationToken cancellation) => Task.CompletedTask;

    /// <summary>A value as the provider keeps it.</summary>
    /// <param name="value">The value; null: NULL.</param>
    protected object? Encoded(object? value) => value is Guid id ? Identifier(id) : value;

    /// <summary>Keeps one entry.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="seq">Number of the row; null: the database gives it.</param>
    /// <param name="values">Values of the entry.</param>
    /// <param name="cancellation">Stops it.</param>
    protected async Task InsertAsync(LogConnection log, long? seq, object?[] values, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(log);
        ArgumentNullException.ThrowIfNull(values);
        string places = string.Join(", ", values.Select((_, place) => $"@v{place}"));
        await using DbCommand command = log.Command(seq is null
            ? $"INSERT INTO log_entries ({EntryColumns.List()}) VALUES ({places})"
            : $"INSERT INTO log_entries (seq, {EntryColumns.List()}) VALUES ({Whole(seq.Value)}, {places})");
        AddValues(command, values);
        await command.ExecuteNonQueryAsync(cancellation);
    }

    /// <summary>Puts values in the place of a row's.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="seq">Number of the row.</param>
    /// <param name="day">Its day as it is kept.</param>
    /// <param name="values">The new values.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Whether the row was there.</returns>
    protected async Task<bool> UpdateAsync(LogConnection log, long seq, int day, object?[] values, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(log);
        ArgumentNullException.ThrowIfNull(values);
        string changes = string.Join(", ", EntryColumns.Names.Select((name, place) => $"{name} = @v{place}"));
        await using DbCommand command = log.Command($"UPDATE log_entries SET {changes} WHERE seq = {Whole(seq)} AND day = {Whole(day)}");
        AddValues(command, values);
        return await command.ExecuteNonQueryAsync(cancellation) > 0;
    }

    private void AddValues(DbCommand command, object?[] values)
    {
        for (int place = 0; place < values.Length; place++)
        {
            Add(command, $"v{place}", Encoded(values[place]));
        }
    }

    private Task<bool> UpdateAsync(LogConnection log, KeptRow kept, ExposureEntry entry, CancellationToken cancellation)
        => UpdateAsync(log, kept.Seq, kept.Day, EntryColumns.ValuesOf(entry, codes, kept.Import), cancellation);

    private async Task<KeptRow?> FindCaseAsync(LogConnection log, ExposureEntry entry, CancellationToken cancellation)
        => await FindAsync(log, "e.site = @site AND e.case_id = @case", entry, cancellation) ?? await FindAsync(log, KeyFilter, entry, cancellation);

    private async Task<KeptRow?> FindAsync(LogConnection log, string condition, ExposureEntry entry, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command(
            $"SELECT e.seq, e.day, e.import, i.id, {EntryColumns.List("e")} FROM log_entries e LEFT JOIN log_imports i ON i.seq = e.import WHERE {condition} LIMIT 1");
        foreach ((string name, object? value) in new (string, object?)[]
        {
            ("site", codes.CodeOf(NameKind.Site, entry.Site)), ("key", entry.Key), ("id", Identifier(entry.Id)), ("case", Encoded(entry.CaseId)),
        })
        {
            if (condition.Contains($"@{name}", StringComparison.Ordinal))
            {
                Add(command, name, value);
            }
        }

        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        return await reader.ReadAsync(cancellation) ? ReadKept(reader) : null;
    }

    private KeptRow ReadKept(DbDataReader reader) => new(
        reader.GetInt64(0), reader.GetInt32(1), reader.IsDBNull(2) ? null : reader.GetInt32(2), EntryColumns.Read(reader, 4, codes, reader.IsDBNull(3) ? null : reader.GetGuid(3)));

    // Goes through what came in and was there already, some thousand at a time, and keeps beside what those entries become.
    private async Task<(long Completed, long Known)> StageCompletedAsync(LogConnection log, CancellationToken cancellation)
    {
        long completed = 0;
        long known = 0;
        await using DbCommand highest = log.Command("SELECT MAX(place) FROM incoming");
        object? last = await highest.ExecuteScalarAsync(cancellation);
        long end = last is null or DBNull ? 0 : Convert.ToInt64(last, CultureInfo.InvariantCulture);
        int columns = EntryColumns.Names.Count;
        for (long from = 0; from < end; from += Window)
        {
            var changes = new List<(long, int, object?[])>();
            await using (DbCommand command = log.Command($"""
                SELECT e.seq, e.day, e.import, m.id, {EntryColumns.List("e")}, {EntryColumns.List("i")}
                FROM {StagedPairs} LEFT JOIN log_imports m ON m.seq = e.import WHERE i.place > {Whole(from)} AND i.place <= {Whole(from + Window)}
                """))
            {
                await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
                while (await reader.ReadAsync(cancellation))
                {
                    KeptRow kept = ReadKept(reader);
                    ExposureEntry told = EntryColumns.Read(reader, 4 + columns, codes, null);
                    ExposureEntry joined = EntryJoining.Completed(kept.Entry, told);
                    if (joined == kept.Entry)
                    {
                        known++;
                    }
                    else
                    {
                        completed++;
                        changes.Add((kept.Seq, kept.Day, EntryColumns.ValuesOf(joined, codes, kept.Import)));
                    }
                }
            }

            cancellation.ThrowIfCancellationRequested();
            await StageChangesAsync(log, changes, cancellation);
        }

        return (completed, known);
    }

    private async Task<(int Number, DateTimeOffset At)> KeepImportAsync(LogConnection log, LogImport import, int site, CancellationToken cancellation)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(import.Title, nameof(import));
        DateTimeOffset at = clock.GetUtcNow();

        // A bringing-in whose word of success got lost and that is told again goes on in its own row.
        await using DbCommand command = log.Command("""
            INSERT INTO log_imports (id, site, title, source, at, given_by, added, completed, known, is_taken_back)
            VALUES (@id, @site, @title, @source, @at, @by, 0, 0, 0, 0)
            ON CONFLICT (id) DO UPDATE SET at = excluded.at RETURNING seq, site
            """);
        Add(command, "id", Identifier(import.Id));
        Add(command, "site", site);
        Add(command, "title", import.Title);
        Add(command, "source", (int)import.Source);
        Add(command, "at", at.UtcTicks);
        Add(command, "by", Encoded(import.By));
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        await reader.ReadAsync(cancellation);
        return reader.GetInt32(1) == site
            ? (reader.GetInt32(0), at)
            : throw new ArgumentException("This bringing-in belongs to another site.", nameof(import));
    }

    private static async Task<int> SiteOfAsync(LogConnection log, int import, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command("SELECT site FROM log_imports WHERE seq = @import");
        Add(command, "import", import);
        return Convert.ToInt32(await command.ExecuteScalarAsync(cancellation), CultureInfo.InvariantCulture);
    }

    /// <summary>An entry with the number and the day of its row, and the number of its bringing-in.</summary>
    private sealed record KeptRow(long Seq, int Day, int? Import, ExposureEntry Entry);
}
