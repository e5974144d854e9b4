using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Catalogue;
using Hotlight.Imaging.Dicom;
using Hotlight.Records.Sources;
using Hotlight.Testing;

namespace Hotlight.Records.Tests.Sources;

public sealed partial class DoseReportTests
{
    private static readonly DicomSource Source = new(new ProjectionWords(ProjectionCatalogue.BuiltIn), new OpenNaming(), ShiftHours.Usual);

    /// <summary>The report of which the outputs of other authors' programs are kept: tests/reference/dose-reports.</summary>
    private static readonly DicomDataset Kept = InventedSources.DoseReport(
        new InventedEvent(2001) { Image = 1, RejectReason = "111209", Person = "Reed^Invented" },
        new InventedEvent(2002) { StartedAt = "20260303091512", Image = 2, IsRepeated = true, KermaAreaProduct = 3.4e-6, ExposureIndex = 263 },
        new InventedEvent(2003) { StartedAt = "20260303223000", Protocol = "Knie seitl.", RegionCode = null, ViewCode = null, KermaAreaProduct = 0.092, KermaAreaProductUnit = "dGy.cm2" });

    [Fact]
    public void Read_AReport_GivesEveryEvent()
    {
        ExposureEntry[] entries = [.. Source.Read(new MemoryStream(InventedSources.Document(Kept)), "dose.dcm").Exposures.Select(found => found.Entry)];
        Assert.Equal(3, entries.Length);
        ExposureEntry first = entries[0];
        Assert.Equal("uid:" + InventedSources.Uid(2001), first.Key);
        Assert.Equal(new DateTime(2026, 3, 3, 9, 12, 7, 500), first.ExposedAt);
        Assert.Equal("wrist-pa", first.ProjectionId);
        Assert.Equal((ExposureUse.Rejected, RejectReason.Positioning, false), (first.Use, first.Reason, first.IsRepeat));
        Assert.Equal("staff:13", first.Performer);
        Assert.Equal("SALTMARSH-2", first.Room);
        Assert.Equal(AgeGroup.Child, first.AgeGroup);

        // 1 Gy·m² = 10⁵ dGy·cm²: 3.1e-6 Gy·m² = 0.31 dGy·cm².
        Assert.Equal(0.31, first.KermaAreaProductDgyCm2!.Value, 1e-12);
        Assert.Equal(2.5, first.ExposureMas!.Value, 1e-12);
        Assert.Equal(55, first.TubeVoltageKvp);
        Assert.True(entries[1].IsRepeat);
        Assert.Equal(ExposureUse.Kept, entries[1].Use);
        Assert.Equal("knee-lateral", entries[2].ProjectionId);
        Assert.Equal(0.092, entries[2].KermaAreaProductDgyCm2!.Value, 1e-12);
        Assert.Equal(Shift.Night, entries[2].Shift);
    }

    // UCUM: prefixes of SI; 1 m² = 10⁴ cm².
    [Theory]
    [InlineData("Gy.m2", 3.1e-6, 0.31)]
    [InlineData("uGy.m2", 3.1, 0.31)]
    [InlineData("mGy.cm2", 31, 0.31)]
    [InlineData("cGy.cm2", 3.1, 0.31)]
    [InlineData("dGy.cm2", 0.31, 0.31)]
    [InlineData("Gy.cm2", 0.031, 0.31)]
    public void Read_AKermaAreaProductInAnyUnit_IsConverted(string unit, double value, double expected)
        => Assert.Equal(expected, ReadOne(new InventedEvent(1) { KermaAreaProduct = value, KermaAreaProductUnit = unit }).KermaAreaProductDgyCm2!.Value, 1e-12);

    [Fact]
    public void Read_AKermaAreaProductInAnUnknownUnit_IsLeftOut()
        => Assert.Null(ReadOne(new InventedEvent(1) { KermaAreaProductUnit = "R.cm2" }).KermaAreaProductDgyCm2);

