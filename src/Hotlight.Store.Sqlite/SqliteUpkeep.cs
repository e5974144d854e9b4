using System.Globalization;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store.Sqlite;

/// <summary>Backing up, restoring and looking over a record store in a SQLite file.</summary>
public static class SqliteUpkeep
{
    private const int CopiesKept = 3;

    /// <summary>Copies a store as it is at one moment, while a bench may work on it; the copy is looked over before it gets its name.</summary>
    /// <param name="path">Path of the store.</param>
    /// <param name="backup">Path of the copy; nothing is there yet.</param>
    /// <param name="cancellation">Stops it; no copy is left.</param>
    /// <returns>What looking over the copy found.</returns>
    /// <exception cref="StoreRefusedException">There is no store, something is at the copy's place, it cannot be written, or the copy is not sound.</exception>
    public static async Task<StoreCheck> BackUpAsync(string path, string backup, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        ArgumentException.ThrowIfNullOrWhiteSpace(backup);
        RefuseMissing(path);
        if (File.Exists(backup))
        {
            throw new StoreRefusedException($"'{backup}' is there already; give a new name, a backup is never written over.");
        }

        string part = backup + ".part";
        try
        {
            Copy(path, part);
            StoreCheck found = await CheckAsync(part, cancellation);
            if (found.Faults.Count > 0)
            {
                throw new StoreRefusedException($"The store has faults and was not backed up as sound: {found.Faults[0]} 'hotlight store check' lists them all.");
            }

            File.Move(part, backup);
            return found;
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            throw new StoreRefusedException($"The backup '{backup}' cannot be written: {error.Message}", error);
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Remove(part);
        }
    }

    /// <summary>Puts a backup in the store's place. The store that was there is kept beside it.</summary>
    /// <param name="backup">Path of the backup.</param>
    /// <param name="path">Path of the store.</param>
    /// <param name="replaces">Whether a store that is there may be replaced.</param>
    /// <param name="time">The time, for the name of what is kept beside.</param>
    /// <param name="cancellation">Stops it before anything is replaced.</param>
    /// <returns>What looking over found, and where the former store is; null: there was none.</returns>
    /// <exception cref="StoreRefusedException">The backup is not sound or of a later version, the store is in use, or one is there and may not be replaced.</exception>
    public static async Task<(StoreCheck Found, string? Former)> RestoreAsync(string backup, string path, bool replaces, DateTimeOffset time, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(backup);
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        if (!File.Exists(backup))
        {
            throw new StoreRefusedException($"There is no backup '{backup}'.");
        }

        if (File.Exists(path) && !replaces)
        {
            throw new StoreRefusedException($"'{path}' holds records; with --replace they are kept beside under another name.");
        }

        string part = path + ".part";
        try
        {
            Copy(backup, part);
            StoreCheck found = await CheckAsync(part, cancellation);
            SqliteConnection.ClearAllPools();
            if (found.Faults.Count > 0)
            {
                throw new StoreRefusedException($"The backup is not sound and was not restored: {found.Faults[0]}");
            }

            string? former = null;
            if (File.Exists(path))
            {
                await TakeAloneAsync(path);
                former = Path.Combine(Path.GetDirectoryName(Path.GetFullPath(path))!, string.Create(CultureInfo.InvariantCulture, $"{Path.GetFileNameWithoutExtension(path)}-before-{time:yyyyMMdd-HHmmss}.db"));
                KeepBeside(path, former);
            }

            // One step: whenever this ends, one of the two stores lies whole at the place. A bench that found none there would begin a new one.
            cancellation.ThrowIfCancellationRequested();
            File.Move(part, path, overwrite: true);
            File.Delete(path + SqliteRecords.OpeningMark);
            return (found, former);
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            throw new StoreRefusedException($"The backup '{backup}' cannot be restored: {error.Message}", error);
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Remove(part);
        }
    }

    /// <summary>Whether a file is a store of exactly this version, which can be used without bringing it up.</summary>
    /// <param name="path">Path of the store; there need be nothing.</param>
    /// <param name="cancellation">Stops the looking.</param>
    public static async Task<bool> IsOfThisVersionAsync(string path, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        if (!File.Exists(path))
        {
            return false;
        }

        try
        {
            await using var context = new SqliteRecordContext(SqliteRecords.Options(path));
            return (await context.Database.GetAppliedMigrationsAsync(cancellation)).ToHashSet().SetEquals(context.Database.GetMigrations());
        }
        catch (SqliteException)
        {
            return false;
        }
    }

