using System.Globalization;
using System.Reflection;
using System.Text.RegularExpressions;

namespace Hotlight.Core;

/// <summary>The words and sentences Hotlight says, by key and language: <c>data/language/&lt;code&gt;/texts.json</c>, with a clinic's own folder over it.</summary>
/// <remarks>
/// English is complete; another language may be partial, and what it lacks is said in English.
/// The language is that of <see cref="CultureInfo.CurrentUICulture"/>, then its parent's, then English. docs/methods/language.md.
/// Not: the texts of the catalogue of projections, which have files of their own.
/// </remarks>
public sealed partial class Texts
{
    /// <summary>The language that is complete and that others fall back to.</summary>
    public const string Fallback = "en";

    /// <summary>Name of the environment variable that holds a clinic's own folder of languages.</summary>
    public const string FolderVariable = "HOTLIGHT_LANGUAGE_FOLDER";

    private const string FileName = "texts.json";
    private const string ResourcePrefix = "language/";
    private static readonly AsyncLocal<Texts?> InUse = new();
    private readonly Dictionary<string, IReadOnlyDictionary<string, string>> byLanguage;

    private Texts(Dictionary<string, IReadOnlyDictionary<string, string>> byLanguage) => this.byLanguage = byLanguage;

    /// <summary>The texts built into the program.</summary>
    public static Texts BuiltIn { get; } = LoadBuiltIn();

    /// <summary>The texts in use: those last given to <see cref="Use"/> in this flow of control, else the built-in ones.</summary>
    public static Texts Current => InUse.Value ?? BuiltIn;

    /// <summary>Codes of the languages that have texts, in order.</summary>
    public IReadOnlyList<string> Languages => [.. byLanguage.Keys.Order(StringComparer.Ordinal)];

    /// <summary>The keys there are, in order.</summary>
    public IReadOnlyList<string> Keys => [.. byLanguage[Fallback].Keys.Order(StringComparer.Ordinal)];

    /// <summary>Uses texts in this flow of control and what it starts, as <see cref="CultureInfo.CurrentUICulture"/> is used.</summary>
    /// <param name="texts">The texts; null: the built-in ones.</param>
    public static void Use(Texts? texts) => InUse.Value = texts;

    /// <summary>A text in the language of <see cref="CultureInfo.CurrentUICulture"/>, its places filled.</summary>
    /// <param name="key">The text's key, such as "relation.holds".</param>
    /// <param name="values">What stands at {0}, {1} and so on.</param>
    /// <exception cref="ArgumentException">There is no such key, or the number of values is not that of its places.</exception>
    public static string Get(string key, params string[] values) => Current.Say(CultureInfo.CurrentUICulture, key, values);

    /// <summary>A text without places whose key is made of names that stand in a file of data, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
    /// <param name="key">Its key.</param>
    /// <returns>The text; null: there is none, not even in English.</returns>
    public static string? Find(string key) => Current.byLanguage[Fallback].ContainsKey(key) ? Current.Say(CultureInfo.CurrentUICulture, key) : null;

    /// <summary>A figure in the language of <see cref="CultureInfo.CurrentUICulture"/>: its decimal mark, and a minus sign that is not a hyphen.</summary>
    /// <param name="value">The figure.</param>
    /// <param name="format">A standard or custom format of .NET without grouping, such as "F1" or "0.##".</param>
    public static string Number(double value, string format)
        => value.ToString(format, CultureInfo.InvariantCulture).Replace('-', '−').Replace(".", Texts.Get("number.decimal-mark"), StringComparison.Ordinal);

    /// <summary>A text in a language, its places filled.</summary>
    /// <param name="culture">The language.</param>
    /// <param name="key">The text's key.</param>
    /// <param name="values">What stands at {0}, {1} and so on.</param>
    /// <exception cref="ArgumentException">There is no such key, or the number of values is not that of its places.</exception>
    public string Say(CultureInfo culture, string key, params string[] values)
    {
        ArgumentNullException.ThrowIfNull(culture);
        ArgumentNullException.ThrowIfNull(key);
        ArgumentNullException.ThrowIfNull(values);
        string text = Find(culture, key) ?? throw new ArgumentException($"There is no text '{key}'.", nameof(key));
        int places = TextsFile.Places(text).Count;
        return places == values.Length
            ? TextsFile.Place().Replace(text, place => values[int.Parse(place.Groups[1].ValueSpan, CultureInfo.InvariantCulture)])
            : throw new ArgumentException($"The text '{key}' has {places} places, and {values.Length} values were given.", nameof(values));
    }

