using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Cli.Commands;

/// <summary>The language of a call: the built-in texts with a clinic's own folder over them.</summary>
internal static class Languages
{
    /// <summary>Says all that follows in this flow of control in a language.</summary>
    /// <param name="language">Code of the language; null: English.</param>
    /// <exception cref="RefusedException">There are no texts in it, or the clinic's folder has faults.</exception>
    public static void Speak(string? language)
    {
        Texts texts = OfTheClinic(Texts.BuiltIn.With) ?? Texts.BuiltIn;
        string[] known = [.. texts.Languages.Concat(CatalogueTexts.BuiltIn.Languages).Concat(OfCatalogue()?.Languages ?? []).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
        string code = language ?? Texts.Fallback;
        if (!known.Contains(code, StringComparer.Ordinal))
        {
            throw new RefusedException($"--language names one of {string.Join(", ", known)}; there are no texts in '{code}'.");
        }

        Texts.Use(texts);
        CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo(code);
    }

    /// <summary>The catalogue in the language of this flow of control.</summary>
    /// <param name="catalogue">The catalogue in English, with a clinic's own entries.</param>
    /// <exception cref="RefusedException">A clinic's translation does not fit it.</exception>
    public static ProjectionCatalogue In(ProjectionCatalogue catalogue)
    {
        CatalogueTexts? own = OfCatalogue();
        IReadOnlyList<CatalogueError> errors = own?.Errors(catalogue) ?? [];
        return errors.Count > 0 ? throw Refused(errors[0].ToString(), errors.Count) : catalogue.In(CultureInfo.CurrentUICulture, own);
    }

    private static CatalogueTexts? OfCatalogue() => OfTheClinic(CatalogueTexts.Load);

    private static T? OfTheClinic<T>(Func<string, T> read)
        where T : class
    {
        string? folder = Environment.GetEnvironmentVariable(Texts.FolderVariable);
        if (string.IsNullOrWhiteSpace(folder))
        {
            return null;
        }

        try
        {
            return read(folder);
        }
        catch (UnreadableTextsException error)
        {
            throw Refused(error.Faults[0].ToString(), error.Faults.Count);
        }
        catch (UnreadableCatalogueException error)
        {
            throw Refused(error.Errors[0].ToString(), error.Errors.Count);
        }
    }

    private static RefusedException Refused(string first, int count)
        => new(first + (count > 1 ? $" There are {count - 1} more faults; 'hotlight catalogue check --language-folder FOLDER' lists them all." : string.Empty));
}
