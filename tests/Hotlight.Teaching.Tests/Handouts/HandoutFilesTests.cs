using System.Diagnostics;
using System.Text;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Teaching.Handouts;
using Hotlight.Testing;

namespace Hotlight.Teaching.Tests.Handouts;

/// <summary>The files of a handout as other authors' readers find them.</summary>
public sealed partial class HandoutFilesTests
{
    private const string PdfInfo = "/usr/bin/pdfinfo";
    private const string PdfText = "/usr/bin/pdftotext";
    private const string PdfFonts = "/usr/bin/pdffonts";
    private const string PdfImages = "/usr/bin/pdfimages";
    private const string Qpdf = "/usr/bin/qpdf";
    private const string Case = "elbow-lateral-low";

    [SystemFileFact(PdfInfo)]
    public void Pdf_IsTaggedHasATitleAndNoDate()
    {
        byte[] file = Pdf("en");
        string info = Ask(PdfInfo, file);

        Assert.Matches(@"(?m)^Tagged:\s+yes", info);
        Assert.Matches(@"(?m)^Title:\s+Elbow lateral: the radial head lies in front of the coronoid process", info);
        Assert.Matches(@"(?m)^Page size:\s+595 x 842 pts \(A4\)", info);
        Assert.Matches(@"(?m)^CreationDate:\s+Sat Jan  1 00:00:00 2000", info);
        Assert.DoesNotContain(DateTime.UtcNow.ToString("yyyyMMdd", System.Globalization.CultureInfo.InvariantCulture), Encoding.Latin1.GetString(file), StringComparison.Ordinal);
        Assert.Contains("(en)", Encoding.Latin1.GetString(file), StringComparison.Ordinal);
    }

    [SystemFileFact(PdfInfo)]
    public void Pdf_Structure_HasHeadingsListsFigureTableAndHeaderCells()
    {
        string structure = Ask(PdfInfo, Pdf("en"), "-struct-text");

        foreach (string tag in new[] { "H1", "H2", "L", "LI", "Table", "TR", "TH", "TD", "Figure" })
        {
            Assert.Matches($@"(?m)^\s*{tag}\b", structure);
        }
    }

    [SystemFileFact(PdfText)]
    public void Pdf_HoldsEveryParagraphInItsOrder()
    {
        Handout handout = DemoHandouts.Write(Case, "en").Handout;
        string text = Spaces().Replace(Foot().Replace(Ask(PdfText, Pdf("en"), "-raw"), " "), " ");
        int place = 0;
        foreach (HandoutParagraph paragraph in handout.Paragraphs)
        {
            string words = Spaces().Replace(paragraph.Text, " ");
            int found = text.IndexOf(words, place, StringComparison.Ordinal);
            Assert.True(found >= 0, $"'{words}' is not there, or not in its place:{Environment.NewLine}{text}");
            place = found;
        }

        Assert.Contains("page 1 of", Ask(PdfText, Pdf("en")), StringComparison.Ordinal);
        Assert.Contains("Seite 1 von", Ask(PdfText, Pdf("de")), StringComparison.Ordinal);
    }

    [SystemFileFact(PdfFonts)]
    public void Pdf_EveryFont_IsEmbeddedAndTellsItsLetters()
        => Assert.All(
            Ask(PdfFonts, Pdf("es")).Split('\n', StringSplitOptions.RemoveEmptyEntries).Skip(2),
            font => Assert.Matches(@"yes yes yes\s+\d+\s+\d+\s*$", font));

    [SystemFileFact(PdfImages)]
    public void Pdf_Radiograph_HasThreeHundredDotsAnInchWhereThePixelsAllow()
    {
        string[] image = Ask(PdfImages, Pdf("en"), "-list", output: false).Split('\n')[2].Split(' ', StringSplitOptions.RemoveEmptyEntries);
        (Radiograph radiograph, _) = DemoHandouts.Of(Case);
        Handout handout = DemoHandouts.Write(Case, "en").Handout;

        // As many pixels as are stored, or 300 an inch: columns 12 and 13 of the list are dots an inch.
        bool isWhole = int.Parse(image[3], System.Globalization.CultureInfo.InvariantCulture) >= handout.View.Width && handout.View.Width <= radiograph.Columns;
        Assert.True(isWhole || int.Parse(image[12], System.Globalization.CultureInfo.InvariantCulture) >= 298, string.Join(' ', image));
    }

