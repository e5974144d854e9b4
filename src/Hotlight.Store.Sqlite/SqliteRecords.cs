using System.Data.Common;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace Hotlight.Store.Sqlite;

/// <summary>Opens the record store in a SQLite file.</summary>
public static class SqliteRecords
{
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
            await context.Database.MigrateAsync(cancellation);

            // Readers don't wait for a writer; the mode is kept in the file.
            await context.Database.ExecuteSqlRawAsync("PRAGMA journal_mode = WAL;", cancellation);
        }
        catch (SqliteException error)
        {
            throw new FileNotKeptException($"The record store {path} cannot be opened: {error.Message}", error);
        }

        var store = new RecordStore(() => new SqliteRecordContext(options), clock, news);
        await store.CompleteRowsAsync(cancellation);
        await using (var context = new SqliteRecordContext(options))
        {
            // Says to the database how many rows share a value, so that it chooses the right index; quick where nothing changed much.
            await context.Database.ExecuteSqlRawAsync("PRAGMA optimize = 0x10002;", cancellation);
        }

        return store;
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
