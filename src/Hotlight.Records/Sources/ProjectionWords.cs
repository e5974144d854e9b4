using System.Collections.Frozen;
using System.Globalization;
using Hotlight.Catalogue;

namespace Hotlight.Records.Sources;

/// <summary>Finds the catalogue's projection in the words, terms and codes of a source. What fits several projections alike fits none: a guess would move a rate from one projection to another.</summary>
public sealed class ProjectionWords
{
    private static readonly FrozenDictionary<string, string> Synonyms = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["lat"] = "lateral", ["ll"] = "lateral", ["rl"] = "lateral", ["seitlich"] = "lateral", ["seitl"] = "lateral", ["obl"] = "oblique", ["schrag"] = "oblique", ["schraeg"] = "oblique",
        ["posteroanterior"] = "pa", ["anteroposterior"] = "ap", ["dorsopalmar"] = "dp", ["dorsovolar"] = "dp", ["dorsoplantar"] = "dp", ["axillary"] = "axial",
        ["handgelenk"] = "wrist", ["thorax"] = "chest", ["lunge"] = "chest", ["knie"] = "knee", ["kniegelenk"] = "knee", ["sprunggelenk"] = "ankle", ["osg"] = "ankle",
        ["ellenbogen"] = "elbow", ["ellbogen"] = "elbow", ["daumen"] = "thumb", ["fuss"] = "foot", ["schulter"] = "shoulder", ["schultergelenk"] = "shoulder", ["becken"] = "pelvis", ["beckenubersicht"] = "pelvis",
        ["hufte"] = "hip", ["huefte"] = "hip", ["huftgelenk"] = "hip", ["unterarm"] = "forearm", ["oberarm"] = "humerus", ["oberschenkel"] = "femur", ["unterschenkel"] = "leg",
        ["schadel"] = "skull", ["zehe"] = "toe", ["zehen"] = "toe", ["kniescheibe"] = "patella", ["schlusselbein"] = "clavicle", ["clavicula"] = "clavicle", ["schulterblatt"] = "scapula",
        ["fersenbein"] = "calcaneus", ["steissbein"] = "coccyx", ["kreuzbein"] = "sacrum", ["rippen"] = "ribs", ["rib"] = "ribs", ["fingers"] = "finger", ["thigh"] = "femur",
        ["tibia"] = "leg", ["lowerleg"] = "leg",
    }.ToFrozenDictionary(StringComparer.Ordinal);

    private static readonly FrozenDictionary<string, string[]> Expansions = new Dictionary<string, string[]>(StringComparer.Ordinal)
    {
        ["lws"] = ["lumbar", "spine"], ["bws"] = ["thoracic", "spine"], ["hws"] = ["cervical", "spine"], ["lspine"] = ["lumbar", "spine"], ["tspine"] = ["thoracic", "spine"], ["cspine"] = ["cervical", "spine"],
    }.ToFrozenDictionary(StringComparer.Ordinal);

    private static readonly FrozenSet<string> Idle = new[]
    {
        "left", "right", "links", "rechts", "li", "re", "l", "r", "lt", "rt", "bilateral", "beidseits", "bds", "both", "the", "of", "in", "for", "with", "to", "view", "views", "projection", "aufnahme",
        "dr", "dx", "cr", "xr", "rx", "x", "ray", "rontgen", "radiograph", "joint", "gelenk", "der", "die", "des", "des", "1", "2", "ebenen",
    }.ToFrozenSet(StringComparer.Ordinal);

    // Terms that say too little of the part to tell a projection by.
    private static readonly FrozenSet<string> GeneralParts = new[] { "HEAD", "EXTREMITY", "ARM", "UPPEREXTREMITY", "LOWEREXTREMITY", "SPINE", "WHOLEBODY", "OTHER", "UNKNOWN" }.ToFrozenSet(StringComparer.OrdinalIgnoreCase);

    private readonly ProjectionCatalogue catalogue;
    private readonly Dictionary<string, string?> byWords = new(StringComparer.Ordinal);
    private readonly HashSet<string> words = new(StringComparer.Ordinal);

    /// <summary>Creates the finder.</summary>
    /// <param name="catalogue">The projections; its names in the languages built in are known too.</param>
    public ProjectionWords(ProjectionCatalogue catalogue)
    {
        ArgumentNullException.ThrowIfNull(catalogue);
        this.catalogue = catalogue;
        Add(catalogue);
        foreach (string language in CatalogueTexts.BuiltIn.Languages)
        {
            Add(catalogue.In(CultureInfo.GetCultureInfo(language)));
        }
    }

    /// <summary>Whether a word stands in the name of a projection, in a language built in or in short, such as "Handgelenk".</summary>
    /// <param name="word">The word.</param>
    public bool Knows(string word)
    {
        ArgumentNullException.ThrowIfNull(word);
        string plain = PlainWords.Of(word);
        return words.Contains(plain) || Synonyms.ContainsKey(plain) || Expansions.ContainsKey(plain) || Idle.Contains(plain);
    }

    /// <summary>The projection that words name, such as "Handgelenk p.a. links"; null where they name none or several.</summary>
    /// <param name="text">The words.</param>
    public string? OfWords(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        if (catalogue.Find(text.Trim()) is { } named)
        {
            return named.Id;
        }

        string key = KeyOf(text);
        if (byWords.TryGetValue(key, out string? id))
        {
            return id;
        }

        // From the back of the hand to the palm is PA, from the back of the foot to the sole is called AP or DP.
        return key.Contains("dp", StringComparison.Ordinal) && byWords.TryGetValue(KeyOf(text, dorsal: "pa"), out id) ? id : null;
    }

    /// <summary>The projection that a header's terms name; null where they name none or several.</summary>
    /// <param name="bodyPart">Body Part Examined (0018,0015); null: not told.</param>
    /// <param name="viewPosition">View Position (0018,5101); null: not told.</param>
    public string? OfTerms(string? bodyPart, string? viewPosition)
    {
        if (string.IsNullOrWhiteSpace(bodyPart) || string.IsNullOrWhiteSpace(viewPosition))
        {
            return null;
        }

        string part = bodyPart.Trim(), view = viewPosition.Trim();
        if (GeneralParts.Contains(part))
        {
            return OfWords($"{part} {view}");
        }

        IEnumerable<(Projection Projection, int Rank)> named = catalogue.Projections
            .Where(each => each.Region != "infant")
            .Select(each => (Projection: each, Part: RankOf(each.Codes.BodyParts, part), View: RankOf(each.Codes.ViewPositions, view)))
            .Where(each => each.Part >= 0 && each.View >= 0)
            .Select(each => (each.Projection, each.Part));
        return Plain(named) ?? OfWords($"{part} {view}");
    }

    /// <summary>The projection that a header's codes name; null where they name none or several.</summary>
    /// <param name="partCode">Code Value of Anatomic Region Sequence (0008,2218), or of a report's target region; null: not told.</param>
    /// <param name="viewCode">Code Value of View Code Sequence (0054,0220), or of a report's image view; null: not told.</param>
    public string? OfCodes(string? partCode, string? viewCode)
        => partCode is null || viewCode is null
            ? null
            : Plain(catalogue.Projections.Where(each => each.Region != "infant" && each.Codes.BodyPart.Value == partCode && each.Codes.Views.Any(view => view.Value == viewCode)).Select(each => (each, 0)));

    /// <summary>The only projection of the best rank, or the plain one that the others of that rank are kinds of: "wrist-pa" beside "wrist-pa-ulnar-deviation".</summary>
    private static string? Plain(IEnumerable<(Projection Projection, int Rank)> named)
    {
        (Projection Projection, int Rank)[] all = [.. named];
        if (all.Length == 0)
        {
            return null;
        }

        int best = all.Min(each => each.Rank);
        string[] ids = [.. all.Where(each => each.Rank == best).Select(each => each.Projection.Id).OrderBy(id => id.Length).ThenBy(id => id, StringComparer.Ordinal)];
        if (ids.Length == 1)
        {
            return ids[0];
        }

        string[] plain = [.. ids.Where(id => id.EndsWith("-pa", StringComparison.Ordinal) || id.EndsWith("-ap", StringComparison.Ordinal) || id.EndsWith("-lateral", StringComparison.Ordinal) || id.EndsWith("-oblique", StringComparison.Ordinal))];
        return plain.Length == 1 ? plain[0] : null;
    }

    private static int RankOf(IReadOnlyList<string> terms, string term)
    {
        for (int rank = 0; rank < terms.Count; rank++)
        {
            if (string.Equals(terms[rank], term, StringComparison.OrdinalIgnoreCase))
            {
                return rank;
            }
        }

        return -1;
    }

    private static string KeyOf(string text, string? dorsal = null)
    {
        SortedSet<string> set = new(StringComparer.Ordinal);
        foreach (string word in PlainWords.Of(text).Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            if (Idle.Contains(word))
            {
                continue;
            }

            if (Expansions.TryGetValue(word, out string[]? several))
            {
                set.UnionWith(several);
                continue;
            }

            string one = Synonyms.GetValueOrDefault(word, word);
            set.Add(one == "dp" && dorsal is not null ? dorsal : one);
        }

        return string.Join(' ', set);
    }

    private void Add(ProjectionCatalogue names)
    {
        foreach (Projection projection in names.Projections)
        {
            foreach (string name in (IEnumerable<string>)[projection.Id, projection.Name, .. projection.OtherNames])
            {
                words.UnionWith(PlainWords.Of(name).Split(' '));
                string key = KeyOf(name);
                if (key.Length > 0 && (!byWords.TryGetValue(key, out string? known) || known == projection.Id))
                {
                    byWords[key] = projection.Id;
                }
                else if (key.Length > 0)
                {
                    byWords[key] = null;
                }
            }
        }
    }
}
