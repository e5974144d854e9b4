using System.Globalization;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace Hotlight.Catalogue;

/// <summary>The catalogue's texts in other languages: <c>data/language/&lt;code&gt;/catalogue/&lt;region&gt;/&lt;id&gt;.json</c>, each with the text members it replaces and nothing else.</summary>
/// <remarks>
/// A file has the shape of its projection. Objects of a list are matched by their id (adaptations by their situation), texts of a list by position.
/// What is not translated stays in English. docs/methods/language.md.
/// </remarks>
public sealed partial class CatalogueTexts
{
    private const string ResourcePrefix = "language/";

    // The members of a projection that a reader reads; a * stands for each object of a list. Everything else is an identifier, a code, a figure or a key.
    private static readonly HashSet<string> TextMembers =
    [
        "name", "otherNames", "purpose",
        "requiredAnatomy.*.question", "requiredAnatomy.*.gain",
        "requiredAnatomy.*.misses.*.looks", "requiredAnatomy.*.misses.*.means", "requiredAnatomy.*.misses.*.correction", "requiredAnatomy.*.misses.*.direction",
        "bodyExit.explanation", "patientPosition.text", "partPosition.text", "centralRay.direction", "centralRay.entryPoint",
        "receptor.text", "breathing.text", "grid.text", "collimation.extent", "markerPlace.text", "shielding.text", "tissueQuestion.text",
        "relations.*.question", "relations.*.tolerance.text", "relations.*.gain", "relations.*.measure.turn.about",
        "relations.*.misses.*.looks", "relations.*.misses.*.means", "relations.*.misses.*.correction", "relations.*.misses.*.direction",
        "landmarks.*.name", "landmarks.*.where", "adaptations.*.text", "purposes.*.name",
    ];

    private static readonly Lazy<CatalogueTexts> BuiltInTexts = new(LoadBuiltIn);
    private readonly Dictionary<string, IReadOnlyDictionary<string, Entry>> byLanguage;

    private CatalogueTexts(Dictionary<string, IReadOnlyDictionary<string, Entry>> byLanguage) => this.byLanguage = byLanguage;

    /// <summary>The translations built into the program.</summary>
    public static CatalogueTexts BuiltIn => BuiltInTexts.Value;

    /// <summary>Codes of the languages that have entries, in order.</summary>
    public IReadOnlyList<string> Languages => [.. byLanguage.Keys.Order(StringComparer.Ordinal)];

    /// <summary>Identifiers of the projections that have an entry in a language, in order.</summary>
    /// <param name="language">Code of the language, such as "de".</param>
    public IReadOnlyList<string> ProjectionsOf(string language)
        => byLanguage.TryGetValue(language, out IReadOnlyDictionary<string, Entry>? entries) ? [.. entries.Keys.Order(StringComparer.Ordinal)] : [];

    /// <summary>Reads a folder of languages: &lt;code&gt;/catalogue/&lt;region&gt;/&lt;id&gt;.json.</summary>
    /// <param name="folder">The folder, such as data/language.</param>
    /// <exception cref="UnreadableCatalogueException">A file is not JSON or lies in the wrong place; every fault is named.</exception>
    public static CatalogueTexts Load(string folder)
    {
        if (!Directory.Exists(folder))
        {
            throw new UnreadableCatalogueException(folder, "$", "there is no such folder.");
        }

        IEnumerable<(string File, string Json)> files = Directory.EnumerateFiles(folder, "*.json", SearchOption.AllDirectories)
            .Select(path => (File: Path.GetRelativePath(folder, path).Replace(Path.DirectorySeparatorChar, '/'), Path: path))
            .Where(file => !TextsPlace().IsMatch(file.File))
            .OrderBy(file => file.File, StringComparer.Ordinal)
            .Select(file => (file.File, System.IO.File.ReadAllText(file.Path)));
        return Read(files);
    }

