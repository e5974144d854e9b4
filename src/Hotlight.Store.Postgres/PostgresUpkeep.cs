using System.Diagnostics;
using System.Globalization;
using Hotlight.Store.Log;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace Hotlight.Store.Postgres;

/// <summary>Backing up, restoring and looking over a record store in PostgreSQL, by the server's own programs pg_dump and pg_restore.</summary>
public static class PostgresUpkeep
{
    /// <summary>Writes the store, as it is at one moment, into a file of pg_dump's own format.</summary>
    /// <param name="address">Where the store is.</param>
    /// <param name="backup">Path of the file; nothing is there yet.</param>
    /// <param name="cancellation">Stops it; no file is left.</param>
    /// <exception cref="StoreRefusedException">pg_dump is not installed or fails, or something is at the file's place.</exception>
    public static async Task BackUpAsync(PostgresAddress address, string backup, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(address);
        ArgumentException.ThrowIfNullOrWhiteSpace(backup);
        if (File.Exists(backup))
        {
            throw new StoreRefusedException($"'{backup}' is there already; give a new name, a backup is never written over.");
        }

        string part = backup + ".part";
        try
        {
            await RunAsync("pg_dump", address, ["--format=custom", "--schema=public", "--no-owner", "--no-privileges", "--file", part], cancellation);
            File.Move(part, backup);
        }
        finally
        {
            File.Delete(part);
        }
    }

    /// <summary>Puts a backup into the database. Tables that are there are kept in a schema of another name.</summary>
    /// <param name="backup">Path of the backup.</param>
    /// <param name="address">Where the store is.</param>
    /// <param name="replaces">Whether a store that is there may be replaced.</param>
    /// <param name="time">The time, for the name of what is kept beside.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>What looking over found, and the schema that holds the former store; null: there was none.</returns>
    /// <exception cref="StoreRefusedException">pg_restore is not installed or fails, the store is in use, or one is there and may not be replaced.</exception>
    public static async Task<(StoreCheck Found, string? Former)> RestoreAsync(string backup, PostgresAddress address, bool replaces, DateTimeOffset time, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(backup);
        ArgumentNullException.ThrowIfNull(address);
        if (!File.Exists(backup))
        {
            throw new StoreRefusedException($"There is no backup '{backup}'.");
        }

        // Read first: a file that is no backup must not move anything.
        await RunAsync("pg_restore", null, ["--list", backup], cancellation);
        NpgsqlConnection.ClearAllPools();
        await using NpgsqlConnection connection = await ConnectAsync(address, cancellation);
        bool holdsRecords = await ScalarAsync(connection, "SELECT COUNT(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = 'public' AND c.relkind IN ('r', 'p')", cancellation) > 0;
        if (holdsRecords && !replaces)
        {
            throw new StoreRefusedException($"{address.Shown} holds records; with --replace they are kept beside in a schema of another name.");
        }

        if (await ScalarAsync(connection, "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() AND application_name LIKE 'hotlight-%'", cancellation) > 0)
        {
            throw new StoreRefusedException($"The records {address.Shown} are in use; stop every bench on them first.");
        }

        string former = string.Create(CultureInfo.InvariantCulture, $"before_{time:yyyyMMdd_HHmmss}");
        await ExecuteAsync(connection, $"ALTER SCHEMA public RENAME TO {former}; CREATE SCHEMA public", cancellation);
        try
        {
            await RunAsync("pg_restore", address, ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", "--schema=public", backup], cancellation);
        }
        catch
        {
            await ExecuteAsync(connection, $"DROP SCHEMA public CASCADE; ALTER SCHEMA {former} RENAME TO public", CancellationToken.None);
            throw;
        }

        if (!holdsRecords)
        {
            await ExecuteAsync(connection, $"DROP SCHEMA {former} CASCADE", cancellation);
        }

        return (await CheckAsync(address, cancellation), holdsRecords ? former : null);
    }

    /// <summary>Whether a database is a store of exactly this version, which can be used without bringing it up.</summary>
    /// <param name="address">Where the store is.</param>
    /// <param name="cancellation">Stops the looking.</param>
    public static async Task<bool> IsOfThisVersionAsync(PostgresAddress address, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(address);
        try
        {
            await using var context = new PostgresRecordContext(PostgresRecords.Options(address.ConnectionString));
            return (await context.Database.GetAppliedMigrationsAsync(cancellation)).ToHashSet().SetEquals(context.Database.GetMigrations());
        }
        catch (Exception error) when (error is NpgsqlException or InvalidOperationException { InnerException: NpgsqlException })
        {
            return false;
        }
    }

    /// <summary>Looks a store over: whether every table can be read and the sums of the log are what its entries give. Changes nothing.</summary>
    /// <param name="address">Where the store is.</param>
    /// <param name="cancellation">Stops the looking.</param>
    /// <exception cref="StoreRefusedException">The server cannot be reached, or the database is no store of this version.</exception>
    public static async Task<StoreCheck> CheckAsync(PostgresAddress address, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(address);
        DbContextOptions<PostgresRecordContext> options = PostgresRecords.Options(address.ConnectionString);
        await using NpgsqlConnection connection = await ConnectAsync(address, cancellation);
        await using (var context = new PostgresRecordContext(options))
        {
            string[] applied = [.. await context.Database.GetAppliedMigrationsAsync(cancellation)];
            if (applied.Length == 0)
            {
                throw new StoreRefusedException($"{address.Shown} is no record store of Hotlight.");
            }

            if (!applied.ToHashSet().SetEquals(context.Database.GetMigrations()))
            {
                throw new StoreRefusedException($"{address.Shown} is of another version of Hotlight; a bench of this version brings an earlier one up.");
            }
        }

        long cases = await ScalarAsync(connection, "SELECT COUNT(*) FROM \"Cases\"", cancellation);
        long keys = await ScalarAsync(connection, """
            SELECT (SELECT COUNT(*) FROM log_keys) + (SELECT COUNT(*) FROM log_entries)
              - 2 * (SELECT COUNT(*) FROM log_keys k JOIN log_entries e ON e.seq = k.seq AND e.day = k.day AND e.site = k.site AND md5(e.entry_key)::uuid = k.key_hash)
            """, cancellation);
        LogCheck log = await new PostgresExposureLog(() => new PostgresRecordContext(options), TimeProvider.System).CheckAsync(cancellation);
        return new StoreCheck(cases, log.Entries, keys == 0 ? log.Faults : [$"{keys} keys and entries have no partner.", .. log.Faults]);
    }

    private static async Task<NpgsqlConnection> ConnectAsync(PostgresAddress address, CancellationToken cancellation)
    {
        var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(address.ConnectionString) { Pooling = false, CommandTimeout = 0 }.ConnectionString);
        try
        {
            await connection.OpenAsync(cancellation);
            return connection;
        }
        catch (NpgsqlException error)
        {
            await connection.DisposeAsync();
            throw new StoreRefusedException($"The record store {address.Shown} cannot be opened: {error.Message}", error);
        }
    }

