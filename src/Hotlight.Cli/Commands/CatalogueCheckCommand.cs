using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight catalogue check [FOLDER].</summary>
internal sealed class CatalogueCheckCommand : Command<CatalogueCheckCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        ProjectionCatalogue checkedCatalogue;
        try
        {
            checkedCatalogue = settings.Folder is null ? ProjectionCatalogue.BuiltIn : ProjectionCatalogue.Load(settings.Folder);
        }
        catch (UnreadableCatalogueException error)
        {
            foreach (CatalogueError fault in error.Errors)
            {
                Terminal.Output.WriteLine(fault.ToString());
            }

            throw new RefusedException($"{(error.Errors.Count == 1 ? "1 fault" : $"{error.Errors.Count} faults")} in the catalogue; nothing of it is used until all are mended.");
        }

        IReadOnlyList<Projection> projections = checkedCatalogue.Projections;
        int relations = projections.Sum(projection => projection.Relations.Count);
        int measured = projections.Sum(projection => projection.Relations.Count(relation => relation.Measure is not null));
        int replaced = settings.Folder is null ? 0 : projections.Count(projection => ProjectionCatalogue.BuiltIn.Find(projection.Id) is not null);
        Terminal.Output.WriteLine($"{projections.Count} projections of {projections.Select(projection => projection.Region).Distinct().Count()} regions, {relations} relations, {measured} of them told by landmarks: no fault.");
        if (settings.Folder is not null)
        {
            Terminal.Output.WriteLine($"{replaced} of them take the place of a built-in one, {projections.Count - replaced} are added.");
        }

        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "[FOLDER]")]
        [Description("A clinic's own folder of projections, one folder a region; none: the built-in catalogue.")]
        public string? Folder { get; init; }
    }
}