    /// <summary>How many texts a language has of its own.</summary>
    /// <param name="language">Code of the language, such as "de".</param>
    public int Count(string language) => byLanguage.TryGetValue(language, out IReadOnlyDictionary<string, string>? texts) ? texts.Count : 0;

    /// <summary>The texts a language has of its own, by key; empty where it has none.</summary>
    /// <param name="language">Code of the language, such as "de".</param>
    public IReadOnlyDictionary<string, string> Of(string language)
        => byLanguage.GetValueOrDefault(language) ?? new Dictionary<string, string>(StringComparer.Ordinal);

    /// <summary>These texts with a clinic's folder over them: &lt;code&gt;/texts.json, each with the texts it changes or adds a language by.</summary>
    /// <param name="folder">The folder.</param>
    /// <exception cref="UnreadableTextsException">The folder or a file of it is not right; every fault is named.</exception>
    public Texts With(string folder)
    {
        if (!Directory.Exists(folder))
        {
            throw new UnreadableTextsException([new TextFault(folder, "$", "there is no such folder.")]);
        }

        var faults = new List<TextFault>();
        var files = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (string language in Directory.EnumerateDirectories(folder).Order(StringComparer.Ordinal))
        {
            string code = Path.GetFileName(language);
            if (!Code().IsMatch(code))
            {
                faults.Add(new TextFault(code, "$", "a language's folder is named by its code, such as de or pt-BR."));
            }
            else if (Path.Combine(language, FileName) is { } path && File.Exists(path))
            {
                files[code] = File.ReadAllText(path);
            }
            else if (!Directory.Exists(Path.Combine(language, "catalogue")))
            {
                faults.Add(new TextFault(code, "$", "there is neither texts.json nor a folder catalogue in it."));
            }
        }

        Texts laid = Lay(files, byLanguage, faults);
        return faults.Count > 0 ? throw new UnreadableTextsException(faults) : laid;
    }

    /// <summary>Reads texts: English first, then the others by it.</summary>
    /// <param name="files">Text of a file by code of its language; English must be there.</param>
    /// <exception cref="UnreadableTextsException">A file is not right; every fault is named.</exception>
    public static Texts Parse(IReadOnlyDictionary<string, string> files)
    {
        ArgumentNullException.ThrowIfNull(files);
        var faults = new List<TextFault>();
        IReadOnlyDictionary<string, string> english = TextsFile.Read(files[Fallback], $"{Fallback}/{FileName}", Fallback, english: null, faults);
        Texts laid = Lay(files.Where(file => file.Key != Fallback), new Dictionary<string, IReadOnlyDictionary<string, string>>(StringComparer.Ordinal) { [Fallback] = english }, faults);
        return faults.Count > 0 ? throw new UnreadableTextsException(faults) : laid;
    }

    private static Texts Lay(IEnumerable<KeyValuePair<string, string>> files, Dictionary<string, IReadOnlyDictionary<string, string>> below, List<TextFault> faults)
    {
        var laid = new Dictionary<string, IReadOnlyDictionary<string, string>>(below, StringComparer.Ordinal);
        foreach ((string code, string json) in files.OrderBy(file => file.Key, StringComparer.Ordinal))
        {
            var texts = new Dictionary<string, string>(below.GetValueOrDefault(code) ?? new Dictionary<string, string>(), StringComparer.Ordinal);
            foreach ((string key, string text) in TextsFile.Read(json, $"{code}/{FileName}", code, below[Fallback], faults))
            {
                texts[key] = text;
            }

            laid[code] = texts;
        }

        return new Texts(laid);
    }

    private string? Find(CultureInfo culture, string key)
    {
        for (CultureInfo language = culture; language.Name.Length > 0; language = language.Parent)
        {
            if (byLanguage.TryGetValue(language.Name, out IReadOnlyDictionary<string, string>? texts) && texts.TryGetValue(key, out string? text))
            {
                return text;
            }
        }

        return byLanguage[Fallback].GetValueOrDefault(key);
    }

    private static Texts LoadBuiltIn()
    {
        var assembly = Assembly.GetExecutingAssembly();
        var files = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (string name in assembly.GetManifestResourceNames().Where(name => name.StartsWith(ResourcePrefix, StringComparison.Ordinal)))
        {
            using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);
            files[name.Split('/')[1]] = reader.ReadToEnd();
        }

        return Parse(files);
    }

    [GeneratedRegex("^[a-z]{2,3}(-[A-Z]{2})?$")]
    private static partial Regex Code();
}