    private static async Task<long> ScalarAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation)
    {
        await using NpgsqlCommand command = new(sql, connection);
        return Convert.ToInt64(await command.ExecuteScalarAsync(cancellation), CultureInfo.InvariantCulture);
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation)
    {
        await using NpgsqlCommand command = new(sql, connection);
        await command.ExecuteNonQueryAsync(cancellation);
    }

    private static async Task RunAsync(string program, PostgresAddress? address, string[] arguments, CancellationToken cancellation)
    {
        var start = new ProcessStartInfo(program) { RedirectStandardError = true, RedirectStandardOutput = true };
        if (address is not null)
        {
            var parts = new NpgsqlConnectionStringBuilder(address.ConnectionString);
            string host = parts.Host!;
            foreach (string word in new[] { "--host", host, "--port", parts.Port.ToString(CultureInfo.InvariantCulture), "--dbname", parts.Database!, "--no-password" })
            {
                start.ArgumentList.Add(word);
            }

            if (parts.Username is { } person)
            {
                start.ArgumentList.Add("--username");
                start.ArgumentList.Add(person);
            }

            if (parts.Password is { } password)
            {
                // Not in the command line, where others could read it.
                start.Environment["PGPASSWORD"] = password;
            }
        }

        foreach (string argument in arguments)
        {
            start.ArgumentList.Add(argument);
        }

        Process? process;
        try
        {
            process = Process.Start(start);
        }
        catch (System.ComponentModel.Win32Exception error)
        {
            throw new StoreRefusedException($"{program} is not installed here; it comes with PostgreSQL (Debian: postgresql-client).", error);
        }

        using (process)
        {
            Task<string> output = process!.StandardOutput.ReadToEndAsync(cancellation);
            string said = await process.StandardError.ReadToEndAsync(cancellation);
            await output;
            await process.WaitForExitAsync(cancellation);
            if (process.ExitCode != 0)
            {
                throw new StoreRefusedException($"{program} failed: {said.Split('\n', StringSplitOptions.RemoveEmptyEntries).FirstOrDefault()?.Trim() ?? "it gave no reason"}.");
            }
        }
    }
}
