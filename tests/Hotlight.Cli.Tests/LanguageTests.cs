using System.Globalization;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>Languages of the command line.</summary>
[Collection("command line")]
public sealed class LanguageTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Environment.SetEnvironmentVariable("HOTLIGHT_LANGUAGE_FOLDER", null);
        folder.Dispose();
    }

    [Theory]
    [InlineData("de", "knee-lateral  Knie seitlich", "Röhrenspannung      60 bis 70 kV", "senkrecht auf den Detektor")]
    [InlineData("es", "knee-lateral  Rodilla lateral", "kilovoltaje         de 60 a 70 kVp", "perpendicular al receptor")]
    [InlineData("en", "knee-lateral  Knee lateral", "tube voltage        60 to 70 kVp", "at a right angle to the receptor")]
    public void Projections_InALanguage_SaysLabelsAndTextsInIt(string language, string title, string voltage, string ray)
    {
        CommandLineCall knee = CommandLineCall.Run("projections", "knee-lateral", "--language", language);
        Assert.Equal(0, knee.ExitStatus);
        Assert.StartsWith(title, knee.Output, StringComparison.Ordinal);
        Assert.Contains(voltage, knee.Output, StringComparison.Ordinal);
        Assert.Contains(ray, CommandLineCall.Run("projections", "wrist-pa", "--language", language).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Calls_WithoutALanguage_AreEnglishWhateverTheMachinesLanguage_AndLeaveItAlone()
    {
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            var german = CultureInfo.GetCultureInfo("de-DE");
            CultureInfo.CurrentUICulture = german;
            Assert.StartsWith("knee-lateral  Knee lateral", CommandLineCall.Run("projections", "knee-lateral").Output, StringComparison.Ordinal);
            Assert.StartsWith("knee-lateral  Rodilla lateral", CommandLineCall.Run("projections", "knee-lateral", "--language", "es").Output, StringComparison.Ordinal);
            Assert.Equal(german, CultureInfo.CurrentUICulture);
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }

    [Fact]
    public void Language_WithoutTexts_IsRefusedInOneSentence()
        => Assert.Contains("--language names one of de, en, es", CommandLineCall.Run("projections", "--language", "fr").OneSentence(), StringComparison.Ordinal);

    [Fact]
    public void Refusals_AreSaidInTheLanguage()
        => Assert.Contains("keine Projektion „wrist-ap“", CommandLineCall.Run("projections", "wrist-ap", "--language", "de").OneSentence(), StringComparison.Ordinal);

    [Fact]
    public void CatalogueCheck_SaysHowMuchOfEachLanguageIsTranslated()
    {
        string text = CommandLineCall.Run("catalogue", "check").Output;
        Assert.Matches(@"(?m)^de: \d+ of \d+ texts of the program \(\d+ %\), \d+ of \d+ texts of the catalogue \(\d+ %, 8 of \d+ projections\)", text);
        Assert.Matches(@"(?m)^es: ", text);
        Assert.DoesNotContain("en:", text, StringComparison.Ordinal);
    }

    [Fact]
    public void AClinicsFolder_AddsALanguage_AndItsFaultsAreAllNamed()
    {
        Write("fr/texts.json", """{ "schema": "hotlight.texts/1", "language": "fr", "texts": { "projections.purpose": "but" } }""");
        Write("fr/catalogue/knee/knee-lateral.json", """{ "name": "Genou de profil" }""");
        Environment.SetEnvironmentVariable("HOTLIGHT_LANGUAGE_FOLDER", folder.Path);
        string french = CommandLineCall.Run("projections", "knee-lateral", "--language", "fr").Output;
        Assert.StartsWith("knee-lateral  Genou de profil\n  but  ", french.ReplaceLineEndings("\n"), StringComparison.Ordinal);
        Assert.Contains("Shows the patellofemoral joint", french, StringComparison.Ordinal);
        Assert.Matches(@"(?m)^fr: 1 of \d+ texts of the program \(\d+ %\), 1 of ", CommandLineCall.Run("catalogue", "check").Output);

        Write("fr/catalogue/knee/knee-lateral.json", """{ "nam": "Genou de profil", "relations": [ { "id": "bent" } ] }""");
        Write("fr/texts.json", """{ "schema": "hotlight.texts/1", "language": "fr", "texts": { "projections.title": "{0}" } }""");
        CommandLineCall faulty = CommandLineCall.Run("catalogue", "check", "--language-folder", folder.Path);
        Assert.Contains("3 faults in the languages", faulty.OneSentence(), StringComparison.Ordinal);
        Assert.Contains("fr/texts.json, projections.title: {1} is missing.", faulty.Output, StringComparison.Ordinal);
        Assert.Contains("fr/catalogue/knee/knee-lateral.json, $.nam: 'nam' is not a text of a projection; did you mean 'name'?", faulty.Output, StringComparison.Ordinal);
        Assert.Contains("fr/catalogue/knee/knee-lateral.json, $.relations[0].id: the projection has no 'bent' here", faulty.Output, StringComparison.Ordinal);
        CommandLineCall.Run("projections", "knee-lateral").OneSentence();
    }

    private void Write(string file, string text)
    {
        string path = Path.Combine(folder.Path, file);
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        File.WriteAllText(path, text);
    }
}
