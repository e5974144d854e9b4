using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Core.Tests;

public sealed partial class TextsTests
{
    private static readonly CultureInfo German = CultureInfo.GetCultureInfo("de");

    [Fact]
    [Trait("evidence", "invariant")]
    public void Keys_OfTheSource_AreThoseOfEnglish()
    {
        var used = new SortedSet<string>(StringComparer.Ordinal);
        foreach (string file in SourceFiles())
        {
            string source = File.ReadAllText(file);
            foreach (Match call in Call().Matches(source))
            {
                Assert.True(call.Groups["key"].Success, $"{Path.GetFileName(file)}: Texts.Get takes its key as a plain word, so that this test can find it.");
                used.Add(call.Groups["key"].Value);
            }
        }

        Assert.True(used.Count > 50, $"only {used.Count} keys are used");

        // Points of poses are named in data/poses: their texts are held against the models by PoseModelsTests.
        Assert.Equal(used, Texts.BuiltIn.Keys.Where(key => !key.StartsWith("pose.point.", StringComparison.Ordinal)));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void BuiltIn_HasEnglishGermanAndSpanish_AndIsReadFromTheFilesOfData()
    {
        Assert.Equal(["de", "en", "es"], Texts.BuiltIn.Languages);
        Texts read = Texts.BuiltIn.With(Path.Combine(SharedData.RepositoryRoot, "data", "language"));
        foreach (string language in Texts.BuiltIn.Languages)
        {
            Assert.Equal(Texts.BuiltIn.Of(language), read.Of(language));
            Assert.InRange(Texts.BuiltIn.Count(language), 1, Texts.BuiltIn.Count("en"));
        }
    }

    [Theory]
    [InlineData("", "{a} holds, 2 to 3")]
    [InlineData("en-GB", "{a} holds, 2 to 3")]
    [InlineData("fr", "{a} holds, 2 to 3")]
    [InlineData("de", "3 nach 2: {a}")]
    [InlineData("de-AT", "3 nach 2: {a}")]
    [Trait("evidence", "invariant")]
    public void Say_FillsThePlacesInTheLanguage_OrInEnglish(string culture, string expected)
    {
        Texts texts = Texts.Parse(new Dictionary<string, string>
        {
            ["en"] = FileOf("en", """ "one": "{0} holds, {1} to {2}", "two": "only English" """),
            ["de"] = FileOf("de", """ "one": "{2} nach {1}: {0}" """),
        });
        Assert.Equal(expected, texts.Say(CultureInfo.GetCultureInfo(culture), "one", "{a}", "2", "3"));
        Assert.Equal("only English", texts.Say(CultureInfo.GetCultureInfo(culture), "two"));
        Assert.Throws<ArgumentException>(() => texts.Say(CultureInfo.GetCultureInfo(culture), "one", "1", "2"));
        Assert.Throws<ArgumentException>(() => texts.Say(CultureInfo.GetCultureInfo(culture), "three"));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Parse_SeveralFaults_NamesThemAllWithFileAndKey()
    {
        UnreadableTextsException error = Assert.Throws<UnreadableTextsException>(() => Texts.Parse(new Dictionary<string, string>
        {
            ["en"] = FileOf("en", """ "one": "{0} and {1}", "gap": "{1}", "brace": "{x}", "empty": " ", "Capital": "x", "whole": "yes" """),
            ["de"] = """{ "schema": "hotlight.texts/2", "language": "es", "note": 1, "texts": { "one": "{0}", "two": "x", "whole": "{0} {1}" } }""",
            ["es"] = FileOf("es", """ "one": "{0} {2}", "one": "twice" """),
            ["fr"] = FileOf("fr", """ "one": "{0} {2}", "whole": 3 """),
        }));
        Assert.Equal(
            [
                "en/texts.json, gap: places are counted from {0} without a gap.",
                "en/texts.json, brace: a brace stands only in places such as {0}.",
                "en/texts.json, empty: a text is expected that is not empty.",
                "en/texts.json, Capital: a key is lower-case words joined by hyphens and points.",
                "de/texts.json, note: only schema, language and texts are known here.",
                "de/texts.json, schema: 'hotlight.texts/1' is expected.",
                "de/texts.json, language: 'de' is expected.",
                "de/texts.json, one: {1} is missing.",
                "de/texts.json, two: English has no such key, so nothing uses it.",
                "de/texts.json, whole: {0}, {1} is too many.",
                "es/texts.json, $: this is not JSON, or a key stands twice.",
                "fr/texts.json, one: {1} is missing and {2} is too many.",
                "fr/texts.json, whole: a text is expected that is not empty.",
            ],
            error.Faults.Select(fault => fault.ToString().Replace("line 1", "$", StringComparison.Ordinal)));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void With_AClinicsFolder_ChangesATextAndAddsALanguage()
    {
        using var folder = new ScratchFolder();
        Write(folder.Path, "de", """ "position.holds": "passt" """);
        Write(folder.Path, "pt-BR", """ "position.holds": "certo" """);
        Texts own = Texts.BuiltIn.With(folder.Path);
        Assert.Equal("passt", own.Say(German, "position.holds"));
        Assert.Equal(Texts.BuiltIn.Say(German, "position.missed"), own.Say(German, "position.missed"));
        Assert.Equal("certo", own.Say(CultureInfo.GetCultureInfo("pt-BR"), "position.holds"));
        Assert.Equal("missed", own.Say(CultureInfo.GetCultureInfo("pt-BR"), "position.missed"));
        Assert.Equal("erfüllt", Texts.BuiltIn.Say(German, "position.holds"));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void With_AFolderAtFault_NamesIt()
    {
        Assert.Contains("there is no such folder", Assert.Throws<UnreadableTextsException>(() => Texts.BuiltIn.With("nowhere")).Message, StringComparison.Ordinal);
        using var folder = new ScratchFolder();
        Directory.CreateDirectory(Path.Combine(folder.Path, "German"));
        Directory.CreateDirectory(Path.Combine(folder.Path, "it"));
        Write(folder.Path, "de", """ "position.hold": "passt" """);
        UnreadableTextsException error = Assert.Throws<UnreadableTextsException>(() => Texts.BuiltIn.With(folder.Path));
        Assert.Equal(["German", "de/texts.json", "it"], error.Faults.Select(fault => fault.File).Order(StringComparer.Ordinal));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Number_HasTheDecimalMarkOfTheLanguage_WhateverTheCultureOfNumbers()
    {
        CultureInfo language = CultureInfo.CurrentUICulture;
        CultureInfo numbers = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentUICulture = German;
            CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
            Assert.Equal("−8,25", Texts.Number(-8.25, "0.##"));
            CultureInfo.CurrentUICulture = CultureInfo.InvariantCulture;
            CultureInfo.CurrentCulture = German;
            Assert.Equal("−8.3", Texts.Number(-8.26, "F1"));
        }
        finally
        {
            CultureInfo.CurrentUICulture = language;
            CultureInfo.CurrentCulture = numbers;
        }
    }

    private static string FileOf(string language, string texts) => $$"""{ "schema": "hotlight.texts/1", "language": "{{language}}", "texts": { {{texts}} } }""";

    private static void Write(string folder, string language, string texts)
    {
        Directory.CreateDirectory(Path.Combine(folder, language));
        File.WriteAllText(Path.Combine(folder, language, "texts.json"), FileOf(language, texts));
    }

    private static IEnumerable<string> SourceFiles()
        => Directory.EnumerateFiles(Path.Combine(SharedData.RepositoryRoot, "src"), "*.*", SearchOption.AllDirectories)
            .Where(file => Path.GetExtension(file) is ".cs" or ".razor" && !file.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}", StringComparison.Ordinal));

    [GeneratedRegex("""\bTexts\.Get\((?:"(?<key>[^"]+)")?""")]
    private static partial Regex Call();
}
