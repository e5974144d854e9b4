using System.ComponentModel;
using System.Globalization;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Hotlight.Store;
using Hotlight.Store.Exchange;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight store export FOLDER [--format csv|jsonl|parquet] [--data DIR | --store ADDR].</summary>
internal sealed class StoreExportCommand : Command<StoreExportCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        OpenFormat format = settings.Format.ToLowerInvariant() switch
        {
            "csv" => OpenFormat.Csv,
            "jsonl" => OpenFormat.Jsonl,
            "parquet" => OpenFormat.Parquet,
            _ => throw new RefusedException($"--format takes csv, jsonl or parquet, not '{settings.Format}'."),
        };
        if (settings.Server is null && !File.Exists(settings.Path))
        {
            throw new RefusedException($"there are no records at '{settings.Path}'; start the bench once before, or give its folder with --data.");
        }

        settings.Tell(AuditAct.Exported, $"everything as {settings.Format.ToLowerInvariant()}, {System.IO.Path.GetFileName(settings.Folder.TrimEnd('/', '\\'))}");
        OpenExport export = StoreSettings.Run(async () =>
        {
            if (settings.Server is { } server)
            {
                await using PostgresRecords records = await PostgresRecords.OpenAsync(server, TimeProvider.System, cancellation: cancellationToken);
                return await records.Exchange.WriteAsync(settings.Folder, format, cancellationToken);
            }

            await SqliteRecords.OpenAsync(settings.Path, TimeProvider.System, cancellation: cancellationToken);
            return await SqliteRecords.Exchange(settings.Path).WriteAsync(settings.Folder, format, cancellationToken);
        });
        Say(export, settings.Folder);
        return HotlightCommandLine.Done;
    }

    /// <summary>Says what an export holds.</summary>
    internal static void Say(OpenExport export, string folder)
        => Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{folder}: {export.Tables.Count} tables, {string.Join(", ", export.Tables.Where(table => table.Rows > 0).Select(table => $"{table.Rows} {table.Name}"))}."));

    internal sealed class Settings : StoreSettings
    {
        [CommandArgument(0, "<FOLDER>")]
        [Description("The export: a new folder")]
        public new string Folder { get; init; } = string.Empty;

        [CommandOption("--format <FORMAT>")]
        [Description("csv, jsonl (a JSON object a line) or parquet (default csv)")]
        public string Format { get; init; } = "csv";
    }
}

/// <summary>hotlight store import FOLDER [--data DIR | --store ADDR].</summary>
internal sealed class StoreImportCommand : Command<StoreImportCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        OpenExport export = StoreSettings.Run(async () =>
        {
            if (settings.Server is { } server)
            {
                await using PostgresRecords records = await PostgresRecords.OpenAsync(server, TimeProvider.System, cancellation: cancellationToken);
                return await records.Exchange.TakeAsync(settings.Folder, cancellationToken);
            }

            return await SqliteUpkeep.TakeAsync(settings.Folder, settings.Path, cancellationToken);
        });
        StoreExportCommand.Say(export, settings.Shown);
        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : StoreSettings
    {
        [CommandArgument(0, "<FOLDER>")]
        [Description("The export; it is taken into a new store")]
        public new string Folder { get; init; } = string.Empty;
    }
}
