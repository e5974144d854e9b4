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
            foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
            {
                Terminal.Output.WriteLine($"{projection.Id,-16}{projection.Name}");
            }

            return HotlightCommandLine.Done;
        }

        Write(Projections.Find(settings.Id));
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
            Line("position", $"{relation.Question} ({relation.Tolerance.Text})");
        }
    }

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
    }
}
