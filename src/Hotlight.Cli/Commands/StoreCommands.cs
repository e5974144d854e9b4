using System.ComponentModel;
using System.Globalization;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Hotlight.Store;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>Which store a call is about, and how its refusals are said.</summary>
internal abstract class StoreSettings : RecordsSettings
{
    /// <summary>The SQLite file in the bench's data folder.</summary>
    public string Path => System.IO.Path.Combine(Folder, "records.db");

    /// <summary>The PostgreSQL database; null: <see cref="Path"/>.</summary>
    public PostgresAddress? Server => Address();

    /// <summary>The store as it is called in sentences.</summary>
    public string Shown => Server?.Shown ?? Path;

    /// <summary>Does something with the store and says in one sentence why it cannot.</summary>
    /// <param name="work">What is done.</param>
    public static T Run<T>(Func<Task<T>> work)
    {
        try
        {
            return work().GetAwaiter().GetResult();
        }
        catch (StoreRefusedException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    /// <summary>Tells the audit trail of what is about to be done with the whole store. A store of another version is left as it is: its trail cannot be written without bringing it up.</summary>
    /// <param name="act">What is done.</param>
    /// <param name="detail">With what: names of files without their folders.</param>
    public void Tell(AuditAct act, string detail)
    {
        if (Run(() => Server is { } server ? PostgresUpkeep.IsOfThisVersionAsync(server) : SqliteUpkeep.IsOfThisVersionAsync(Path)))
        {
            OnTrail(async trail =>
            {
                await trail.TellAsync(new AuditEvent(act, AuditSubject.Store, detail: detail));
                return true;
            });
        }
    }

    /// <summary>Says what looking over found.</summary>
    /// <param name="found">What was found.</param>
    /// <param name="what">What was looked over.</param>
    public static int Say(StoreCheck found, string what)
    {
        foreach (string fault in found.Faults)
        {
            Terminal.Output.WriteLine(fault);
        }

        if (found.Faults.Count > 0)
        {
            throw new RefusedException($"{(found.Faults.Count == 1 ? "1 fault" : $"{found.Faults.Count} faults")} in {what}; restore a sound backup with 'hotlight store restore', and keep this one.");
        }

        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{what}: {found.Cases} cases, {found.Entries} exposures, no fault."));
        return HotlightCommandLine.Done;
    }
}

/// <summary>hotlight store backup FILE [--data DIR | --store ADDR].</summary>
internal sealed class StoreBackupCommand : Command<StoreBackupCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        settings.Tell(AuditAct.Exported, $"a backup, {Path.GetFileName(settings.File)}");
        if (settings.Server is { } server)
        {
            StoreSettings.Run(async () =>
            {
                await PostgresUpkeep.BackUpAsync(server, settings.File, cancellationToken);
                return 0;
            });
            Terminal.Output.WriteLine($"{settings.File}: a backup of {server.Shown}.");
            return HotlightCommandLine.Done;
        }

        return StoreSettings.Say(StoreSettings.Run(() => SqliteUpkeep.BackUpAsync(settings.Path, settings.File, cancellationToken)), settings.File);
    }

    internal sealed class Settings : StoreSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The backup; a file that is there is never written over")]
        public string File { get; init; } = string.Empty;
    }
}

/// <summary>hotlight store restore FILE [--replace] [--data DIR | --store ADDR].</summary>
internal sealed class StoreRestoreCommand : Command<StoreRestoreCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        DateTimeOffset now = TimeProvider.System.GetLocalNow();

        // Noted in what is replaced; the bench notes it in the restored trail when it starts.
        if (settings.Replace)
        {
            settings.Tell(AuditAct.Changed, $"replaced by the backup {Path.GetFileName(settings.File)}");
        }

        (StoreCheck found, string? former) = settings.Server is { } server
            ? StoreSettings.Run(() => PostgresUpkeep.RestoreAsync(settings.File, server, settings.Replace, now, cancellationToken))
            : StoreSettings.Run(() =>
            {
                Directory.CreateDirectory(Path.GetDirectoryName(settings.Path)!);
                return SqliteUpkeep.RestoreAsync(settings.File, settings.Path, settings.Replace, now, cancellationToken);
            });
        if (former is not null)
        {
            Terminal.Output.WriteLine($"The former records are kept as {former}.");
        }

        return StoreSettings.Say(found, settings.Shown);
    }

    internal sealed class Settings : StoreSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The backup")]
        public string File { get; init; } = string.Empty;

        [CommandOption("--replace")]
        [Description("Put it in the place of records that are there; they are kept beside under another name")]
        public bool Replace { get; init; }
    }
}

/// <summary>hotlight store check [--data DIR | --store ADDR].</summary>
internal sealed class StoreCheckCommand : Command<StoreCheckCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
        => StoreSettings.Say(
            settings.Server is { } server ? StoreSettings.Run(() => PostgresUpkeep.CheckAsync(server, cancellationToken)) : StoreSettings.Run(() => SqliteUpkeep.CheckAsync(settings.Path, cancellationToken)),
            settings.Shown);

    internal sealed class Settings : StoreSettings
    {
    }
}
