using System.Globalization;
using System.Text.Json;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>The printed technique: from, to, steps with reasons, what to mind, dose, and one sentence for each bad call.</summary>
[Collection("command line")]
public sealed class TechniqueCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    // 10 · (1150/1000)² · 4/1 = 52.9; the nearest of R10 is 50, 10 · log10(50/52.9) = −0.24.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Technique_DistanceAndGrid_ShowsFromToStepsAndReasons()
    {
        string text = Unwrapped(CommandLineCall.Run("technique", "--mas", "10", "--kvp", "70", "--distance", "1000", "--new-distance", "1150", "--grid", "none", "--new-grid", "8:1").Output);
        Assert.Contains("from 10 mAs, 70 kVp, 1,000 mm, no grid", text, StringComparison.Ordinal);
        Assert.Contains("to 50 mAs, 70 kVp, 1,150 mm, grid 8:1", text, StringComparison.Ordinal);
        Assert.Contains("before rounding 52.9 mAs; the generator's step of 50 mAs moves the deviation index by −0.2.", text, StringComparison.Ordinal);
        Assert.Contains("1 distance 1,000 to 1,150 mm: × 1.32", text, StringComparison.Ordinal);
        Assert.Contains("A longer distance spreads the beam: the receptor gets less, so mAs goes up.", text, StringComparison.Ordinal);
        Assert.Contains("2 grid no grid to 8:1: × 4", text, StringComparison.Ordinal);
        Assert.EndsWith("A repeat is dose.", text, StringComparison.Ordinal);
        Assert.Contains("Not a diagnostic device", text, StringComparison.Ordinal);
    }

    /// <summary>The commonest call has a negative figure after its option; a printed minus sign is taken as well.</summary>
    [Theory]
    [InlineData("--deviation-index", "-3")]
    [InlineData("--deviation-index", "−3")]
    [InlineData("--deviation-index=-3")]
    public void Technique_NegativeIndex_RaisesTheMas(params string[] index)
    {
        CommandLineCall call = CommandLineCall.Run(["technique", "--mas", "5", .. index]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("to 10 mAs", Unwrapped(call.Output), StringComparison.Ordinal);
        Assert.Contains("50 % of its target exposure, so mAs goes up.", Unwrapped(call.Output), StringComparison.Ordinal);
    }

    [Fact]
    public void Technique_TimeAndTube_AreHeldAgainstTheirLimits()
    {
        string text = Unwrapped(CommandLineCall.Run("technique", "--ma", "200", "--time", "0.05", "--kvp", "80", "--new-kvp", "92", "--motion", "chest", "--largest-ma", "500", "--rating-kw", "10").Output);
        // 10 mAs / 2 = 5 mAs: 25 ms at 200 mA; 10 kW at 92 kVp allows 108.7 mA, 46 ms.
        Assert.Contains("to 5 mAs, 92 kVp", text, StringComparison.Ordinal);
        Assert.Contains("25 ms at 200 mA; at the shortest 46 ms at 109 mA; longer than 20 ms for the chest PA of an adult [eur-16260]", text, StringComparison.Ordinal);
        Assert.Contains("above the tube's rating of 10 kW", text, StringComparison.Ordinal);
    }

    // 0.8 dGy·cm² · 10^0.3 · (180 · 240)/(240 · 300): mAs 5 to 10 exactly twice, area · 0.6: 0.96.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Technique_Dose_TellsTheRepeatWithAndWithoutTheTighterField()
    {
        string text = Unwrapped(CommandLineCall.Run("technique", "--mas", "5", "--kvp", "60", "--deviation-index", "-3", "--kap", "0.8", "--field", "240x300", "--new-field", "180x240", "--effective-coefficient", "0.1", "--coefficient-source", "an invented table").Output);
        Assert.Contains("this exposure kerma-area product 0.80 ± 0.16 dGy·cm²", text, StringComparison.Ordinal);
        Assert.Contains("the next adds kerma-area product 0.96 ± 0.19 dGy·cm²", text, StringComparison.Ordinal);
        Assert.Contains("unchanged field kerma-area product 1.6 ± 0.3 dGy·cm² for the next, 2.4 ± 0.5 dGy·cm² in all", text, StringComparison.Ordinal);
        Assert.Contains("all 2 together kerma-area product 1.8 ± 0.4 dGy·cm²", text, StringComparison.Ordinal);
        Assert.Contains("by the coefficient of an invented table", text, StringComparison.Ordinal);
        Assert.Contains("not this patient's dose", text, StringComparison.Ordinal);
        Assert.DoesNotContain("cancer", text, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void Technique_DoseAlone_NeedsNoChange()
    {
        CommandLineCall call = CommandLineCall.Run("technique", "--mas", "10", "--kvp", "80", "--output", "typical", "--skin-distance", "800");
        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("incident air kerma at the skin 0.8 ± 0.3 mGy", Unwrapped(call.Output), StringComparison.Ordinal);
        Assert.Contains("kerma-area product cannot be told", Unwrapped(call.Output), StringComparison.Ordinal);
        Assert.DoesNotContain("STEPS", call.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Technique_Json_HoldsTheSameFigures()
    {
        using JsonDocument document = JsonDocument.Parse(CommandLineCall.Run("technique", "--mas", "10", "--distance", "1000", "--new-distance", "1150", "--kap", "1", "--json").Output);
        JsonElement root = document.RootElement;
        Assert.Equal("hotlight.technique/1", root.GetProperty("schema").GetString());
        JsonElement plan = root.GetProperty("plan");
        Assert.Equal(13.225, plan.GetProperty("masBeforeRounding").GetDouble(), 1e-9);
        Assert.Equal(12.5, plan.GetProperty("to").GetProperty("mas").GetDouble());
        Assert.Equal("distance", plan.GetProperty("steps")[0].GetProperty("rule").GetString());
        Assert.Equal("measured", root.GetProperty("dose").GetProperty("this").GetProperty("kermaAreaProduct").GetProperty("status").GetString());
        Assert.Contains("Not a diagnostic device", root.GetProperty("caution").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Technique_RulesOfOnesOwn_AreUsed()
    {
        File.WriteAllText(folder["rules.json"], CommandLineCall.Run("technique", "--print-rules").Output.Replace("\"conversionFactor\": 4,", "\"conversionFactor\": 3.2,", StringComparison.Ordinal));
        Assert.Contains("to 3.15 mAs", Unwrapped(CommandLineCall.Run("technique", "--mas", "1", "--grid", "none", "--new-grid", "8", "--rules", folder["rules.json"]).Output), StringComparison.Ordinal);
        File.WriteAllText(folder["bad.json"], "{");
        Assert.Contains("bad.json: this is no file of rules", CommandLineCall.Run("technique", "--mas", "1", "--deviation-index", "-1", "--rules", folder["bad.json"]).OneSentence(), StringComparison.Ordinal);
        Assert.Contains("cannot be read", CommandLineCall.Run("technique", "--mas", "1", "--deviation-index", "-1", "--rules", folder["none.json"]).OneSentence(), StringComparison.Ordinal);
    }

    [Fact]
    public void Technique_UnderADecimalComma_PrintsTheSame()
    {
        string[] words = ["technique", "--mas", "2.5", "--kvp", "60", "--deviation-index", "-2.3", "--kap", "0.8"];
        string plain = CommandLineCall.Run(words).Output;
        CultureInfo before = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentCulture = new CultureInfo("de-DE");
            Assert.Equal(plain, CommandLineCall.Run(words).Output);
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Theory]
    [InlineData("nothing is asked for", "technique", "--mas", "5", "--kvp", "60")]
    [InlineData("nothing is asked for", "technique")]
    [InlineData("--mas takes a number from 0.001 to 10000", "technique", "--mas", "-5", "--deviation-index", "1")]
    [InlineData("--kvp takes a number from 20 to 150", "technique", "--mas", "5", "--kvp", "160", "--new-kvp", "80")]
    [InlineData("--new-kvp takes a number from 20 to 150", "technique", "--mas", "5", "--kvp", "60", "--new-kvp", "15")]
    [InlineData("--distance takes a number from 100 to 10000", "technique", "--mas", "5", "--distance", "0", "--new-distance", "1150")]
    [InlineData("known are none, 5:1, 6:1, 8:1, 10:1, 12:1, 16:1", "technique", "--mas", "5", "--grid", "none", "--new-grid", "7:1")]
    [InlineData("5:1, 6:1, 8:1, 10:1, 12:1, 16:1; 'thick' is not one", "technique", "--mas", "5", "--grid", "none", "--new-grid", "thick")]
    [InlineData("known are none, fibreglass", "technique", "--mas", "5", "--new-cast", "wood")]
    [InlineData("needs the distance used", "technique", "--mas", "5", "--new-distance", "1150")]
    [InlineData("needs the voltage used", "technique", "--mas", "5", "--new-kvp", "70")]
    [InlineData("give two of the three", "technique", "--mas", "5", "--ma", "100", "--time", "0.2", "--deviation-index", "1")]
    [InlineData("--ma and --time together", "technique", "--ma", "100", "--deviation-index", "1")]
    [InlineData("--deviation-index takes a number from -20 to 20", "technique", "--mas", "5", "--deviation-index", "low")]
    [InlineData("there is no motion limit for 'hand'", "technique", "--mas", "5", "--deviation-index", "-2", "--motion", "hand")]
    [InlineData("--voltage-rule takes fifteen-percent, fifth-power", "technique", "--mas", "5", "--kvp", "60", "--new-kvp", "70", "--voltage-rule", "square")]
    [InlineData("--new-field needs the field", "technique", "--mas", "5", "--kap", "1", "--new-field", "100x100")]
    [InlineData("--field takes width and height", "technique", "--mas", "5", "--kap", "1", "--field", "100")]
    [InlineData("--coefficient-source", "technique", "--kap", "1", "--effective-coefficient", "0.2")]
    [InlineData("an ordinary tube's output is known from 50 to 120 kVp", "technique", "--mas", "5", "--kvp", "40", "--output", "typical")]
    [InlineData("--output needs a voltage", "technique", "--mas", "5", "--output", "0.05")]
    [InlineData("--mas needs a value", "technique", "--deviation-index", "1", "--mas")]
    public void Technique_ABadCall_IsOneSentence(string said, params string[] words)
    {
        CommandLineCall call = CommandLineCall.Run(words);
        Assert.Contains(said, call.OneSentence(), StringComparison.Ordinal);
        Assert.Empty(call.Output);
    }

    [Fact]
    public void Help_OfTechnique_ShowsExamples()
    {
        string text = CommandLineCall.Run("technique", "--help").Output;
        Assert.Contains("EXAMPLES", text, StringComparison.Ordinal);
        Assert.Contains("--new-distance", text, StringComparison.Ordinal);
    }

    private static string Unwrapped(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
}
