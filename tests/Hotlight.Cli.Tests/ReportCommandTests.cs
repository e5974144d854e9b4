using System.Diagnostics;
using Hotlight.Records;
using Hotlight.Records.Invented;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Records;

namespace Hotlight.Cli.Tests;

/// <summary>The monthly report from the invented department's records to the pages.</summary>
[Collection("command line")]
public sealed class ReportCommandTests : IDisposable
{
    private const string PdfText = "/usr/bin/pdftotext";
    private readonly ScratchFolder folder = new();

    public ReportCommandTests()
    {
        Directory.CreateDirectory(folder["data"]);
        string path = Path.Combine(folder["data"], "records.db");
        SqliteRecords.OpenAsync(path, TimeProvider.System).GetAwaiter().GetResult();
        DepartmentRecipe recipe = DepartmentRecipe.SaltmarshLane with { FirstDay = new DateOnly(2026, 5, 1) };
        SqliteRecords.Log(path, TimeProvider.System)
            .AddAsync(new LogImport { Id = InventedDepartment.ImportIdOf(recipe), Site = recipe.Site, Title = "invented" }, InventedDepartment.Entries(recipe, ShiftHours.Usual)).GetAwaiter().GetResult();
    }

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [SystemFileFact(PdfText)]
    public void Report_OfAMonth_SaysItsRateItsCautionAndThatItIsInvented_AndNamesNobody()
    {
        CommandLineCall call = CommandLineCall.Run("report", "--month", "2026-09", "--data", folder["data"], "--out", folder["report.pdf"]);
        Assert.True(call.ExitStatus == 0, call.Errors);
        string text = Text(folder["report.pdf"]);
        foreach (string words in new[] { "Repeats and rejects, September 2026", "Invented: this department does not exist", "a low rate can be as bad as a high one", "Reject rate", "95 % interval", "What calls for a look", "Reasons of rejects", "Where the definitions come from", "AAPM TG-305" })
        {
            Assert.Contains(words, text, StringComparison.Ordinal);
        }

        int pages = text.Count(letter => letter == '\f');
        Assert.InRange(pages, 2, 4);
        Assert.All(DepartmentRecipe.SaltmarshLane.People, person => Assert.DoesNotContain(person.Pseudonym, text, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("2026-13", "report.pdf", "--month takes a month")]
    [InlineData("2026-09", "report.txt", "ends in .pdf")]
    [InlineData("2019-01", "report.pdf", "has no exposures in 2019-01")]
    [InlineData("2026-09", "nowhere/report.pdf", "in a folder that is there")]
    public void Report_AskedForWrongly_IsOneSentenceAndNoFile(string month, string name, string words)
    {
        CommandLineCall call = CommandLineCall.Run("report", "--month", month, "--data", folder["data"], "--out", folder[name]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Contains(words, call.Errors, StringComparison.Ordinal);
        Assert.False(File.Exists(folder[name]));
    }

    private static string Text(string path)
    {
        var start = new ProcessStartInfo(PdfText, ["-layout", path, "-"]) { RedirectStandardOutput = true };
        using Process process = Process.Start(start)!;
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return text;
    }
}
