using System.Data.Common;
using System.Globalization;
using Hotlight.Store.Log;
using Npgsql;
using NpgsqlTypes;

namespace Hotlight.Store.Postgres;

/// <summary>The log of exposures in PostgreSQL: parts by year, copying in, and locks that let writers wait for each other but never in a circle.</summary>
/// <remarks>
/// Every writer goes the same way: bringings-in of a site one after the other; then keys, in order; then the sums, in the order of tables and keys that the triggers keep.
/// A writer that changes sums in one statement shares the lock of the site's sums; one that needs several has it alone.
/// </remarks>
internal sealed class PostgresExposureLog(Func<RecordContext> open, TimeProvider clock) : ExposureLog(open, clock)
{
    // Numbers of the locks: any that nobody else in the database uses.
    private const int ImportsLock = 0x484C_0001;
    private const int SumsLock = 0x484C_0002;
    private const int YearsLock = 0x484C_0003;

    /// <summary>From so many new entries on the server looks over its statistics at once.</summary>
    private const long Many = 50_000;

    private static readonly NpgsqlDbType[] Types =
    [
        NpgsqlDbType.Uuid, NpgsqlDbType.Integer, NpgsqlDbType.Text, NpgsqlDbType.Bigint, NpgsqlDbType.Integer, NpgsqlDbType.Integer, NpgsqlDbType.Integer, NpgsqlDbType.Integer,
        NpgsqlDbType.Integer, NpgsqlDbType.Integer, NpgsqlDbType.Integer, NpgsqlDbType.Smallint, NpgsqlDbType.Smallint, NpgsqlDbType.Smallint, NpgsqlDbType.Smallint, NpgsqlDbType.Smallint,
        NpgsqlDbType.Smallint, NpgsqlDbType.Double, NpgsqlDbType.Double, NpgsqlDbType.Double, NpgsqlDbType.Smallint, NpgsqlDbType.Double, NpgsqlDbType.Double, NpgsqlDbType.Double,
        NpgsqlDbType.Text, NpgsqlDbType.Text, NpgsqlDbType.Uuid, NpgsqlDbType.Smallint, NpgsqlDbType.Integer,
    ];

    private readonly HashSet<int> years = [];

    /// <inheritdoc/>
    protected override string KeyFilter => "(e.seq, e.day) IN (SELECT k.seq, k.day FROM log_keys k WHERE k.site = @site AND k.key_hash = md5(@key)::uuid)";

    /// <inheritdoc/>
    protected override string StagedPairs => "met JOIN incoming i ON i.place = met.place JOIN log_entries e ON e.seq = met.seq AND e.day = met.day";

    /// <inheritdoc/>
    protected override bool MustClaim => true;

    /// <inheritdoc/>
    protected override object Identifier(Guid id) => id;

    /// <inheritdoc/>
    protected override Task MakeStagingAsync(LogConnection log, CancellationToken cancellation) => RunAsync(log, """
        DROP TABLE IF EXISTS pg_temp.incoming, pg_temp.changed, pg_temp.met;
        CREATE TEMP TABLE incoming (LIKE log_entries);
        ALTER TABLE incoming ALTER COLUMN seq SET DEFAULT nextval('log_entry_seq'), ADD COLUMN place bigint GENERATED ALWAYS AS IDENTITY;
        CREATE TEMP TABLE changed (LIKE log_entries);
        ALTER TABLE changed ADD COLUMN old_day integer NOT NULL;
        CREATE TEMP TABLE met (place bigint PRIMARY KEY, seq bigint NOT NULL, day integer NOT NULL);
        """, cancellation);

    /// <inheritdoc/>
    protected override async Task RemoveStagingAsync(LogConnection log)
    {
        try
        {
            await RunAsync(log, "DROP TABLE IF EXISTS pg_temp.incoming, pg_temp.changed, pg_temp.met", CancellationToken.None);
        }
        catch (Exception error) when (error is NpgsqlException or InvalidOperationException)
        {
            // The connection is gone, and its own tables with it.
        }
    }

    /// <inheritdoc/>
    protected override async Task StageAsync(LogConnection log, IReadOnlyList<object?[]> rows, CancellationToken cancellation)
    {
        await using NpgsqlBinaryImporter copy = await ((NpgsqlConnection)log.Connection).BeginBinaryImportAsync($"COPY incoming ({EntryColumns.List()}) FROM STDIN (FORMAT BINARY)", cancellation);
        foreach (object?[] row in rows)
        {
            await copy.StartRowAsync(cancellation);
            await WriteAsync(copy, row, cancellation);
        }

        await copy.CompleteAsync(cancellation);
    }

