using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight catalogue check [FOLDER] [--language-folder FOLDER].</summary>
internal sealed class CatalogueCheckCommand : Command<CatalogueCheckCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        ProjectionCatalogue checkedCatalogue = Checked(() => settings.Folder is null ? ProjectionCatalogue.BuiltIn : ProjectionCatalogue.Load(settings.Folder));
        IReadOnlyList<Projection> projections = checkedCatalogue.Projections;
        int relations = projections.Sum(projection => projection.Relations.Count);
        int measured = projections.Sum(projection => projection.Relations.Count(relation => relation.Measure is not null));
        int replaced = settings.Folder is null ? 0 : projections.Count(projection => ProjectionCatalogue.BuiltIn.Find(projection.Id) is not null);
        Terminal.Output.WriteLine($"{projections.Count} projections of {projections.Select(projection => projection.Region).Distinct().Count()} regions, {relations} relations, {measured} of them told by landmarks: no fault.");
        if (settings.Folder is not null)
        {
            Terminal.Output.WriteLine($"{replaced} of them take the place of a built-in one, {projections.Count - replaced} are added.");
        }

        string? folder = settings.LanguageFolder ?? Environment.GetEnvironmentVariable(Texts.FolderVariable);
        CheckLanguages(settings.Folder is null ? checkedCatalogue : ProjectionCatalogue.BuiltIn.With(checkedCatalogue), string.IsNullOrWhiteSpace(folder) ? null : folder);
        return HotlightCommandLine.Done;
    }

    private static void CheckLanguages(ProjectionCatalogue catalogue, string? folder)
    {
        Texts texts = Texts.BuiltIn;
        CatalogueTexts? own = null;
        var faults = new List<string>();
        if (folder is not null)
        {
            try
            {
                texts = texts.With(folder);
            }
            catch (UnreadableTextsException error)
            {
                faults.AddRange(error.Faults.Select(fault => fault.ToString()));
            }

            try
            {
                own = CatalogueTexts.Load(folder);
                faults.AddRange(own.Errors(catalogue).Select(fault => fault.ToString()));
            }
            catch (UnreadableCatalogueException error)
            {
                faults.AddRange(error.Errors.Select(fault => fault.ToString()));
            }
        }

        faults.AddRange(CatalogueTexts.BuiltIn.Errors(ProjectionCatalogue.BuiltIn).Select(fault => fault.ToString()));
        Refuse([.. faults.Distinct(StringComparer.Ordinal)], "languages; nothing of them");
        foreach (string language in texts.Languages.Concat(CatalogueTexts.BuiltIn.Languages).Concat(own?.Languages ?? []).Where(language => language != Texts.Fallback).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal))
        {
            int all = texts.Count(Texts.Fallback);
            int said = texts.Count(language);
            TranslatedShare share = catalogue.ShareIn(language, own);
            Terminal.Output.WriteLine($"{language}: {said} of {all} texts of the program ({100 * said / all} %), {share.Translated} of {share.All} texts of the catalogue ({share.Percent} %, {share.Projections} of {catalogue.Projections.Count} projections); what is missing is said in English.");
        }
    }

    private static T Checked<T>(Func<T> read)
    {
        try
        {
            return read();
        }
        catch (UnreadableCatalogueException error)
        {
            Refuse([.. error.Errors.Select(fault => fault.ToString())], "catalogue; nothing of it");
            throw;
        }
    }

    private static void Refuse(IReadOnlyList<string> faults, string what)
    {
        if (faults.Count == 0)
        {
            return;
        }

        foreach (string fault in faults)
        {
            Terminal.Output.WriteLine(fault);
        }

        throw new RefusedException($"{(faults.Count == 1 ? "1 fault" : $"{faults.Count} faults")} in the {what} is used until all are mended.");
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "[FOLDER]")]
        [Description("A clinic's own folder of projections, one folder a region; none: the built-in catalogue.")]
        public string? Folder { get; init; }

        [CommandOption("--language-folder <FOLDER>")]
        [Description("A clinic's own folder of languages, one folder a language; else that of the environment variable HOTLIGHT_LANGUAGE_FOLDER.")]
        public string? LanguageFolder { get; init; }
    }
}