    /// <summary>Everything that is wrong with these translations of a catalogue: entries without a projection, members that are no text, identifiers that do not match, rules that the translated projection breaks.</summary>
    /// <param name="catalogue">The catalogue in English.</param>
    public IReadOnlyList<CatalogueError> Errors(ProjectionCatalogue catalogue)
    {
        ArgumentNullException.ThrowIfNull(catalogue);
        var errors = new List<CatalogueError>();
        foreach (string language in Languages)
        {
            foreach ((string id, Entry entry) in byLanguage[language].OrderBy(entry => entry.Key, StringComparer.Ordinal))
            {
                if (catalogue.Find(id) is not { } projection)
                {
                    string near = catalogue.Near(id) is { Count: > 0 } names ? $"; nearest are {string.Join(", ", names)}." : ".";
                    errors.Add(new CatalogueError(entry.File, "$", $"the catalogue has no projection '{id}'{near}"));
                }
                else
                {
                    _ = Lay(projection, entry, errors);
                }
            }
        }

        return errors;
    }

    /// <summary>The places of the texts an entry holds, such as "relations.palm-flat.question"; none where the language has no entry.</summary>
    /// <param name="id">Identifier of the projection.</param>
    /// <param name="language">Code of the language, such as "de".</param>
    internal IEnumerable<string> PlacesOf(string id, string language)
        => byLanguage.TryGetValue(language, out IReadOnlyDictionary<string, Entry>? entries) && entries.TryGetValue(id, out Entry? entry) ? Places(entry.Content) : [];

    /// <summary>The places of a projection's texts, such as "relations.palm-flat.question".</summary>
    /// <param name="projection">The projection.</param>
    internal static IEnumerable<string> PlacesOf(Projection projection) => Places(CatalogueJson.Write(projection));

    /// <summary>A projection in a language; the projection itself where the language has no entry for it.</summary>
    /// <param name="projection">The projection in English.</param>
    /// <param name="culture">The language; a parent's entry is laid first, its own over it.</param>
    /// <exception cref="UnreadableCatalogueException">The entry does not fit the projection; every fault is named.</exception>
    public Projection In(Projection projection, CultureInfo culture)
    {
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(culture);
        Projection laid = culture.Parent.Name.Length > 0 ? In(projection, culture.Parent) : projection;
        if (!byLanguage.TryGetValue(culture.Name, out IReadOnlyDictionary<string, Entry>? entries) || !entries.TryGetValue(projection.Id, out Entry? entry))
        {
            return laid;
        }

        var errors = new List<CatalogueError>();
        Projection? translated = Lay(laid, entry, errors);
        return errors.Count > 0 ? throw new UnreadableCatalogueException(errors) : translated!;
    }

    /// <summary>The places of a projection's texts, such as "relations.*.question".</summary>
    internal static IReadOnlySet<string> Members => TextMembers;

    private static Projection? Lay(Projection projection, Entry entry, List<CatalogueError> errors)
    {
        int before = errors.Count;
        if (entry.Region != projection.Region)
        {
            errors.Add(new CatalogueError(entry.File, "$", $"'{projection.Id}' is of the region '{projection.Region}'; its entry lies in that folder."));
        }

        JsonObject target = CatalogueJson.Write(projection);
        LayObject(target, entry.Content, "$", string.Empty, entry.File, errors);
        if (errors.Count > before)
        {
            return null;
        }

        string name = $"{projection.Region}/{projection.Id}.json";
        try
        {
            Projection laid = CatalogueJson.Parse<Projection>(target.ToJsonString(), name);
            errors.AddRange(ProjectionCheck.Errors(laid, name, null).Select(error => error with { File = entry.File }));
            return laid;
        }
        catch (UnreadableCatalogueException error)
        {
            errors.AddRange(error.Errors.Select(fault => fault with { File = entry.File }));
            return null;
        }
    }

