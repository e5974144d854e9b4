using System.Text.RegularExpressions;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Teaching.Handouts;

namespace Hotlight.Teaching.Tests.Handouts;

/// <summary>A handout in German or Spanish holds no English: no word that only English has, and no phrase that stands in the same handout in English.</summary>
public sealed partial class HandoutLanguageTests
{
    // Words without which English has no sentence, and which are no words of German or Spanish.
    private static readonly HashSet<string> EnglishWords = new(
        "the of and is with to by from it that are not which this should would at be been than there where could its were only but two about under for has have what when whether your you does do was".Split(' '), StringComparer.OrdinalIgnoreCase);

    private static readonly HashSet<string> GermanToo = new(["was", "war", "es", "an", "in"], StringComparer.OrdinalIgnoreCase);

    private static readonly string[] Languages = ["de", "es"];

    public static TheoryData<string, string> Cases
    {
        get
        {
            TheoryData<string, string> cases = [];
            foreach (string id in DemoHandouts.Ids.Concat(DemoHandouts.More))
            {
                foreach (string language in Languages)
                {
                    cases.Add(id, language);
                }
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Handout_OfADemoCase_HoldsNoEnglish(string id, string language)
    {
        string[] faults = [.. Faults(Said(DemoHandouts.Write(id, language).Handout), Said(DemoHandouts.Write(id, "en").Handout), language)];
        Assert.True(faults.Length == 0, string.Join(Environment.NewLine, faults));
    }

    [Theory]
    [InlineData("de")]
    [InlineData("es")]
    public void Handout_OfEveryKindOfArtifactAndDoseQuantity_HoldsNoEnglish(string language)
    {
        // One of each kind and two of each, and files with an entrance dose or with no dose at all: no demo case has them all.
        foreach (int count in new[] { 1, 2 })
        {
            foreach ((double? product, double? entrance) in new (double?, double?)[] { (null, 0.2), (null, null) })
            {
                Handout Written(string code) => DemoHandouts.InLanguage(code, () =>
                {
                    (Radiograph radiograph, MeasurementDocument document) = DemoHandouts.Of("knee-ap-underexposed");
                    MeasurementDocument all = document with { Artifacts = Figure<ArtifactsMeasurement>.Measured(new ArtifactsMeasurement { Found = [.. Enum.GetValues<ArtifactKind>().SelectMany(kind => Enumerable.Repeat(Artifact(kind), count))] }) };
                    Critique critique = DemoHandouts.Judge("knee-ap-underexposed", radiograph.Exposure with { KermaAreaProductDgyCm2 = product, EntranceDoseMgy = entrance }, all);
                    return HandoutWriter.Write(new HandoutFacts { Critique = critique, Version = "1.0", IsInvented = false, Columns = radiograph.Columns, Rows = radiograph.Rows });
                });

                Handout handout = Written(language);
                Assert.Contains(handout.Rows, row => row.LineId == "artifacts.clear" && row.Figure.Length > 60);
                string[] faults = [.. Faults(Said(handout), Said(Written("en")), language)];
                Assert.True(faults.Length == 0, string.Join(Environment.NewLine, faults));
            }
        }
    }

    /// <summary>The check of the check: what is English is found, and what is not is left in peace.</summary>
    [Theory]
    [InlineData("Another sentence.", "The header records it.", true)]
    [InlineData("The header records it.", "Der Kopf nennt es.", false)]
    [InlineData("grid lines", "2 Stellen, grid lines", true)]
    [InlineData("55 to 65 kVp", "Liegt die Spannung im Bereich, 55 to 65 kVp?", true)]
    [InlineData("60 kVp, 1.2 mAs", "60 kVp, 1,2 mAs", false)]
    [InlineData("in the field", "im Feld", false)]
    [InlineData("met", "erfüllt", false)]
    public void Faults_OfEnglishInGerman_AreFound(string english, string german, bool isFault) => Assert.Equal(isFault, Faults([german], [english], "de").Any());

    private static IEnumerable<string> Faults(IReadOnlyList<string> texts, IReadOnlyList<string> english, string language)
    {
        HashSet<string> phrases = [.. english.SelectMany(Phrases)];
        foreach (string text in texts)
        {
            string[] words = [.. Word().Matches(text).Select(match => match.Value).Where(word => EnglishWords.Contains(word) && !(language == "de" && GermanToo.Contains(word)))];
            if (words.Length > 0)
            {
                yield return $"“{string.Join(", ", words)}” in: {text}";
            }

            foreach (string phrase in Phrases(text).Where(phrases.Contains))
            {
                yield return $"“{phrase}” stands so in English too: {text}";
            }
        }
    }

    // A phrase is what stands between stops, without its figures; one word of four small letters makes it a phrase of a language.
    private static IEnumerable<string> Phrases(string text)
        => Stop().Split(text).Select(phrase => Digits().Replace(phrase, string.Empty).Trim()).Where(phrase => SmallWord().IsMatch(phrase) && !phrase.Contains('-', StringComparison.Ordinal));

    // What somebody typed stays as it was typed; identifiers and what the header says are no language's.
    private static IReadOnlyList<string> Said(Handout handout) =>
    [
        .. handout.Paragraphs.Where(paragraph => !paragraph.IsTyped).SelectMany(paragraph => new[] { paragraph.Term ?? string.Empty, paragraph.Text }),
        .. handout.Sections.Select(section => section.Heading ?? string.Empty),
        .. handout.Rows.SelectMany(row => new[] { row.Section ?? string.Empty, row.Question, row.StateWord, row.Figure, row.Decided }),
        handout.Safety, handout.PictureDescription, handout.EditedWord, handout.Foot, handout.PageWords,
        handout.Table.Mark, handout.Table.Question, handout.Table.State, handout.Table.Figure, handout.Table.Decided, handout.Table.Caption,
    ];

    private static FoundArtifact Artifact(ArtifactKind kind) => new() { Kind = kind, Center = new PixelPoint(X: 100, Y: 100) };

    [GeneratedRegex(@"\p{L}+")]
    private static partial Regex Word();

    [GeneratedRegex(@"[.,;:()?!„“”«»¿¡±]+")]
    private static partial Regex Stop();

    [GeneratedRegex(@"[\d<%]+")]
    private static partial Regex Digits();

    [GeneratedRegex(@"\b[a-z]{4,}\b")]
    private static partial Regex SmallWord();
}