    /// <summary>Looks a store over: the file's pages and indexes, references between rows, and whether the sums of the log are what its entries give. Changes nothing.</summary>
    /// <param name="path">Path of the store.</param>
    /// <param name="cancellation">Stops the looking.</param>
    /// <exception cref="StoreRefusedException">There is no store, or it is no store of this version.</exception>
    public static async Task<StoreCheck> CheckAsync(string path, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        RefuseMissing(path);
        DbContextOptions<SqliteRecordContext> options = SqliteRecords.Options(path);
        var faults = new List<string>();
        try
        {
            await using var context = new SqliteRecordContext(options);
            string[] known = [.. context.Database.GetMigrations()];
            string[] applied = [.. await context.Database.GetAppliedMigrationsAsync(cancellation)];
            if (applied.Length == 0)
            {
                throw new StoreRefusedException($"'{path}' is no record store of Hotlight.");
            }

            if (applied.Except(known).Any())
            {
                throw new StoreRefusedException($"'{path}' was written by a later version of Hotlight.");
            }

            await context.Database.OpenConnectionAsync(cancellation);
            var connection = (SqliteConnection)context.Database.GetDbConnection();
            faults.AddRange((await RowsAsync(connection, "PRAGMA integrity_check", cancellation)).Where(row => row != "ok").Select(row => $"The file is damaged: {row}."));
            faults.AddRange((await RowsAsync(connection, "PRAGMA foreign_key_check", cancellation)).Select(row => $"A row of {row} belongs to nothing."));
            long cases = long.Parse((await RowsAsync(connection, "SELECT COUNT(*) FROM Cases", cancellation))[0], CultureInfo.InvariantCulture);
            if (!applied.Any(each => each.EndsWith("_ExposureLog", StringComparison.Ordinal)))
            {
                // A store of an earlier version, as an old backup is: it gets its log when the bench opens it.
                return new StoreCheck(cases, 0, faults);
            }

            LogCheck log = await new SqliteExposureLog(() => new SqliteRecordContext(options), TimeProvider.System).CheckAsync(cancellation);
            return new StoreCheck(cases, log.Entries, [.. faults, .. log.Faults]);
        }
        catch (SqliteException error)
        {
            // So damaged that it cannot be read to the end, or no database at all.
            return new StoreCheck(0, 0, [.. faults, $"The file cannot be read: {error.Message}"]);
        }
        finally
        {
            SqliteConnection.ClearAllPools();
        }
    }

    /// <summary>Takes an export into a new store; the file gets its name when all of it is there and was looked over.</summary>
    /// <param name="folder">Folder of the export.</param>
    /// <param name="path">Path of the store; nothing is there yet.</param>
    /// <param name="cancellation">Stops it; nothing is left.</param>
    /// <exception cref="StoreRefusedException">A store is there, or the export cannot be taken.</exception>
    public static async Task<OpenExport> TakeAsync(string folder, string path, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        if (File.Exists(path))
        {
            throw new StoreRefusedException($"'{path}' holds records; an export is taken into a new store: give another folder with --data.");
        }

        string part = path + ".part";
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(Path.GetFullPath(path))!);
            Remove(part);
            await SqliteRecords.OpenAsync(part, TimeProvider.System, cancellation: cancellation);
            OpenExport export = await SqliteRecords.Exchange(part).TakeAsync(folder, cancellation);
            StoreCheck found = await CheckAsync(part, cancellation);
            if (found.Faults.Count > 0)
            {
                throw new StoreRefusedException($"The export could not be taken soundly: {found.Faults[0]}");
            }

