using System.IO.Compression;
using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;
using Hotlight.Testing;

namespace Hotlight.Privacy.Tests;

/// <summary>Planted names: in header, sequences, private elements, overlays, file names, pixels and typed remarks. Each is found and named by place, or is gone from what is published.</summary>
public sealed class PublicationGateTests
{
    private static readonly KnownIdentity Known = KnownIdentity.Of(Header());

    [Theory]
    [InlineData("Tell Quillfeather to hold still.", IdentityKind.PatientName)]
    [InlineData("tell QUILLFEATHER to hold still", IdentityKind.PatientName)]
    [InlineData("Ótto­liné moved.", IdentityKind.PatientName)]
    [InlineData("asked by Wendover", IdentityKind.Staff)]
    [InlineData("Müssen wir Grünmöwe fragen?", IdentityKind.Staff)]
    [InlineData("Frau Gruenmoewe fragen.", IdentityKind.Staff)]
    [InlineData("see qf 88231", IdentityKind.PatientIdentifier)]
    [InlineData("see QF88231.", IdentityKind.PatientIdentifier)]
    [InlineData("born 4.7.1931", IdentityKind.BirthDate)]
    [InlineData("born on 4 July 1931", IdentityKind.BirthDate)]
    [InlineData("geboren am 4. Juli 1931", IdentityKind.BirthDate)]
    [InlineData("nacida el 4 de julio de 1931", IdentityKind.BirthDate)]
    [InlineData("exposed 2024-09-17", IdentityKind.ExaminationDate)]
    [InlineData("exposed 09/17/2024", IdentityKind.ExaminationDate)]
    [InlineData("order acc-77120", IdentityKind.ExaminationNumber)]
    [InlineData("at the Saltmarsh  Infirmary", IdentityKind.Institution)]
    [InlineData("lives in marsh bend 7", IdentityKind.Address)]
    [InlineData("on ROOM3CR", IdentityKind.Device)]
    [InlineData("1.2.826.99.1.1", IdentityKind.Uid)]
    [InlineData("MRN 4711", IdentityKind.LooksLikeNumber)]
    [InlineData("see AB 20191", IdentityKind.LooksLikeNumber)]
    [InlineData("see AB2019", IdentityKind.LooksLikeNumber)]
    [InlineData("his number is 30294411", IdentityKind.LooksLikeNumber)]
    [InlineData("call 555-12-3344", IdentityKind.LooksLikeNumber)]
    [InlineData("before, on 3.2.2019, it was straight", IdentityKind.LooksLikeDate)]
    [InlineData("born 12 March 1961", IdentityKind.LooksLikeDate)]
    [InlineData("on March 12th, 1961 it was", IdentityKind.LooksLikeDate)]
    [InlineData("am 3. Mai 2019 war sie hier", IdentityKind.LooksLikeDate)]
    [InlineData("el 3 de mayo de 2019", IdentityKind.LooksLikeDate)]
    [InlineData("seen on 1st Oct. 2020", IdentityKind.LooksLikeDate)]
    public void Check_TypedText_NamesThePlaceAndNotTheValue(string text, IdentityKind kind)
    {
        PublicationCheck check = PublicationGate.Check(Known, [new PublishedText("the remark on the line Sharpness", text, IsTyped: true)]);

        PublicationFinding finding = Assert.Single(check.Findings);
        Assert.Equal(kind, finding.Kind);
        Assert.Contains("the remark on the line Sharpness", finding.Sentence, StringComparison.Ordinal);
        Assert.InRange(finding.Start!.Value + finding.Length!.Value, 1, text.Length);
        string place = text.Substring(finding.Start.Value, finding.Length.Value);
        Assert.DoesNotContain(place, finding.Sentence, StringComparison.OrdinalIgnoreCase);
        Assert.Throws<PublicationStoppedException>(check.Demand);
    }

