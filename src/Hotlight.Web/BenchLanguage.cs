using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Web;

/// <summary>The language of a bench: the built-in texts with a clinic's own folder over them.</summary>
/// <param name="Culture">The language.</param>
/// <param name="Texts">The program's texts.</param>
/// <param name="OwnCatalogue">A clinic's own translations of the catalogue; null: none.</param>
public sealed record BenchLanguage(CultureInfo Culture, Texts Texts, CatalogueTexts? OwnCatalogue)
{
    /// <summary>Reads the language a bench is started in.</summary>
    /// <param name="options">How it is started.</param>
    /// <exception cref="BenchRefusedException">There are no texts in the language, or the clinic's folder has faults.</exception>
    public static BenchLanguage Of(BenchOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        try
        {
            bool hasFolder = !string.IsNullOrWhiteSpace(options.LanguageFolder);
            Texts texts = hasFolder ? Texts.BuiltIn.With(options.LanguageFolder!) : Texts.BuiltIn;
            CatalogueTexts? own = hasFolder ? CatalogueTexts.Load(options.LanguageFolder!) : null;
            string[] known = [.. texts.Languages.Concat(CatalogueTexts.BuiltIn.Languages).Concat(own?.Languages ?? []).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
            return known.Contains(options.Language, StringComparer.Ordinal)
                ? new BenchLanguage(CultureInfo.GetCultureInfo(options.Language), texts, own)
                : throw new BenchRefusedException($"--language names one of {string.Join(", ", known)}; there are no texts in '{options.Language}'.");
        }
        catch (UnreadableTextsException error)
        {
            throw Refused(error.Faults[0].ToString(), error.Faults.Count, error);
        }
        catch (UnreadableCatalogueException error)
        {
            throw Refused(error.Errors[0].ToString(), error.Errors.Count, error);
        }
    }

    /// <summary>A catalogue in this language.</summary>
    /// <param name="catalogue">The catalogue in English, with a clinic's own entries.</param>
    /// <exception cref="BenchRefusedException">A clinic's translation does not fit it.</exception>
    public ProjectionCatalogue In(ProjectionCatalogue catalogue)
    {
        ArgumentNullException.ThrowIfNull(catalogue);
        IReadOnlyList<CatalogueError> errors = OwnCatalogue?.Errors(catalogue) ?? [];
        return errors.Count > 0 ? throw Refused(errors[0].ToString(), errors.Count, null) : catalogue.In(Culture, OwnCatalogue);
    }

    /// <summary>Says all that follows in this flow of control in this language.</summary>
    public void Speak()
    {
        CultureInfo.CurrentUICulture = Culture;
        Texts.Use(Texts);
    }

    private static BenchRefusedException Refused(string first, int count, Exception? inner)
        => new(first + (count > 1 ? $" There are {count - 1} more faults; 'hotlight catalogue check --language-folder DIR' lists them all." : string.Empty), inner);
}
