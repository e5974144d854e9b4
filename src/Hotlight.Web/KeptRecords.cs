using Hotlight.Audit;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Web.People.Guards;
using Hotlight.Workflows.Audit;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Web;

/// <summary>The opened store of the records: a SQLite file in the data folder, or the PostgreSQL database of <c>--store</c>.</summary>
/// <param name="Records">The cases.</param>
/// <param name="Clinic">The settings of the clinic.</param>
/// <param name="Readings">Readings of readers' own, discussions and sign-offs.</param>
/// <param name="Lessons">Handouts, walk-throughs, rounds, practice, collections.</param>
/// <param name="Queue">The cases that are to be measured.</param>
/// <param name="Log">The exposures of the department.</param>
/// <param name="Accounts">The accounts of the department.</param>
/// <param name="Trail">The audit trail; every change of the others goes by it first.</param>
/// <param name="Server">The PostgreSQL store; null: a file.</param>
/// <param name="Hold">What marks the file as in use; null: a database.</param>
public sealed record KeptRecords(IRecordStore Records, IClinicStore Clinic, IReadingStore Readings, ILessonStore Lessons, IMeasuringQueue Queue, IExposureLog Log, IAccountStore Accounts, AuditTrail Trail, PostgresRecords? Server, IDisposable? Hold) : IAsyncDisposable
{
    /// <summary>Name of the file in the data folder.</summary>
    public const string FileName = "records.db";

    /// <summary>Opens the store.</summary>
    /// <param name="options">How the bench is started.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Told of every change of a case once it is kept, also by another server on the same database.</param>
    /// <exception cref="FileNotKeptException">It cannot be opened.</exception>
    public static async Task<KeptRecords> OpenAsync(BenchOptions options, TimeProvider clock, CaseNews news)
    {
        ArgumentNullException.ThrowIfNull(options);
        if (options.Store is { } address)
        {
            PostgresRecords server = await PostgresRecords.OpenAsync(address, clock, news);
            return Audited(server.Records, server.Clinic, server.Readings, server.Lessons, server.Queue, server.Log, server.Accounts, server.Trail, server, null);
        }

        string path = Path.Combine(options.DataFolder, FileName);
        return Audited(await SqliteRecords.OpenAsync(path, clock, news), SqliteRecords.Clinic(path, clock), SqliteRecords.Readings(path, clock), SqliteRecords.Lessons(path, clock), SqliteRecords.Queue(path, clock, news), SqliteRecords.Log(path, clock), SqliteRecords.Accounts(path), SqliteRecords.Trail(path), null, SqliteUpkeep.Hold(path));

        KeptRecords Audited(IRecordStore records, IClinicStore clinic, IReadingStore readings, ILessonStore lessons, IMeasuringQueue queue, IExposureLog log, IAccountStore accounts, IAuditStore entries, PostgresRecords? server, IDisposable? hold)
        {
            var trail = new AuditTrail(entries, options.DataFolder, clock);
            return new KeptRecords(new AuditedRecords(records, trail), new AuditedClinic(clinic, trail), new AuditedReadings(readings, trail), new AuditedLessons(lessons, trail), queue, new AuditedExposures(log, trail), accounts, trail, server, hold);
        }
    }

    /// <summary>The same store where every change is asked for by role first.</summary>
    public KeptRecords Guarded() => this with
    {
        Records = new GuardedRecords(Records),
        Clinic = new GuardedClinic(Clinic, Accounts),
        Readings = new GuardedReadings(Readings),
        Lessons = new GuardedLessons(Lessons),
        Log = new GuardedLog(Log),
    };

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await Trail.DisposeAsync();
        Hold?.Dispose();
        if (Server is not null)
        {
            await Server.DisposeAsync();
        }
    }
}