    /// <inheritdoc/>
    protected override async Task PrepareYearsAsync(LogConnection log, IReadOnlyCollection<int> years, CancellationToken cancellation)
    {
        foreach (int year in years)
        {
            lock (this.years)
            {
                if (this.years.Contains(year))
                {
                    continue;
                }
            }

            string part = string.Create(CultureInfo.InvariantCulture, $"log_entries_{year}");
            int first = new DateOnly(year, 1, 1).DayNumber;
            int end = new DateOnly(year + 1, 1, 1).DayNumber;

            // A part is made beside the table and then taken in: that waits for nobody and holds nobody off.
            await RunAsync(log, string.Create(CultureInfo.InvariantCulture, $"""
                DO $body$ BEGIN
                  PERFORM pg_advisory_xact_lock({YearsLock});
                  IF to_regclass('{part}') IS NULL THEN
                    CREATE TABLE {part} (LIKE log_entries INCLUDING DEFAULTS, CHECK (day >= {first} AND day < {end}));
                    ALTER TABLE log_entries ATTACH PARTITION {part} FOR VALUES FROM ({first}) TO ({end});
                  END IF;
                END $body$
                """), cancellation);
            lock (this.years)
            {
                this.years.Add(year);
            }
        }
    }

    /// <inheritdoc/>
    protected override Task LockImportsAsync(LogConnection log, int site, CancellationToken cancellation)
        => RunAsync(log, string.Create(CultureInfo.InvariantCulture, $"SELECT pg_advisory_xact_lock({ImportsLock}, {site})"), cancellation);

    /// <inheritdoc/>
    protected override Task LockSumsAsync(LogConnection log, int site, bool isAlone, CancellationToken cancellation)
        => RunAsync(log, string.Create(CultureInfo.InvariantCulture, $"SELECT pg_advisory_xact_lock{(isAlone ? string.Empty : "_shared")}({SumsLock}, {site})"), cancellation);

    /// <inheritdoc/>
    protected override async Task ClaimStagedAsync(LogConnection log, CancellationToken cancellation)
    {
        await using DbCommand claim = log.Command("""
            INSERT INTO log_keys (site, key_hash, seq, day)
            SELECT DISTINCT ON (site, key_hash) site, key_hash, seq, day FROM (SELECT site, md5(entry_key)::uuid AS key_hash, seq, day, place FROM incoming) AS keyed
            ORDER BY site, key_hash, place ON CONFLICT (site, key_hash) DO NOTHING
            """);
        long claimed = await claim.ExecuteNonQueryAsync(cancellation);
        await using DbCommand count = log.Command("SELECT COUNT(*) FROM incoming");
        long all = Convert.ToInt64(await count.ExecuteScalarAsync(cancellation), CultureInfo.InvariantCulture);
        if (claimed == all)
        {
            return;
        }

        // Some keys came twice or were there.
        await RunAsync(log, """
            DELETE FROM incoming USING (SELECT place, row_number() OVER (PARTITION BY site, entry_key ORDER BY place) AS turn FROM incoming) AS turns
            WHERE turns.place = incoming.place AND turns.turn > 1;
            INSERT INTO met SELECT i.place, k.seq, k.day FROM incoming i JOIN log_keys k ON k.site = i.site AND k.key_hash = md5(i.entry_key)::uuid WHERE k.seq <> i.seq;
            CREATE UNIQUE INDEX incoming_place ON incoming (place);
            ANALYZE incoming, met;
            """, cancellation);
    }

    /// <inheritdoc/>
    protected override async Task<long?> ClaimAsync(LogConnection log, object?[] values, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command("""
            INSERT INTO log_keys (site, key_hash, seq, day) VALUES (@site, md5(@key)::uuid, nextval('log_entry_seq'), @day) ON CONFLICT (site, key_hash) DO NOTHING RETURNING seq
            """);
        Add(command, "site", values[EntryColumns.Site]);
        Add(command, "key", values[EntryColumns.Key]);
        Add(command, "day", values[EntryColumns.Day]);
        return await command.ExecuteScalarAsync(cancellation) as long?;
    }

