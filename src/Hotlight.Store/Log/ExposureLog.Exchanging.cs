using System.Data.Common;
using Hotlight.Records;
using Hotlight.Workflows.Records;

namespace Hotlight.Store.Log;

/// <summary>Writing all of a log out and taking it into an empty one.</summary>
public abstract partial class ExposureLog
{
    /// <summary>All bringings-in of all sites, the oldest first.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    internal async Task<IReadOnlyList<LogImport>> AllImportsAsync(CancellationToken cancellation)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await using DbCommand command = log.Command("SELECT id, site, title, source, at, given_by, added, completed, known, is_taken_back FROM log_imports ORDER BY seq");
        var imports = new List<LogImport>();
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            imports.Add(ReadImport(reader));
        }

        return imports;
    }

    /// <summary>Whether nothing was ever brought in and no entry is there.</summary>
    /// <param name="cancellation">Stops the looking.</param>
    internal async Task<bool> IsEmptyAsync(CancellationToken cancellation)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await using DbCommand command = log.Command("SELECT (SELECT COUNT(*) FROM (SELECT 1 FROM log_entries LIMIT 1) AS entries) + (SELECT COUNT(*) FROM log_imports)");
        return Convert.ToInt64(await command.ExecuteScalarAsync(cancellation), System.Globalization.CultureInfo.InvariantCulture) == 0;
    }

    /// <summary>Takes bringings-in and entries as another log had them, all or nothing.</summary>
    /// <param name="imports">The bringings-in, the oldest first.</param>
    /// <param name="entries">The entries, in any order.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>How many entries were taken.</returns>
    internal async Task<long> TakeInAsync(IReadOnlyList<LogImport> imports, IAsyncEnumerable<ExposureEntry> entries, CancellationToken cancellation)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await codes.KeepAsync(log.Connection, imports.Select(import => (NameKind.Site, (string?)import.Site)).Distinct(), cancellation);
        try
        {
            // Bringings-in are numbered as they will be kept, in an empty log.
            Dictionary<Guid, int> numbers = imports.Select((import, place) => (import.Id, place)).ToDictionary(each => each.Id, each => each.place + 1);
            await MakeStagingAsync(log, cancellation);
            var years = new SortedSet<int>();
            var sites = new SortedSet<string>(StringComparer.Ordinal);
            var batch = new List<ExposureEntry>(Batch);
            async Task LayAsync()
            {
                await codes.KeepAsync(log.Connection, batch.SelectMany(EntryColumns.NamesOf).Distinct(), cancellation);
                await StageAsync(log, [.. batch.Select(entry => EntryColumns.ValuesOf(entry, codes, entry.ImportId is { } id ? numbers[id] : null))], cancellation);
                batch.Clear();
            }

            await foreach (ExposureEntry entry in entries.WithCancellation(cancellation))
            {
                EntryColumns.Check(entry);
                if (entry.ImportId is { } id && !numbers.ContainsKey(id))
                {
                    throw new StoreRefusedException($"The exposure '{entry.Key}' names a bringing-in that is not there.");
                }

                years.Add(entry.ExposedAt.Year);
                sites.Add(entry.Site);
                batch.Add(entry);
                if (batch.Count == Batch)
                {
                    await LayAsync();
                }
            }

            await LayAsync();
            await PrepareYearsAsync(log, years, cancellation);
            await log.BeginAsync(cancellation);
            foreach (int site in sites.Select(site => codes.CodeOf(NameKind.Site, site)))
            {
                await LockImportsAsync(log, site, cancellation);
            }

            foreach (LogImport import in imports)
            {
                await using DbCommand command = log.Command("""
                    INSERT INTO log_imports (seq, id, site, title, source, at, given_by, added, completed, known, is_taken_back)
                    VALUES (@seq, @id, @site, @title, @source, @at, @by, @added, @completed, @known, @back)
                    """);
                Add(command, "seq", numbers[import.Id]);
                Add(command, "id", Identifier(import.Id));
                Add(command, "site", codes.CodeOf(NameKind.Site, import.Site));
                Add(command, "title", import.Title);
                Add(command, "source", (int)import.Source);
                Add(command, "at", import.At.UtcTicks);
                Add(command, "by", Encoded(import.By));
                Add(command, "added", import.Added);
                Add(command, "completed", import.Completed);
                Add(command, "known", import.Known);
                Add(command, "back", import.IsTakenBack ? 1 : 0);
                await command.ExecuteNonQueryAsync(cancellation);
            }

            await ContinueNumbersAsync(log, imports.Count, cancellation);
            await ClaimStagedAsync(log, cancellation);
            foreach (int site in sites.Select(site => codes.CodeOf(NameKind.Site, site)).Order())
            {
                await LockSumsAsync(log, site, isAlone: true, cancellation);
            }

            long taken = await InsertStagedAsync(log, null, _ => { }, cancellation);
            cancellation.ThrowIfCancellationRequested();
            await log.CommitAsync(cancellation);
            await AfterAddingAsync(log, taken, CancellationToken.None);
            return taken;
        }
        finally
        {
            await log.RollBackAsync();
            await RemoveStagingAsync(log);
        }
    }

    /// <summary>Lets the next bringing-in have the number after those taken in.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="last">The last number taken in.</param>
    /// <param name="cancellation">Stops it.</param>
    protected virtual Task ContinueNumbersAsync(LogConnection log, int last, CancellationToken cancellation) => Task.CompletedTask;
}
