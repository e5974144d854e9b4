using Hotlight.Catalogue;
using Hotlight.Imaging.Dicom;
using Hotlight.Records.Sources;
using Hotlight.Testing;

namespace Hotlight.Records.Tests.Sources;

public sealed class HeaderTests
{
    private static readonly ProjectionWords Words = new(ProjectionCatalogue.BuiltIn);
    private static readonly DicomSource Source = new(Words, new OpenNaming(), ShiftHours.Usual);

    [Theory]
    [InlineData(DicomEncoding.ExplicitLittleEndian, 2048)]
    [InlineData(DicomEncoding.ImplicitLittleEndian, 3_000_000)]
    [InlineData(DicomEncoding.ExplicitBigEndian, 300_000)]
    [InlineData(DicomEncoding.Deflated, 300_000)]
    public void Read_AHeaderInEveryEncoding_GivesEveryMember(DicomEncoding encoding, int pixelBytes)
    {
        ExposureEntry entry = One(Source.Read(new MemoryStream(InventedSources.File(InventedSources.Header(), encoding, pixelBytes)), "a.dcm"));

        Assert.Equal("uid:" + InventedSources.Uid(1), entry.Key);
        Assert.Equal(new DateTime(2026, 3, 3, 9, 12, 7, 500), entry.ExposedAt);
        Assert.Equal("wrist-pa", entry.ProjectionId);
        Assert.Equal("WRIST PA", entry.GivenProjection);
        Assert.Equal("SALTMARSH-2", entry.Room);
        Assert.Equal("SML-7", entry.Receptor);
        Assert.Equal("staff:13", entry.Performer);
        Assert.Equal(Shift.Early, entry.Shift);
        Assert.Equal(AgeGroup.Child, entry.AgeGroup);
        Assert.Equal(ExposureUse.Kept, entry.Use);
        Assert.Equal(312, entry.ExposureIndex);
        Assert.Equal(250, entry.TargetExposureIndex);

        // IEC 62494-1: 10·log10(312 / 250) = 0.96215, printed to 5 decimals.
        Assert.Equal(0.96215, entry.DeviationIndex!.Value, 0.000005);
        Assert.Equal(55, entry.TubeVoltageKvp);
        Assert.Equal(2.5, entry.ExposureMas);
        Assert.Equal(0.31, entry.KermaAreaProductDgyCm2);
        Assert.Equal("patient:id:SL-0042", entry.PatientKey);
        Assert.Equal("uid:" + InventedSources.Uid(1000), entry.ExaminationKey);
        Assert.Equal(EntrySource.Header, entry.Source);
    }

    [Fact]
    public void Read_ALargeHeader_IsReadOnlyAsFarAsThePixels()
    {
        // A private attribute of 200,000 bytes before the pixels, and 4 MiB of them behind.
        DicomDataset header = InventedSources.Header().Set(DicomElement.OfValue(0x00290010, "OB", new byte[200_000]));
        using CountingStream stream = new(InventedSources.File(header, pixelBytes: 4 << 20));
        Assert.Equal("wrist-pa", One(Source.Read(stream, "a.dcm")).ProjectionId);
        Assert.InRange(stream.Taken, 200_000, 1 << 20);
    }

    [Fact]
    public void Read_AFileCutInItsHeader_IsOneSentence()
    {
        byte[] whole = InventedSources.File(InventedSources.Header());
        for (int length = 0; length < whole.Length - 2048 - 12; length += 7)
        {
            SourceReading reading = Source.Read(new MemoryStream(whole[..length]), "a.dcm");
            Assert.DoesNotContain(reading.Exposures, found => found.Entry.Key.Length == 0);
            Assert.True(reading.NothingBecause is { Length: > 5 } || reading.Exposures.Count == 1);
        }
    }

    [Theory]
    [InlineData("MODALITY", "CT")]
    [InlineData("CLASS", "1.2.840.10008.5.1.4.1.1.7")]
    public void Read_AnotherKind_IsSaidAndNotWrong(string what, string value)
    {
        DicomDataset header = what == "MODALITY" ? InventedSources.Header().SetText(0x00080060, "CS", value) : InventedSources.Header().SetText(0x00080016, "UI", value);
        SourceReading reading = Source.Read(header);
        Assert.True(reading.IsOtherKind);
        Assert.NotNull(reading.NothingBecause);
    }

