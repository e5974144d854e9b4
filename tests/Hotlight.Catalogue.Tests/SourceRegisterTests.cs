using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Catalogue.Tests;

public sealed partial class SourceRegisterTests
{
    private static readonly string[] Searched = ["src", "data", "docs", "tests"];

    [Fact]
    [Trait("evidence", "invariant")]
    public void Register_EveryEntry_IsUsedSomewhere()
    {
        string text = string.Join('\n', Files().Where(file => Path.GetFileName(file) != "sources.json").Select(File.ReadAllText));
        string[] unused = [.. SourceRegister.BuiltIn.Sources.Keys.Where(key => !text.Contains($"\"{key}\"", StringComparison.Ordinal) && !text.Contains($"[{key}]", StringComparison.Ordinal))];
        Assert.True(unused.Length == 0, "unused: " + string.Join(", ", unused));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Register_EveryBasisInTheCatalogue_IsAnEntry()
    {
        string[] keys = [.. Files().Where(file => file.Contains("/data/catalogue/", StringComparison.Ordinal) && !file.EndsWith(".schema.json", StringComparison.Ordinal)).SelectMany(file => Basis().Matches(File.ReadAllText(file))).Select(match => match.Groups[1].Value).Distinct()];
        Assert.True(keys.Length >= 8, $"only {keys.Length} keys were found; is the search broken?");
        Assert.All(keys, key => Assert.Contains(key, SourceRegister.BuiltIn.Sources.Keys));
    }

    [Fact]
    public void Register_EveryEntry_SaysWhatItIs()
        => Assert.All(SourceRegister.BuiltIn.Sources, entry =>
        {
            Assert.False(string.IsNullOrWhiteSpace(entry.Value.Title));
            Assert.False(string.IsNullOrWhiteSpace(entry.Value.Place));
            Assert.False(string.IsNullOrWhiteSpace(entry.Value.Note));
        });

    [Fact]
    public void Parse_AnotherSchema_SaysWhichIsRead()
        => Assert.Contains("hotlight.sources/1", Assert.Throws<UnreadableCatalogueException>(() => SourceRegister.Parse("""{"schema": "x/2", "sources": {}}""", "sources.json")).Message, StringComparison.Ordinal);

    private static IEnumerable<string> Files()
        => Searched.Select(folder => Path.Combine(SharedData.RepositoryRoot, folder)).Where(Directory.Exists)
            .SelectMany(folder => Directory.EnumerateFiles(folder, "*.*", SearchOption.AllDirectories))
            .Where(file => !file.Contains("/obj/", StringComparison.Ordinal) && !file.Contains("/bin/", StringComparison.Ordinal))
            .Where(file => Path.GetExtension(file) is ".cs" or ".json" or ".md" or ".py");

    [GeneratedRegex("\"basis\": \"([^\"]+)\"")]
    private static partial Regex Basis();
}
