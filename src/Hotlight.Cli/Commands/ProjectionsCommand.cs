using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight projections [ID].</summary>
internal sealed class ProjectionsCommand : Command<ProjectionsCommand.Settings>
{
    private const int LabelWidth = 20;

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Id is null)
        {
            foreach (Projection projection in Projections.Catalogue(settings.CataloguePath).Projections)
            {
                Terminal.Output.WriteLine($"{projection.Id,-36}{projection.Name}");
            }

            return HotlightCommandLine.Done;
        }

        Write(Projections.Find(settings.Id, settings.CataloguePath));
        return HotlightCommandLine.Done;
    }

    private static void Write(Projection projection)
    {
        Terminal.Output.WriteLine(Texts.Get("projections.title", projection.Id, projection.Name));
        Line(Texts.Get("projections.purpose"), projection.Purpose);
        Line(Texts.Get("projections.patient"), projection.PatientPosition.Text);
        Line(Texts.Get("projections.part"), projection.PartPosition.Text);
        Line(Texts.Get("projections.central-ray"), Texts.Get("projections.central-ray.text", projection.CentralRay.Direction, projection.CentralRay.EntryPoint));
        Line(Texts.Get("projections.receptor"), projection.Receptor.Text);
        Line(Texts.Get("projections.distance"), Texts.Get("projections.distance.figure", Texts.Number(projection.SourceImageDistanceMm.Value / 10, "0.#")));
        Line(Texts.Get("projections.tube-voltage"), Texts.Get("projections.tube-voltage.figure", Texts.Number(projection.TubeVoltageKvp.From, "0.#"), Texts.Number(projection.TubeVoltageKvp.To, "0.#")));
        Line(Texts.Get("projections.grid"), projection.Grid.Text);
        Line(Texts.Get("projections.breathing"), projection.Breathing.Text);
        Line(Texts.Get("projections.collimation"), projection.Collimation.Extent);
        Line(Texts.Get("projections.marker"), projection.MarkerPlace.Text);
        Line(Texts.Get("projections.shielding"), projection.Shielding.Text);
        foreach (RequiredAnatomy anatomy in projection.RequiredAnatomy)
        {
            Line(Texts.Get("projections.required"), anatomy.Question);
        }

        foreach (PositionRelation relation in projection.Relations)
        {
            string text = Texts.Get("projections.position.text", relation.Question, relation.Tolerance.Text);
            Line(Texts.Get("projections.position"), relation.Measure is null ? text : Texts.Get("projections.position.by-landmarks", text));
        }

        foreach (Adaptation adaptation in projection.Adaptations)
        {
            Line(SituationText(adaptation.Situation), adaptation.Text);
        }

        foreach (ExaminationPurpose purpose in projection.Purposes)
        {
            Line(Texts.Get("projections.purpose"), purpose.Id + ": " + Texts.Get("projections.purpose.text", purpose.Name, string.Join(", ", purpose.Needs)));
        }
    }

    private static string SituationText(Situation situation) => situation switch
    {
        Situation.CannotMove => Texts.Get("situation.cannot-move"),
        Situation.Trauma => Texts.Get("situation.trauma"),
        Situation.Child => Texts.Get("situation.child"),
        Situation.Cast => Texts.Get("situation.cast"),
        Situation.LargeBody => Texts.Get("situation.large-body"),
        _ => throw new ArgumentOutOfRangeException(nameof(situation), situation, "There is no such situation."),
    };

    private static void Line(string label, string text)
    {
        foreach (string row in TextBlock.Hanging(label, LabelWidth, text))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    internal sealed class Settings : CommandSettings, ILanguageSettings
    {
        [CommandArgument(0, "[ID]")]
        [Description("A projection, such as wrist-pa; none: list all.")]
        public string? Id { get; init; }

        [CommandOption("--catalogue <FOLDER>")]
        [Description("Folder of your clinic's own projections, over the built-in ones; else that of the environment variable HOTLIGHT_CATALOGUE.")]
        public string? CataloguePath { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("Language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }
    }
}
