using System.Security.Cryptography;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Images;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Markers;

public class MarkerWordsTests
{
    private static readonly MarkerWords Clinic = MarkerWords.Parse("left=LEFT,LI,right=RIGHT,RE");

    private static readonly Lazy<Radiograph> Limb = new(() => new DrawnRadiograph
    {
        Rows = 800,
        Columns = 640,
        Middle = new PixelPoint(X: 320, Y: 400),
        Width = 520,
        Height = 680,
        HeaderSign = 1,
        Shapes = [new DrawnBand(new PixelPoint(X: 150, Y: 400), 88, 120, 0.35), new DrawnBand(new PixelPoint(X: 145, Y: 400), 87, 50, 0.45)],
    }.Draw());

    // Right half of the field, beside the limb.
    private static readonly PixelPoint Beside = new(X: 430, Y: 250);

    [Theory]
    [InlineData("left=LINKS,right=RECHTS", "left=LINKS,right=RECHTS")]
    [InlineData(" right = re , rechts , left=li ", "left=LI,right=RE,RECHTS")]
    [InlineData("left=links,left=Links", "left=LINKS")]
    public void Parse_WordsOfSides_AreKeptInCapitals(string text, string kept) => Assert.Equal(kept, MarkerWords.Parse(text).ToString());

    [Theory]
    [InlineData("LINKS", "which side")]
    [InlineData("up=LINKS", "neither left nor right")]
    [InlineData("left=G", "2 to 8 letters")]
    [InlineData("left=L", "always sought")]
    [InlineData("left=IZQUIERDO", "2 to 8 letters")]
    [InlineData("left=LI2", "2 to 8 letters")]
    [InlineData("left=ÉST", "2 to 8 letters")]
    [InlineData("left=", "2 to 8 letters")]
    [InlineData("left=RE,right=re", "one side only")]
    [InlineData("left=AB,AC,AD,AE,AF,AG,AH,right=BA,BC,BD,BE,BF,BG", "1 to 12")]
    public void Parse_WhatIsNoWordOfASide_IsRefusedInOneSentence(string text, string says)
    {
        FormatException error = Assert.Throws<FormatException>(() => MarkerWords.Parse(text));

        Assert.Contains(says, error.Message, StringComparison.Ordinal);
        Assert.EndsWith(".", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Equals_SameWords_AreEqual()
    {
        Assert.Equal(MarkerWords.Parse("left=li,right=re"), MarkerWords.Of(["LI"], ["RE"]));
        Assert.NotEqual(MarkerWords.Parse("left=li,right=re"), MarkerWords.Of(["LI"], []));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData("LEFT", 0, false, true, 44)]
    [InlineData("LEFT", 130, false, true, 44)]
    [InlineData("LEFT", -75, true, true, 44)]
    [InlineData("LEFT", 0, false, false, 44)]
    [InlineData("LI", 25, false, true, 60)]
    [InlineData("RE", -90, false, true, 60)]
    [InlineData("RE", 180, true, true, 50)]
    [InlineData("LEFT", 5, false, true, 32)]
    [InlineData("LEFT", 100, false, true, 66)]
    public void Measure_OneWord_IsFoundWhereAndAsItWasPut(string word, double turn, bool mirrored, bool lead, double height)
    {
        Radiograph radiograph = new DrawnLetter(word, Beside, height) { TurnDegrees = turn, Mirrored = mirrored, DrawnValue = lead ? null : (ushort)0 }.On(Limb.Value);

        FoundMarker found = Assert.Single(Find(radiograph, Clinic));

        Assert.Equal((word, word[..1], mirrored), (found.Word, found.Letter, found.Mirrored));
        Assert.Equal(lead ? MarkerKind.Lead : MarkerKind.Annotation, found.Kind);

        // As for letters: "within a few degrees", 5; the centre within a fifth of the height, the height within 15 %.
        Assert.Equal(0, Math.IEEERemainder(found.RotationDegrees - turn, 360), 5.0);
        Assert.True(found.Center.DistancePixelsTo(Beside) < 0.2 * height, $"{found.Center}");
        Assert.Equal(height * 0.2, found.HeightMm!.Value, 0.15 * height * 0.2);
        Assert.True(found.InsideField);
    }

    [Fact]
    public void Measure_WordNotGiven_IsNotFoundAsAnother()
    {
        Radiograph radiograph = new DrawnLetter("LEFT", Beside, 44).On(Limb.Value);

        Assert.DoesNotContain(Find(radiograph, MarkerWords.Parse("left=LINKS,right=RECHTS")), found => found.Word is not null);
        Assert.DoesNotContain(Find(radiograph, null), found => found.Word is not null);
    }

    [Fact]
    public void Measure_SingleLetterWhereWordsAreGiven_IsTheLetter()
    {
        FoundMarker found = Assert.Single(Find(new DrawnLetter('R', Beside, 60).On(Limb.Value), Clinic));

        Assert.Equal(("R", null), (found.Letter, found.Word));
    }

    [Fact]
    public void Measure_NoWord_FindsNone() => Assert.Empty(Find(Limb.Value, Clinic));

    [Fact]
    [Trait("evidence", "analytic")]
    public void LogProbability_TwoColumns_IsTheSumOverTheWaysOfLayingTheWord()
    {
        // Two columns of blank 0.5, A 0.3, B 0.2: "A" is A-A, A-blank or blank-A: 0.09 + 0.15 + 0.15 = 0.39; "AB" is A-B alone: 0.06; "AA" needs a blank between: impossible; no text: 0.25.
        var answer = new float[27 * 2];
        for (int column = 0; column < 2; column++)
        {
            for (int sign = 0; sign < 27; sign++)
            {
                answer[(sign * 2) + column] = sign switch { 0 => MathF.Log(0.5f), 1 => MathF.Log(0.3f), 2 => MathF.Log(0.2f), _ => -1000 };
            }
        }

        double[] log = SpelledWord.LogProbabilities(answer, 2);

        // Single-precision logarithms keep six digits.
        Assert.Equal(0.39, Math.Exp(SpelledWord.LogProbability(log, 2, "A")), 1e-6);
        Assert.Equal(0.06, Math.Exp(SpelledWord.LogProbability(log, 2, "AB")), 1e-6);
        Assert.Equal(0.25, Math.Exp(SpelledWord.LogProbability(log, 2, string.Empty)), 1e-6);
        Assert.Equal(0, Math.Exp(SpelledWord.LogProbability(log, 2, "AA")), 1e-6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void LogProbability_AllTextsOfThreeColumns_SumToOne()
    {
        var random = new Random(5);
        var answer = new float[27 * 3];
        for (int i = 0; i < answer.Length; i++)
        {
            // Blank, A and B only, so that all texts can be listed.
            answer[i] = i / 3 < 3 ? (float)random.NextDouble() : -1000;
        }

        double[] log = SpelledWord.LogProbabilities(answer, 3);
        string[] signs = ["A", "B"];
        string[] texts = [string.Empty, .. signs, .. signs.SelectMany(a => signs.Select(b => a + b)), .. signs.SelectMany(a => signs.SelectMany(b => signs.Select(c => a + b + c)))];

        Assert.Equal(1, texts.Sum(text => Math.Exp(SpelledWord.LogProbability(log, 3, text))), 1e-9);
    }

    [Fact]
    public void Weights_AreThoseTheRecipeNames()
    {
        string folder = Path.Combine(SharedData.RepositoryRoot, "training", "markers");
        Dictionary<string, string> named = File.ReadAllLines(Path.Combine(folder, "weights.sha256")).Where(line => line.Length > 0).ToDictionary(line => line.Split("  ")[1], line => line.Split("  ")[0]);

        foreach (string name in new[] { WordNetworks.FinderName, WordNetworks.ReaderName })
        {
            byte[] weights = MarkerNetworks.Weights(name);
            Assert.Equal(named[name], Convert.ToHexStringLower(SHA256.HashData(weights)));
            Assert.InRange(weights.Length, 100_000, 10_000_000);
        }

        Assert.Equal(named["words.py"], Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(Path.Combine(folder, "words.py")))));
    }

    [Theory]
    [InlineData("HIGH", WordNetworks.High)]
    [InlineData("WIDE", WordNetworks.Wide)]
    [InlineData("LETTER", WordNetworks.Letter)]
    [InlineData("COLUMNS", WordNetworks.Columns)]
    public void Recipe_UsesTheSizesOfTheCode(string name, int value)
        => Assert.Contains($"\n{name} = {value} ", File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "training", "markers", "words.py")), StringComparison.Ordinal);

    [Fact]
    public void Networks_AnswerInTheirShapes()
    {
        Assert.Equal(7 * 9 * 10, WordNetworks.Shared.Find(new float[70 * 80], 70, 80).Length);
        Assert.Equal(2 * WordNetworks.Values * WordNetworks.Columns, WordNetworks.Shared.Read(new float[2 * WordNetworks.High * WordNetworks.Wide], 2).Length);
    }

    private static IReadOnlyList<FoundMarker> Find(Radiograph radiograph, MarkerWords? words)
    {
        var options = new MeasureOptions { MarkerWords = words };
        return MarkersMeasure.Measure(radiograph, RegionFinder.Find(radiograph, options), options).Value!.Found;
    }
}
