using System.ComponentModel;
using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Markers;
using Spectre.Console;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>What every command that measures can be told of the exposure.</summary>
internal abstract class MeasureSettings : CommandSettings
{
    [CommandOption("--calibration <FILE>")]
    [Description("Calibration of the receptor (JSON): turns pixels into receptor air kerma.")]
    public string? CalibrationPath { get; init; }

    [CommandOption("--ei <EI>")]
    [Description("Exposure index that you read from the console; takes the place of the header's.")]
    public string? ExposureIndex { get; init; }

    [CommandOption("--target-ei <EI>")]
    [Description("Target exposure index of your clinic for this projection; takes the place of the header's.")]
    public string? TargetExposureIndex { get; init; }

    [CommandOption("--indicator <SCALE>")]
    [Description("Scale of an older exposure indicator: inverse-sensitivity, log-index, log-median or log2-deviation; with =VALUE the figure from the console, else the header's.")]
    public string? Indicator { get; init; }

    [CommandOption("--margin <MM>")]
    [Description("Skin margin of the tighter field, in mm; else the projection's, else 20.")]
    public string? MarginMm { get; init; }

    [CommandOption("--spacing <MM>")]
    [Description("Pixel spacing at the receptor, in mm, for a file that does not say it.")]
    public string? SpacingMm { get; init; }

    [CommandOption("--marker-words <WORDS>")]
    [Description("Words that your clinic marks its sides with, beside L and R: left=LINKS,right=RECHTS; several a side as left=LINKS,LI,right=RECHTS,RE.")]
    public string? MarkerWordsText { get; init; }

    [CommandOption("--catalogue <FOLDER>")]
    [Description("Folder of your clinic's own projections, over the built-in ones; else that of the environment variable HOTLIGHT_CATALOGUE.")]
    public string? CataloguePath { get; init; }

    /// <summary>The projection the measuring is for, or null.</summary>
    public virtual string? ProjectionId => null;

    /// <summary>The options for measuring.</summary>
    /// <exception cref="RefusedException">A value is not what it should be.</exception>
    public MeasureOptions ToOptions()
    {
        double? margin = Number("--margin", MarginMm, 0, 200, 20);
        double? index = Number("--ei", ExposureIndex, 1, 100_000, 250);
        double? target = Number("--target-ei", TargetExposureIndex, 1, 100_000, 250);
        double? spacing = Number("--spacing", SpacingMm, 0.01, 2, 0.15);
        Projection? projection = ProjectionId is null ? null : Projections.Find(ProjectionId, CataloguePath);
        var options = new MeasureOptions
        {
            ExposureIndex = index,
            TargetExposureIndex = target,
            Indicator = Indicator is null ? null : ReadIndicator(Indicator),
            MarkerWords = MarkerWordsText is null ? null : ReadWords(MarkerWordsText),
            ReceptorSpacing = spacing is { } mm ? new PixelSpacing(mm, mm) : null,
            Calibration = CalibrationPath is null ? null : ReadCalibration(CalibrationPath),
        };
        return (margin ?? projection?.Collimation.SkinMarginMm.Value) is { } kept ? options with { SkinMarginMm = kept } : options;
    }

    private static MarkerWords ReadWords(string text)
    {
        try
        {
            return MarkerWords.Parse(text);
        }
        catch (FormatException error)
        {
            throw new RefusedException($"--marker-words: {error.Message}");
        }
    }

    private static ExposureIndicator ReadIndicator(string text)
    {
        int equals = text.IndexOf('=', StringComparison.Ordinal);
        string name = equals < 0 ? text : text[..equals];
        IndicatorFamily family = name switch
        {
            "inverse-sensitivity" => IndicatorFamily.InverseSensitivity,
            "log-index" => IndicatorFamily.LogarithmicIndex,
            "log-median" => IndicatorFamily.LogMedian,
            "log2-deviation" => IndicatorFamily.Log2Deviation,
            _ => throw new RefusedException($"--indicator names a scale: inverse-sensitivity, log-index, log-median or log2-deviation, such as --indicator inverse-sensitivity=400; '{name}' is none of them."),
        };
        return new ExposureIndicator(family, equals < 0 ? null : Number("--indicator", text[(equals + 1)..], family == IndicatorFamily.InverseSensitivity ? 0.1 : -100, 100_000, 400));
    }

    private static Calibration ReadCalibration(string path)
    {
        if (!PlainFile.Is(path))
        {
            throw new RefusedException($"{Path.GetFileName(path)}: it is a pipe, a terminal or a socket; give a calibration file.");
        }

        try
        {
            return CalibrationFile.Read(path);
        }
        catch (FormatException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    /// <summary>The number of an option, or null where it is not given.</summary>
    /// <exception cref="RefusedException">It is not a number in the range.</exception>
    internal static double? Number(string option, string? text, double minimum, double maximum, double example)
    {
        if (text is null)
        {
            return null;
        }

        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value >= minimum && value <= maximum
            ? value
            : throw new RefusedException(string.Create(CultureInfo.InvariantCulture, $"{option} takes a number from {minimum} to {maximum}, such as {option} {example}; '{text}' is not one."));
    }
}
