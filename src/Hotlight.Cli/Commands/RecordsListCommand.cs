using System.ComponentModel;
using System.Globalization;
using Hotlight.Cli.Rendering;
using Hotlight.Workflows.Records;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight records list [--site NAME] [--data DIR].</summary>
internal sealed class RecordsListCommand : Command<RecordsListCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        OpenRecords records = settings.Open();
        IReadOnlyList<LogImport> imports = records.Log.ImportsAsync(settings.Site, cancellationToken).GetAwaiter().GetResult();
        foreach (LogImport import in imports)
        {
            Terminal.Output.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{import.Id}  {import.At:yyyy-MM-dd HH:mm}  {import.Title}: {(import.IsTakenBack ? "taken back" : $"{import.Added} new, {import.Completed} that know more, {import.Known} known before")}"));
        }

        if (imports.Count == 0)
        {
            Terminal.Errors.WriteLine("hotlight: nothing was brought in yet.");
        }

        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--site <NAME>")]
        [Description("The department (default: the clinic's own)")]
        public string Site { get; init; } = string.Empty;
    }
}
