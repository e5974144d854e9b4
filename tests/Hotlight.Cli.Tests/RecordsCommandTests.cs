using Hotlight.Store.Sqlite;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class RecordsCommandTests : IDisposable
{
    private const string Table = """
        Datum;Uhrzeit;Raum;Untersuchung;MTRA;Verworfen;Grund
        03.03.2026;09:12;Raum 2;Handgelenk p.a.;Möwe, Erna;nein;
        03.03.2026;09:14;Raum 2;Knie seitlich;Erna Möwe;ja;Lagerung
        """;

    private readonly ScratchFolder folder = new();

    public RecordsCommandTests()
    {
        Directory.CreateDirectory(folder["data"]);
        SqliteRecords.OpenAsync(Path.Combine(folder["data"], "records.db"), TimeProvider.System).GetAwaiter().GetResult();
    }

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public void Table_LookedAtBroughtInTwiceAndTakenBack_IsThereOnceAndThenNot()
    {
        File.WriteAllText(folder["rejects.csv"], Table);
        CommandLineCall look = CommandLineCall.Run("records", "look", folder["rejects.csv"]);
        Assert.Equal(0, look.ExitStatus);
        File.WriteAllText(folder["mapping.json"], look.Output);

        CommandLineCall first = CommandLineCall.Run("records", "bring-in", folder["rejects.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"]);
        Assert.Equal(0, first.ExitStatus);
        Assert.Contains("2 rows: 2 exposures", first.Output, StringComparison.Ordinal);
        Assert.Contains("kept: 2 new, 0 that now know more, 0 known before", first.Output, StringComparison.Ordinal);
        CommandLineCall second = CommandLineCall.Run("records", "bring-in", folder["rejects.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"]);
        Assert.Contains("kept: 0 new, 0 that now know more, 2 known before", second.Output, StringComparison.Ordinal);

        string id = first.Output[(first.Output.LastIndexOf(' ') + 1)..].Trim();
        Assert.Contains("2 exposures were taken out", CommandLineCall.Run("records", "take-back", id, "--data", folder["data"]).Output, StringComparison.Ordinal);
        Assert.Contains("rejects.csv: taken back", CommandLineCall.Run("records", "list", "--data", folder["data"]).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Table_WithAFault_KeepsNothingUnlessFaultyRowsAreLeftOut()
    {
        File.WriteAllText(folder["rejects.csv"], Table.Replace("Lagerung", "Vollmond", StringComparison.Ordinal));
        File.WriteAllText(folder["mapping.json"], CommandLineCall.Run("records", "look", folder["rejects.csv"]).Output);
        CommandLineCall refused = CommandLineCall.Run("records", "bring-in", folder["rejects.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"]);
        Assert.Equal(2, refused.ExitStatus);
        Assert.Contains("line 3, “Grund”: “Vollmond”", refused.Errors, StringComparison.Ordinal);
        Assert.Contains("nothing was kept", refused.Errors, StringComparison.Ordinal);
        Assert.Contains("nothing was brought in yet", CommandLineCall.Run("records", "list", "--data", folder["data"]).Errors, StringComparison.Ordinal);
        Assert.Contains("kept: 1 new", CommandLineCall.Run("records", "bring-in", folder["rejects.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"], "--leave-out-faulty").Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Folder_WithImagesAReportRejectsAndADamagedFile_TakesWhatIsWhole()
    {
        Directory.CreateDirectory(folder["archive/deep"]);
        File.WriteAllBytes(folder["archive/1.dcm"], InventedSources.File(InventedSources.Header(image: 1)));
        File.WriteAllBytes(folder["archive/deep/2.dcm"], InventedSources.File(InventedSources.Header(image: 2).SetText(0x00080032, "TM", "091400")));
        File.WriteAllBytes(folder["archive/reject.dcm"], InventedSources.Document(InventedSources.KeyObjects("113001", "111209", 1)));
        File.WriteAllBytes(folder["archive/dose.dcm"], InventedSources.Document(InventedSources.DoseReport(new InventedEvent(2001) { Image = 1 })));
        File.WriteAllBytes(folder["archive/cut.dcm"], InventedSources.File(InventedSources.Header(image: 3))[..400]);
        File.WriteAllText(folder["archive/readme.txt"], "Dear colleague");
        CommandLineCall call = CommandLineCall.Run("records", "bring-in", folder["archive"], "--data", folder["data"]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Contains("6 files: 2 exposures, 1 files of another kind, 1 not taken.", call.Output, StringComparison.Ordinal);
        Assert.Contains("kept: 2 new", call.Output, StringComparison.Ordinal);
        Assert.Contains("cut.dcm: ", call.Errors, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("records", "bring-in", "nowhere")]
    [InlineData("records", "take-back", "seven")]
    [InlineData("records", "look", "nowhere.csv")]
    public void OddCalls_AreRefusedInOneSentence(params string[] words)
    {
        CommandLineCall call = CommandLineCall.Run([.. words, .. words[1] == "look" ? Array.Empty<string>() : ["--data", folder["data"]]]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Single(call.Errors.Trim().Split('\n'));
    }

    [Fact]
    public void ADataFolderWithoutABench_IsRefused() => Assert.Contains("start the bench once", CommandLineCall.Run("records", "list", "--data", folder["none"]).Errors, StringComparison.Ordinal);
}
