using System.ComponentModel;
using System.Globalization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Measure.Exposure;
using Hotlight.Workflows.Calibrating;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight calibrate FILE:KERMA... [--out CALIBRATION] [--plot PICTURE].</summary>
internal sealed class CalibrateCommand : Command<CalibrateCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        FlatFile[] files = [.. settings.Exposures.Select(Exposure)];
        double? meter = settings.MeterPercent is { } text ? Percent(text) : null;
        Check(settings.Out, "--out", ".json", files);
        Check(settings.Plot, "--plot", Path.GetExtension(settings.Plot) is { } ending && ending.Equals(".svg", StringComparison.OrdinalIgnoreCase) ? ".svg" : ".png", files);
        try
        {
            Figure<CalibrationFit> figure = CalibrateWorkflow.Run(files, meter, settings.Note, cancellationToken);
            if (!figure.IsMeasured)
            {
                throw new RefusedException("no calibration: " + figure.Why);
            }

            CalibrationFit fit = figure.Value;
            byte[] file = CalibrationFile.Write(fit.Calibration);
            if (settings.Plot is { } plot)
            {
                CalibrationPlot.Save(plot, fit);
            }

            if (settings.Out is { } path)
            {
                Write(path, file);
                Report(fit);
            }
            else
            {
                Terminal.Output.Write(System.Text.Encoding.UTF8.GetString(file));
            }

            return HotlightCommandLine.Done;
        }
        catch (UnreadableImageException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (IOException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static FlatFile Exposure(string word)
    {
        int colon = word.LastIndexOf(':');
        if (colon > 0
            && double.TryParse(word.AsSpan(colon + 1), NumberStyles.Float, CultureInfo.InvariantCulture, out double kerma)
            && kerma is > 0 and <= 100_000)
        {
            return new FlatFile(word[..colon], kerma);
        }

        throw new RefusedException($"calibrate takes files with the kerma measured at the receptor in µGy behind a colon, such as flat-1.dcm:2.5; '{word}' is not one.");
    }

    private static double Percent(string text)
        => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value is >= 0 and <= 100
            ? value
            : throw new RefusedException($"--meter takes the kerma meter's relative standard uncertainty in percent, from 0 to 100, such as --meter 5; '{text}' is not one.");

    private static void Check(string? path, string option, string ending, FlatFile[] files)
    {
        if (path is null)
        {
            return;
        }

        if (!string.Equals(Path.GetExtension(path), ending, StringComparison.OrdinalIgnoreCase))
        {
            throw new RefusedException($"{option} takes a name that ends in {(option == "--plot" ? ".png or .svg" : ending)}, such as {option} room-2{ending}; '{path}' does not.");
        }

        string full = Path.GetFullPath(path);
        if (files.Any(file => string.Equals(Path.GetFullPath(file.Path), full, StringComparison.Ordinal)))
        {
            throw new RefusedException($"{option} would write over the exposure '{path}'; give another name.");
        }

        if (Directory.Exists(path) || !Directory.Exists(Path.GetDirectoryName(full)))
        {
            throw new RefusedException($"{option} cannot write '{path}': give the name of a file in a folder that is there.");
        }
    }

    private static void Write(string path, byte[] content)
    {
        try
        {
            WholeFile.Write(path, content);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the calibration cannot be written to '{path}': {Terminal.Reason(error)}.");
        }
    }

    private static void Report(CalibrationFit fit)
    {
        Calibration calibration = fit.Calibration;
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{CalibrationFit.NameOf(calibration.Relationship)}: gain {calibration.Gain:0.####}, offset {calibration.Offset:0.####}; residuals {fit.ResidualDeviationPercent:0.0} % (one standard deviation)"));
        for (int at = 0; at < fit.Points.Count; at++)
        {
            Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {fit.Points[at].KermaMicrogray,9:0.###} µGy  value {fit.Points[at].ModalityValue,9:0.#}  residual {fit.ResidualsPercent[at],6:+0.0;−0.0;0.0} %"));
        }

        if (calibration.KermaUncertaintyPercent is null)
        {
            Terminal.Output.WriteLine("The meter's uncertainty was not given (--meter), so exposures measured with this calibration state none.");
        }
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "<FILE:KERMA>")]
        [Description("Flat exposures for processing with nothing in the beam, each with the air kerma measured at the receptor in µGy, such as flat-1.dcm:2.5.")]
        public string[] Exposures { get; init; } = [];

        [CommandOption("-o|--out <FILE>")]
        [Description("Where to write the calibration (.json); else it is printed.")]
        public string? Out { get; init; }

        [CommandOption("--plot <FILE>")]
        [Description("Where to draw the exposures, the fit and its residuals (.png or .svg).")]
        public string? Plot { get; init; }

        [CommandOption("--meter <PERCENT>")]
        [Description("Relative standard uncertainty of the kerma meter, in percent.")]
        public string? MeterPercent { get; init; }

        [CommandOption("--note <TEXT>")]
        [Description("Which receptor, when and by whom; kept in the file.")]
        public string? Note { get; init; }
    }
}
