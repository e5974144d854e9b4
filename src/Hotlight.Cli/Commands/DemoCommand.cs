using System.ComponentModel;
using Hotlight.Cli.Rendering;
using Hotlight.Simulation;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight demo --out DIR [CASE...].</summary>
internal sealed class DemoCommand : Command<DemoCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        string[] unknown = settings.Cases.Except(DemoCases.All.Select(known => known.Id), StringComparer.Ordinal).ToArray();
        if (unknown.Length > 0)
        {
            throw new RefusedException($"there is no demo case '{unknown[0]}'; 'hotlight demo' lists them.");
        }

        DemoCase[] chosen = DemoCases.All.Where(known => settings.Cases.Length == 0 || settings.Cases.Contains(known.Id)).ToArray();
        if (settings.Out is null)
        {
            foreach (DemoCase listed in chosen)
            {
                Terminal.Output.WriteLine($"{listed.Id,-28}{listed.ProjectionId,-18}{listed.Title}");
                if (settings.Cases.Length > 0)
                {
                    Terminal.Output.WriteLine($"  history    {listed.History}");
                    Terminal.Output.WriteLine($"  technique  {listed.Technique}");
                    Terminal.Output.WriteLine($"  teaches    {listed.Fault ?? "a good image"}");
                    if (listed.RepeatOf is { } earlier)
                    {
                        Terminal.Output.WriteLine($"  repeats    {earlier}");
                    }
                }
            }

            return HotlightCommandLine.Done;
        }

        if (File.Exists(settings.Out))
        {
            throw new RefusedException($"the demo cases cannot be written to '{settings.Out}': there is a file of that name; give a folder.");
        }

        try
        {
            Directory.CreateDirectory(settings.Out);
            using ProgressLine progress = ProgressLine.For(Terminal.Errors, chosen.Length);
            for (int index = 0; index < chosen.Length; index++)
            {
                progress.Report(index, chosen[index].Id);
                DemoExposure exposure = settings.ForProcessing ? chosen[index].ExposeForProcessing(cancellationToken) : chosen[index].Expose(cancellationToken);
                string path = Path.Combine(settings.Out, chosen[index].FileName);
                WholeFile.Write(path, exposure.Dicom);
            }
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the demo cases cannot be written to '{settings.Out}': {Terminal.Reason(error)}.");
        }

        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "[CASE]")]
        [Description("Demo cases to write, such as wrist-pa-good; none: all. Without --out: says all of them.")]
        public string[] Cases { get; init; } = [];

        [CommandOption("-o|--out <DIR>")]
        [Description("Folder to write the DICOM files to; it is made where needed. Left out: only list the cases.")]
        public string? Out { get; init; }

        [CommandOption("--for-processing")]
        [Description("Write what the receptor measured, linear, in place of the image rendered for reading.")]
        public bool ForProcessing { get; init; }
    }
}