    [Theory]
    [InlineData("The quill lay beside the feather.")]
    [InlineData("DI +2.1 ± 0.1, 0.143 mm per pixel, 2480 × 2000 pixels, EI 1250.")]
    [InlineData("Centre 12 mm lower, 4 to 6 cm.")]
    [InlineData("Wend the way over, 17 of 24.")]
    [InlineData("In March 2019 it was 12 mm; from May 2020 on 3.")]
    [InlineData("Since 2019 as before, in 2020 too.")]
    [InlineData("Angulate 5-7 degrees; 100-120 kVp; 1/2 dose; IEC 62494-1.")]
    public void Check_TextWithoutIdentity_IsClean(string text)
        => Assert.Empty(PublicationGate.Check(Known, [new PublishedText("a remark", text, IsTyped: true)]).Findings);

    [Theory]
    [InlineData("The head is turned.", true, 0)]
    [InlineData("Ask Head about it.", true, 1)]
    [InlineData("Head is turned.", false, 0)]
    [InlineData("May the reader see it?", false, 0)]
    [InlineData("Ask May about it.", false, 1)]
    [InlineData("May Head was here.", false, 2)]
    [InlineData("it may show", true, 1)]
    public void Check_NameThatIsAWordToo_CountsWhereItStandsAsAName(string text, bool isTyped, int findings)
    {
        KnownIdentity known = KnownIdentity.None.With(IdentityKind.PatientName, "Head^May");

        Assert.Equal(findings, PublicationGate.Check(known, [new PublishedText("a text", text, isTyped)]).Findings.Count);
    }

    [Theory]
    [InlineData("QUILLFEATHER_wrist.html", 1)]
    [InlineData("wrist-qf88231.pdf", 1)]
    [InlineData("handout-wrist-pa.pdf", 0)]
    public void Check_FileName_FindsPartsOfWords(string name, int findings)
        => Assert.Equal(findings, PublicationGate.Check(Known, [new PublishedFileName("the file's name", name)]).Findings.Count);

    [Fact]
    public void Check_DicomAsItCame_IsStoppedAndAsPublishedIsClean()
    {
        byte[] original = File(Header());

        PublicationCheck before = PublicationGate.Check(Known, [new PublishedDicom("the file", original)]);
        Assert.Contains(before.Findings, finding => finding.Kind == IdentityKind.PatientName && finding.Sentence.Contains("(0010,0010)", StringComparison.Ordinal));
        Assert.Contains(before.Findings, finding => finding.Kind == IdentityKind.FilePart && finding.Sentence.Contains("(0009,1001)", StringComparison.Ordinal));
        Assert.Contains(before.Findings, finding => finding.Kind == IdentityKind.FilePart && finding.Sentence.Contains("(6000,3000)", StringComparison.Ordinal));
        Assert.Contains(before.Findings, finding => finding.Sentence.Contains("(0008,0104)", StringComparison.Ordinal));

        byte[] published = PixelCover.Dicom(original, "x", [], PrivacyKey.Fresh());
        Assert.Empty(PublicationGate.Check(Known, [new PublishedDicom("the file", published)]).Findings);
        Assert.Empty(PublicationGate.CheckOutputs(Known, [("wrist.dcm", published)]).Findings);
        Assert.NotEmpty(PublicationGate.CheckOutputs(Known, [("wrist.dcm", original)]).Findings);
    }

    [Fact]
    public void Dicom_TwoPublications_CannotBeJoined()
    {
        byte[] original = File(Header());
        DicomDataset one = DicomContent.Read(PixelCover.Dicom(original, "x", [], PrivacyKey.Fresh()), "x").Dataset;
        DicomDataset other = DicomContent.Read(PixelCover.Dicom(original, "x", [], PrivacyKey.Fresh()), "x").Dataset;

        Assert.NotEqual(one.Text(0x00100020), other.Text(0x00100020));
        Assert.NotEqual(one.Text(0x0020000D), other.Text(0x0020000D));
        Assert.Null(one.Text(0x00080020));
    }

