using System.ComponentModel;
using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Records.Sources;
using Hotlight.Records.Sources.Tables;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Records;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight records bring-in PATH [--mapping FILE] [--leave-out-faulty] [--check] [--setting teaching|clinical] [--data DIR].</summary>
internal sealed class RecordsBringInCommand : Command<RecordsBringInCommand.Settings>
{
    private const int FaultsShown = 50;

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        IntakeSetting setting = settings.Setting switch
        {
            "teaching" => IntakeSetting.Teaching,
            "clinical" => IntakeSetting.Clinical,
            _ => throw new RefusedException($"--setting takes teaching or clinical, not '{settings.Setting}'."),
        };
        if (!File.Exists(settings.Path) && !Directory.Exists(settings.Path))
        {
            throw new RefusedException($"there is no file or folder '{settings.Path}'.");
        }

        OpenRecords records = settings.Open();
        var intake = new ExposureIntake(records.Log, ProjectionCatalogue.BuiltIn, records.Key, setting, records.Clinic);
        try
        {
            return settings.Mapping is null ? BringInFiles(intake, settings, cancellationToken) : BringInTable(intake, settings, cancellationToken);
        }
        catch (FormatException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"'{settings.Path}' cannot be read: {Terminal.Reason(error)}.");
        }
    }

    private static int BringInFiles(ExposureIntake intake, Settings settings, CancellationToken cancellation)
    {
        if (IsTableName(settings.Path))
        {
            throw new RefusedException($"'{settings.Path}' is a table; give its mapping with --mapping, which 'hotlight records look' proposes.");
        }

        FileBatch batch = intake.ReadFolder(settings.Path, cancellation: cancellation);
        foreach (SourceFault fault in batch.Faults.Take(FaultsShown))
        {
            Terminal.Errors.WriteLine($"hotlight: {fault.Where}: {fault.Sentence}");
        }

        SayMore(batch.FaultCount);
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{batch.Files} files: {batch.Exposures} exposures, {batch.OtherKind} files of another kind, {batch.FaultCount} not taken."));
        if (batch.MissingImages > 0)
        {
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"hotlight: {batch.MissingImages} rejected images were named that did not come along; bring the images in together with the key object selections."));
        }

        if (!settings.Check)
        {
            Say(intake.KeepAsync(batch, NameOf(settings.Path), cancellation: cancellation).GetAwaiter().GetResult());
        }

        return batch.FaultCount > 0 ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    private static int BringInTable(ExposureIntake intake, Settings settings, CancellationToken cancellation)
    {
        TableMapping mapping = ReadMapping(settings.Mapping!);
        if (Directory.Exists(settings.Path))
        {
            throw new RefusedException($"'{settings.Path}' is a folder; a mapping belongs to one table.");
        }

        TableCheck check;
        using (FileStream content = File.OpenRead(settings.Path))
        {
            check = intake.Check(content, mapping, shown: 0, cancellation: cancellation);
        }

        foreach (SourceFault fault in check.Faults.Take(FaultsShown))
        {
            Terminal.Errors.WriteLine($"hotlight: {fault.Where}{(fault.Column is { } column ? $", “{column}”" : string.Empty)}: {fault.Sentence}");
        }

        SayMore(check.FaultCount);
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{check.Rows} rows: {check.Good} exposures, {check.Rows - check.Good} with a fault."));
        if (check.SameKey > 0)
        {
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"hotlight: {check.SameKey} rows have the same key as an earlier one and count once; if they are exposures of their own, name more columns under 'key'."));
        }

        foreach ((string words, long rows) in check.UnknownProjections.Take(10))
        {
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"hotlight: “{words}” ({rows} rows) is no projection of the catalogue; give it a meaning under 'values' in the mapping."));
        }

        if (settings.Check)
        {
            return check.FaultCount > 0 ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
        }

        if (check.FaultCount > 0 && !settings.LeaveOutFaulty)
        {
            throw new RefusedException("nothing was kept; correct the rows above or the mapping, or leave the faulty rows out with --leave-out-faulty.");
        }

        using (FileStream content = File.OpenRead(settings.Path))
        {
            Say(intake.KeepTableAsync(content, mapping, NameOf(settings.Path), settings.LeaveOutFaulty, cancellation: cancellation).GetAwaiter().GetResult());
        }

        return HotlightCommandLine.Done;
    }

    private static void Say(LogImport? import) => Terminal.Output.WriteLine(import is null
        ? "No exposure was found; nothing was kept."
        : string.Create(CultureInfo.InvariantCulture, $"kept: {import.Added} new, {import.Completed} that now know more, {import.Known} known before. To take it back: hotlight records take-back {import.Id}"));

    private static void SayMore(long faults)
    {
        if (faults > FaultsShown)
        {
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"hotlight: and {faults - FaultsShown} more."));
        }
    }

    private static bool IsTableName(string path) => Path.GetExtension(path).ToLowerInvariant() is ".csv" or ".tsv" or ".txt";

    private static string NameOf(string path) => Path.GetFileName(Path.TrimEndingDirectorySeparator(Path.GetFullPath(path)));

    private static TableMapping ReadMapping(string path)
    {
        string name = Path.GetFileName(path);
        try
        {
            return new FileInfo(path) is { Exists: true, Length: > TableMappingJson.LargestBytes }
                ? throw new RefusedException($"{name}: it is too large for a mapping.")
                : TableMappingJson.Read(File.ReadAllText(path), name);
        }
        catch (FormatException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the mapping {name} cannot be read: {Terminal.Reason(error)}.");
        }
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandArgument(0, "<PATH>")]
        [Description("A folder or file of DICOM files, or a table; never changed")]
        public string Path { get; init; } = string.Empty;

        [CommandOption("--mapping <FILE>")]
        [Description("What the columns of the table mean (JSON), as 'hotlight records look' proposes it or the bench's page keeps it")]
        public string? Mapping { get; init; }

        [CommandOption("--leave-out-faulty")]
        [Description("Keep the other rows of a table where some have a fault (default: then nothing is kept)")]
        public bool LeaveOutFaulty { get; init; }

        [CommandOption("--check")]
        [Description("Only look everything over; keep nothing")]
        public bool Check { get; init; }

        [CommandOption("--setting <S>")]
        [Description("What the bench is set up for, teaching or clinical: whether UIDs and devices are made new (default teaching)")]
        [DefaultValue("teaching")]
        public string Setting { get; init; } = "teaching";
    }
}