    [Fact]
    public void Read_OnlyFluoroscopy_IsAnotherKind() => Assert.True(Source.Read(InventedSources.DoseReport(new InventedEvent(1) { IsFluoroscopy = true })).IsOtherKind);

    [Fact]
    public void Read_AReportOfSomethingElse_IsAnotherKind()
    {
        DicomDataset other = InventedSources.DoseReport(new InventedEvent(1));
        other.SetItems(0x0040A043, new DicomDataset().SetText(0x00080100, "SH", "126000"));
        Assert.True(Source.Read(other).IsOtherKind);
    }

    [Fact]
    public void Read_WithoutEvents_IsOneSentence() => Assert.Contains("without an irradiation event", Source.Read(InventedSources.DoseReport()).NothingBecause, StringComparison.Ordinal);

    [Fact]
    public void Read_AReportCutAnywhere_NeverThrows()
    {
        byte[] whole = InventedSources.Document(Kept);
        for (int length = 0; length < whole.Length; length += 31)
        {
            SourceReading reading = Source.Read(new MemoryStream(whole[..length]), "dose.dcm");
            Assert.True(reading.NothingBecause is { Length: > 5 } || reading.Exposures.Count > 0);
        }
    }

    /// <summary>Evidence independent: DCMTK's dsrdump reads the same numbers out of the same bytes. The outputs are kept with the file; tests/reference/dose-reports/read.sh makes them anew.</summary>
    [Fact]
    public void KeptReport_IsWhatOthersRead()
    {
        string folder = Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "dose-reports");
        string file = Path.Combine(folder, "report.dcm");
        if (Environment.GetEnvironmentVariable("HOTLIGHT_WRITE_REFERENCE") is not null)
        {
            Directory.CreateDirectory(folder);
            File.WriteAllBytes(file, InventedSources.Document(Kept));
        }

        Assert.Equal(File.ReadAllBytes(file), InventedSources.Document(Kept));
        ExposureEntry[] entries = [.. Source.Read(new MemoryStream(File.ReadAllBytes(file)), "report.dcm").Exposures.Select(found => found.Entry)];
        string dump = File.ReadAllText(Path.Combine(folder, "dsrdump.txt"));
        string[] events = dump.Split("CONTAINER:(113706,DCM,")[1..];
        Assert.Equal(entries.Length, events.Length);
        for (int place = 0; place < events.Length; place++)
        {
            ExposureEntry entry = entries[place];
            Assert.Contains($"\"{entry.Key["uid:".Length..]}\"", events[place], StringComparison.Ordinal);
            Assert.Equal(entry.ExposureIndex!.Value, NumberIn(events[place], "113845"), 1e-9);
            Assert.Equal(entry.TubeVoltageKvp!.Value, NumberIn(events[place], "113733"), 1e-9);
            Assert.Equal(entry.ExposureMas!.Value * 1000, NumberIn(events[place], "113736"), 1e-9);
            double factor = events[place].Contains("(Gy.m2,UCUM", StringComparison.Ordinal) ? 1e5 : 1;
            Assert.Equal(entry.KermaAreaProductDgyCm2!.Value, NumberIn(events[place], "122130") * factor, 1e-9);
        }

        // dciodvfy names what breaks the standard; warnings of its dictionary's age aside, nothing does.
        Assert.DoesNotContain(File.ReadAllLines(Path.Combine(folder, "dciodvfy.txt")), line => line.StartsWith("Error", StringComparison.Ordinal));
    }

    private static double NumberIn(string text, string concept)
    {
        Match match = Regex.Match(text, $"NUM:\\({concept},DCM,[^)]*\\)=\"([0-9.eE+-]+)\"");
        Assert.True(match.Success, $"{concept} is not in the dump");
        return double.Parse(match.Groups[1].Value, CultureInfo.InvariantCulture);
    }

    private static ExposureEntry ReadOne(InventedEvent each) => Assert.Single(Source.Read(InventedSources.DoseReport(each)).Exposures).Entry;
}
