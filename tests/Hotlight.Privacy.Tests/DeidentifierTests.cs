using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Simulation;
using Hotlight.Testing;

namespace Hotlight.Privacy.Tests;

public sealed class DeidentifierTests
{
    private static readonly PrivacyKey Key = new(Enumerable.Range(0, PrivacyKey.Bytes).Select(number => (byte)number).ToArray());

    /// <summary>Every value of the fixture that tells who the patient is, where it was made or who made it.</summary>
    private static readonly string[] Secrets =
    [
        "Quillfeather", "Ottoline", "QF-88231", "ACC-77120", "19310704", "Marsh Bend 7", "0555-1234", "Dr Wendover", "Wendover", "Saltmarsh Infirmary",
        "ROOM3CR", "SN-445566", "1.2.826.99.1", "1.2.826.99.2", "1.2.826.99.3", "20240917", "20240918", "old fracture seen by", "Maid of the mill",
        "PRIVATE_MAKER", "SECRETPRIVATE", "TRAILERNAME", "SENDERAET", "PREAMBLENAME", "next of kin", "Quillfeather-curve",
    ];

    [Fact]
    public void Clean_FileWithIdentityEverywhere_HoldsNoneOfItAsBytes()
    {
        byte[] original = Fixture();
        foreach (string secret in Secrets)
        {
            Assert.True(Find(original, secret), $"the fixture does not hold '{secret}'");
        }

        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, "limb.dcm");

        foreach (string secret in Secrets)
        {
            Assert.False(Find(cleaned.Content, secret), $"'{secret}' still stands in the file");
        }

