using Hotlight.Catalogue;
using Hotlight.Imaging.Dicom;
using Hotlight.Records.Sources;
using Hotlight.Testing;

namespace Hotlight.Records.Tests.Sources;

public sealed class SourceBatchTests
{
    private static readonly DicomSource Source = new(new ProjectionWords(ProjectionCatalogue.BuiltIn), new OpenNaming(), ShiftHours.Usual);

    [Fact]
    public void Entries_HeaderAndReportOfOneEvent_AreOneExposureInAnyOrder()
    {
        DicomDataset header = InventedSources.Header().Remove(0x0018115E).SetText(0x00083010, "UI", InventedSources.Uid(2001));
        DicomDataset report = InventedSources.DoseReport(new InventedEvent(2001));
        foreach (DicomDataset[] order in new[] { new[] { header, report }, [report, header] })
        {
            ExposureEntry entry = Assert.Single(Batch(order).Entries());
            Assert.Equal("uid:" + InventedSources.Uid(2001), entry.Key);
            Assert.Equal(0.31, entry.KermaAreaProductDgyCm2!.Value, 1e-12);
            Assert.Equal("SML-7", entry.Receptor);
        }
    }

    [Fact]
    public void Entries_AReportThatPointsToTheImage_IsTheSameExposure()
    {
        foreach (bool reportFirst in new[] { true, false })
        {
            DicomDataset header = InventedSources.Header(image: 7), report = InventedSources.DoseReport(new InventedEvent(2001) { Image = 7 });
            Assert.Equal("uid:" + InventedSources.Uid(2001), Assert.Single((reportFirst ? Batch(report, header) : Batch(header, report)).Entries()).Key);
        }
    }

    [Fact]
    public void Entries_ForProcessingAndForPresentation_AreOneExposure()
    {
        DicomDataset processing = InventedSources.Header(image: 1).SetText(0x00080068, "CS", "FOR PROCESSING");
        SourceBatch batch = Batch(processing, InventedSources.Header(image: 2), InventedSources.Header(image: 3, study: 1001));
        Assert.Equal(["uid:" + InventedSources.Uid(2), "uid:" + InventedSources.Uid(3)], batch.Entries().Select(entry => entry.Key));
        Assert.Equal(1, batch.Merged);
    }

    [Fact]
    public void Entries_KeyObjects_RejectAndSayWhy()
    {
        ExposureEntry[] entries = [.. Batch(
            InventedSources.KeyObjects("113001", "111209", 1),
            InventedSources.KeyObjects("113037", "113026", 2),
            InventedSources.KeyObjects("113010", "111211", 3),
            Later(1, 0), Later(2, 1), Later(3, 2), Later(4, 3)).Entries()];
        Assert.Equal([ExposureUse.Rejected, ExposureUse.Rejected, ExposureUse.Kept, ExposureUse.Kept], entries.Select(entry => entry.Use));
        Assert.Equal([RejectReason.Positioning, RejectReason.Other, null, null], entries.Select(entry => entry.Reason));

        // The exposure after each reject of the same projection and side is its repeat; the one after a kept one is none.
        Assert.Equal([false, true, true, false], entries.Select(entry => entry.IsRepeat));
    }

    [Fact]
    public void Entries_AQualityIssue_GivesTheReasonOfAReject()
    {
        ExposureEntry entry = Assert.Single(Batch(InventedSources.KeyObjects("113001", null, 1), InventedSources.KeyObjects("113010", "111210", 1), InventedSources.Header()).Entries());
        Assert.Equal((ExposureUse.Rejected, RejectReason.Motion), (entry.Use, entry.Reason));
    }

    [Fact]
    public void Entries_AnotherSideAfterAReject_IsNoRepeat()
        => Assert.All(Batch(InventedSources.KeyObjects("113001", "111209", 1), Later(1, 0), Later(2, 1).SetText(0x00200062, "CS", "L")).Entries(), entry => Assert.False(entry.IsRepeat));

    [Fact]
    public void Add_TheSameFileTwice_CountsOnce()
    {
        SourceBatch batch = Batch(InventedSources.Header(), InventedSources.Header());
        Assert.Equal((1, 1), (batch.Count, batch.Merged));
    }

    private static DicomDataset Later(int image, int minutes) => InventedSources.Header(image).SetText(0x00080032, "TM", $"09{12 + minutes:00}00");

    private static SourceBatch Batch(params DicomDataset[] files)
    {
        var batch = new SourceBatch();
        foreach (DicomDataset file in files)
        {
            batch.Add(Source.Read(file));
        }

        return batch;
    }
}