    public static TheoryData<string, byte[]> Packed => new()
    {
        { "plain", Encoding.UTF8.GetBytes("<p>by quillfeather</p>") },
        { "Latin-1", Encoding.Latin1.GetBytes("<p>Grünmöwe</p>") },
        { "UTF-8", Encoding.UTF8.GetBytes("<p>Grünmöwe</p>") },
        { "UTF-16", Encoding.Unicode.GetBytes("by Quillfeather") },
        { "UTF-16 at an odd place", [1, .. Encoding.BigEndianUnicode.GetBytes("by Quillfeather")] },
        { "base64", Encoding.ASCII.GetBytes($"data:text/plain;base64,{Convert.ToBase64String(Encoding.UTF8.GetBytes("this is by Ottoline herself"))}") },
        { "zip", Zip("remarks.json", Encoding.UTF8.GetBytes("{\"by\":\"Wendover\"}")) },
        { "name in a zip", Zip("QF-88231/image.png", [1, 2, 3]) },
        { "zip in a zip", Zip("a.zip", Zip("remarks.json", Encoding.UTF8.GetBytes("ACC-77120"))) },
        { "gzip", Packing("born 1931-07-04", stream => new GZipStream(stream, CompressionLevel.Optimal)) },
        { "stream of a PDF", Pdf(Packing("(Dr Wendover) Tj", stream => new ZLibStream(stream, CompressionLevel.Optimal))) },
        { "glyphs of a PDF", Pdf(
            Packing("1 beginbfrange\n<0001><001A><0061>\nendbfrange\n", stream => new ZLibStream(stream, CompressionLevel.Optimal)),
            Packing(Glyphs("ottoline"), stream => new ZLibStream(stream, CompressionLevel.Optimal))) },
        { "text of a PNG", PngWith(Packing("Quillfeather", stream => new ZLibStream(stream, CompressionLevel.Optimal))) },
        { "deflated DICOM", File(Header().SetText(0x00104000, "LT", "see Quillfeather"), DicomEncoding.Deflated) },
    };

    [Theory]
    [MemberData(nameof(Packed))]
    public void CheckOutputs_ValueInAnyPacking_IsFound(string packing, byte[] content)
    {
        PublicationFinding[] findings = [.. PublicationGate.CheckOutputs(Known, [("handout.bin", content)]).Findings];

        Assert.True(findings.Length > 0, packing);
        Assert.All(findings, finding => Assert.Contains("the file handout.bin", finding.Sentence, StringComparison.Ordinal));
    }

    [Fact]
    public void CheckOutputs_NoiseAndOwnWords_AreClean()
    {
        byte[] noise = new byte[3_000_000];
        new Random(20261127).NextBytes(noise);
        KnownIdentity known = Known.With(IdentityKind.PatientName, "Mark^Rose");
        byte[] page = Encoding.UTF8.GetBytes("<p>Each <mark>mark</mark> has a number. The dose rose.</p>");

        Assert.Empty(PublicationGate.CheckOutputs(known, [("a.bin", noise), ("b.html", page)], ["Each mark has a number. The dose rose."]).Findings);
        Assert.NotEmpty(PublicationGate.CheckOutputs(known, [("c.html", Encoding.UTF8.GetBytes("Rose Mark"))], ["Each mark has a number. The dose rose."]).Findings);
    }

    [Fact]
    public void CheckOutputs_NameOfTheFile_IsNotSaidAgain()
    {
        PublicationFinding[] findings = [.. PublicationGate.CheckOutputs(Known, [("quillfeather.html", Encoding.UTF8.GetBytes("Quillfeather"))]).Findings];

        Assert.Equal(2, findings.Length);
        Assert.All(findings, finding => Assert.DoesNotContain("quillfeather", finding.Sentence + finding.Where, StringComparison.OrdinalIgnoreCase));
    }

