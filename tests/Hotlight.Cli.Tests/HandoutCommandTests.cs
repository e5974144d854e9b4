using System.Text;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class HandoutCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public void Handout_OfAFile_WritesBothFormsWithoutThePatient()
    {
        File.WriteAllBytes(folder["wrist.dcm"], Named());

        CommandLineCall call = CommandLineCall.Run("handout", folder["wrist.dcm"], "--projection", "wrist-pa", "--to", folder["out"], "--looked-over");

        Assert.True(call.ExitStatus == 0, call.Errors);
        string[] files = [.. Directory.GetFiles(folder["out"]).Select(path => Path.GetFileName(path)!).Order(StringComparer.Ordinal)];
        Assert.Equal(["handout-wrist-pa-en.html", "handout-wrist-pa-en.pdf"], files);
        Assert.All(files, file => Assert.DoesNotContain("Quillfeather", Encoding.Latin1.GetString(File.ReadAllBytes(Path.Combine(folder["out"], file))), StringComparison.OrdinalIgnoreCase));
        Assert.Equal(2, call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Length);
    }

    [Fact]
    public void Handout_WithANameInARemark_WritesNothingAndNamesThePlace()
    {
        File.WriteAllBytes(folder["wrist.dcm"], Named());
        File.WriteAllText(folder["answers.json"], """{"schema":"hotlight.answers/1","projection":"wrist-pa","answers":{"position.palm-flat":{"state":"met","remark":"Quillfeather held still"}}}""");

        CommandLineCall call = CommandLineCall.Run("handout", folder["wrist.dcm"], "-p", "wrist-pa", "-a", folder["answers.json"], "--to", folder["out"], "--html", "--looked-over");

        Assert.Equal(HotlightCommandLine.Refused, call.ExitStatus);
        Assert.Contains("A name of the patient stands in the remark on the line", call.Errors, StringComparison.Ordinal);
        Assert.DoesNotContain("Quillfeather", call.Errors + call.Output, StringComparison.OrdinalIgnoreCase);
        Assert.False(Directory.Exists(folder["out"]));
    }

    [Fact]
    public void Handout_InGerman_SpeaksGerman()
    {
        File.WriteAllBytes(folder["wrist.dcm"], Named());

        CommandLineCall call = CommandLineCall.Run("handout", folder["wrist.dcm"], "-p", "wrist-pa", "--to", folder["out"], "--html", "--language", "de", "--looked-over");

        Assert.True(call.ExitStatus == 0, call.Errors);
        string html = File.ReadAllText(Path.Combine(folder["out"], "handout-wrist-pa-de.html"));
        Assert.Contains("<html lang=\"de\">", html, StringComparison.Ordinal);
        Assert.Contains("Was offen bleibt", html, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Handout_OfACase_IsMadeFromItsRecord()
    {
        Directory.CreateDirectory(folder["data"]);
        IRecordStore records = await SqliteRecords.OpenAsync(Path.Combine(folder["data"], "records.db"), TimeProvider.System);
        var files = new FolderFileStore(Path.Combine(folder["data"], "files"));
        using var shelf = new RadiographShelf(files);
        var cases = new CaseWorkflow(records, files, shelf, TimeProvider.System);
        CaseRecord record = (await cases.BringInAsync("wrist.dcm", new MemoryStream(Named()), 100_000_000)).Record;
        await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");

        CommandLineCall call = CommandLineCall.Run("handout", "--case", record.Id.ToString(), "--data", folder["data"], "--to", folder["out"], "--pdf", "--looked-over");

        Assert.True(call.ExitStatus == 0, call.Errors);
        Assert.Equal("handout-wrist-pa-en.pdf", Path.GetFileName(Assert.Single(Directory.GetFiles(folder["out"]))));
    }

    [Theory]
    [InlineData("handout takes a file, or a case", "handout", "--to", "x")]
    [InlineData("handout needs --to DIR", "handout", "a.dcm")]
    [InlineData("--case takes the identifier", "handout", "--case", "seven", "--to", "x")]
    [InlineData("holds no records", "handout", "--case", "0199f0c2-8d1e-7cc3-b1a2-3f5e6d7c8b9a", "--data", "nowhere", "--to", "x")]
    public void Handout_CallThatIsWrong_IsRefusedInOneSentence(string sentence, params string[] call)
        => Assert.Contains(sentence, CommandLineCall.Run(call).OneSentence(), StringComparison.Ordinal);

    private static byte[] Named()
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(), new DxDescription { PatientName = "Quillfeather^Ottoline", PatientId = "QF-88231", Seed = "handout" });
        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset);
        return stream.ToArray();
    }
}
