using System.ComponentModel;
using System.Globalization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight measure FILE... [--json] [--to RESULTS] [--clinic FILE].</summary>
internal sealed class MeasureCommand : Command<MeasureCommand.Settings>
{
    private const int LabelWidth = 13;

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        MeasureOptions options = settings.ToOptions();
        ClinicSettings? clinic = ClinicFile.Read(settings.ClinicPath);
        IReadOnlyList<RadiographPath> paths;
        ResultsFile? results = null;
        try
        {
            paths = RadiographPaths.Of(settings.Files);
            if (settings.To is { } target)
            {
                CheckTarget(target, paths);
                results = ResultsFile.Open(target, options, clinic);
            }
        }
        catch (FolderException error)
        {
            throw new RefusedException(error.Message);
        }

        using (results)
        {
            return MeasureAll(paths, options, clinic, settings, results, cancellationToken);
        }
    }

    private static int MeasureAll(IReadOnlyList<RadiographPath> paths, MeasureOptions options, ClinicSettings? clinic, Settings settings, ResultsFile? results, CancellationToken cancellation)
    {
        RadiographPath[] open = results is null ? [.. paths] : [.. paths.Where(path => !results.Holds(path.Path))];
        int before = paths.Count - open.Length;
        int measured = 0;
        int otherKind = 0;
        bool refused = false;
        bool alone = paths.Count == 1;
        using ProgressLine progress = ProgressLine.For(Terminal.Errors, paths.Count);
        progress.Report(before, open.Length > 0 ? Path.GetFileName(open[0].Path) : string.Empty);
        int index = 0;
        foreach (MeasuredPath one in MeasureWorkflow.RunAll(open, options, cancellation, clinic))
        {
            if (one.Measured is { } found)
            {
                if (results is not null)
                {
                    results.Add(one.Path.Path, found.Document);
                }
                else if (settings.Json)
                {
                    progress.Dispose();
                    Terminal.Output.WriteLine(MeasurementJson.Write(found.Document, indented: alone));
                }
                else
                {
                    progress.Dispose();
                    WriteTable(found, measured > 0);
                }

                measured++;
            }
            else if (one.Path.IsFound && one.Error!.IsOtherKind)
            {
                otherKind++;
            }
            else
            {
                progress.Dispose();
                Terminal.Errors.WriteLine($"hotlight: {one.Error!.Message}");
                refused = true;
            }

            index++;
            progress.Report(before + index, index < open.Length ? Path.GetFileName(open[index].Path) : string.Empty);
        }

        progress.Dispose();
        if (results is not null)
        {
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{measured} measured, {before} already there{(otherKind > 0 ? $", {otherKind} of another kind left out" : string.Empty)}."));
        }
        else if (otherKind > 0)
        {
            Terminal.Errors.WriteLine(otherKind == 1 ? "1 file of another kind was left out." : string.Create(CultureInfo.InvariantCulture, $"{otherKind} files of another kind were left out."));
        }

        return refused ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    private static void CheckTarget(string target, IReadOnlyList<RadiographPath> paths)
    {
        if (!string.Equals(Path.GetExtension(target), ResultsFile.Ending, StringComparison.OrdinalIgnoreCase))
        {
            throw new RefusedException($"--to keeps one measurement document a line; give a name that ends in {ResultsFile.Ending}, such as --to results.jsonl; '{target}' does not.");
        }

        string full = Path.GetFullPath(target);
        if (paths.Any(path => string.Equals(Path.GetFullPath(path.Path), full, StringComparison.Ordinal)))
        {
            throw new RefusedException($"--to would write over '{target}', which is to be measured; give another name.");
        }
    }

    private static void WriteTable(MeasuredRadiograph measured, bool separate)
    {
        if (separate)
        {
            Terminal.Output.WriteLine();
        }

        Terminal.Output.WriteLine($"{measured.Radiograph.FileName}  ({measured.Radiograph.Encoding})");
        foreach (MeasurementLine line in MeasurementText.Lines(measured.Document))
        {
            string text = line.IsMeasured ? line.Sentence : $"cannot tell: {line.Sentence}";
            foreach (string row in TextBlock.Hanging(line.Section, LabelWidth, text))
            {
                Terminal.Output.WriteLine(row);
            }
        }

        foreach (string remark in measured.Radiograph.Remarks)
        {
            foreach (string row in TextBlock.Hanging("remark", LabelWidth, remark))
            {
                Terminal.Output.WriteLine(row);
            }
        }
    }

    internal sealed class Settings : MeasureSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("Radiographs: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG; a folder stands for all that is in it.")]
        public string[] Files { get; init; } = [];

        [CommandOption("--json")]
        [Description("Print the measurement document: one file indented, several files one document a line.")]
        public bool Json { get; init; }

        [CommandOption("--to <FILE>")]
        [Description("Keep one measurement document a line in this file (.jsonl); called again, it goes on where it was stopped.")]
        public string? To { get; init; }

        [CommandOption("--clinic <FILE>")]
        [Description(ClinicFile.Help)]
        public string? ClinicPath { get; init; }
    }
}
