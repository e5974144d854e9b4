using System.ComponentModel;
using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
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
        CultureInfo plain = CultureInfo.InvariantCulture;
        Terminal.Output.WriteLine($"{projection.Id}  {projection.Name}");
        Line("purpose", projection.Purpose);
        Line("patient", projection.PatientPosition.Text);
        Line("part", projection.PartPosition.Text);
        Line("central ray", $"{projection.CentralRay.Direction}, through {projection.CentralRay.EntryPoint}");
        Line("receptor", projection.Receptor.Text);
        Line("source to receptor", string.Create(plain, $"{projection.SourceImageDistanceMm.Value / 10:0.#} cm"));
        Line("tube voltage", string.Create(plain, $"{projection.TubeVoltageKvp.From:0.#} to {projection.TubeVoltageKvp.To:0.#} kVp"));
        Line("grid", projection.Grid.Text);
        Line("breathing", projection.Breathing.Text);
        Line("collimation", projection.Collimation.Extent);
        Line("marker", projection.MarkerPlace.Text);
        Line("shielding", projection.Shielding.Text);
        foreach (RequiredAnatomy anatomy in projection.RequiredAnatomy)
        {
            Line("required", anatomy.Question);
        }

        foreach (PositionRelation relation in projection.Relations)
        {
            Line("position", $"{relation.Question} ({relation.Tolerance.Text}){(relation.Measure is null ? string.Empty : " Told by landmarks.")}");
        }

        foreach (Adaptation adaptation in projection.Adaptations)
        {
            Line(SituationText(adaptation.Situation), adaptation.Text);
        }

        foreach (ExaminationPurpose purpose in projection.Purposes)
        {
            Line("purpose " + purpose.Id, $"{purpose.Name}: needs {string.Join(", ", purpose.Needs)}");
        }
    }

    private static string SituationText(Situation situation) => situation switch
    {
        Situation.CannotMove => "cannot move",
        Situation.LargeBody => "large body",
        _ => situation.ToString().ToLowerInvariant(),
    };

    private static void Line(string label, string text)
    {
        foreach (string row in TextBlock.Hanging(label, LabelWidth, text))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "[ID]")]
        [Description("A projection, such as wrist-pa; none: list all.")]
        public string? Id { get; init; }

        [CommandOption("--catalogue <FOLDER>")]
        [Description("Folder of your clinic's own projections, over the built-in ones; else that of the environment variable HOTLIGHT_CATALOGUE.")]
        public string? CataloguePath { get; init; }
    }
}
