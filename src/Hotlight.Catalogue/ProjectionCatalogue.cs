using System.Globalization;
using System.Reflection;

namespace Hotlight.Catalogue;

/// <summary>The projections Hotlight can judge.</summary>
public sealed class ProjectionCatalogue
{
    private const string ResourcePrefix = "catalogue/";
    private static readonly Lazy<ProjectionCatalogue> BuiltInCatalogue = new(LoadBuiltIn);
    private readonly Dictionary<string, Projection> byId;
    private readonly IReadOnlySet<string> ownIds;

    private ProjectionCatalogue(IEnumerable<Projection> projections, IReadOnlySet<string>? ownIds = null)
    {
        this.ownIds = ownIds ?? new HashSet<string>(StringComparer.Ordinal);
        Projections = [.. projections.OrderBy(projection => projection.Region, StringComparer.Ordinal).ThenBy(projection => projection.Name, StringComparer.Ordinal)];
        byId = Projections.ToDictionary(projection => projection.Id, StringComparer.Ordinal);
    }

    /// <summary>The catalogue built into the program: the files of <c>data/catalogue</c> at build time.</summary>
    public static ProjectionCatalogue BuiltIn => BuiltInCatalogue.Value;

    /// <summary>All projections, by region, then by name.</summary>
    public IReadOnlyList<Projection> Projections { get; }

    /// <summary>The projection of an identifier, or null.</summary>
    /// <param name="id">Identifier, such as "wrist-pa".</param>
    public Projection? Find(string id) => byId.GetValueOrDefault(id);

    /// <summary>The projection of an identifier.</summary>
    /// <param name="id">Identifier, such as "wrist-pa".</param>
    /// <exception cref="ArgumentException">There is none; the sentence names the nearest.</exception>
    public Projection Get(string id)
        => Find(id) ?? throw new ArgumentException(Sentence(id), nameof(id));

    /// <summary>Identifiers nearest to one that is unknown, best first, at most 3.</summary>
    /// <param name="id">What was asked for.</param>
    public IReadOnlyList<string> Near(string id)
    {
        ArgumentNullException.ThrowIfNull(id);
        IReadOnlyList<string> near = Nearest.Several(id, byId.Keys, 3);
        string[] shared = [.. byId.Keys.Where(key => id.Split('-', ' ').Any(word => word.Length > 2 && key.Split('-').Contains(word, StringComparer.OrdinalIgnoreCase))).Order(StringComparer.Ordinal)];
        return [.. near.Concat(shared).Distinct(StringComparer.Ordinal).Take(3)];
    }

    /// <summary>Reads a catalogue from a folder of regions, each a folder of projections.</summary>
    /// <param name="folder">The folder, such as data/catalogue.</param>
    /// <param name="sources">The register its source keys must be in; null: the one built in.</param>
    /// <exception cref="UnreadableCatalogueException">A file is not a projection; the message names file and member.</exception>
    public static ProjectionCatalogue Load(string folder, SourceRegister? sources = null)
    {
        if (!Directory.Exists(folder))
        {
            throw new UnreadableCatalogueException(folder, "$", "there is no such folder.");
        }

        var projections = new List<Projection>();
        var errors = new List<CatalogueError>();
        foreach (string region in Directory.EnumerateDirectories(folder).Order(StringComparer.Ordinal))
        {
            foreach (string path in Directory.EnumerateFiles(region, "*.json").Order(StringComparer.Ordinal))
            {
                string file = Path.GetFileName(region) + "/" + Path.GetFileName(path);
                try
                {
                    projections.Add(Parse(System.IO.File.ReadAllText(path), file, sources ?? SourceRegister.BuiltIn));
                }
                catch (UnreadableCatalogueException error)
                {
                    errors.AddRange(error.Errors);
                }
            }
        }

        errors.AddRange(projections.GroupBy(projection => projection.Id, StringComparer.Ordinal).Where(group => group.Count() > 1)
            .Select(group => new CatalogueError($"{group.Last().Region}/{group.Key}.json", "$.id", $"'{group.Key}' stands in {string.Join(" and ", group.Select(projection => projection.Region))}; an identifier is used once.")));
        if (projections.Count == 0 && errors.Count == 0)
        {
            errors.Add(new CatalogueError(folder, "$", "there is no projection in it."));
        }

        return errors.Count > 0 ? throw new UnreadableCatalogueException(errors) : new ProjectionCatalogue(projections);
    }

