using System.Data.Common;
using System.Text;
using Hotlight.Audit;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace Hotlight.Store.Sqlite;

/// <summary>Opens the record store in a SQLite file.</summary>
public static class SqliteRecords
{
    // How often another program's bringing-up is waited for, every tenth of a second: two minutes, as a writer waits.
    private const int LongestWaitTenths = 1200;

    /// <summary>Ends the name of the file that is locked while a store is brought up. Where a program was killed meanwhile it stays, and names the copy that was made before.</summary>
    internal const string OpeningMark = "-opening";

    // A lock that another holds is waited for; a full or read-only disk is not.
    private static readonly int[] HeldByAnother = [11, 35, 32];

    /// <summary>Options for a context over a file; the file is made by <see cref="OpenAsync"/>.</summary>
    /// <param name="path">Path of the file.</param>
    public static DbContextOptions<SqliteRecordContext> Options(string path)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);

        // How long a writer waits for another: a bringing-in of a million exposures takes about a minute, and an answer given meanwhile must not be lost.
        string connection = new SqliteConnectionStringBuilder { DataSource = path, DefaultTimeout = 120, ForeignKeys = true }.ToString();
        return new DbContextOptionsBuilder<SqliteRecordContext>().UseSqlite(connection).AddInterceptors(new DurableConnection()).Options;
    }

    /// <summary>Opens the store, making the file or bringing its tables up to this version.</summary>
    /// <param name="path">Path of the file; its folder exists.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Told of every change once it is kept; null: nobody is.</param>
    /// <param name="cancellation">Stops the opening.</param>
    /// <exception cref="FileNotKeptException">The file cannot be opened or written.</exception>
    public static async Task<IRecordStore> OpenAsync(string path, TimeProvider clock, CaseNews? news = null, CancellationToken cancellation = default)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        try
        {
            await using var context = new SqliteRecordContext(options);
            await BringUpAsync(context, path, clock, cancellation);

            // Readers don't wait for a writer; the mode is kept in the file.
            await context.Database.ExecuteSqlRawAsync("PRAGMA journal_mode = WAL;", cancellation);
            var store = new RecordStore(() => new SqliteRecordContext(options), clock, news);
            await store.CompleteRowsAsync(cancellation);

            // Says to the database how many rows share a value, so that it chooses the right index; quick where nothing changed much.
            await context.Database.ExecuteSqlRawAsync("PRAGMA optimize = 0x10002;", cancellation);
            return store;
        }
        catch (Exception error) when (error is SqliteException or DbUpdateException)
        {
            throw new FileNotKeptException($"The record store {path} cannot be opened: {error.GetBaseException().Message}{(error.GetBaseException() is SqliteException { SqliteErrorCode: 8 or 10 or 13 or 14 } ? " Is the disk full or read-only?" : string.Empty)}", error);
        }
    }

    /// <summary>Makes the tables or brings them up to this version, one program at a time.</summary>
    /// <remarks>EF Core marks a migration under way by a row in the file, which stays when the program is killed meanwhile, and then every later one waits for it for good. A lock of the operating system ends with whoever holds it: under it, a row that is there is nobody's any more.</remarks>
    private static async Task BringUpAsync(SqliteRecordContext context, string path, TimeProvider clock, CancellationToken cancellation)
    {
        if (File.Exists(path) && (await context.Database.GetAppliedMigrationsAsync(cancellation)).Except(context.Database.GetMigrations()).Any())
        {
            throw new FileNotKeptException($"The record store {path} was made by a later version of Hotlight and is left alone: start that version, or restore the copy that it made before it brought the store up ('hotlight store restore').");
        }

        if (!(await context.Database.GetPendingMigrationsAsync(cancellation)).Any())
        {
            return;
        }

        string mark = path + OpeningMark;
        await using FileStream alone = await TakeAloneAsync(mark, cancellation);

        // Whoever waited here finds it done.
        if ((await context.Database.GetPendingMigrationsAsync(cancellation)).Any())
        {
            // Called again after it was killed halfway, the copy of before the first attempt counts: one of a store brought up by half is no way back.
            if ((await context.Database.GetAppliedMigrationsAsync(cancellation)).Any() && !await NamesACopyAsync(alone, path, cancellation))
            {
                string copy = SqliteUpkeep.KeepBeforeUpgrade(path, clock.GetLocalNow());
                alone.SetLength(0);
                await alone.WriteAsync(Encoding.UTF8.GetBytes(Path.GetFileName(copy)), cancellation);
                await alone.FlushAsync(cancellation);
            }

            await MigrateAloneAsync(context, path, cancellation);
        }

        File.Delete(mark);
    }

    private static async Task<bool> NamesACopyAsync(FileStream mark, string path, CancellationToken cancellation)
    {
        byte[] name = new byte[Math.Min(mark.Length, 1000)];
        mark.Position = 0;
        await mark.ReadExactlyAsync(name, cancellation);
        string copy = Encoding.UTF8.GetString(name);
        return copy.Length > 0 && copy == Path.GetFileName(copy) && File.Exists(Path.Combine(Path.GetDirectoryName(Path.GetFullPath(path))!, copy));
    }

    private static async Task MigrateAloneAsync(SqliteRecordContext context, string path, CancellationToken cancellation)
    {
        if (File.Exists(path) && new FileInfo(path).Length > 0)
        {
            await context.Database.ExecuteSqlRawAsync("""CREATE TABLE IF NOT EXISTS "__EFMigrationsLock" ("Id" INTEGER NOT NULL CONSTRAINT "PK___EFMigrationsLock" PRIMARY KEY, "Timestamp" TEXT NOT NULL); DELETE FROM "__EFMigrationsLock";""", cancellation);
        }

        await context.Database.MigrateAsync(cancellation);
    }

    private static async Task<FileStream> TakeAloneAsync(string path, CancellationToken cancellation)
    {
        for (int tries = 0; ; tries++)
        {
            try
            {
                var taken = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);

                // Whoever had it before took the file away at the end: a lock on a file that is no longer there holds nobody off.
                if (File.Exists(path) && File.GetCreationTimeUtc(path) == File.GetCreationTimeUtc(taken.SafeFileHandle))
                {
                    return taken;
                }

                await taken.DisposeAsync();
                if (tries >= LongestWaitTenths)
                {
                    throw new FileNotKeptException("The record store cannot be brought up to this version: other programs open it all the time.");
                }
            }
            catch (IOException error) when (tries < LongestWaitTenths && HeldByAnother.Contains(error.HResult & 0xffff))
            {
                await Task.Delay(100, cancellation);
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                throw new FileNotKeptException($"The record store cannot be brought up to this version: {error.Message}", error);
            }
        }
    }

    /// <summary>The settings of the clinic in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="clock">Tells the time.</param>
    public static IClinicStore Clinic(string path, TimeProvider clock)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new ClinicStore(() => new SqliteRecordContext(options), clock);
    }

    /// <summary>The cases that are to be measured in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="clock">Tells the time; leases go by it.</param>
    /// <param name="news">Told of every change once it is kept; null: nobody is.</param>
    public static IMeasuringQueue Queue(string path, TimeProvider clock, CaseNews? news = null)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new MeasuringQueue(() => new SqliteRecordContext(options), clock, news);
    }

    /// <summary>The exposures of the department in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="clock">Tells the time.</param>
    public static ExposureLog Log(string path, TimeProvider clock)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new SqliteExposureLog(() => new SqliteRecordContext(options), clock);
    }

    /// <summary>Writes everything of the same file, which <see cref="OpenAsync"/> has opened before, out in open formats, and takes it in.</summary>
    /// <param name="path">Path of the file.</param>
    public static OpenStore Exchange(string path)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new OpenStore(() => new SqliteRecordContext(options), Log(path, TimeProvider.System));
    }

    /// <summary>The readings of readers' own in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="clock">Tells the time.</param>
    public static IReadingStore Readings(string path, TimeProvider clock)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new ReadingStore(() => new SqliteRecordContext(options), clock);
    }

    /// <summary>The lessons in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="clock">Tells the time.</param>
    public static ILessonStore Lessons(string path, TimeProvider clock)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new LessonStore(() => new SqliteRecordContext(options), clock);
    }

    /// <summary>The audit trail in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    public static IAuditStore Trail(string path)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new AuditStore(() => new SqliteRecordContext(options));
    }

    /// <summary>The accounts of a department in the same file, which <see cref="OpenAsync"/> has opened before.</summary>
    /// <param name="path">Path of the file.</param>
    public static IAccountStore Accounts(string path)
    {
        DbContextOptions<SqliteRecordContext> options = Options(path);
        return new AccountStore(() => new SqliteRecordContext(options));
    }

    /// <summary>What is acknowledged is on disk, even when the machine loses power: every commit is flushed.</summary>
    private sealed class DurableConnection : DbConnectionInterceptor
    {
        public override void ConnectionOpened(DbConnection connection, ConnectionEndEventData eventData)
        {
            using DbCommand command = connection.CreateCommand();
            command.CommandText = "PRAGMA synchronous = FULL;";
            command.ExecuteNonQuery();
        }

        public override async Task ConnectionOpenedAsync(DbConnection connection, ConnectionEndEventData eventData, CancellationToken cancellationToken = default)
        {
            await using DbCommand command = connection.CreateCommand();
            command.CommandText = "PRAGMA synchronous = FULL;";
            await command.ExecuteNonQueryAsync(cancellationToken);
        }
    }
}