    [Fact]
    public void Known_NeverSaysAValue()
    {
        Assert.DoesNotContain("Quill", Known.ToString(), StringComparison.OrdinalIgnoreCase);
        Assert.True(Known.Count > 20);
        Assert.Equal(0, KnownIdentity.Of(new DicomDataset().SetText(0x00100010, "PN", "REMOVED").SetText(0x00100030, "DA", "19000101")).Count);
    }

    private static byte[] Zip(string name, byte[] content)
    {
        using MemoryStream stream = new();
        using (ZipArchive archive = new(stream, ZipArchiveMode.Create, leaveOpen: true))
        {
            using Stream entry = archive.CreateEntry(name).Open();
            entry.Write(content);
        }

        return stream.ToArray();
    }

    private static byte[] Packing(string text, Func<Stream, Stream> open)
    {
        using MemoryStream stream = new();
        using (Stream packed = open(stream))
        {
            packed.Write(Encoding.Latin1.GetBytes(text));
        }

        return stream.ToArray();
    }

    private static string Glyphs(string text) => $"BT <{string.Concat(text.Select(letter => $"{letter - 'a' + 1:X4}"))}> Tj ET";

    private static byte[] Pdf(params byte[][] streams)
    {
        using MemoryStream stream = new();
        stream.Write("%PDF-1.7\n"u8);
        foreach (byte[] each in streams)
        {
            stream.Write(Encoding.ASCII.GetBytes($"4 0 obj\n<< /Length {each.Length} /Filter /FlateDecode >>\nstream\n"));
            stream.Write(each);
            stream.Write("\nendstream\nendobj\n"u8);
        }

        return stream.ToArray();
    }

    private static byte[] PngWith(byte[] packed)
    {
        byte[] body = [.. "Author\0\0"u8, .. packed];
        return [0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 0, 0, 0, (byte)body.Length, .. "zTXt"u8, .. body, 0, 0, 0, 0];
    }

    private static byte[] File(DicomDataset dataset, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian)
    {
        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset, encoding);
        return stream.ToArray();
    }

    private static DicomDataset Header()
        => DxObject.Create(InventedExposure.Limb(rows: 90, columns: 70), new DxDescription { PatientName = "x", PatientId = "x", Seed = "publishing" })
            .SetText(0x00080005, "CS", "ISO_IR 192").SetText(0x00080018, "UI", "1.2.826.99.3.1").SetText(0x0020000D, "UI", "1.2.826.99.1.1")
            .SetText(0x00080020, "DA", "20240917").SetText(0x00080050, "SH", "ACC-77120").SetText(0x00080080, "LO", "Saltmarsh Infirmary")
            .SetText(0x00080090, "PN", "Wendover^Ann").SetText(0x00081070, "PN", "Grünmöwe").SetText(0x00081010, "SH", "ROOM3CR")
            .SetText(0x00100010, "PN", "Quillfeather^Ottoline").SetText(0x00100020, "LO", "QF-88231").SetText(0x00100030, "DA", "19310704")
            .SetText(0x00101040, "LO", "Marsh Bend 7").SetText(0x00181000, "LO", "SN-445566")
            .SetText(0x00090010, "LO", "PRIVATE_MAKER").Set(DicomElement.OfValue(0x00091001, "UN", Encoding.ASCII.GetBytes("Quillfeather")))
            .SetNumbers(0x60000010, "US", 8).SetNumbers(0x60000011, "US", 16).SetText(0x60000040, "CS", "G").SetNumbers(0x60000050, "SS", 1, 1)
            .SetNumbers(0x60000100, "US", 1).SetNumbers(0x60000102, "US", 0).Set(DicomElement.OfValue(0x60003000, "OW", Encoding.ASCII.GetBytes("Quillfeather..42")))
            .SetItems(0x00082218, new DicomDataset().SetText(0x00080100, "SH", "T-15460").SetText(0x00080104, "LO", "wrist of Ottoline"));
}