        Assert.DoesNotContain(Secrets, secret => System.Text.Json.JsonSerializer.Serialize(cleaned.Report).Contains(secret, StringComparison.Ordinal));
    }

    [Fact]
    public void Clean_WhatHotlightMeasuresBy_Stays()
    {
        byte[] original = Fixture();
        Radiograph before = RadiographReader.Read(original, "limb.dcm");
        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, "limb.dcm");
        Radiograph after = RadiographReader.Read(cleaned.Content, "limb.dcm");

        Assert.True(before.Pixels.Samples.SequenceEqual(after.Pixels.Samples));
        Assert.Equal(before.ReceptorSpacing, after.ReceptorSpacing);
        Assert.Equal(before.Exposure with { SaysIdentityRemoved = true, CarriesPatientIdentity = false, ProcessingDescription = null, PatientAgeYears = 90, StationName = null }, after.Exposure with { ProcessingDescription = null, StationName = null });

        Assert.True(before.Exposure.CarriesPatientIdentity);

        // The room has another name, the same in every file.
        Assert.Matches("^S-[0-9A-HJKMNP-TV-Z]{8}$", after.Exposure.StationName);
        Assert.Equal(after.Exposure.StationName, Dataset(new Deidentifier(Key).Clean(Fixture(instance: "1.2.826.99.3.8"), "b")).Text(0x00081010));
        Assert.Equal("YES", DicomContent.Read(cleaned.Content, "x").Dataset.Text(0x00120062));
        Assert.Equal(["113100", "113105", "113107", "113108"], DicomContent.Read(cleaned.Content, "x").Dataset.Items(0x00120064).Select(item => item.Text(0x00080100)));
    }

    [Fact]
    public void Clean_TwoFilesOfOnePatient_AgreeInPseudonymExaminationAndDaysBetween()
    {
        var deidentifier = new Deidentifier(Key);
        DicomDataset first = Dataset(deidentifier.Clean(Fixture(), "a"));
        DicomDataset second = Dataset(deidentifier.Clean(Fixture(instance: "1.2.826.99.3.2", date: "20240924"), "b"));

        Assert.Equal(first.Text(0x00100020), second.Text(0x00100020));
        Assert.StartsWith("P-", first.Text(0x00100020), StringComparison.Ordinal);
        Assert.Equal(first.Text(0x0020000D), second.Text(0x0020000D));
        Assert.NotEqual(first.Text(0x00080018), second.Text(0x00080018));
        Assert.Matches(@"^2\.25\.[1-9]\d{0,38}$", first.Text(0x00080018));
        Assert.Equal(TimeSpan.FromDays(7), Day(second) - Day(first));
        Assert.Equal(new DateTime(2024, 9, 17).DayOfWeek, Day(first).DayOfWeek);
        Assert.True(new DateTime(2024, 9, 17) - Day(first) >= TimeSpan.FromDays(365));

        // Another store's key gives other pseudonyms: nobody joins two stores by them.
        Assert.NotEqual(first.Text(0x00100020), Dataset(new Deidentifier(PrivacyKey.Fresh()).Clean(Fixture(), "a")).Text(0x00100020));
    }

    [Fact]
    public void Clean_BasicProfileAlone_KeepsNoDateNoAgeNoDescription()
    {
        DicomDataset cleaned = Dataset(new Deidentifier(Key, Retained.Nothing).Clean(Fixture(), "a"));

        Assert.Null(cleaned.Text(0x00080020));
        Assert.True(cleaned.Contains(0x00080020));
        Assert.False(cleaned.Contains(0x00101010));
        Assert.False(cleaned.Contains(0x0008103E));
        Assert.Equal("REMOVED", cleaned.Text(0x00280303));
        Assert.Equal(["113100"], cleaned.Items(0x00120064).Select(item => item.Text(0x00080100)));
    }

    [Theory]
    [InlineData(Retained.InstitutionIdentity, 0x00080080, "Saltmarsh Infirmary")]
    [InlineData(Retained.DeviceIdentity, 0x00081010, "ROOM3CR")]
    [InlineData(Retained.DeviceIdentity, 0x00181000, "SN-445566")]
    [InlineData(Retained.Uids, 0x00080018, "1.2.826.99.3.1")]
    [InlineData(Retained.FullDates, 0x00080020, "20240917")]
    public void Clean_WhatIsToStay_StaysAndTheRestGoes(Retained retained, uint tag, string value)
    {
        DicomDataset cleaned = Dataset(new Deidentifier(Key, retained).Clean(Fixture(), "a"));

        Assert.Equal(value, cleaned.Text(tag));
        Assert.StartsWith("P-", cleaned.Text(0x00100020), StringComparison.Ordinal);
        Assert.Null(cleaned.Text(0x00100030));
        Assert.False(Find(new Deidentifier(Key, retained).Clean(Fixture(), "a").Content, "Quillfeather"));
    }

    [Fact]
    public void Clean_DescriptionWithTechnicalWordsAndAName_KeepsTheWords()
        => Assert.Equal("wrist PA left", Dataset(new Deidentifier(Key).Clean(Fixture(), "a")).Text(0x0008103E));

    [Fact]
    public void Clean_NestedItems_AreTreatedByTheSameRows()
    {
        DicomDataset item = Assert.Single(Dataset(new Deidentifier(Key).Clean(Fixture(), "a")).Items(0x00082218));

        Assert.Equal("T-15460", item.Text(0x00080100));
        Assert.Equal("wrist", item.Text(0x00080104));
        Assert.False(item.Contains(0x00081050));
        Assert.DoesNotContain(Assert.Single(item.Items(0x00082220)).Elements, element => element.Vr == "PN" && element.Value.Length > 0 && !element.Value.Span.StartsWith("REMOVED"u8));
    }

    [Fact]
    public void Clean_OverlayInUnusedBits_IsGoneAndThePixelsAreNot()
    {
        // 12 bits stored, an overlay drawn in bit 15 of every third pixel.
        byte[] plain = SmallFile(overlayBit: false);
        byte[] drawn = SmallFile(overlayBit: true);
        Radiograph before = RadiographReader.Read(drawn, "drawn");
        Assert.NotEmpty(before.Overlays);

        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(drawn, "drawn");

        Radiograph after = RadiographReader.Read(cleaned.Content, "drawn");
        Assert.Empty(after.Overlays);
        Assert.True(RadiographReader.Read(plain, "plain").Pixels.Samples.SequenceEqual(after.Pixels.Samples));
        byte[] pixels = DicomContent.Read(cleaned.Content, "x").Dataset.Find(0x7FE00010)!.Value.ToArray();
        Assert.DoesNotContain(Enumerable.Range(0, pixels.Length / 2), index => (pixels[(2 * index) + 1] & 0xF0) != 0);
    }

    [Theory]
    [InlineData(DicomEncoding.ImplicitLittleEndian)]
    [InlineData(DicomEncoding.ExplicitBigEndian)]
    [InlineData(DicomEncoding.Deflated)]
    public void Clean_OtherEncodings_HoldNoIdentityEither(DicomEncoding encoding)
    {
        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(Fixture(encoding: encoding), "a");

        foreach (string secret in Secrets)
        {
            Assert.False(Find(cleaned.Content, secret), $"'{secret}' still stands in the file");
        }
    }

    [Fact]
    public void NameFor_NameThatHoldsThePatients_IsThePseudonym()
    {
        byte[] original = Fixture();
        var deidentifier = new Deidentifier(Key);
        DeidentifiedFile cleaned = deidentifier.Clean(original, "a");

        Assert.Equal("wrist.dcm", deidentifier.NameFor(original, "wrist.dcm", cleaned.Identity));
        Assert.StartsWith(cleaned.Identity.PatientLabel!, deidentifier.NameFor(original, "QUILLFEATHER_wrist.dcm", cleaned.Identity), StringComparison.Ordinal);
        Assert.StartsWith(cleaned.Identity.PatientLabel!, deidentifier.NameFor(original, "qf88231-1.dcm", cleaned.Identity), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("091Y", 90)]
    [InlineData("089Y", 89)]
    [InlineData("018M", 1.5)]
    public void Clean_Age_AboveEightyNineBecomesNinety(string age, double years)
        => Assert.Equal(years, RadiographReader.Read(new Deidentifier(Key).Clean(Fixture(age: age), "a").Content, "a").Exposure.PatientAgeYears);

    [Fact]
    public void Clean_BurnedInAnnotation_AsksAPersonToLook()
    {
        Assert.Contains("text is drawn into the pixels", Assert.Single(new Deidentifier(Key).Clean(Fixture(burnedIn: "YES"), "a").Report.Warnings), StringComparison.Ordinal);
        Assert.Empty(new Deidentifier(Key).Clean(Fixture(burnedIn: "NO"), "a").Report.Warnings);
        Assert.Contains("does not say", Assert.Single(new Deidentifier(Key).Clean(Fixture(), "a").Report.Warnings), StringComparison.Ordinal);
    }

    [Fact]
    public void Clean_Again_ChangesNoPixelAndStaysAnonymous()
    {
        byte[] once = new Deidentifier(Key).Clean(Fixture(), "a").Content;
        byte[] twice = new Deidentifier(Key).Clean(once, "a").Content;

        Assert.Equal("YES", DicomContent.Read(twice, "x").Dataset.Text(0x00120062));
        Assert.DoesNotContain(Secrets, secret => Find(twice, secret));
    }

    [Theory]
    [InlineData(DicomEncoding.ExplicitLittleEndian)]
    [InlineData(DicomEncoding.ImplicitLittleEndian)]
    public void Clean_DamagedHeaders_AreRefusedInOneSentenceOrCleaned(DicomEncoding encoding)
    {
        byte[] original = Fixture(encoding: encoding);
        int header = DicomContent.Read(original, "x").Dataset.Find(0x7FE00010)!.Value.Length;
        var deidentifier = new Deidentifier(Key);
        var random = new Random(20261126);
        int refused = 0;
        for (int round = 0; round < 1500; round++)
        {
            byte[] damaged = [.. original];
            for (int change = 0; change <= round % 4; change++)
            {
                damaged[132 + random.Next(damaged.Length - header - 132)] = (byte)random.Next(256);
            }

            try
            {
                Assert.NotEmpty(deidentifier.Clean(damaged, "damaged.dcm").Content);
            }
            catch (UnreadableImageException error)
            {
                Assert.DoesNotContain('\n', error.Reason);
                refused++;
            }
        }

        // Both happen, or the damage was none.
        Assert.InRange(refused, 50, 1450);
    }

    public static TheoryData<string> Pictures => [.. Directory.GetFiles(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "pictures"))
        .Where(file => Path.GetExtension(file) is ".png" or ".jpg" or ".tif").Select(file => Path.GetFileName(file)!).Where(name => !name.StartsWith("colour", StringComparison.Ordinal)).Order()];

    [Theory]
    [MemberData(nameof(Pictures))]
    public void Clean_Picture_KeepsPixelsAndDropsTheRest(string name)
    {
        byte[] original = WithRemark(File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "pictures", name)));
        Radiograph before = RadiographReader.Read(original, name);

        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, name);

        Assert.False(Find(cleaned.Content, "Quillfeather"));
        Radiograph after = RadiographReader.Read(cleaned.Content, name);
        Assert.True(before.Pixels.Samples.SequenceEqual(after.Pixels.Samples));
        Assert.Equal((before.BitsStored, before.HighIsShownDark, before.LossyCompressed), (after.BitsStored, after.HighIsShownDark, after.LossyCompressed));
    }

    [SharedDataFact("radiographs-dicom")]
    public void Clean_OpenRadiographs_AreMeasuredTheSameBeforeAndAfter()
    {
        int compared = 0;
        foreach (string path in SharedData.Files("radiographs-dicom"))
        {
            Radiograph before;
            try
            {
                before = RadiographReader.Read(path);
            }
            catch (UnreadableImageException)
            {
                continue;
            }

            byte[] original = File.ReadAllBytes(path);
            DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, before.FileName);
            Assert.Equal(Measured(before), Measured(RadiographReader.Read(cleaned.Content, before.FileName)));

            foreach (string value in IdentifyingValues.Of(DicomContent.Read(original, path).Dataset).All.Where(value => value.Any(char.IsLetter) && value.Length > 4))
            {
                Assert.False(Find(cleaned.Content, value), $"{before.FileName}: an identifying value of {value.Length} characters still stands in the file");
            }

            compared++;
        }

        Assert.True(compared >= 10);
    }

    [Fact]
    public void Clean_DemoCase_IsMeasuredTheSameBeforeAndAfter()
    {
        DemoCase demo = DemoCases.All.First(each => each.Id == "wrist-pa-good");
        byte[] original = demo.Expose().Dicom;

        DeidentifiedFile cleaned = new Deidentifier(Key).Clean(original, demo.FileName);

        Assert.Equal(Measured(RadiographReader.Read(original, demo.FileName)), Measured(RadiographReader.Read(cleaned.Content, demo.FileName)));
    }

    private static string Measured(Radiograph radiograph)
    {
        JsonNode document = JsonNode.Parse(MeasurementJson.Write(RadiographMeasure.Measure(radiograph, new MeasureOptions()), indented: false))!;
        document.AsObject().Remove("timings");
        document.AsObject().Remove("timing");
        RemoveTimes(document);

        // A remark about the header's identity is no measurement.
        return document.ToJsonString();
    }

    private static void RemoveTimes(JsonNode? node)
    {
        if (node is JsonObject members)
        {
            foreach (string name in members.Select(member => member.Key).ToArray())
            {
                if (name.EndsWith("Ms", StringComparison.Ordinal) || name is "remarks" or "identity")
                {
                    members.Remove(name);
                }
                else
                {
                    RemoveTimes(members[name]);
                }
            }
        }
        else if (node is JsonArray items)
        {
            foreach (JsonNode? item in items)
            {
                RemoveTimes(item);
            }
        }
    }

    private static DicomDataset Dataset(DeidentifiedFile file) => DicomContent.Read(file.Content, "x").Dataset;

    private static DateTime Day(DicomDataset dataset) => DateTime.ParseExact(dataset.Text(0x00080020)!, "yyyyMMdd", CultureInfo.InvariantCulture);

    private static bool Find(byte[] content, string text)
        => content.AsSpan().IndexOf(Encoding.Latin1.GetBytes(text)) >= 0 || content.AsSpan().IndexOf(Encoding.Latin1.GetBytes(text.ToUpperInvariant())) >= 0;

    private static byte[] Fixture(
        string instance = "1.2.826.99.3.1", string date = "20240917", string age = "091Y", string? burnedIn = null, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian)
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(rows: 90, columns: 70), new DxDescription { PatientName = "x", PatientId = "x", Seed = "privacy" });
        dataset.SetText(0x00080005, "CS", "ISO_IR 192")
            .SetText(0x00080012, "DA", "20240918").SetText(0x00080018, "UI", instance).SetText(0x00080020, "DA", date).SetText(0x00080022, "DA", date)
            .SetText(0x00080030, "TM", "101500").SetText(0x00080050, "SH", "ACC-77120").SetText(0x00080080, "LO", "Saltmarsh Infirmary")
            .SetText(0x00080090, "PN", "Wendover^Ann").SetText(0x00081010, "SH", "ROOM3CR").SetText(0x0008103E, "LO", "wrist PA left, Quillfeather")
            .SetText(0x00081030, "LO", "old fracture seen by Dr Wendover")
            .SetText(0x00100010, "PN", "Quillfeather^Ottoline").SetText(0x00100020, "LO", "QF-88231").SetText(0x00100030, "DA", "19310704")
            .SetText(0x00101010, "AS", age).SetText(0x00101040, "LO", "Marsh Bend 7").SetText(0x00102154, "SH", "0555-1234")
            .SetText(0x00104000, "LT", "next of kin: Maid of the mill")
            .SetText(0x00181000, "LO", "SN-445566").SetText(0x0020000D, "UI", "1.2.826.99.1.1").SetText(0x0020000E, "UI", "1.2.826.99.2.1")
            .SetText(0x00080014, "UI", "1.2.826.99.1.77")

            // Free text in a place for a term, and a person's name where the table has no row.
            .SetText(0x00181160, "SH", "Quillfeather").SetText(0x00280303, "CS", "UNMODIFIED").SetText(0x00700084, "PN", "Wendover^Ann")

            // Private, a curve, an overlay, padding at the end.
            .SetText(0x00090010, "LO", "PRIVATE_MAKER").Set(DicomElement.OfValue(0x00091001, "UN", Encoding.ASCII.GetBytes("SECRETPRIVATE ")))
            .Set(DicomElement.OfValue(0x50003000, "OW", Encoding.ASCII.GetBytes("Quillfeather-curve")))
            .SetNumbers(0x60000010, "US", 8).SetNumbers(0x60000011, "US", 16).SetText(0x60000040, "CS", "G").SetNumbers(0x60000050, "SS", 1, 1)
            .SetNumbers(0x60000100, "US", 1).SetNumbers(0x60000102, "US", 0).Set(DicomElement.OfValue(0x60003000, "OW", Encoding.ASCII.GetBytes("Quillfeather..42")))
            .Set(DicomElement.OfValue(0xFFFCFFFC, "OB", Encoding.ASCII.GetBytes("TRAILERNAME ")))
            .SetItems(0x00082218, new DicomDataset().SetText(0x00080100, "SH", "T-15460").SetText(0x00080102, "SH", "SRT").SetText(0x00080104, "LO", "wrist of Ottoline")
                .SetText(0x00081050, "PN", "Wendover^Ann")
                .SetItems(0x00082220, new DicomDataset().SetText(0x00080104, "LO", "left").SetText(0x0040A123, "PN", "Wendover^Ann").SetText(0x00080100, "SH", "G-A101")))
            .SetItems(0x00081140, new DicomDataset().SetText(0x00081150, "UI", "1.2.840.10008.5.1.4.1.1.1.1").SetText(0x00081155, "UI", "1.2.826.99.3.9"))
            .SetItems(0x00400275, new DicomDataset().SetText(0x00400007, "LO", "wrist for Quillfeather").SetText(0x00401001, "SH", "ACC-77120"));
        if (burnedIn is not null)
        {
            dataset.SetText(0x00280301, "CS", burnedIn);
        }
        else
        {
            dataset.Remove(0x00280301);
        }

        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset, encoding);
        byte[] file = stream.ToArray();
        Encoding.ASCII.GetBytes("PREAMBLENAME").CopyTo(file, 0);

        // The sender's title in the file meta information, in place of the version's name of the same length.
        int version = file.AsSpan().IndexOf("HOTLIGHT"u8);
        byte[] sender = [.. file.AsSpan(0, version), .. "SENDERAET "u8, .. file.AsSpan(version + 8)];
        sender[version - 2] = 10;
        sender[140] += 2;
        return sender;
    }

    private static byte[] SmallFile(bool overlayBit)
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(rows: 60, columns: 48), new DxDescription { PatientName = "x", PatientId = "x", Seed = "bits" });
        byte[] words = new byte[60 * 48 * 2];
        for (int pixel = 0; pixel < 60 * 48; pixel++)
        {
            int value = pixel % 4096;
            words[2 * pixel] = (byte)value;
            words[(2 * pixel) + 1] = (byte)((value >> 8) | (overlayBit && pixel % 3 == 0 ? 0x80 : 0));
        }

        dataset.SetNumbers(0x00280101, "US", 12).SetNumbers(0x00280102, "US", 11).Set(DicomElement.OfValue(0x7FE00010, "OW", words));
        if (overlayBit)
        {
            dataset.SetNumbers(0x60000010, "US", 60).SetNumbers(0x60000011, "US", 48).SetText(0x60000040, "CS", "G").SetNumbers(0x60000050, "SS", 1, 1)
                .SetNumbers(0x60000100, "US", 16).SetNumbers(0x60000102, "US", 15);
        }

        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset);
        return stream.ToArray();
    }

    /// <summary>The picture with a name in a text chunk, a comment segment, or behind its end.</summary>
    private static byte[] WithRemark(byte[] file)
    {
        byte[] name = Encoding.ASCII.GetBytes("Author\0Quillfeather");
        if (file[0] == 0x89)
        {
            // After the header chunk; the check value of an ancillary chunk is not looked at.
            int place = 8 + 25;
            return [.. file.AsSpan(0, place), 0, 0, 0, (byte)name.Length, .. "tEXt"u8, .. name, 0, 0, 0, 0, .. file.AsSpan(place)];
        }

        return file[0] == 0xFF
            ? [0xFF, 0xD8, 0xFF, 0xFE, 0, (byte)(name.Length + 2), .. name, 0xFF, 0xE1, 0, (byte)(name.Length + 2), .. name, .. file.AsSpan(2), .. name]
            : [.. file, .. name];
    }
}