            await TakeAloneAsync(part);
            File.Move(part, path);
            return export;
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            throw new StoreRefusedException($"The store '{path}' cannot be made: {error.Message}", error);
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Remove(part);
        }
    }

    /// <summary>Holds a store, so that it counts as in use until the answer is disposed of, also while nothing is asked of it.</summary>
    /// <param name="path">Path of the store.</param>
    /// <exception cref="SqliteException">It cannot be opened.</exception>
    public static IDisposable Hold(string path)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false }.ToString());
        connection.Open();
        using SqliteCommand command = connection.CreateCommand();
        command.CommandText = "SELECT COUNT(*) FROM sqlite_master";
        command.ExecuteScalar();
        return connection;
    }

    private static void RefuseMissing(string path)
    {
        if (!File.Exists(path))
        {
            throw new StoreRefusedException($"There are no records at '{path}'; start the bench once before, or give its folder with --data.");
        }
    }

    /// <summary>Copies a store before this version brings it up, for the way back to the version before; the newest three copies stay.</summary>
    /// <param name="path">Path of the store.</param>
    /// <param name="time">The time, for the copy's name.</param>
    /// <exception cref="FileNotKeptException">It cannot be copied; the store is as it was.</exception>
    /// <returns>Path of the copy.</returns>
    internal static string KeepBeforeUpgrade(string path, DateTimeOffset time)
    {
        string folder = Path.GetDirectoryName(Path.GetFullPath(path))!;
        string name = Path.GetFileNameWithoutExtension(path) + "-before-upgrade-";
        string copy = Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"{name}{time:yyyyMMdd-HHmmss}.db"));
        string part = copy + ".part";
        try
        {
            foreach (string unfinished in Directory.GetFiles(folder, name + "*.db.part*"))
            {
                File.Delete(unfinished);
            }

            Copy(path, part);
            File.Move(part, copy, overwrite: true);
            foreach (string old in Directory.GetFiles(folder, name + "*.db").OrderDescending(StringComparer.Ordinal).Skip(CopiesKept))
            {
                File.Delete(old);
            }

            return copy;
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException($"The record store {path} must be brought up to this version, and cannot be copied before that: {error.Message} It is as it was; make room and start again.", error);
        }
        finally
        {
            Remove(part);
        }
    }

    // A damaged store may have a journal beside, which must not be taken for that of the store that comes in its place.
    private static void KeepBeside(string path, string former)
    {
        string unfinished = former + ".part";
        try
        {
            foreach (string end in new[] { "-wal", "-shm", "-journal" })
            {
                if (File.Exists(path + end))
                {
                    File.Copy(path + end, former + end);
                }
            }

            File.Copy(path, unfinished, overwrite: true);
            File.Move(unfinished, former);
        }
        catch
        {
            Remove(unfinished);
            throw;
        }

        foreach (string end in new[] { "-wal", "-shm", "-journal" })
        {
            File.Delete(path + end);
        }
    }

    // The online backup of SQLite: one moment of the store, whatever is written meanwhile; and one file, without a journal beside.
    private static void Copy(string from, string to)
    {
        Remove(to);
        using var source = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = from, Mode = SqliteOpenMode.ReadOnly, Pooling = false, DefaultTimeout = 120 }.ToString());
        source.Open();
        using var target = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = to, Pooling = false }.ToString());
        target.Open();
        source.BackupDatabase(target);
        using SqliteCommand command = target.CreateCommand();
        command.CommandText = "PRAGMA journal_mode = DELETE";
        command.ExecuteNonQuery();
    }

    private static async Task TakeAloneAsync(string path)
    {
        // Leaving the write-ahead journal needs the file alone, and brings all of it into the one file.
        await using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false, DefaultTimeout = 1 }.ToString());
        try
        {
            await connection.OpenAsync();
            string mode = (await RowsAsync(connection, "PRAGMA journal_mode = DELETE", CancellationToken.None))[0];
            if (mode == "delete")
            {
                return;
            }
        }
        catch (SqliteException error) when (error.SqliteErrorCode is 5 or 6)
        {
            // Busy or locked: said below.
        }
        catch (SqliteException error) when (error.SqliteErrorCode is 11 or 26)
        {
            // Damaged, or no database: nobody works on it, and it is kept beside as it is.
            return;
        }

        throw new StoreRefusedException($"The records '{path}' are in use; stop the bench first.");
    }

    private static async Task<List<string>> RowsAsync(SqliteConnection connection, string sql, CancellationToken cancellation)
    {
        await using SqliteCommand command = connection.CreateCommand();
        command.CommandText = sql;
        var rows = new List<string>();
        await using SqliteDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            rows.Add(Convert.ToString(reader.GetValue(0), CultureInfo.InvariantCulture) ?? string.Empty);
        }

        return rows;
    }

    private static void Remove(string path)
    {
        foreach (string file in new[] { path, path + "-wal", path + "-shm", path + "-journal" })
        {
            File.Delete(file);
        }
    }
}
