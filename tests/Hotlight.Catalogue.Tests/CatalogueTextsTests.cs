using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Catalogue.Tests;

public sealed partial class CatalogueTextsTests
{
    private static readonly string[] Demo = ["ankle-mortise", "chest-pa", "elbow-lateral", "knee-ap", "knee-lateral", "lumbar-spine-ap", "wrist-lateral", "wrist-pa"];

    private static readonly JsonSerializerOptions Json = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase };

    private static string Folder => Path.Combine(SharedData.RepositoryRoot, "data", "language");

    [Fact]
    [Trait("evidence", "invariant")]
    public void BuiltIn_FitsTheCatalogue_AndIsReadFromTheFilesOfData()
    {
        Assert.Empty(CatalogueTexts.BuiltIn.Errors(ProjectionCatalogue.BuiltIn));
        CatalogueTexts read = CatalogueTexts.Load(Folder);
        Assert.Equal(read.Languages, CatalogueTexts.BuiltIn.Languages);
        foreach (string language in read.Languages)
        {
            Assert.Equal(read.ProjectionsOf(language), CatalogueTexts.BuiltIn.ProjectionsOf(language));
        }
    }

    [Theory]
    [InlineData("de")]
    [InlineData("es")]
    [Trait("evidence", "invariant")]
    public void In_ALanguage_ReplacesEveryTextOfTheDemosProjectionsAndNothingElse(string language)
    {
        ProjectionCatalogue translated = ProjectionCatalogue.BuiltIn.In(CultureInfo.GetCultureInfo(language));
        Assert.Equal(Demo, CatalogueTexts.BuiltIn.ProjectionsOf(language));
        Assert.Equal(ProjectionCatalogue.BuiltIn.Projections.Select(projection => projection.Id).Order(StringComparer.Ordinal), translated.Projections.Select(projection => projection.Id).Order(StringComparer.Ordinal));
        foreach (Projection english in ProjectionCatalogue.BuiltIn.Projections)
        {
            Dictionary<string, string> before = Leaves(english);
            Dictionary<string, string> after = Leaves(translated.Get(english.Id));
            Assert.Equal(before.Keys, after.Keys);
            foreach ((string path, string value) in before)
            {
                bool isText = CatalogueTexts.Members.Contains(Place().Replace(path, ".*").Replace("otherNames.*", "otherNames", StringComparison.Ordinal));
                if (isText && Demo.Contains(english.Id))
                {
                    // A term that both languages share, such as "ulnar", may stay; a sentence may not.
                    Assert.True(value != after[path] || !value.Contains(' ', StringComparison.Ordinal), $"{english.Id} {path} is still '{value}' in {language}");
                }
                else
                {
                    Assert.Equal(value, after[path]);
                }
            }
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Members_AreAllTheSentencesOfTheCatalogue()
    {
        // Whatever has a blank in it and is not one of these is said to a reader, so it must be open to translation.
        string[] notForTheReader = ["codes.bodyPart.meaning", "codes.views.*.meaning", "codes.viewPositions.*", "codes.bodyParts.*", "$schema"];
        string[] forgotten =
        [
            .. ProjectionCatalogue.BuiltIn.Projections.SelectMany(Leaves).Where(leaf => leaf.Value.Contains(' ', StringComparison.Ordinal))
                .Select(leaf => Place().Replace(leaf.Key, ".*")).Distinct()
                .Where(place => !notForTheReader.Contains(place) && !CatalogueTexts.Members.Contains(place.Replace("otherNames.*", "otherNames", StringComparison.Ordinal))),
        ];
        Assert.Empty(forgotten);
    }

    [Theory]
    [InlineData("de", 12)]
    [InlineData("es", 12)]
    [Trait("evidence", "invariant")]
    public void Corrections_OfALanguage_HoldTheirDirectionAndSwapWithTheirMirror(string language, int leastDirections)
    {
        ProjectionCatalogue translated = ProjectionCatalogue.BuiltIn.In(CultureInfo.GetCultureInfo(language));
        Func<string, string> swapped = language == "de" ? text => Swap(text, GermanSides(), ["link", "recht"]) : text => Swap(text, SpanishSides(), ["izquierd", "derech"]);
        int directions = 0, mirrors = 0;
        foreach (PositionRelation relation in Demo.SelectMany(id => translated.Get(id).Relations))
        {
            foreach (Miss miss in relation.Misses)
            {
                if (miss.Direction is { } direction)
                {
                    Assert.Contains(direction, miss.Correction, StringComparison.OrdinalIgnoreCase);
                    directions++;
                }

                if (miss.Opposite is { } opposite)
                {
                    Assert.NotEqual(miss.Direction, relation.Misses.Single(other => other.Id == opposite).Direction);
                }

                if (miss.Mirror is { } id)
                {
                    Miss mirror = relation.Misses.Single(other => other.Id == id);
                    Assert.Equal(mirror.Looks, swapped(miss.Looks));
                    Assert.Equal(mirror.Means, swapped(miss.Means));
                    Assert.Equal(mirror.Correction, swapped(miss.Correction));
                    mirrors++;
                }
                else
                {
                    Assert.Equal(miss.Correction, swapped(miss.Correction));
                }
            }
        }

        Assert.True(directions >= leastDirections, $"{directions} directions");
        Assert.True(mirrors >= 4, $"{mirrors} mirrors");
    }

    [Theory]
    [InlineData("de")]
    [InlineData("es")]
    [Trait("evidence", "invariant")]
    public void Texts_OfALanguage_HoldTheFiguresOfTheEnglishOnes(string language)
    {
        ProjectionCatalogue translated = ProjectionCatalogue.BuiltIn.In(CultureInfo.GetCultureInfo(language));
        foreach (string id in Demo)
        {
            Dictionary<string, string> after = Leaves(translated.Get(id));
            foreach ((string path, string value) in Leaves(ProjectionCatalogue.BuiltIn.Get(id)))
            {
                string[] expected = [.. Figure().Matches(value).Select(match => match.Value).Order(StringComparer.Ordinal)];
                string[] found = [.. Figure().Matches(after[path]).Select(match => match.Value.Replace(',', '.')).Order(StringComparer.Ordinal)];
                Assert.True(expected.SequenceEqual(found), $"{language} {id} {path}: {after[path]}");
            }
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Share_CountsTheTextsOfTheFiles()
    {
        TranslatedShare german = ProjectionCatalogue.BuiltIn.ShareIn("de");
        int ofDemo = Demo.Sum(id => Leaves(ProjectionCatalogue.BuiltIn.Get(id)).Count(leaf => CatalogueTexts.Members.Contains(Place().Replace(leaf.Key, ".*").Replace("otherNames.*", "otherNames", StringComparison.Ordinal))));
        Assert.Equal(ofDemo, german.Translated);
        Assert.Equal(german.All, ProjectionCatalogue.BuiltIn.ShareIn("es").All);
        Assert.InRange(german.Percent, 1, 20);
        Assert.Equal(Demo.Length, german.Projections);
        Assert.Equal(0, ProjectionCatalogue.BuiltIn.ShareIn("fr").Translated);

        // A clinic that translates what is translated already adds nothing, one text more adds one.
        using var folder = new ScratchFolder();
        Write(folder.Path, "de", "wrist", "wrist-pa", """{ "purpose": "x" }""");
        Assert.Equal(german, ProjectionCatalogue.BuiltIn.ShareIn("de", CatalogueTexts.Load(folder.Path)));
        Write(folder.Path, "de", "hand", "hand-pa", """{ "purpose": "x" }""");
        Assert.Equal(german with { Translated = german.Translated + 1, Projections = german.Projections + 1 }, ProjectionCatalogue.BuiltIn.ShareIn("de", CatalogueTexts.Load(folder.Path)));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Errors_OfAFaultyFile_NameEachMember()
    {
        using var folder = new ScratchFolder();
        Write(folder.Path, "fr", "wrist", "wrist-pa", """
            {
              "name": "", "id": "wrist-ap", "hasSide": false, "purpos": "x", "otherNames": ["a", "b", "c"],
              "patientPosition": { "text": "assis", "basis": "x" },
              "relations": [
                { "id": "palm-flat", "misses": [ { "id": "thumb-side-raised", "weight": "note" }, { "id": "no-such" }, { "looks": "x" } ], "measure": { "turn": { "about": "x" } } },
                { "id": "palm-flat" }
              ]
            }
            """);
        Write(folder.Path, "fr", "wrist", "wrist-oblong", "{}");
        Write(folder.Path, "fr", "knee", "chest-pa", "{}");
        IReadOnlyList<CatalogueError> errors = CatalogueTexts.Load(folder.Path).Errors(ProjectionCatalogue.BuiltIn);
        Assert.Equal(
            [
                "fr/catalogue/knee/chest-pa.json $",
                "fr/catalogue/wrist/wrist-oblong.json $",
                "fr/catalogue/wrist/wrist-pa.json $.name",
                "fr/catalogue/wrist/wrist-pa.json $.id",
                "fr/catalogue/wrist/wrist-pa.json $.hasSide",
                "fr/catalogue/wrist/wrist-pa.json $.purpos",
                "fr/catalogue/wrist/wrist-pa.json $.otherNames",
                "fr/catalogue/wrist/wrist-pa.json $.patientPosition.basis",
                "fr/catalogue/wrist/wrist-pa.json $.relations[0].misses[0].weight",
                "fr/catalogue/wrist/wrist-pa.json $.relations[0].misses[1].id",
                "fr/catalogue/wrist/wrist-pa.json $.relations[0].misses[2]",
                "fr/catalogue/wrist/wrist-pa.json $.relations[0].measure",
                "fr/catalogue/wrist/wrist-pa.json $.relations[1].id",
            ],
            errors.Select(error => $"{error.File} {error.Member}"));
        Assert.Contains("did you mean 'purpose'", errors.Single(error => error.Member == "$.purpos").Reason, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Errors_OfACorrectionWithoutItsDirection_SaySo()
    {
        using var folder = new ScratchFolder();
        Write(folder.Path, "fr", "wrist", "wrist-pa", """{ "relations": [ { "id": "palm-flat", "misses": [ { "id": "thumb-side-raised", "correction": "Abaissez le pouce." } ] } ] }""");
        CatalogueError error = Assert.Single(CatalogueTexts.Load(folder.Path).Errors(ProjectionCatalogue.BuiltIn));
        Assert.Equal("fr/catalogue/wrist/wrist-pa.json, $.relations[1].misses[0].direction: 'pronate' does not stand in the correction.", error.ToString());
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void In_AClinicsTexts_LieOverTheBuiltInOnes_ButNotTheBuiltInOverAClinicsProjection()
    {
        using var folder = new ScratchFolder();
        Write(folder.Path, "de", "wrist", "wrist-pa", """{ "purpose": "Unser Zweck." }""");
        var german = CultureInfo.GetCultureInfo("de-AT");
        Projection laid = ProjectionCatalogue.BuiltIn.In(german, CatalogueTexts.Load(folder.Path)).Get("wrist-pa");
        Assert.Equal("Unser Zweck.", ProjectionCatalogue.BuiltIn.In(CultureInfo.GetCultureInfo("de"), CatalogueTexts.Load(folder.Path)).Get("wrist-pa").Purpose);
        Assert.Equal("Unser Zweck.", laid.Purpose);
        Assert.Equal("Handgelenk p.a.", laid.Name);

        using var own = new ScratchFolder();
        Directory.CreateDirectory(Path.Combine(own.Path, "wrist"));
        File.Copy(Path.Combine(SharedData.RepositoryRoot, "data", "catalogue", "wrist", "wrist-pa.json"), Path.Combine(own.Path, "wrist", "wrist-pa.json"));
        ProjectionCatalogue withOwn = ProjectionCatalogue.BuiltIn.With(ProjectionCatalogue.Load(own.Path));
        Assert.Equal("Wrist PA", withOwn.In(german).Get("wrist-pa").Name);
        Assert.Equal("Knie seitlich", withOwn.In(german).Get("knee-lateral").Name);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Load_FilesInTheWrongPlaceOrNoJson_NamesThem()
    {
        using var folder = new ScratchFolder();
        Write(folder.Path, "de", "wrist", "wrist-pa", "{ \"name\": ");
        File.WriteAllText(Path.Combine(folder.Path, "de", "wrist-pa.json"), "{}");
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => CatalogueTexts.Load(folder.Path));
        Assert.Equal(["de/catalogue/wrist/wrist-pa.json", "de/wrist-pa.json"], error.Errors.Select(fault => fault.File));
    }

    private static Dictionary<string, string> Leaves(Projection projection)
    {
        var leaves = new Dictionary<string, string>(StringComparer.Ordinal);
        void Walk(JsonNode? node, string path)
        {
            switch (node)
            {
                case JsonObject item:
                    foreach ((string name, JsonNode? value) in item)
                    {
                        Walk(value, path.Length == 0 ? name : $"{path}.{name}");
                    }

                    break;
                case JsonArray list:
                    for (int index = 0; index < list.Count; index++)
                    {
                        Walk(list[index], $"{path}[{index}]");
                    }

                    break;
                default:
                    leaves[path] = node is JsonValue && node.GetValueKind() == JsonValueKind.String ? node.GetValue<string>() : node?.ToJsonString() ?? "null";
                    break;
            }
        }

        Walk(JsonSerializer.SerializeToNode(projection, Json), string.Empty);
        foreach (string absent in leaves.Where(leaf => leaf.Value == "null").Select(leaf => leaf.Key).ToArray())
        {
            leaves.Remove(absent);
        }

        return leaves;
    }

    private static string Swap(string text, Regex sides, string[] stems)
        => sides.Replace(text, match => match.Value.Equals(stems[0], StringComparison.OrdinalIgnoreCase) ? stems[1] : stems[0]);

    private static void Write(string folder, string language, string region, string id, string json)
    {
        string place = Path.Combine(folder, language, "catalogue", region);
        Directory.CreateDirectory(place);
        File.WriteAllText(Path.Combine(place, id + ".json"), json);
    }

    [GeneratedRegex(@"\[[0-9]+\]")]
    private static partial Regex Place();

    [GeneratedRegex("[0-9]+([.,][0-9]+)?")]
    private static partial Regex Figure();

    // Not the right angle (im rechten Winkel, ángulo recto), which is no side.
    [GeneratedRegex(@"\b(link|recht)(?=(s|e|er|es|en|em)\b)(?!en Winkel)")]
    private static partial Regex GermanSides();

    [GeneratedRegex(@"\b(izquierd|derech)(?=(a|o|as|os)\b)")]
    private static partial Regex SpanishSides();
}