    /// <inheritdoc/>
    protected override async Task StageChangesAsync(LogConnection log, IReadOnlyList<(long Seq, int Day, object?[] Values)> rows, CancellationToken cancellation)
    {
        if (rows.Count == 0)
        {
            return;
        }

        await using NpgsqlBinaryImporter copy = await ((NpgsqlConnection)log.Connection).BeginBinaryImportAsync($"COPY changed (seq, old_day, {EntryColumns.List()}) FROM STDIN (FORMAT BINARY)", cancellation);
        foreach ((long seq, int day, object?[] values) in rows)
        {
            await copy.StartRowAsync(cancellation);
            await copy.WriteAsync(seq, NpgsqlDbType.Bigint, cancellation);
            await copy.WriteAsync(day, NpgsqlDbType.Integer, cancellation);
            await WriteAsync(copy, values, cancellation);
        }

        await copy.CompleteAsync(cancellation);
    }

    /// <inheritdoc/>
    protected override Task ApplyCompletedAsync(LogConnection log, CancellationToken cancellation)
    {
        string changes = string.Join(", ", EntryColumns.Names.Select(name => $"{name} = c.{name}"));
        return RunAsync(log, $"UPDATE log_entries e SET {changes} FROM changed c WHERE e.seq = c.seq AND e.day = c.old_day", cancellation);
    }

    /// <inheritdoc/>
    protected override async Task<long> InsertStagedAsync(LogConnection log, int? import, Action<long> progress, CancellationToken cancellation)
    {
        // One statement: the sums are changed once, in order.
        string values = string.Join(", ", EntryColumns.Names.Select(name => name == "import" && import is not null ? "@import" : $"i.{name}"));
        await using DbCommand command = log.Command($"""
            INSERT INTO log_entries (seq, {EntryColumns.List()}) SELECT i.seq, {values} FROM incoming i WHERE NOT EXISTS (SELECT 1 FROM met WHERE met.place = i.place) ORDER BY i.exposed_at
            """);
        if (import is { } number)
        {
            Add(command, "import", number);
        }

        return await command.ExecuteNonQueryAsync(cancellation);
    }

    /// <inheritdoc/>
    protected override async Task AfterAddingAsync(LogConnection log, long added, CancellationToken cancellation)
    {
        if (added >= Many)
        {
            // What lies in an index alone is read from there only once the server knows that the rows are there for everybody.
            await RunAsync(log, "VACUUM (ANALYZE) log_entries", cancellation);
            await RunAsync(log, $"ANALYZE {string.Join(", ", LogSummary.All.Select(summary => summary.Table))}", cancellation);
        }
    }

    /// <inheritdoc/>
    protected override Task ContinueNumbersAsync(LogConnection log, int last, CancellationToken cancellation)
        => RunAsync(log, string.Create(CultureInfo.InvariantCulture, $"ALTER TABLE log_imports ALTER COLUMN seq RESTART WITH {last + 1}"), cancellation);

    /// <inheritdoc/>
    protected override Task HoldWritersOffAsync(LogConnection log, CancellationToken cancellation) => RunAsync(log, "LOCK TABLE log_entries IN SHARE ROW EXCLUSIVE MODE", cancellation);

    /// <inheritdoc/>
    protected override Task EmptyAsync(LogConnection log, string table, CancellationToken cancellation) => RunAsync(log, $"TRUNCATE {table}", cancellation);

    private static async Task RunAsync(LogConnection log, string text, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command(text);
        await command.ExecuteNonQueryAsync(cancellation);
    }

    private static async Task WriteAsync(NpgsqlBinaryImporter copy, object?[] values, CancellationToken cancellation)
    {
        for (int place = 0; place < values.Length; place++)
        {
            switch (values[place])
            {
                case null:
                    await copy.WriteNullAsync(cancellation);
                    break;
                case int number when Types[place] == NpgsqlDbType.Smallint:
                    await copy.WriteAsync((short)number, NpgsqlDbType.Smallint, cancellation);
                    break;
                case int number:
                    await copy.WriteAsync(number, NpgsqlDbType.Integer, cancellation);
                    break;
                case long number:
                    await copy.WriteAsync(number, NpgsqlDbType.Bigint, cancellation);
                    break;
                case double number:
                    await copy.WriteAsync(number, NpgsqlDbType.Double, cancellation);
                    break;
                case Guid id:
                    await copy.WriteAsync(id, NpgsqlDbType.Uuid, cancellation);
                    break;
                case object text:
                    await copy.WriteAsync((string)text, NpgsqlDbType.Text, cancellation);
                    break;
            }
        }
    }
}
