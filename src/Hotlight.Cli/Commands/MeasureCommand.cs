using System.ComponentModel;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight measure FILE... [--json].</summary>
internal sealed class MeasureCommand : Command<MeasureCommand.Settings>
{
    private const int LabelWidth = 13;

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        MeasureOptions options = settings.ToOptions();
        bool refused = false;
        using ProgressLine progress = ProgressLine.For(Terminal.Errors, settings.Files.Length);
        for (int index = 0; index < settings.Files.Length; index++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            string file = settings.Files[index];
            progress.Report(index, Path.GetFileName(file));
            try
            {
                MeasuredRadiograph measured = MeasureWorkflow.Run(file, options, cancellationToken);
                progress.Dispose();
                if (settings.Json)
                {
                    Terminal.Output.WriteLine(MeasurementJson.Write(measured.Document, indented: settings.Files.Length == 1));
                }
                else
                {
                    WriteTable(measured, index > 0);
                }
            }
            catch (UnreadableImageException error)
            {
                progress.Dispose();
                Terminal.Errors.WriteLine($"hotlight: {error.Message}");
                refused = true;
            }
        }

        return refused ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
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
        [Description("Radiographs: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string[] Files { get; init; } = [];

        [CommandOption("--json")]
        [Description("Print the measurement document: one file indented, several files one document a line.")]
        public bool Json { get; init; }
    }
}