    [Fact]
    public void Read_AText_IsAnotherKind() => Assert.True(Source.Read(new MemoryStream("hello, this is a letter"u8.ToArray()), "a.txt").IsOtherKind);

    [Fact]
    public void Read_WithoutADate_SaysWhichAreMissing()
    {
        SourceReading reading = Source.Read(InventedSources.Header().Remove(0x00080020).Remove(0x00080022));
        Assert.False(reading.IsOtherKind);
        Assert.Contains("date", reading.NothingBecause, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0x00280300u, "CS", "YES")]
    [InlineData(0x00189004u, "CS", "SERVICE")]
    [InlineData(0x00180015u, "CS", "PHANTOM")]
    [InlineData(0x00181030u, "LO", "QC flat field")]
    [InlineData(0x00100010u, "PN", "Phantom^Weekly")]
    public void Read_WhatSaysThatItIsATest_IsOne(uint tag, string vr, string value)
        => Assert.Equal(ExposureUse.Test, One(Source.Read(InventedSources.Header().SetText(tag, vr, value))).Use);

    [Fact]
    public void Read_RejectInTheAcquisitionContext_IsOne()
    {
        static DicomDataset Code(string value) => new DicomDataset().SetText(0x00080100, "SH", value).SetText(0x00080102, "SH", "DCM").SetText(0x00080104, "LO", "any words");
        DicomDataset Item(string concept, string value) => new DicomDataset().SetText(0x0040A040, "CS", "CODE").SetItems(0x0040A043, Code(concept)).SetItems(0x0040A168, Code(value));
        ExposureEntry entry = One(Source.Read(InventedSources.Header().SetItems(0x00400555, Item("130503", "373066001"), Item("130504", "111210"), Item("128551", "373067005"))));
        Assert.Equal((ExposureUse.Rejected, RejectReason.Motion, false), (entry.Use, entry.Reason, entry.IsRepeat));
    }

    [Theory]
    [InlineData("WRIST", "PA", "wrist-pa")]
    [InlineData("CHEST", "PA", "chest-pa")]
    [InlineData("CHEST", "LL", "chest-lateral")]
    [InlineData("LSPINE", "LATERAL", "lumbar-spine-lateral")]
    [InlineData("CSPINE", "LL", "cervical-spine-lateral")]
    [InlineData("ANKLE", "AP", "ankle-ap")]
    [InlineData("KNEE", "ML", "knee-lateral")]
    [InlineData("CHEST", "AP", null)] // mobile, supine or lordotic: the terms do not tell
    [InlineData("ABDOMEN", "AP", null)] // erect or supine
    [InlineData("HEAD", "LL", null)] // skull, sinuses, facial bones …
    [InlineData("WRIST", null, null)]
    public void OfTerms_GivesTheOnlyOrThePlainProjection(string part, string? view, string? expected) => Assert.Equal(expected, Words.OfTerms(part, view));

    [Theory]
    [InlineData("Wrist PA", "wrist-pa")]
    [InlineData("Handgelenk p.a. links", "wrist-pa")]
    [InlineData("HAND DP RE", "hand-pa")]
    [InlineData("Knie seitl.", "knee-lateral")]
    [InlineData("LWS seitlich", "lumbar-spine-lateral")]
    [InlineData("Thorax pa", "chest-pa")]
    [InlineData("wrist-pa-ulnar-deviation", "wrist-pa-ulnar-deviation")]
    [InlineData("scaphoid something", null)]
    [InlineData("", null)]
    public void OfWords_NamesInEnglishAndGerman(string words, string? expected) => Assert.Equal(expected, Words.OfWords(words));

    [Fact]
    public void OfWords_EveryNameOfTheCatalogue_FindsItsProjectionOrNone()
    {
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            Assert.Equal(projection.Id, Words.OfWords(projection.Id));
            Assert.Contains(Words.OfWords(projection.Name), new[] { projection.Id, null });
        }
    }

    private static ExposureEntry One(SourceReading reading) => Assert.Single(reading.Exposures).Entry;

    private sealed class CountingStream(byte[] bytes) : MemoryStream(bytes)
    {
        public long Taken { get; private set; }

        public override int Read(Span<byte> buffer)
        {
            int read = base.Read(buffer);
            Taken += read;
            return read;
        }

        public override int Read(byte[] buffer, int offset, int count)
        {
            int read = base.Read(buffer, offset, count);
            Taken += read;
            return read;
        }
    }
}
