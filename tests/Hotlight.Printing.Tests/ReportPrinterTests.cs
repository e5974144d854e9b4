using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Printing.Tests;

/// <summary>Pages as another author's reader of PDF (poppler) finds them.</summary>
public sealed class ReportPrinterTests
{
    private const string PdfInfo = "/usr/bin/pdfinfo";
    private const string PdfText = "/usr/bin/pdftotext";
    private static readonly DateTimeOffset Made = new(2026, 11, 1, 9, 30, 0, TimeSpan.Zero);

    private static ReportDocument Document(int rows) => new()
    {
        Title = "Repeats and rejects, October 2026",
        Subtitle = "Saltmarsh Lane (invented)",
        Foot = "For education; not a diagnostic device.",
        Blocks =
        [
            new ReportNotice("A rate is no mark for a person."),
            new ReportHeading("Rooms"),
            new ReportTable(["room", "rate"], [.. Enumerable.Range(1, rows).Select(row => new[] { $"Room {row}", "5.2 %" })]),
            new ReportList(["first thing", "second thing: Laney’s p′, σ ≥ 1, −0.3"]),
            new ReportParagraph(string.Join(' ', Enumerable.Repeat("A long paragraph that has to be broken.", 40))),
        ],
    };

    [SystemFileFact(PdfInfo)]
    public void Print_IsATaggedA4FileWithItsTitle()
    {
        string info = Ask(PdfInfo, ReportPrinter.Print(Document(3), Made));
        Assert.Matches(@"(?m)^Title:\s+Repeats and rejects, October 2026\r?$", info);
        Assert.Matches(@"(?m)^Tagged:\s+yes", info);
        Assert.Matches(@"(?m)^Page size:\s+595 x 842 pts \(A4\)", info);
        Assert.Matches(@"(?m)^Pages:\s+1\r?$", info);
    }

    [SystemFileFact(PdfText)]
    public void Print_HoldsEveryWordInOrder()
    {
        string text = Ask(PdfText, ReportPrinter.Print(Document(3), Made), "-layout");
        int place = 0;
        foreach (string words in new[] { "Repeats and rejects, October 2026", "Saltmarsh Lane (invented)", "A rate is no mark", "Rooms", "Room 1", "Room 3", "first thing", "Laney’s p′, σ ≥ 1, −0.3", "A long paragraph", "not a diagnostic device", "page 1 of 1" })
        {
            int found = text.IndexOf(words, place, StringComparison.Ordinal);
            Assert.True(found >= 0, $"'{words}' is not there, or not in its place:{Environment.NewLine}{text}");
            place = found;
        }

        Assert.Equal(40, Regex.Count(Regex.Replace(text, @"\s+", " "), "A long paragraph that has to be broken"));
    }

    [SystemFileFact(PdfText)]
    public void Print_ATableLongerThanAPage_GoesOnUnderItsHeadings()
    {
        byte[] file = ReportPrinter.Print(Document(120), Made);
        string text = Ask(PdfText, file, "-layout");
        string[] pages = text.Split('\f', StringSplitOptions.RemoveEmptyEntries);
        Assert.InRange(pages.Length, 3, 4);
        Assert.All(Enumerable.Range(1, 120), row => Assert.Equal(1, Regex.Count(text, string.Create(CultureInfo.InvariantCulture, $@"(?m)\bRoom {row}\s"))));
        Assert.Contains("room", pages[1], StringComparison.Ordinal);
        Assert.All(pages, (page, index) => Assert.Contains(string.Create(CultureInfo.InvariantCulture, $"page {index + 1} of {pages.Length}"), page, StringComparison.Ordinal));
    }

    private static string Ask(string program, byte[] file, params string[] options)
    {
        using var folder = new ScratchFolder();
        string path = folder["report.pdf"];
        File.WriteAllBytes(path, file);
        var start = new ProcessStartInfo(program) { RedirectStandardOutput = true };
        foreach (string word in program == PdfText ? [.. options, path, "-"] : new[] { path })
        {
            start.ArgumentList.Add(word);
        }

        using Process process = Process.Start(start)!;
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.Equal(0, process.ExitCode);
        return text;
    }
}
