using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Json.Schema;

namespace Hotlight.Catalogue.Tests;

public sealed class ProjectionCatalogueTests
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "data", "catalogue");
    private static readonly JsonSchema Schema = JsonSchema.FromText(File.ReadAllText(Path.Combine(Folder, "projection.schema.json")));

    // The sign of a correction is a word; each pair must be undone by the other.
    private static readonly Dictionary<string, string> Antonyms = new(StringComparer.Ordinal)
    {
        ["pronate"] = "supinate",
        ["internally"] = "externally",
        ["raise"] = "lower",
        ["flex"] = "extend",
        ["left"] = "right",
        ["forward"] = "back",
        ["increase"] = "reduce",
        ["ulnar"] = "radial",
        ["toward the head"] = "toward the feet",
        ["abduct"] = "adduct",
        ["away"] = "toward",
        ["more"] = "less",
        ["dorsiflex"] = "plantarflex",
    };

    public static TheoryData<string> Files()
    {
        var files = new TheoryData<string>();
        foreach (string file in Directory.EnumerateFiles(Folder, "*.json", SearchOption.AllDirectories).Where(file => !file.EndsWith(".schema.json", StringComparison.Ordinal)).Order(StringComparer.Ordinal))
        {
            files.Add(Path.GetRelativePath(Folder, file).Replace('\\', '/'));
        }

        return files;
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void BuiltIn_OfThisVersion_HoldsTheReferenceListAndInfants()
    {
        // The list of names in the reference sheet has 90 core entries and 129 in all; every region of it is there, and infants.
        Assert.True(ProjectionCatalogue.BuiltIn.Projections.Count >= 129, $"{ProjectionCatalogue.BuiltIn.Projections.Count} projections");
        Assert.Equal(
            ["abdomen", "ankle", "chest", "elbow", "femur", "foot", "forearm", "hand", "head", "hip", "humerus", "infant", "knee", "leg", "neck", "pelvis", "shoulder", "spine", "wrist"],
            ProjectionCatalogue.BuiltIn.Projections.Select(projection => projection.Region).Distinct().Order(StringComparer.Ordinal));
        foreach (string core in new[] { "chest-lateral", "ribs-oblique", "sternum-rao", "abdomen-ap-erect", "finger-lateral", "carpal-canal-tangential", "forearm-lateral", "humerus-ap", "scapular-y", "clavicle-ap", "calcaneus-axial", "patella-tangential", "hip-axiolateral", "sacroiliac-oblique", "cervical-spine-open-mouth", "lumbosacral-lateral", "skull-lateral", "sinuses-parietoacanthial", "mandible-axiolateral-oblique", "infant-chest-ap" })
        {
            Assert.NotNull(ProjectionCatalogue.BuiltIn.Find(core));
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Load_FolderOfTheCheckout_EqualsBuiltIn()
        => Assert.Equal(
            JsonSerializer.Serialize(ProjectionCatalogue.BuiltIn.Projections),
            JsonSerializer.Serialize(ProjectionCatalogue.Load(Folder).Projections));

    [Theory]
    [MemberData(nameof(Files))]
    [Trait("evidence", "independent")] // JsonSchema.Net is another author's validator.
    public void File_OfTheCatalogue_FollowsTheSchema(string file)
    {
        EvaluationResults results = Schema.Evaluate(Element(File.ReadAllText(Path.Combine(Folder, file))), new EvaluationOptions { OutputFormat = OutputFormat.List });
        Assert.True(results.IsValid, string.Join("; ", (results.Details ?? []).Where(detail => detail.Errors is not null).SelectMany(detail => detail.Errors!.Select(error => $"{detail.InstanceLocation}: {error.Value}"))));
    }

    [Theory]
    [MemberData(nameof(Files))]
    [Trait("evidence", "invariant")]
    public void File_AnyRequiredMemberTakenAway_IsRefusedByLoaderAndSchemaAlike(string file)
    {
        string text = File.ReadAllText(Path.Combine(Folder, file));
        string[] members = [.. ((JsonObject)JsonNode.Parse(text)!).Select(member => member.Key).Where(name => name != "$schema")];
        Assert.NotEmpty(members);
        foreach (string member in members)
        {
            var broken = (JsonObject)JsonNode.Parse(text)!;
            broken.Remove(member);
            UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), file, SourceRegister.BuiltIn));
            Assert.Contains(member, error.Message, StringComparison.Ordinal);
            Assert.StartsWith(file, error.Message, StringComparison.Ordinal);
            Assert.False(Schema.Evaluate(Element(broken.ToJsonString())).IsValid);
        }
    }

    [Theory]
    [InlineData("$.relations[0].misses[0].weight", "sometimes")]
    [InlineData("$.grid.rule", "perhaps")]
    [InlineData("$.sourceImageDistanceMm.value", "far")]
    public void Parse_WrongValue_NamesFileAndMember(string member, string value)
    {
        JsonNode broken = Broken(member, JsonValue.Create(value));
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "wrist/wrist-pa.json", SourceRegister.BuiltIn));
        Assert.Equal("wrist/wrist-pa.json", error.File);
        Assert.Equal(member, error.Member);
    }

    [Fact]
    public void Parse_UnknownMember_NamesFileAndMember()
    {
        var broken = (JsonObject)JsonNode.Parse(File.ReadAllText(Path.Combine(Folder, "wrist", "wrist-pa.json")))!;
        broken["colour"] = "grey";
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "wrist/wrist-pa.json", SourceRegister.BuiltIn));
        Assert.Equal("$.colour", error.Member);
        Assert.StartsWith("wrist/wrist-pa.json, $.colour: ", error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("$.partPosition.basis", "hearsay", "register")]
    [InlineData("$.relations[1].misses[0].opposite", "nothing", "opposite")]
    [InlineData("$.relations[1].misses[0].direction", "upward", "correction")]
    [InlineData("$.id", "wrist-ap", "named")]
    [InlineData("$.bodyExit.sides", 4, "1 to 3")]
    public void Parse_ValueThatContradictsAnother_NamesFileAndMember(string member, object value, string word)
    {
        JsonNode broken = Broken(member, value is int number ? JsonValue.Create(number) : JsonValue.Create((string)value));
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "wrist/wrist-pa.json", SourceRegister.BuiltIn));
        Assert.Equal(member, error.Member);
        Assert.Contains(word, error.Reason, StringComparison.Ordinal);
    }

    [Fact]
    public void Load_FolderThatIsNotThere_SaysSo()
        => Assert.Contains("no such folder", Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Load("nowhere")).Message, StringComparison.Ordinal);

    [Fact]
    public void Get_UnknownIdentifier_SuggestsTheNearest()
        => Assert.Contains("chest-pa", Assert.Throws<ArgumentException>(() => ProjectionCatalogue.BuiltIn.Get("chest-ap")).Message, StringComparison.Ordinal);

    [Fact]
    [Trait("evidence", "analytic")]
    public void Correction_OfTheOppositeError_IsOpposite()
    {
        int pairs = 0;
        foreach ((Projection projection, PositionRelation relation) in ProjectionCatalogue.BuiltIn.Projections.SelectMany(projection => projection.Relations.Select(relation => (projection, relation))))
        {
            foreach (Miss miss in relation.Misses.Where(miss => miss.Opposite is not null))
            {
                Miss opposite = relation.Misses.Single(other => other.Id == miss.Opposite);
                string first = miss.Direction!, second = opposite.Direction!;
                Assert.True(
                    (Antonyms.TryGetValue(first, out string? expected) && expected == second) || (Antonyms.TryGetValue(second, out string? back) && back == first),
                    $"{projection.Id}, {relation.Id}: '{first}' is not undone by '{second}'");
                pairs++;
            }
        }

        // Each pair counts twice; the eight first projections alone have 32.
        Assert.True(pairs % 2 == 0 && pairs > 32, $"{pairs} pairs");
    }

    // [knee-lateral-teaching] adductor tubercle in profile: rotate externally; superimposed: rotate internally.
    [Theory]
    [InlineData("medial-posterior", "externally")]
    [InlineData("medial-anterior", "internally")]
    [Trait("evidence", "published")]
    public void Correction_OfALateralKnee_HasThePublishedDirection(string miss, string direction)
        => Assert.Equal(direction, Direction("knee-lateral", "condyles-front-back", miss));

    // [hotlight-geometry] each derived in docs/methods/judgement.md#signs; a swapped sign in a data file must fail here.
    [Theory]
    [InlineData("wrist-lateral", "pisiform", "pisiform-palmar", "pronate")]
    [InlineData("wrist-lateral", "pisiform", "pisiform-dorsal", "supinate")]
    [InlineData("wrist-pa", "palm-flat", "thumb-side-raised", "pronate")]
    [InlineData("elbow-lateral", "shoulder-level", "head-anterior", "raise")]
    [InlineData("elbow-lateral", "wrist-level", "head-proximal", "lower")]
    [InlineData("knee-ap", "patella-central", "patella-lateral", "internally")]
    [InlineData("knee-ap", "fibular-head", "much-overlap", "internally")]
    [InlineData("knee-ap", "fibular-head", "free", "externally")]
    [InlineData("knee-lateral", "condyles-up-down", "medial-distal", "increase")]
    [InlineData("ankle-mortise", "lateral-space", "closed", "internally")]
    [InlineData("lumbar-spine-ap", "no-rotation", "left-side-raised", "left")]
    [InlineData("chest-pa", "no-rotation", "right-end-nearer", "right")]
    [InlineData("chest-pa", "upright", "clavicles-high", "forward")]
    [Trait("evidence", "analytic")]
    public void Correction_OfAKnownError_HasTheDerivedDirection(string projection, string relation, string miss, string direction)
        => Assert.Equal(direction, Direction(projection, relation, miss));

    [Fact]
    [Trait("evidence", "invariant")]
    public void Correction_LeftAndRightSwapped_SwapsTheSideAndNothingElse()
    {
        int sided = 0;
        foreach ((PositionRelation relation, Miss miss) in ProjectionCatalogue.BuiltIn.Projections.SelectMany(projection => projection.Relations).SelectMany(relation => relation.Misses.Where(miss => miss.Mirror is not null).Select(miss => (relation, miss))))
        {
            Miss mirror = relation.Misses.Single(other => other.Id == miss.Mirror);
            Assert.Equal(mirror.Looks, Swapped(miss.Looks));
            Assert.Equal(mirror.Means, Swapped(miss.Means));
            Assert.Equal(mirror.Correction, Swapped(miss.Correction));
            Assert.Equal(mirror.Weight, miss.Weight);
            sided++;
        }

        Assert.True(sided >= 4, $"{sided} misses have a mirror");

        // A way of missing that names a side of the patient has a mirror, or its side would stay when the image is mirrored.
        foreach (Miss miss in ProjectionCatalogue.BuiltIn.Projections.SelectMany(projection => projection.Relations).SelectMany(relation => relation.Misses).Where(miss => miss.Mirror is null))
        {
            Assert.Equal(miss.Correction, Swapped(miss.Correction));
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Tolerance_OfChestAndKnee_IsTheAngleItsShiftStandsFor()
    {
        // angle = asin(shift / (M · separation)); chest: half of the 10 mm difference, 145 mm, M 1.1 -> 1.80°, printed 1.8.
        Assert.Contains("about 1.8 degrees", Relation("chest-pa", "no-rotation").Tolerance.Text, StringComparison.Ordinal);
        Assert.Equal(1.8, double.RadiansToDegrees(Math.Asin(5.0 / (1.1 * 145))), 0.05);

        // Knee: 5 mm, 50 mm, M 1 -> 5.74°, printed 5.7.
        Assert.Contains("about 5.7 degrees", Relation("knee-lateral", "condyles-front-back").Tolerance.Text, StringComparison.Ordinal);
        Assert.Equal(5.7, double.RadiansToDegrees(Math.Asin(5.0 / 50)), 0.05);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Parse_FileWithThreeFaults_NamesAllThree()
    {
        var broken = (JsonObject)Broken("$.grid.rule", JsonValue.Create("perhaps"));
        broken["relations"]![0]!["misses"]![0]!["weight"] = "sometimes";
        broken.Remove("breathing");
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "wrist/wrist-pa.json", SourceRegister.BuiltIn));
        Assert.Equal(["$.breathing", "$.grid.rule", "$.relations[0].misses[0].weight"], error.Errors.Select(fault => fault.Member).Order(StringComparer.Ordinal));
        Assert.Contains("one of without, when-thick, with", error.Message, StringComparison.Ordinal);
        Assert.Contains("one of note, remark, consult, repeat", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Load_FolderWithTwoBrokenFiles_NamesBoth()
    {
        using var folder = new ScratchFolder();
        string wrist = Path.Combine(folder.Path, "wrist");
        Directory.CreateDirectory(wrist);
        File.WriteAllText(Path.Combine(wrist, "wrist-pa.json"), Broken("$.id", JsonValue.Create("wrist-ap")).ToJsonString());
        File.WriteAllText(Path.Combine(wrist, "other.json"), "{");
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Load(folder.Path));
        Assert.Equal(["wrist/other.json", "wrist/wrist-pa.json"], error.Errors.Select(fault => fault.File));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void With_OwnEntries_ReplacesTheSameIdentifierAndAddsOthers()
    {
        using var folder = new ScratchFolder();
        string wrist = Path.Combine(folder.Path, "wrist");
        Directory.CreateDirectory(wrist);
        File.WriteAllText(Path.Combine(wrist, "wrist-pa.json"), Broken("$.name", JsonValue.Create("Wrist PA, our way")).ToJsonString());
        File.WriteAllText(Path.Combine(wrist, "wrist-own.json"), Broken("$.id", JsonValue.Create("wrist-own")).ToJsonString());
        ProjectionCatalogue laid = ProjectionCatalogue.BuiltIn.With(ProjectionCatalogue.Load(folder.Path));
        Assert.Equal("Wrist PA, our way", laid.Get("wrist-pa").Name);
        Assert.NotNull(laid.Find("wrist-own"));
        Assert.Equal(ProjectionCatalogue.BuiltIn.Projections.Count + 1, laid.Projections.Count);
    }

    [Theory]
    [InlineData("$.relations[0].measure.points[0]", "nowhere", "landmark")]
    [InlineData("$.relations[0].measure.above", "nothing", "miss")]
    [InlineData("$.purposes[0].needs[0]", "nothing", "neither")]
    [InlineData("$.landmarks[0].id", "unused", "no relation")]
    public void Parse_MeasureThatNamesWhatIsNotThere_NamesFileAndMember(string member, string value, string word)
    {
        JsonNode broken = Broken(member, JsonValue.Create(value), "knee", "knee-lateral");
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "knee/knee-lateral.json", SourceRegister.BuiltIn));
        Assert.Contains(error.Errors, fault => fault.Member == member && fault.Reason.Contains(word, StringComparison.Ordinal));
    }

    [Fact]
    public void Parse_MisspelledMember_SuggestsTheNearest()
    {
        var broken = (JsonObject)JsonNode.Parse(File.ReadAllText(Path.Combine(Folder, "wrist", "wrist-pa.json")))!;
        broken["porpose"] = "x";
        Assert.Contains("did you mean 'purpose'", Assert.Throws<UnreadableCatalogueException>(() => ProjectionCatalogue.Parse(broken.ToJsonString(), "wrist/wrist-pa.json", SourceRegister.BuiltIn)).Message, StringComparison.Ordinal);
    }

    private static string? Direction(string projection, string relation, string miss) => Relation(projection, relation).Misses.Single(item => item.Id == miss).Direction;

    private static PositionRelation Relation(string projection, string relation) => ProjectionCatalogue.BuiltIn.Get(projection).Relations.Single(item => item.Id == relation);

    private static string Swapped(string text)
        => Regex.Replace(text, @"\b(left|right)\b(?! angle)", match => match.Value == "left" ? "right" : "left");

    private static JsonElement Element(string json) => JsonDocument.Parse(json).RootElement;

    private static JsonNode Broken(string member, JsonNode value, string region = "wrist", string id = "wrist-pa")
    {
        JsonNode root = JsonNode.Parse(File.ReadAllText(Path.Combine(Folder, region, id + ".json")))!;
        string[] steps = member[2..].Replace("[", ".", StringComparison.Ordinal).Replace("]", string.Empty, StringComparison.Ordinal).Split('.');
        JsonNode parent = root;
        foreach (string step in steps[..^1])
        {
            parent = int.TryParse(step, out int index) ? parent[index]! : parent[step]!;
        }

        if (int.TryParse(steps[^1], out int last))
        {
            parent[last] = value;
        }
        else
        {
            parent[steps[^1]] = value;
        }

        return root;
    }
}
