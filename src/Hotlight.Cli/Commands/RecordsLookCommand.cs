using System.ComponentModel;
using Hotlight.Cli.Rendering;
using Hotlight.Records.Sources.Tables;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight records look FILE: the proposed mapping on standard output.</summary>
internal sealed class RecordsLookCommand : Command<RecordsLookCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        string name = Path.GetFileName(settings.Table);
        try
        {
            using FileStream content = File.OpenRead(settings.Table);
            TableLook look = TableLook.At(content, Path.GetFileNameWithoutExtension(settings.Table));
            foreach (string remark in look.Remarks.Concat(look.Proposed.Faults()))
            {
                Terminal.Errors.WriteLine($"hotlight: {name}: {remark}");
            }

            foreach (TableColumn column in look.Columns.Where(column => !look.Proposed.Columns.ContainsKey(column.Heading)))
            {
                Terminal.Errors.WriteLine($"hotlight: {name}: “{column.Heading}” is not read.");
            }

            Terminal.Output.WriteLine(TableMappingJson.Write(look.Proposed));
            return HotlightCommandLine.Done;
        }
        catch (FormatException error)
        {
            throw new RefusedException($"{name}: {error.Message}");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"{name}: the table cannot be read: {Terminal.Reason(error)}.");
        }
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "<TABLE>")]
        [Description("A table of text (CSV and the like); never changed")]
        public string Table { get; init; } = string.Empty;
    }
}
