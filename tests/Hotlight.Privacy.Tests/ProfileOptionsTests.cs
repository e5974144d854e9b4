using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;
using Hotlight.Testing;
using SkiaSharp;

namespace Hotlight.Privacy.Tests;

/// <summary>Options of the profile beside those of teaching, objects that are no radiographs, and the search after each file.</summary>
public sealed class ProfileOptionsTests
{
    private static readonly PrivacyKey Key = new(Enumerable.Range(0, PrivacyKey.Bytes).Select(number => (byte)number).ToArray());
    private static readonly string[] Secrets = ["Quillfeather", "Ottoline", "QF-88231", "Wendover", "19310704", "Marsh Bend"];

    [Fact]
    public void Clean_SafePrivate_KeepsWhatTheStandardListsAndNothingElse()
    {
        byte[] original = File(Radiograph().SetText(0x00430010, "LO", "GEMS_PARM_01")
            .SetText(0x00431027, "SH", "0.985:1").Set(DicomElement.OfValue(0x00431039, "UN", "1000\\8\\0\\0"u8.ToArray())).SetText(0x00431001, "LO", "next of kin, Marsh Bend")
            .SetText(0x00990010, "LO", "NQHeader").SetText(0x00991002, "UI", "1.2.826.99.7").SetText(0x00991005, "LT", "Quillfeather, done")
            .SetText(0x00250010, "LO", "Philips ST80i").Set(DicomElement.OfValue(0x00251001, "OW", Encoding.ASCII.GetBytes("Quillfeather")))
            .SetText(0x00290010, "LO", "OF NOBODY").SetText(0x00291001, "LO", "Marsh Bend"));

        DicomDataset cleaned = Dataset(new Deidentifier(Key, Retained.ForTeaching | Retained.SafePrivate).Clean(original, "a"));

        Assert.Equal("GEMS_PARM_01", cleaned.Text(0x00430010));
        Assert.Equal("0.985:1", cleaned.Text(0x00431027));
        Assert.Equal("1000", cleaned.Text(0x00431039));
        Assert.StartsWith("2.25.", cleaned.Text(0x00991002), StringComparison.Ordinal);
        Assert.Equal(
            [0x00430010u, 0x00431027u, 0x00431039u, 0x00990010u, 0x00991002u],
            cleaned.Elements.Where(element => (element.Tag.Group & 1) == 1).Select(element => element.Tag.Number));
        Assert.Contains("113111", cleaned.Items(0x00120064).Select(item => item.Text(0x00080100)));
        Assert.DoesNotContain(Dataset(new Deidentifier(Key).Clean(original, "a")).Elements, element => (element.Tag.Group & 1) == 1);
    }

    [Fact]
    public void Clean_DeviceIdentity_GivesTitlesOfApplicationsAPseudonym()
    {
        DicomDataset cleaned = Dataset(new Deidentifier(Key, Retained.DeviceIdentity).Clean(File(Radiograph().SetText(0x00080055, "AE", "ROOM3_STORE").SetText(0x00080054, "AE", "ROOM3_STORE")), "a"));

        Assert.Matches("^A-[0-9A-Z]{8}$", cleaned.Text(0x00080055));
        Assert.Equal(cleaned.Text(0x00080055), cleaned.Text(0x00080054));
    }

    [Fact]
    public void CleanObject_StructuredReport_KeepsItsContentItemByItem()
    {
        byte[] original = File(Report());

        DeidentifiedFile cleaned = new Deidentifier(Key, Retained.ForTeaching | Retained.CleanedContent).CleanObject(original, "report.dcm")!;

        DicomDataset dataset = Dataset(cleaned);
        IReadOnlyList<DicomDataset> items = dataset.Items(0x0040A730);

        // Dropped: patient's number, a comment without a technical word, the room; the observer's name stays as a dummy.
        Assert.Equal(["121008", "121071", "113809", "111040", "113733", "121005"], items.Select(item => item.Items(0x0040A043)[0].Text(0x00080100)));
        Assert.Equal("REMOVED", items[0].Text(0x0040A123));
        Assert.Equal("wrist PA left", items[1].Text(0x0040A160));
        Assert.Equal("Finding", items[1].Items(0x0040A043)[0].Text(0x00080104));
        Assert.NotEqual("20240917", items[2].Text(0x0040A120)![..8]);
        Assert.EndsWith("101500", items[2].Text(0x0040A120), StringComparison.Ordinal);
        Assert.StartsWith("2.25.", items[3].Items(0x00081199)[0].Text(0x00081155), StringComparison.Ordinal);
        Assert.Equal("63", items[4].Items(0x0040A300)[0].Text(0x0040A30A));
        Assert.Contains("113104", dataset.Items(0x00120064).Select(item => item.Text(0x00080100)));
        Assert.DoesNotContain(Secrets, secret => Holds(cleaned.Content, secret));
        Assert.True(cleaned.Report.Check!.Values > 5);
        Assert.Empty(cleaned.Report.Warnings);
    }