    /// <summary>This catalogue with another laid over it: entries of the same identifier are replaced, others added.</summary>
    /// <param name="own">A clinic's own entries.</param>
    public ProjectionCatalogue With(ProjectionCatalogue own)
    {
        ArgumentNullException.ThrowIfNull(own);
        return new ProjectionCatalogue([.. Projections.Where(projection => own.Find(projection.Id) is null), .. own.Projections], new HashSet<string>(ownIds.Concat(own.byId.Keys), StringComparer.Ordinal));
    }

    /// <summary>This catalogue in a language: the texts of its entry over the English ones; a projection without one stays in English.</summary>
    /// <remarks>A clinic's own projections take only the clinic's own translations: the built-in ones say what the built-in projection says.</remarks>
    /// <param name="culture">The language.</param>
    /// <param name="own">A clinic's own translations, over the built-in ones; null: none.</param>
    /// <exception cref="UnreadableCatalogueException">A translation does not fit its projection; every fault is named.</exception>
    public ProjectionCatalogue In(CultureInfo culture, CatalogueTexts? own = null)
    {
        ArgumentNullException.ThrowIfNull(culture);
        Projection Lay(Projection projection)
        {
            Projection laid = ownIds.Contains(projection.Id) ? projection : CatalogueTexts.BuiltIn.In(projection, culture);
            return own is null ? laid : own.In(laid, culture);
        }

        return new ProjectionCatalogue(Projections.Select(Lay), ownIds);
    }

    /// <summary>How much of this catalogue a language has of its own.</summary>
    /// <param name="language">Code of the language, such as "de".</param>
    /// <param name="own">A clinic's own translations, over the built-in ones; null: none.</param>
    public TranslatedShare ShareIn(string language, CatalogueTexts? own = null)
    {
        int translated = 0, all = 0, projections = 0;
        foreach (Projection projection in Projections)
        {
            IEnumerable<string> builtIn = ownIds.Contains(projection.Id) ? [] : CatalogueTexts.BuiltIn.PlacesOf(projection.Id, language);
            int count = builtIn.Union(own?.PlacesOf(projection.Id, language) ?? [], StringComparer.Ordinal).Count();
            translated += count;
            projections += count > 0 ? 1 : 0;
            all += CatalogueTexts.PlacesOf(projection).Count();
        }

        return new TranslatedShare(translated, all, projections);
    }

    /// <summary>Reads one projection and checks it.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="file">The file's name with its region's folder, such as "wrist/wrist-pa.json".</param>
    /// <param name="sources">The register its source keys must be in.</param>
    /// <exception cref="UnreadableCatalogueException">The text is not a projection; the message names file and member.</exception>
    public static Projection Parse(string json, string file, SourceRegister sources)
    {
        Projection projection = CatalogueJson.Parse<Projection>(json, file);
        IReadOnlyList<CatalogueError> errors = ProjectionCheck.Errors(projection, file, sources);
        return errors.Count > 0 ? throw new UnreadableCatalogueException(errors) : projection;
    }

    private string Sentence(string id) => Near(id) is { Count: > 0 } near
        ? $"There is no projection '{id}'; nearest are {string.Join(", ", near)}."
        : $"There is no projection '{id}', and none of a like name among the {byId.Count} there are.";

    private static ProjectionCatalogue LoadBuiltIn()
    {
        Assembly assembly = Assembly.GetExecutingAssembly();
        var projections = new List<Projection>();
        foreach (string name in assembly.GetManifestResourceNames().Where(name => name.StartsWith(ResourcePrefix, StringComparison.Ordinal)).Order(StringComparer.Ordinal))
        {
            using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);
            projections.Add(Parse(reader.ReadToEnd(), name[ResourcePrefix.Length..], SourceRegister.BuiltIn));
        }

        return new ProjectionCatalogue(projections);
    }
}