    private static void LayObject(JsonObject target, JsonObject source, string path, string place, string file, List<CatalogueError> errors)
    {
        foreach ((string member, JsonNode? value) in source)
        {
            string memberPath = $"{path}.{member}";
            string memberPlace = place.Length == 0 ? member : $"{place}.{member}";
            void Fault(string reason) => errors.Add(new CatalogueError(file, memberPath, reason));
            bool isText = TextMembers.Contains(memberPlace);
            bool holdsTexts = TextMembers.Any(text => text.StartsWith(memberPlace + ".", StringComparison.Ordinal));
            if (IsKey(member, place))
            {
                continue;
            }

            if (!isText && !holdsTexts)
            {
                string near = Nearest.To(memberPlace, TextMembers) is { } best ? $"; did you mean '{best.Split('.')[^1]}'?" : "; only texts are translated.";
                Fault(target.ContainsKey(member) ? "this is no text for the reader and is not translated." : $"'{member}' is not a text of a projection{near}");
            }
            else if (target[member] is not { } original)
            {
                Fault("the projection has no such member.");
            }
            else if (isText)
            {
                LayText(target, original, member, value, Fault);
            }
            else if (original is JsonObject inner && value is JsonObject innerSource)
            {
                LayObject(inner, innerSource, memberPath, memberPlace, file, errors);
            }
            else if (original is JsonArray list && value is JsonArray listSource)
            {
                LayList(list, listSource, memberPath, memberPlace, file, errors);
            }
            else
            {
                Fault(original is JsonArray ? "a list of objects is expected." : "an object is expected.");
            }
        }
    }

    private static void LayText(JsonObject target, JsonNode original, string member, JsonNode? value, Action<string> fault)
    {
        static bool IsText(JsonNode? node) => node is JsonValue && node.GetValueKind() == JsonValueKind.String && !string.IsNullOrWhiteSpace(node.GetValue<string>());
        if (original is not JsonArray texts)
        {
            if (IsText(value))
            {
                target[member] = value!.DeepClone();
            }
            else
            {
                fault("a text is expected that is not empty.");
            }
        }
        else if (value is not JsonArray replacements || replacements.Count > texts.Count || !replacements.All(IsText))
        {
            fault($"a list of at most {texts.Count} texts is expected, in the order of the projection's.");
        }
        else
        {
            for (int index = 0; index < replacements.Count; index++)
            {
                texts[index] = replacements[index]!.DeepClone();
            }
        }
    }

    private static void LayList(JsonArray target, JsonArray source, string path, string place, string file, List<CatalogueError> errors)
    {
        string key = KeyOf(place);
        var seen = new HashSet<string>(StringComparer.Ordinal);
        for (int index = 0; index < source.Count; index++)
        {
            string itemPath = $"{path}[{index}]";
            string? id = source[index] is JsonObject item && item[key] is JsonValue value && value.GetValueKind() == JsonValueKind.String ? value.GetValue<string>() : null;
            if (id is null)
            {
                errors.Add(new CatalogueError(file, itemPath, $"an object with '{key}' is expected, by which it is matched."));
            }
            else if (!seen.Add(id))
            {
                errors.Add(new CatalogueError(file, $"{itemPath}.{key}", $"'{id}' stands twice."));
            }
            else if (target.OfType<JsonObject>().Count(original => (string?)original[key] == id) > 1)
            {
                errors.Add(new CatalogueError(file, $"{itemPath}.{key}", $"the projection has '{id}' twice here, so it cannot be matched."));
            }
            else if (target.OfType<JsonObject>().SingleOrDefault(original => (string?)original[key] == id) is { } original)
            {
                LayObject(original, (JsonObject)source[index]!, itemPath, place + ".*", file, errors);
            }
            else
            {
                errors.Add(new CatalogueError(file, $"{itemPath}.{key}", $"the projection has no '{id}' here; it has {string.Join(", ", target.OfType<JsonObject>().Select(original => (string?)original[key]))}."));
            }
        }
    }

    private static string KeyOf(string listPlace) => listPlace == "adaptations" ? "situation" : "id";

    private static bool IsKey(string member, string place) => place.EndsWith(".*", StringComparison.Ordinal) && member == KeyOf(place[..^2]);