    [Fact]
    public void CleanObject_StructuredReportWithoutTheOption_LosesItsContent()
    {
        DeidentifiedFile cleaned = new Deidentifier(Key).CleanObject(File(Report()), "report.dcm")!;

        Assert.Empty(Dataset(cleaned).Items(0x0040A730));
        Assert.True(Dataset(cleaned).Contains(0x0040A730));
        Assert.DoesNotContain(Secrets, secret => Holds(cleaned.Content, secret));
    }

    [Theory]
    [InlineData(Retained.ForTeaching, 0)]
    [InlineData(Retained.ForTeaching | Retained.CleanedGraphics, 1)]
    public void CleanObject_PresentationState_KeepsDrawnLinesWithTheOptionAndCleansTheirTexts(Retained retained, int annotations)
    {
        DicomDataset text = new DicomDataset().SetText(0x00700006, "ST", "left wrist of Quillfeather").SetNumbers(0x00700014, "FL", 10, 20);
        DicomDataset line = new DicomDataset().SetNumbers(0x00700022, "FL", 1, 2, 3, 4).SetText(0x00700023, "CS", "POLYLINE");
        byte[] original = File(Person(new DicomDataset().SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.11.1").SetText(0x00080018, "UI", "1.2.826.99.5").SetText(0x00080060, "CS", "PR"))
            .SetText(0x00700080, "CS", "STATE").SetText(0x00700084, "PN", "Wendover^Ann")
            .SetItems(0x00700001, new DicomDataset().SetItems(0x00700008, text).SetItems(0x00700009, line)));

        DeidentifiedFile cleaned = new Deidentifier(Key, retained).CleanObject(original, "state.dcm")!;

        IReadOnlyList<DicomDataset> kept = Dataset(cleaned).Items(0x00700001);
        Assert.Equal(annotations, kept.Count);
        if (annotations == 1)
        {
            Assert.Equal("left wrist", kept[0].Items(0x00700008)[0].Text(0x00700006));
            Assert.Equal([1, 2, 3, 4], kept[0].Items(0x00700009)[0].Numbers(0x00700022)!);
        }

        Assert.DoesNotContain(Secrets, secret => Holds(cleaned.Content, secret));
    }

    [Fact]
    public void CleanObject_AnythingElse_IsNotTaken()
    {
        Assert.Null(new Deidentifier(Key).CleanObject(File(Radiograph()), "a"));
        Assert.Null(new Deidentifier(Key).CleanObject("%PDF-1.7 of a letter"u8.ToArray(), "a"));
        Assert.Null(new Deidentifier(Key).CleanObject(File(Person(new DicomDataset().SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.104.1").SetText(0x00080018, "UI", "1.2.826.99.6"))), "a"));
    }

    // The search after each file, on files that another program would have cleaned badly.
    [Theory]
    [InlineData("a name in another attribute", "(0008,103E)")]
    [InlineData("a name in UTF-16 in a private one", "stands in it")]
    [InlineData("a date written out", "(0010,4000)")]
    [InlineData("a number behind the data set", "a number of the patient stands in it")]
    [InlineData("a name in the pixels' bytes", "stands in it")]
    public void Search_ValueLeftSomewhere_IsNamedByPlaceAndNeverByValue(string how, string place)
    {
        DicomDataset original = Radiograph();
        DicomDataset cleaned = Dataset(new Deidentifier(Key).Clean(File(original), "a"));
        byte[] content = how switch
        {
            "a name in another attribute" => File(cleaned.SetText(0x0008103E, "LO", "wrist, QUILLFEATHER")),
            "a name in UTF-16 in a private one" => File(cleaned.SetText(0x00290010, "LO", "X").Set(DicomElement.OfValue(0x00291001, "OB", Encoding.Unicode.GetBytes("Quillfeather")))),
            "a date written out" => File(cleaned.SetText(0x00104000, "LT", "born on 4 July 1931")),
            "a number behind the data set" => [.. File(cleaned), .. "QF-88231"u8],
            _ => InPixels(cleaned),
        };

        IdentitySearch search = new(KnownIdentity.OfFile(File(original)));

        Assert.NotEmpty(search.Search(content, "it"));
        Assert.Contains(search.Search(content, "it"), finding => finding.Sentence.Contains(place, StringComparison.OrdinalIgnoreCase));
        Assert.DoesNotContain(search.Search(content, "it"), finding => Secrets.Any(secret => finding.Sentence.Contains(secret, StringComparison.OrdinalIgnoreCase)));
        Assert.Empty(search.Search(new Deidentifier(Key).Clean(File(original), "a").Content, "it"));
    }

    [Fact]
    public void Search_TenMillionNoisyPixels_FindsNoNameByChance()
    {
        DicomDataset cleaned = Dataset(new Deidentifier(Key).Clean(File(Radiograph()), "a"));
        byte[] noise = new byte[20_000_000];
        new Random(7).NextBytes(noise);
        byte[] content = File(cleaned.Set(DicomElement.OfValue(0x7FE00010, "OW", noise)));

        // Four letters stand in so many bytes with a chance of 20e6 · (2/256)^4 = 7 % each, times 40 names.
        IdentitySearch search = new(KnownIdentity.None.With(IdentityKind.PatientName, Enumerable.Range(0, 40).Select(number => $"An{(char)('a' + (number % 20))}{(char)('e' + (number / 20))}")));

        Assert.True(search.Values >= 40);
        Assert.Empty(search.Search(content, "it"));
    }

    [Fact]
    public void Clean_FoldersAndNames_LoseThePatientsDatesToo()
    {
        var deidentifier = new Deidentifier(Key);
        byte[] original = File(Radiograph());
        CaseIdentity identity = deidentifier.Clean(original, "a").Identity;

        Assert.Equal(identity.PatientLabel, deidentifier.FolderNameFor(original, "QUILLFEATHER OTTOLINE", identity));
        Assert.Equal("wrists", deidentifier.FolderNameFor(original, "wrists", identity));
        Assert.StartsWith(identity.PatientLabel!, deidentifier.NameFor(original, "2024-09-17 wrist.dcm", identity), StringComparison.Ordinal);
        Assert.Equal("2024-09-17 wrist.dcm", new Deidentifier(Key, Retained.FullDates).NameFor(original, "2024-09-17 wrist.dcm", identity));
    }

    [Fact]
    public async Task Look_NameDrawnIntoThePixels_IsToldFramedAndBlackedOutForGood()
    {
        byte[] original = WithText("QUILLFEATHER QF-88231");
        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, "a");
        DrawnTextHints hints = new(SaysDrawnText: false, []);

        (DeidentifiedFile told, bool isPng) = await PixelText.LookAsync(original, cleaned, "a", blackOut: false, hints);
        (DeidentifiedFile covered, _) = await PixelText.LookAsync(original, cleaned, "a", blackOut: true, hints);

        Assert.False(isPng);
        Assert.NotEmpty(told.Report.Pixels!.Places);
        Assert.False(told.Report.Pixels.IsBlackedOut);
        Assert.Equal(cleaned.Content, told.Content);
        Assert.Single(told.Report.Warnings);
        Assert.True(covered.Report.Pixels!.IsBlackedOut);
        Assert.Contains(covered.Report.Changes, change => change is { Action: PrivacyAction.BlackOut, Keyword: "PixelData" });
        Radiograph before = RadiographReader.Read(original, "a");
        Radiograph after = RadiographReader.Read(covered.Content, "a");
        foreach (PixelTextPlace place in covered.Report.Pixels.Places)
        {
            for (int row = place.Top; row < place.Top + place.Height; row++)
            {
                Assert.Equal(-1, after.Pixels.Row(row).Slice(place.Left, place.Width).IndexOfAnyExcept((ushort)(after.HighIsShownDark ? after.PixelMaximum : 0)));
            }
        }

        Assert.Equal(before.Pixels[5, 5], after.Pixels[5, 5]);
        Assert.Equal("NO", DicomContent.Read(covered.Content, "x").Dataset.Text(0x00280301));

        // The option is claimed where a program read the pixels; strokes alone do not vouch for them.
        Assert.Equal(TextReadingProgram.Installed is not null, DicomContent.Read(covered.Content, "x").Dataset.Items(0x00120064).Any(item => item.Text(0x00080100) == "113101"));
        byte[] framed = PixelText.Framed(original, "a", told.Report.Pixels.Places);
        Radiograph picture = RadiographReader.Read(framed, "a.png");
        Assert.Equal((before.Rows, before.Columns), (picture.Rows, picture.Columns));
    }

    private static DicomDataset Person(DicomDataset dataset) => dataset.SetText(0x00080005, "CS", "ISO_IR 192")
        .SetText(0x00080020, "DA", "20240917").SetText(0x00080050, "SH", "ACC-77120").SetText(0x00100010, "PN", "Quillfeather^Ottoline").SetText(0x00100020, "LO", "QF-88231")
        .SetText(0x00100030, "DA", "19310704").SetText(0x00101040, "LO", "Marsh Bend 7").SetText(0x0020000D, "UI", "1.2.826.99.1.1").SetText(0x0020000E, "UI", "1.2.826.99.2.1");

    private static DicomDataset Radiograph()
        => Person(DxObject.Create(InventedExposure.Limb(rows: 90, columns: 70), new DxDescription { PatientName = "x", PatientId = "x", Seed = "options" })).SetText(0x00080018, "UI", "1.2.826.99.3.1");

    private static DicomDataset Report()
    {
        static DicomDataset Item(string type, string code, string meaning, Action<DicomDataset> value, string scheme = "DCM")
        {
            DicomDataset item = new DicomDataset().SetText(0x0040A010, "CS", "CONTAINS").SetText(0x0040A040, "CS", type)
                .SetItems(0x0040A043, new DicomDataset().SetText(0x00080100, "SH", code).SetText(0x00080102, "SH", scheme).SetText(0x00080104, "LO", meaning));
            value(item);
            return item;
        }

        return Person(new DicomDataset().SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.88.67").SetText(0x00080018, "UI", "1.2.826.99.4").SetText(0x00080060, "CS", "SR"))
            .SetText(0x0040A040, "CS", "CONTAINER")
            .SetItems(
                0x0040A730,
                Item("PNAME", "121008", "Person Observer Name", item => item.SetText(0x0040A123, "PN", "Wendover^Ann")),
                Item("TEXT", "121030", "Subject ID", item => item.SetText(0x0040A160, "UT", "QF-88231")),
                Item("TEXT", "121071", "Finding", item => item.SetText(0x0040A160, "UT", "wrist PA left, Quillfeather")),
                Item("TEXT", "121106", "Comment", item => item.SetText(0x0040A160, "UT", "lives at Marsh Bend")),
                Item("TEXT", "121121", "Room Identification", item => item.SetText(0x0040A160, "UT", "Wendover room")),
                Item("DATETIME", "113809", "Start of X-Ray Irradiation", item => item.SetText(0x0040A120, "DT", "20240917101500")),
                Item("IMAGE", "111040", "Original Source", item => item.SetItems(0x00081199, new DicomDataset().SetText(0x00081150, "UI", "1.2.840.10008.5.1.4.1.1.1.1").SetText(0x00081155, "UI", "1.2.826.99.3.1"))),
                Item("NUM", "113733", "KVP", item => item.SetItems(0x0040A300, new DicomDataset().SetText(0x0040A30A, "DS", "63"))),
                Item("CODE", "121005", "Observer Type", item => item.SetItems(0x0040A168, new DicomDataset().SetText(0x00080100, "SH", "121006").SetText(0x00080102, "SH", "DCM").SetText(0x00080104, "LO", "Person"))));
    }

    private static byte[] InPixels(DicomDataset cleaned)
    {
        byte[] pixels = new byte[90_000];
        "Quillfeather"u8.CopyTo(pixels.AsSpan(45_000));
        return File(cleaned.Set(DicomElement.OfValue(0x7FE00010, "OW", pixels)));
    }

    private static byte[] WithText(string text)
    {
        Radiograph plain = InventedExposure.Limb(rows: 900, columns: 800);
        using SKBitmap bitmap = new(new SKImageInfo(plain.Columns, plain.Rows, SKColorType.Gray8));
        using (SKCanvas canvas = new(bitmap))
        using (SKFont font = new(SKTypeface.FromFile(Path.Combine(SharedData.RepositoryRoot, "src", "Hotlight.Drawing", "Fonts", "Inter-SemiBold.otf")), 30) { Edging = SKFontEdging.Alias })
        using (SKPaint paint = new() { Color = SKColors.White })
        {
            canvas.Clear(SKColors.Black);
            canvas.DrawText(text, 90, 140, SKTextAlign.Left, font, paint);
        }

        Raster<ushort> pixels = new(plain.Rows, plain.Columns, plain.Pixels.Samples.ToArray());
        ushort value = (ushort)(plain.HighIsShownDark ? 0 : plain.PixelMaximum);
        for (int row = 0; row < plain.Rows; row++)
        {
            for (int column = 0; column < plain.Columns; column++)
            {
                if (bitmap.GetPixel(column, row).Red > 127)
                {
                    pixels[row, column] = value;
                }
            }
        }

        return File(Person(DxObject.Create(plain with { Pixels = pixels }, new DxDescription { PatientName = "x", PatientId = "x", Seed = "drawn" })));
    }

    private static DicomDataset Dataset(DeidentifiedFile file) => DicomContent.Read(file.Content, "x").Dataset;

    private static byte[] File(DicomDataset dataset)
    {
        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset);
        return stream.ToArray();
    }

    private static bool Holds(byte[] content, string text) => Encoding.Latin1.GetString(content).Contains(text, StringComparison.OrdinalIgnoreCase);
}