    [SystemFileFact(Qpdf)]
    public void Pdf_PassesAnotherAuthorsCheck()
    {
        string[] said = Ask(Qpdf, Pdf("en"), "--check", output: false).Split('\n', StringSplitOptions.RemoveEmptyEntries);

        // PDFsharp leaves the checksum off the end of its packed streams: every byte is there, and the reader says that it cannot vouch for them.
        Assert.DoesNotContain(said, line => line.Contains("WARNING", StringComparison.Ordinal) && !line.EndsWith("input stream is complete but output may still be valid", StringComparison.Ordinal));
        Assert.DoesNotContain(said, line => line.Contains("ERROR", StringComparison.OrdinalIgnoreCase) && !line.Contains("No syntax or stream encoding errors", StringComparison.Ordinal));
        Assert.Contains(said, line => line.Contains("operation succeeded", StringComparison.Ordinal) || line.Contains("No syntax or stream encoding errors", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("en")]
    [InlineData("de")]
    [InlineData("es")]
    public void Html_IsOneWellFormedFileWithoutScriptOrOutsideReference(string language)
    {
        string html = Html(language);
        XDocument page = XDocument.Parse(html.Replace("<!doctype html>", string.Empty, StringComparison.Ordinal)
            .Replace("<meta charset=\"utf-8\">", "<meta charset=\"utf-8\"/>", StringComparison.Ordinal)
            .Replace("initial-scale=1\">", "initial-scale=1\"/>", StringComparison.Ordinal)
            .Replace("content=\"Hotlight\">", "content=\"Hotlight\"/>", StringComparison.Ordinal)
            .Replace("\"><svg", "\"/><svg", StringComparison.Ordinal)
            .Replace("&nbsp;", " ", StringComparison.Ordinal));

        Assert.Equal(language, page.Root!.Attribute("lang")!.Value);
        Assert.DoesNotContain("<script", html, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("javascript:", html, StringComparison.OrdinalIgnoreCase);
        Assert.All(Reference().Matches(html), match => Assert.StartsWith("data:image/png;base64,", match.Groups[1].Value, StringComparison.Ordinal));
        Assert.DoesNotContain("url(", html, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("prefers-color-scheme:dark", html, StringComparison.Ordinal);
        Assert.Contains("@media print", html, StringComparison.Ordinal);
        Assert.Equal(DemoHandouts.Write(Case, language).Handout.Marks.Count, page.Descendants().Count(element => element.Name.LocalName == "circle"));

        byte[] picture = Convert.FromBase64String(Reference().Match(html).Groups[1].Value["data:image/png;base64,".Length..]);
        Assert.Equal(ImageSource.Png, RadiographReader.Read(picture, "picture.png").Source);
    }

    [Fact]
    public void Html_WordsOfATeacher_AreMarkedAndHarmless()
    {
        (Handout handout, _) = DemoHandouts.Write(Case, "en");
        string html = HandoutHtml.Write(handout.With(new Dictionary<string, string> { ["summary"] = "Look <b>here</b> & there." }), Picture(handout, HandoutPicture.ForScreenPixels));

        Assert.Contains("<p class=\"own\"><span class=\"own-word\">teacher&#39;s words</span>Look &lt;b&gt;here&lt;/b&gt; &amp; there.</p>", html, StringComparison.Ordinal);
    }

    private static string Html(string language)
    {
        Handout handout = DemoHandouts.Write(Case, language).Handout;
        return HandoutHtml.Write(handout, Picture(handout, HandoutPicture.ForScreenPixels));
    }

    private static byte[] Pdf(string language)
    {
        Handout handout = DemoHandouts.Write(Case, language).Handout;
        return HandoutPdf.Print(handout, Picture(handout, HandoutPicture.ForPrintPixels));
    }

    private static HandoutPicture Picture(Handout handout, int pixels)
    {
        (Radiograph radiograph, MeasurementDocument document) = DemoHandouts.Of(Case);
        return HandoutPicture.Of(radiograph, document, handout.View, pixels);
    }

    private static string Ask(string program, byte[] file, string? option = null, bool output = true)
    {
        using ScratchFolder folder = new();
        File.WriteAllBytes(folder["handout.pdf"], file);
        ProcessStartInfo start = new(program) { RedirectStandardOutput = true, RedirectStandardError = true };
        if (option is not null)
        {
            start.ArgumentList.Add(option);
        }

        start.ArgumentList.Add(folder["handout.pdf"]);
        if (program == PdfText && output)
        {
            start.ArgumentList.Add("-");
        }

        using Process process = Process.Start(start)!;
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return text + errors.Result;
    }

    [GeneratedRegex(@"[\s\u00A0]+")]
    private static partial Regex Spaces();

    [GeneratedRegex(@"For teaching and quality improvement\. No diagnosis\.\s+page \d+ of \d+|page \d+ of \d+\s+For teaching and quality improvement\. No diagnosis\.|\f")]
    private static partial Regex Foot();

    [GeneratedRegex("(?:src|href)=\"([^\"]*)\"")]
    private static partial Regex Reference();
}
