using System.Runtime.CompilerServices;
using Hotlight.Audit;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Npgsql;
using Npgsql.EntityFrameworkCore.PostgreSQL.Infrastructure.Internal;

namespace Hotlight.Store.Postgres;

/// <summary>An opened PostgreSQL store: cases, settings and exposures, and the news that other servers on it tell.</summary>
public sealed class PostgresRecords : IAsyncDisposable
{
    // Any number that nobody else in the database uses.
    private const long MigrationLock = 0x484C_0000;

    private readonly CaseNewsRelay? relay;

    private PostgresRecords(PostgresAddress address, DbContextOptions<PostgresRecordContext> options, TimeProvider clock, CaseNews? news)
    {
        RecordContext Open() => new PostgresRecordContext(options);
        var records = new RecordStore(Open, clock, news);
        Records = records;
        Store = records;
        Clinic = new ClinicStore(Open, clock);
        Readings = new ReadingStore(Open, clock);
        Lessons = new LessonStore(Open, clock);
        Trail = new AuditStore(Open);
        Queue = new MeasuringQueue(Open, clock, news);
        Accounts = new AccountStore(Open);
        Log = new PostgresExposureLog(Open, clock);
        Exchange = new OpenStore(Open, Log);
        relay = news is null ? null : new CaseNewsRelay(address, news);
    }

    /// <summary>The cases.</summary>
    public IRecordStore Records { get; }

    /// <summary>The settings of the clinic.</summary>
    public IClinicStore Clinic { get; }

    /// <summary>Readings of readers' own, discussions and sign-offs.</summary>
    public IReadingStore Readings { get; }

    /// <summary>Lessons: handouts, walk-throughs, rounds, practice, collections.</summary>
    public ILessonStore Lessons { get; }

    /// <summary>The audit trail.</summary>
    public IAuditStore Trail { get; }

    /// <summary>The cases that are to be measured.</summary>
    public IMeasuringQueue Queue { get; }

    /// <summary>The accounts of a department.</summary>
    public IAccountStore Accounts { get; }

    /// <summary>The exposures of the department.</summary>
    public ExposureLog Log { get; }

    /// <summary>Writes everything out in open formats and takes it in.</summary>
    public OpenStore Exchange { get; }

    private RecordStore Store { get; }

    /// <summary>Opens the store, making its tables or bringing them up to this version.</summary>
    /// <param name="address">Where it is.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Told of every change once it is kept, here or by another server; null: nobody is.</param>
    /// <param name="cancellation">Stops the opening.</param>
    /// <exception cref="FileNotKeptException">The database cannot be reached or changed. The message holds no password.</exception>
    public static async Task<PostgresRecords> OpenAsync(PostgresAddress address, TimeProvider clock, CaseNews? news = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(address);
        DbContextOptions<PostgresRecordContext> options = Options(address.ConnectionString);
        try
        {
            await using (var alone = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(address.ConnectionString) { Pooling = false }.ConnectionString))
            await using (var context = new PostgresRecordContext(options))
            {
                // Two servers that start at once make the tables one after the other. The lock goes with its connection.
                await alone.OpenAsync(cancellation);
                await using NpgsqlCommand command = alone.CreateCommand();
                command.CommandText = $"SELECT pg_advisory_lock({MigrationLock})";
                command.CommandTimeout = 0;
                await command.ExecuteNonQueryAsync(cancellation);

                if ((await context.Database.GetAppliedMigrationsAsync(cancellation)).Except(context.Database.GetMigrations()).Any())
                {
                    throw new FileNotKeptException($"The record store {address.Shown} was made by a later version of Hotlight and is left alone: start that version, or restore a backup of before ('hotlight store restore').");
                }

                // Sums of millions of entries may have to be made.
                context.Database.SetCommandTimeout(0);
                await context.Database.MigrateAsync(cancellation);
            }

            var opened = new PostgresRecords(address, options, clock, news);
            await opened.Store.CompleteRowsAsync(cancellation);
            if (opened.relay is { } relay)
            {
                await relay.StartAsync(cancellation);
            }

            return opened;
        }
        catch (Exception error) when (error is NpgsqlException or InvalidOperationException { InnerException: NpgsqlException })
        {
            string reason = (error as NpgsqlException ?? (NpgsqlException)error.InnerException!).Message;
            throw new FileNotKeptException($"The record store {address.Shown} cannot be opened: {reason}", error);
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        if (relay is not null)
        {
            await relay.DisposeAsync();
        }
    }

    /// <summary>Options for a context.</summary>
    /// <param name="connectionString">What the database is opened with.</param>
    internal static DbContextOptions<PostgresRecordContext> Options(string connectionString)
    {
        var builder = new DbContextOptionsBuilder<PostgresRecordContext>();
        builder.UseNpgsql(connectionString);

        // What is missing stands first in rising order, as in the embedded store. The provider can do it, but offers no public call; the tests of the worklist's orders stand guard.
#pragma warning disable EF1001
        NpgsqlOptionsExtension provider = WithReverseNullOrdering(builder.Options.GetExtension<NpgsqlOptionsExtension>(), true);
        ((IDbContextOptionsBuilderInfrastructure)builder).AddOrUpdateExtension(provider);
        return builder.Options;
    }

    [UnsafeAccessor(UnsafeAccessorKind.Method, Name = "WithReverseNullOrdering")]
    private static extern NpgsqlOptionsExtension WithReverseNullOrdering(NpgsqlOptionsExtension extension, bool reverseNullOrdering);
#pragma warning restore EF1001
}
