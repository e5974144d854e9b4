using System.Data.Common;
using Hotlight.Store.Log;

namespace Hotlight.Store.Sqlite;

/// <summary>The log of exposures in a SQLite file. A writing transaction holds all other writers off, so nothing is locked here.</summary>
internal sealed class SqliteExposureLog(Func<RecordContext> open, TimeProvider clock) : ExposureLog(open, clock)
{
    /// <inheritdoc/>
    protected override string KeyFilter => "e.site = @site AND e.entry_key = @key";

    /// <inheritdoc/>
    protected override string StagedPairs => "temp.incoming i JOIN log_entries e ON e.site = i.site AND e.entry_key = i.entry_key";

    /// <inheritdoc/>
    protected override object Identifier(Guid id) => id.ToByteArray();

    /// <inheritdoc/>
    protected override async Task MakeStagingAsync(LogConnection log, CancellationToken cancellation)
    {
        // Indexes of millions of entries are changed all over: with 2 MB of cache, the default, every change reads and writes pages.
        await using DbCommand command = log.Command($"""
            PRAGMA cache_size = -131072;
            DROP TABLE IF EXISTS temp.incoming;
            CREATE TEMP TABLE incoming (place INTEGER PRIMARY KEY, {string.Join(", ", EntryColumns.Names)}, UNIQUE (site, entry_key));
            """);
        await command.ExecuteNonQueryAsync(cancellation);
    }

    /// <inheritdoc/>
    protected override async Task RemoveStagingAsync(LogConnection log)
    {
        await using DbCommand command = log.Command("DROP TABLE IF EXISTS temp.incoming; PRAGMA cache_size = -2000; PRAGMA shrink_memory;");
        await command.ExecuteNonQueryAsync(CancellationToken.None);
    }

    /// <inheritdoc/>
    protected override async Task StageAsync(LogConnection log, IReadOnlyList<object?[]> rows, CancellationToken cancellation)
    {
        // A transaction that touches no table of the file takes no lock of the file.
        await using DbCommand begin = log.Command("BEGIN DEFERRED");
        await begin.ExecuteNonQueryAsync(cancellation);
        await using (DbCommand command = log.Command($"INSERT OR IGNORE INTO temp.incoming ({EntryColumns.List()}) VALUES ({string.Join(", ", EntryColumns.Names.Select((_, place) => $"@v{place}"))})"))
        {
            DbParameter[] parameters = [.. EntryColumns.Names.Select((_, place) => Add(command, $"v{place}", null))];
            foreach (object?[] row in rows)
            {
                for (int place = 0; place < parameters.Length; place++)
                {
                    parameters[place].Value = Encoded(row[place]) ?? DBNull.Value;
                }

                await command.ExecuteNonQueryAsync(cancellation);
            }
        }

        await using DbCommand commit = log.Command("COMMIT");
        await commit.ExecuteNonQueryAsync(cancellation);
    }

    /// <inheritdoc/>
    protected override Task PrepareYearsAsync(LogConnection log, IReadOnlyCollection<int> years, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override Task LockImportsAsync(LogConnection log, int site, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override Task LockSumsAsync(LogConnection log, int site, bool isAlone, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override Task ClaimStagedAsync(LogConnection log, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override Task<long?> ClaimAsync(LogConnection log, object?[] values, CancellationToken cancellation) => Task.FromResult<long?>(null);

    /// <inheritdoc/>
    protected override async Task StageChangesAsync(LogConnection log, IReadOnlyList<(long Seq, int Day, object?[] Values)> rows, CancellationToken cancellation)
    {
        foreach ((long seq, int day, object?[] values) in rows)
        {
            await UpdateAsync(log, seq, day, values, cancellation);
        }
    }

    /// <inheritdoc/>
    protected override Task ApplyCompletedAsync(LogConnection log, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override async Task<long> InsertStagedAsync(LogConnection log, int? import, Action<long> progress, CancellationToken cancellation)
    {
        string columns = EntryColumns.List();
        string values = string.Join(", ", EntryColumns.Names.Select(name => name == "import" && import is not null ? "@import" : $"i.{name}"));
        await using DbCommand command = log.Command($"""
            INSERT INTO log_entries ({columns}) SELECT {values} FROM temp.incoming i
            WHERE i.place > @from AND i.place <= @to AND NOT EXISTS (SELECT 1 FROM log_entries e WHERE e.site = i.site AND e.entry_key = i.entry_key)
            """);
        if (import is { } number)
        {
            Add(command, "import", number);
        }

        // Row by row each entry would go into every table of sums by itself. Here all of them are added up together, before the step ends.
        await using DbCommand hold = log.Command("INSERT INTO log_unsummed (first_seq) SELECT COALESCE(MAX(seq), 0) + 1 FROM log_entries");
        await hold.ExecuteNonQueryAsync(cancellation);
        DbParameter from = Add(command, "from", 0L);
        DbParameter to = Add(command, "to", 0L);
        await using DbCommand highest = log.Command("SELECT COALESCE(MAX(place), 0) FROM temp.incoming");
        long end = (long)(await highest.ExecuteScalarAsync(cancellation))!;
        long added = 0;
        for (long place = 0; place < end; place += Window)
        {
            cancellation.ThrowIfCancellationRequested();
            from.Value = place;
            to.Value = place + Window;
            added += await command.ExecuteNonQueryAsync(cancellation);
            progress(Math.Min(end, place + Window));
        }

        foreach (LogSummary summary in LogSummary.All)
        {
            cancellation.ThrowIfCancellationRequested();
            await using DbCommand sums = log.Command(summary.AddingStatement("seq >= (SELECT first_seq FROM log_unsummed)"));
            await sums.ExecuteNonQueryAsync(cancellation);
        }

        await using DbCommand free = log.Command("DELETE FROM log_unsummed");
        await free.ExecuteNonQueryAsync(cancellation);
        return added;
    }

    /// <inheritdoc/>
    protected override Task HoldWritersOffAsync(LogConnection log, CancellationToken cancellation) => Task.CompletedTask;

    /// <inheritdoc/>
    protected override async Task EmptyAsync(LogConnection log, string table, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command($"DELETE FROM {table}");
        await command.ExecuteNonQueryAsync(cancellation);
    }
}
