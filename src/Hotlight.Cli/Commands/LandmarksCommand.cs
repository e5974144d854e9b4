using System.ComponentModel;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses.Proposal;
using Hotlight.Positioning;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight landmarks FILE --projection ID [--out FILE] [--json].</summary>
internal sealed class LandmarksCommand : Command<LandmarksCommand.Settings>
{
    private const int LabelWidth = 30;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Projection is null)
        {
            throw new RefusedException(Texts.Get("proposal.refused.projection", string.Join(", ", LandmarkProposer.Projections)));
        }

        Projection projection = Projections.Find(settings.Projection, null);
        try
        {
            Radiograph radiograph = RadiographReader.Read(settings.File, cancellationToken);
            Figure<LandmarkProposal> figure = LandmarkProposer.Propose(radiograph, projection.Id);
            LandmarkProposal proposal = figure.Value ?? throw new RefusedException(figure.Why!);
            if (settings.Out is { } path)
            {
                string text = LandmarksJson.WriteProposed(proposal.Accept(proposal.Points.Where(point => point.Place.IsMeasured).Select(point => point.Id)));
                WholeFile.Write(path, Encoding.UTF8.GetBytes(text));
            }

            if (settings.Json)
            {
                Terminal.Output.WriteLine(JsonSerializer.Serialize(Document(Path.GetFileName(settings.File), proposal), Json));
            }
            else
            {
                Print(settings, projection, proposal);
            }

            return HotlightCommandLine.Done;
        }
        catch (Exception error) when (error is UnreadableImageException)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException(Texts.Get("proposal.refused.out", settings.Out ?? settings.File));
        }
    }

    private static void Print(Settings settings, Projection projection, LandmarkProposal proposal)
    {
        Terminal.Output.WriteLine(Texts.Get("proposal.title", Path.GetFileName(settings.File), projection.Name));
        foreach (ProposedLandmark point in proposal.Points)
        {
            Block(point.Id, point.Place.Value is { } place
                ? Texts.Get("proposal.place", Texts.Number(place.At.X, "0"), Texts.Number(place.At.Y, "0"), Texts.Number(place.UncertaintyPixels, "0"))
                : Texts.Get("proposal.not-found", point.Place.Why!));
        }

        if (settings.Out is { } path)
        {
            Block(string.Empty, Texts.Get("proposal.written", path));
        }

        Terminal.Output.WriteLine();
        foreach (string row in TextBlock.Hanging(string.Empty, 0, Texts.Get("caution.safety")))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    private static void Block(string label, string text)
    {
        foreach (string row in TextBlock.Hanging(label, LabelWidth, text))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    private static ProposalDocument Document(string file, LandmarkProposal proposal) => new(
        file,
        proposal.ProjectionId,
        [.. proposal.Points.Select(point => new ProposalRow(
            point.Id,
            point.Place.Value is { } at ? Math.Round(at.At.X, 2) : null,
            point.Place.Value is { } also ? Math.Round(also.At.Y, 2) : null,
            point.Place.Value is { } how ? Math.Round(how.UncertaintyPixels, 2) : null,
            point.Place.Value is { } sure ? Math.Round(sure.Probability, 3) : null,
            point.Place.Why))],
        Texts.Get("caution.safety"));

    internal sealed class Settings : CommandSettings, ILanguageSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The radiograph: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string File { get; init; } = string.Empty;

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection that it shows: chest-pa, elbow-lateral, ankle-ap, ankle-mortise or knee-ap.")]
        public string? Projection { get; init; }

        [CommandOption("-o|--out <FILE>")]
        [Description("Write the points as a file of landmarks (JSON), each marked as proposed; it is refused until you have looked at them and taken \"proposed\" out.")]
        public string? Out { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("Language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        [CommandOption("--json")]
        [Description("Print the points as one JSON document.")]
        public bool Json { get; init; }
    }

    private sealed record ProposalDocument(string File, string Projection, IReadOnlyList<ProposalRow> Proposed, string Caution)
    {
        public string Schema { get; } = "hotlight.proposal/1";
    }

    private sealed record ProposalRow(string Id, double? X, double? Y, double? UncertaintyPixels, double? Probability, string? Why);
}
