using System.ComponentModel;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Hotlight.Privacy;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Audit;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Records;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>Which bench's records a call is about.</summary>
internal abstract class RecordsSettings : CommandSettings
{
    [CommandOption("--data <DIR>")]
    [Description("Folder that the bench keeps its data in (default: the bench's own default folder)")]
    public string? Data { get; init; }

    [CommandOption("--store <ADDR>")]
    [Description("PostgreSQL database that the bench keeps its records in: postgres://user@host:5432/database; the password is better left to PGPASSFILE or PGPASSWORD")]
    public string? Store { get; init; }

    /// <summary>Who acts by the command line: the user of the operating system.</summary>
    public static Actor Caller => Actor.Program.NamedAs(new AuditActor($"command line, {Environment.UserName}"));

    /// <summary>The bench's data folder.</summary>
    protected string Folder => Data ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.DoNotVerify), "hotlight");

    /// <summary>Opens the records of the bench; a folder that no bench has used yet is refused.</summary>
    public OpenRecords Open()
    {
        string path = Path.Combine(Folder, "records.db");
        PostgresAddress? address = Address();
        if (address is null ? !File.Exists(path) : !Directory.Exists(Folder))
        {
            throw new RefusedException($"'{Folder}' holds no records; give the folder of your bench with --data, and start the bench once before.");
        }

        try
        {
            if (address is not null)
            {
                PostgresRecords server = PostgresRecords.OpenAsync(address, TimeProvider.System).GetAwaiter().GetResult();
                var settings = new ClinicWorkflow(server.Clinic);
                settings.LoadAsync().GetAwaiter().GetResult();
                return new OpenRecords(Audited(server.Log, server.Trail), server.Queue, settings, PrivacyKey.Open(Path.Combine(Folder, "privacy.key")));
            }

            SqliteRecords.OpenAsync(path, TimeProvider.System).GetAwaiter().GetResult();
            var clinic = new ClinicWorkflow(SqliteRecords.Clinic(path, TimeProvider.System));
            clinic.LoadAsync().GetAwaiter().GetResult();
            return new OpenRecords(Audited(SqliteRecords.Log(path, TimeProvider.System), SqliteRecords.Trail(path)), SqliteRecords.Queue(path, TimeProvider.System), clinic, PrivacyKey.Open(Path.Combine(Folder, "privacy.key")));
        }
        catch (AuditRefusedException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (FileNotKeptException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (FormatException error)
        {
            throw new RefusedException($"the settings of the clinic cannot be read, perhaps because a later version kept them: {error.Message}");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the data of the bench cannot be used: {Terminal.Reason(error)}.");
        }
    }

    /// <summary>Does something with the audit trail, in the caller's name, and says in one sentence why it cannot.</summary>
    /// <param name="work">What is done.</param>
    /// <exception cref="RefusedException">There is no trail, or it cannot be read or written.</exception>
    public T OnTrail<T>(Func<AuditTrail, Task<T>> work)
    {
        Acting.As(Caller);
        try
        {
            return OnTrailAsync(work).GetAwaiter().GetResult();
        }
        catch (Exception error) when (error is AuditRefusedException or FileNotKeptException)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the audit trail cannot be read or written: {Terminal.Reason(error)}.");
        }
    }

    /// <summary>The trail over a store.</summary>
    /// <param name="entries">Where the entries lie.</param>
    protected AuditTrail TrailOf(IAuditStore entries) => new(entries, Folder, TimeProvider.System);

    private async Task<T> OnTrailAsync<T>(Func<AuditTrail, Task<T>> work)
    {
        string path = Path.Combine(Folder, "records.db");
        if (Address() is { } address)
        {
            await using PostgresRecords server = await PostgresRecords.OpenAsync(address, TimeProvider.System);
            await using AuditTrail kept = TrailOf(server.Trail);
            return await work(kept);
        }

        if (!File.Exists(path))
        {
            throw new RefusedException($"'{Folder}' holds no records; give the folder of your bench with --data, and start the bench once before.");
        }

        await SqliteRecords.OpenAsync(path, TimeProvider.System);
        await using AuditTrail trail = TrailOf(SqliteRecords.Trail(path));
        return await work(trail);
    }

    // Whatever a call changes goes by the trail first, in the name of the operating system's user.
    private AuditedExposures Audited(IExposureLog log, IAuditStore entries)
    {
        Acting.As(Caller);
        return new AuditedExposures(log, TrailOf(entries));
    }

    /// <summary>The database of <see cref="Store"/>; null: a file in the data folder.</summary>
    /// <exception cref="RefusedException">It is no address.</exception>
    protected PostgresAddress? Address()
    {
        try
        {
            return Store is null ? null : PostgresAddress.Parse(Store);
        }
        catch (FormatException error)
        {
            throw new RefusedException(error.Message);
        }
    }
}

/// <summary>The records of a bench, opened.</summary>
/// <param name="Log">The exposures.</param>
/// <param name="Queue">The cases that are to be measured.</param>
/// <param name="Clinic">The clinic's settings.</param>
/// <param name="Key">The store's key.</param>
internal sealed record OpenRecords(IExposureLog Log, IMeasuringQueue Queue, ClinicWorkflow Clinic, PrivacyKey Key);