    private static IEnumerable<string> Places(JsonObject entry)
    {
        static IEnumerable<string> Walk(JsonNode? node, string place, string named) => node switch
        {
            JsonObject item => item.SelectMany(member => Walk(member.Value, place.Length == 0 ? member.Key : $"{place}.{member.Key}", named.Length == 0 ? member.Key : $"{named}.{member.Key}")),
            JsonArray list when TextMembers.Contains(place) => list.Select((_, index) => $"{named}.{index}"),
            JsonArray list => list.OfType<JsonObject>().SelectMany(item => Walk(item, place + ".*", $"{named}.{(string?)item[KeyOf(place)]}")),
            _ => node is not null && TextMembers.Contains(place) ? [named] : [],
        };
        return Walk(entry, string.Empty, string.Empty);
    }

    private static CatalogueTexts Read(IEnumerable<(string File, string Json)> files)
    {
        var errors = new List<CatalogueError>();
        var read = new Dictionary<string, Dictionary<string, Entry>>(StringComparer.Ordinal);
        foreach ((string file, string json) in files)
        {
            Match place = EntryPlace().Match(file);
            if (!place.Success)
            {
                errors.Add(new CatalogueError(file, "$", "a language's folder holds texts.json and catalogue/REGION/PROJECTION.json."));
                continue;
            }

            try
            {
                if (JsonNode.Parse(json, documentOptions: new JsonDocumentOptions { AllowDuplicateProperties = false }) is not JsonObject content)
                {
                    errors.Add(new CatalogueError(file, "$", "an object with the texts of a projection is expected."));
                    continue;
                }

                string language = place.Groups["language"].Value;
                if (!read.TryGetValue(language, out Dictionary<string, Entry>? entries))
                {
                    read[language] = entries = new Dictionary<string, Entry>(StringComparer.Ordinal);
                }

                if (!entries.TryAdd(place.Groups["id"].Value, new Entry(file, place.Groups["region"].Value, content)))
                {
                    errors.Add(new CatalogueError(file, "$", "this projection has an entry in another region's folder too."));
                }
            }
            catch (JsonException error)
            {
                errors.Add(new CatalogueError(file, error.Path ?? "$", error.LineNumber is { } line ? $"this is not JSON; look at line {line + 1}." : "this is not JSON, or a member stands twice."));
            }
        }

        return errors.Count > 0
            ? throw new UnreadableCatalogueException(errors)
            : new CatalogueTexts(read.ToDictionary(language => language.Key, language => (IReadOnlyDictionary<string, Entry>)language.Value, StringComparer.Ordinal));
    }

    private static CatalogueTexts LoadBuiltIn()
    {
        var assembly = Assembly.GetExecutingAssembly();
        var files = new List<(string File, string Json)>();
        foreach (string name in assembly.GetManifestResourceNames().Where(name => name.StartsWith(ResourcePrefix, StringComparison.Ordinal)).Order(StringComparer.Ordinal))
        {
            using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);
            files.Add((name[ResourcePrefix.Length..], reader.ReadToEnd()));
        }

        return Read(files);
    }

    [GeneratedRegex("^(?<language>[a-z]{2,3}(-[A-Z]{2})?)/catalogue/(?<region>[a-z0-9-]+)/(?<id>[a-z0-9-]+)[.]json$")]
    private static partial Regex EntryPlace();

    [GeneratedRegex("^[^/]+/texts[.]json$")]
    private static partial Regex TextsPlace();

    private sealed record Entry(string File, string Region, JsonObject Content);
}

/// <summary>How much of a catalogue a language has of its own.</summary>
/// <param name="Translated">Texts of its own.</param>
/// <param name="All">Texts there are in English.</param>
/// <param name="Projections">Projections with at least one text of its own.</param>
public sealed record TranslatedShare(int Translated, int All, int Projections)
{
    /// <summary>The share in percent, 0 to 100, rounded down.</summary>
    public int Percent => All == 0 ? 100 : 100 * Translated / All;
}
