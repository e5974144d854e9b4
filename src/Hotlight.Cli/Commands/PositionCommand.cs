using System.ComponentModel;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Positions;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight position [FILE] --projection ID [--landmarks FILE] [--snap MM] [--json].</summary>
internal sealed class PositionCommand : Command<PositionCommand.Settings>
{
    private const int LabelWidth = 16;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Projection is null)
        {
            throw new RefusedException(Texts.Get("position.refused.projection"));
        }

        Projection projection = Projections.Find(settings.Projection, settings.CataloguePath);
        if (projection.Landmarks.Count == 0)
        {
            throw new RefusedException(Texts.Get("position.refused.landmarks", projection.Id));
        }

        if (settings.LandmarksPath is null)
        {
            List(projection);
            return HotlightCommandLine.Done;
        }

        if (settings.File is null)
        {
            throw new RefusedException(Texts.Get("position.refused.file"));
        }

        try
        {
            Measure(settings, settings.File, projection, cancellationToken);
            return HotlightCommandLine.Done;
        }
        catch (Exception error) when (error is UnreadableImageException or UnreadableLandmarksException)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Measure(Settings settings, string file, Projection projection, CancellationToken cancellation)
    {
        double? reach = MeasureSettings.Number("--snap", settings.SnapMm, 0.1, 20, 2);
        MeasuredRadiograph measured = MeasureWorkflow.Run(file, settings.ToOptions(), cancellation);
        Radiograph radiograph = measured.Radiograph;
        MarkedLandmarks marked = LandmarkFiles.Read(settings.LandmarksPath!, projection, radiograph.ReceptorSpacing);
        if (reach is { } mm)
        {
            marked = PositionWorkflow.Snap(radiograph, marked, projection, mm);
        }

        ExposureGeometry geometry = PositionWorkflow.GeometryOf(radiograph.Exposure, measured.Document);
        IReadOnlyList<RelationFinding> findings = RelationMeasurer.Measure(projection, marked, geometry);
        if (settings.Json)
        {
            Terminal.Output.WriteLine(JsonSerializer.Serialize(
                new PositionDocument(
                    Path.GetFileName(file),
                    projection.Id,
                    [.. findings.Select(finding => new RelationRow(finding.Relation.Id, finding.Result, finding.Why, RelationText.Sentence(finding), RelationText.Correction(finding), finding.MissingLandmarks))],
                    Texts.Get("caution.safety")),
                Json));
            return;
        }

        Terminal.Output.WriteLine(Texts.Get("position.title", Path.GetFileName(file), projection.Name));
        if (findings.Select(finding => finding.Result?.Magnification).FirstOrDefault(scale => scale is not null) is { } magnification)
        {
            Block(Texts.Get("position.magnification"), Texts.Get("position.magnification.figure", Texts.Number(magnification.Factor, "0.000"), Texts.Number(magnification.Uncertainty, "0.000"), magnification.From));
        }

        foreach (RelationFinding finding in findings)
        {
            Terminal.Output.WriteLine();
            Block(RelationText.State(finding), finding.Relation.Question);
            Block(string.Empty, RelationText.Sentence(finding));
            if (RelationText.Correction(finding) is { } correction)
            {
                Block(string.Empty, correction);
            }
        }

        PositionRelation[] byEye = [.. projection.Relations.Where(relation => relation.Measure is null)];
        if (byEye.Length > 0)
        {
            Terminal.Output.WriteLine();
            foreach (PositionRelation relation in byEye)
            {
                Block(Texts.Get("position.by-eye"), relation.Question);
            }
        }

        Terminal.Output.WriteLine();
        Block(string.Empty, Texts.Get("caution.safety"));
    }

    private static void List(Projection projection)
    {
        Terminal.Output.WriteLine(Texts.Get("position.landmarks", projection.Id, projection.Name));
        var example = new MarkedLandmarks(projection.Id, new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal) { [projection.Landmarks[0].Id] = LandmarkPoint.At(new PixelPoint(X: 812.5, Y: 640), 5) });
        Terminal.Output.WriteLine(LandmarksJson.Write(example).TrimEnd());
        foreach (Landmark landmark in projection.Landmarks)
        {
            foreach (string row in TextBlock.Hanging(landmark.Id, 30, Texts.Get("position.landmark", landmark.Name, landmark.Where)))
            {
                Terminal.Output.WriteLine(row);
            }
        }
    }

    private static void Block(string label, string text)
    {
        foreach (string row in TextBlock.Hanging(label, LabelWidth, text))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    internal sealed class Settings : MeasureSettings, ILanguageSettings
    {
        [CommandArgument(0, "[FILE]")]
        [Description("The radiograph: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string? File { get; init; }

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection, such as knee-lateral; without --landmarks its landmarks are listed.")]
        public string? Projection { get; init; }

        [CommandOption("-l|--landmarks <FILE>")]
        [Description("The marked landmarks (JSON), in pixels of the image.")]
        public string? LandmarksPath { get; init; }

        [CommandOption("--snap <MM>")]
        [Description("Move every mark to the nearest edge within this reach, in mm, such as 2.")]
        public string? SnapMm { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("Language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        [CommandOption("--json")]
        [Description("Print the findings as one JSON document.")]
        public bool Json { get; init; }

        public override string? ProjectionId => Projection;
    }

    private sealed record PositionDocument(string File, string Projection, IReadOnlyList<RelationRow> Relations, string Caution)
    {
        public string Schema { get; } = "hotlight.position/1";
    }

    private sealed record RelationRow(string Relation, RelationResult? Result, string? Why, string Sentence, string? Correction, IReadOnlyList<string> MissingLandmarks);
}
