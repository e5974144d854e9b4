using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight audit check [--head NUMBER:SEAL] [--data DIR | --store ADDR].</summary>
internal sealed class AuditCheckCommand : Command<AuditCheckCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        (AuditCheck found, string? kept) = settings.OnTrail(async trail =>
        {
            AuditCheck check = await trail.CheckAsync(cancellationToken);
            string? fault = null;
            if (settings.Head is { } head)
            {
                string[] parts = head.Split(':');
                if (parts.Length != 2 || !long.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out long number) || parts[1].Length != AuditSeal.Digits)
                {
                    throw new RefusedException("--head takes what an earlier check printed: a number, a colon and a seal of 64 digits.");
                }

                AuditEntry? same = null;
                await foreach (AuditEntry entry in trail.ReadAsync(new AuditQuery { Number = number }, cancellationToken))
                {
                    same = entry;
                }

                fault = same is null
                    ? $"There is no entry {number} any more, which an earlier check had seen."
                    : string.Equals(same.Seal, parts[1], StringComparison.OrdinalIgnoreCase) ? null : $"Entry {number} is not the one that an earlier check had seen: the trail was written anew.";
            }

            await trail.TellAsync(new AuditEvent(AuditAct.TrailUsed, AuditSubject.Trail, detail: "checked") { IsFailure = check.Faults.Count > 0 || fault is not null }, cancellationToken);
            return (check, fault);
        });
        List<string> faults = [.. found.Faults];
        if (kept is not null)
        {
            faults.Add(kept);
        }

        foreach (string fault in faults)
        {
            Terminal.Output.WriteLine(fault);
        }

        if (faults.Count > 0)
        {
            throw new RefusedException($"the audit trail is not whole: {(faults.Count == 1 ? "1 fault" : $"{faults.Count} faults")}. Keep a copy of the records as they are, and find out who could write to them.");
        }

        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{found.Entries} entries, {found.First} to {found.Last}: every seal fits, none is missing."));
        Terminal.Output.WriteLine("Keep this elsewhere and give it to a later check with --head:");
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{found.Last}:{found.LastSeal}"));
        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--head <NUMBER:SEAL>")]
        [Description("What an earlier check printed: that entry must still be there")]
        public string? Head { get; init; }
    }
}

/// <summary>hotlight audit list [--last N] [--case ID] [--by NAME] [--json] [--data DIR | --store ADDR].</summary>
internal sealed class AuditListCommand : Command<AuditListCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        List<AuditEntry> entries = settings.OnTrail(async trail =>
        {
            await trail.TellAsync(new AuditEvent(AuditAct.TrailUsed, AuditSubject.Trail, detail: "listed"), cancellationToken);
            List<AuditEntry> found = [];
            await foreach (AuditEntry entry in trail.ReadAsync(settings.Query(), cancellationToken))
            {
                found.Add(entry);
            }

            return found;
        });
        foreach (AuditEntry entry in entries)
        {
            Terminal.Output.WriteLine(settings.Json ? JsonSerializer.Serialize(Line(entry)) : Text(entry));
        }

        return HotlightCommandLine.Done;
    }

    private static object Line(AuditEntry entry) => new
    {
        number = entry.Number,
        at = entry.At.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture),
        by = entry.By.Name,
        byId = entry.By.Id,
        role = entry.By.Role,
        address = entry.By.Address,
        act = entry.Act.ToString(),
        subject = entry.Subject.ToString(),
        subjectId = entry.SubjectId,
        detail = entry.Detail,
        failed = entry.IsFailure,
        previous = entry.Previous,
        seal = entry.Seal,
    };

    private static string Text(AuditEntry entry)
    {
        string who = entry.By.Role.Length > 0 ? $"{entry.By.Name} ({entry.By.Role})" : entry.By.Name;
        string subject = entry.SubjectId.Length > 0 ? $"{entry.Subject} {entry.SubjectId}" : entry.Subject.ToString();
        return string.Create(CultureInfo.InvariantCulture, $"{entry.Number,8}  {entry.At.UtcDateTime:yyyy-MM-dd HH:mm:ss}  {entry.Act,-14} {subject}{(entry.Detail.Length > 0 ? $", {entry.Detail}" : string.Empty)}{(entry.IsFailure ? ", failed" : string.Empty)}  by {who}{(entry.By.Address.Length > 0 ? $" from {entry.By.Address}" : string.Empty)}");
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--last <N>")]
        [Description("The newest N entries of what is asked for (default 50)")]
        [DefaultValue(50)]
        public int Last { get; init; } = 50;

        [CommandOption("--case <ID>")]
        [Description("Only what was done with this case")]
        public string? Case { get; init; }

        [CommandOption("--by <NAME>")]
        [Description("Only what this person did, by pseudonym")]
        public string? By { get; init; }

        [CommandOption("--json")]
        [Description("One JSON object in a line for each entry, seals with it")]
        public bool Json { get; init; }

        /// <summary>What is asked for.</summary>
        public AuditQuery Query()
        {
            if (Last < 1)
            {
                throw new RefusedException("--last takes a whole number, 1 or more.");
            }

            return new AuditQuery { Newest = Last, Subject = Case is null ? null : AuditSubject.Case, SubjectId = Case?.ToLowerInvariant(), By = By };
        }
    }
}

/// <summary>hotlight audit export FILE [--source NAME] [--data DIR | --store ADDR].</summary>
internal sealed class AuditExportCommand : Command<AuditExportCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (File.Exists(settings.File))
        {
            throw new RefusedException($"'{settings.File}' is there already; give the name of a new file.");
        }

        string part = settings.File + ".part";
        long written = settings.OnTrail(async trail =>
        {
            await trail.TellAsync(new AuditEvent(AuditAct.TrailUsed, AuditSubject.Trail, detail: "exported"), cancellationToken);
            try
            {
                long count;
                await using (var into = new StreamWriter(part, append: false))
                {
                    count = await DicomAuditMessage.WriteAsync(trail.ReadAsync(new AuditQuery(), cancellationToken), settings.Source, into, cancellationToken);
                }

                File.Move(part, settings.File);
                return count;
            }
            finally
            {
                File.Delete(part);
            }
        });
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{settings.File}: {written} messages, one in a line."));
        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The file to write; one that is there is never written over")]
        public string File { get; init; } = string.Empty;

        [CommandOption("--source <NAME>")]
        [Description("Name of the bench in the clinic's network (default hotlight)")]
        [DefaultValue("hotlight")]
        public string Source { get; init; } = "hotlight";
    }
}

/// <summary>hotlight audit remove --older-than DAYS [--data DIR | --store ADDR].</summary>
internal sealed class AuditRemoveCommand : Command<AuditRemoveCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.OlderThan is < 1 or > 36_525)
        {
            throw new RefusedException("--older-than takes a whole number of days, 1 or more.");
        }

        long removed = settings.OnTrail(trail => trail.RetainAsync(TimeSpan.FromDays(settings.OlderThan), cancellationToken));
        Terminal.Output.WriteLine(removed == 0
            ? string.Create(CultureInfo.InvariantCulture, $"No entry is older than {settings.OlderThan} days; nothing was removed.")
            : string.Create(CultureInfo.InvariantCulture, $"{removed} entries older than {settings.OlderThan} days were removed; the trail says so."));
        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--older-than <DAYS>")]
        [Description("Entries from before so many days are removed; the newest always stays")]
        public int OlderThan { get; init; }
    }
}
