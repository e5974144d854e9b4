using System.Text;
using Hotlight.Catalogue;
using Hotlight.Privacy;
using Hotlight.Records;
using Hotlight.Records.Sources.Tables;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Records;

namespace Hotlight.Workflows.Tests.Records;

public sealed class ExposureIntakeTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private IExposureLog log = null!;
    private ExposureIntake intake = null!;

    public async Task InitializeAsync()
    {
        await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        log = SqliteRecords.Log(folder["records.db"], TimeProvider.System);
        intake = new ExposureIntake(log, ProjectionCatalogue.BuiltIn, PrivacyKey.Fresh(), IntakeSetting.Teaching);
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task Folder_ComesInOnceHoweverOften()
    {
        Directory.CreateDirectory(folder["archive"]);
        for (int image = 1; image <= 5; image++)
        {
            File.WriteAllBytes(folder[$"archive/{image}.dcm"], InventedSources.File(InventedSources.Header(image).SetText(0x00080032, "TM", $"0912{image:00}")));
        }

        FileBatch batch = intake.ReadFolder(folder["archive"]);
        Assert.Equal((5L, 5), (batch.Files, batch.Exposures));
        Assert.Equal(5, (await intake.KeepAsync(batch, "archive"))!.Added);
        LogImport again = (await intake.KeepAsync(intake.ReadFolder(folder["archive"]), "archive"))!;
        Assert.Equal((0L, 5L), (again.Added, again.Known));
        Assert.Equal(5, await log.CountEntriesAsync(new LogQuery()));
    }

    [Fact]
    public async Task ALaterReject_MakesAKeptEntryARejectedOne()
    {
        FileBatch first = intake.NewBatch();
        first.Add(new MemoryStream(InventedSources.File(InventedSources.Header())), "1.dcm");
        await intake.KeepAsync(first, "first");
        FileBatch second = intake.NewBatch();
        second.Add(new MemoryStream(InventedSources.File(InventedSources.Header())), "1.dcm");
        second.Add(new MemoryStream(InventedSources.Document(InventedSources.KeyObjects("113001", "111210", 1))), "ko.dcm");
        Assert.Equal(1, (await intake.KeepAsync(second, "second"))!.Completed);
        ExposureEntry entry = Assert.Single(await log.ListAsync(new LogQuery(), 0, 10));
        Assert.Equal((ExposureUse.Rejected, RejectReason.Motion), (entry.Use, entry.Reason));
    }

    [Fact]
    public void AddHead_TakesAHeaderAndAsksForMoreOfADocument()
    {
        FileBatch batch = intake.NewBatch();
        byte[] image = InventedSources.File(InventedSources.Header(), pixelBytes: 100_000);
        Assert.NotNull(batch.AddHead(image.AsMemory(0, 40_000), isWhole: false, "a.dcm"));
        byte[] report = InventedSources.Document(InventedSources.DoseReport(new InventedEvent(1), new InventedEvent(2)));
        Assert.Null(batch.AddHead(report.AsMemory(0, report.Length - 500), isWhole: false, "b.dcm"));
        Assert.NotNull(batch.AddHead(report, isWhole: true, "b.dcm"));
        Assert.Equal((2L, 3), (batch.Files, batch.Exposures));
    }

    [Fact]
    public async Task ATableWithAFault_LeavesNothingHalfBroughtIn()
    {
        // The fault comes last, after thousands of rows that were read already.
        StringBuilder text = new("date,id,reason\n");
        for (int row = 0; row < 12_000; row++)
        {
            text.Append("2026-03-03,").Append(row).Append(",\n");
        }

        text.Append("2026-03-03,x,moon phase\n");
        byte[] bytes = Encoding.UTF8.GetBytes(text.ToString());
        TableMapping mapping = TableLook.At(new MemoryStream(bytes), "t").Proposed;
        TableCheck check = intake.Check(new MemoryStream(bytes), mapping, shown: 3);
        Assert.Equal((12_001L, 12_000L, 1L, 0L, 3), (check.Rows, check.Good, check.FaultCount, check.SameKey, check.First.Count));
        FormatException error = await Assert.ThrowsAsync<FormatException>(() => intake.KeepTableAsync(new MemoryStream(bytes), mapping, "t", leaveOutFaulty: false));
        Assert.StartsWith("Line 12002, “reason”:", error.Message, StringComparison.Ordinal);
        Assert.Equal(0, await log.CountEntriesAsync(new LogQuery()));
        Assert.Empty(await log.ImportsAsync(string.Empty));
        Assert.Equal(12_000, (await intake.KeepTableAsync(new MemoryStream(bytes), mapping, "t", leaveOutFaulty: true)).Added);
    }

    [Fact]
    public void Check_RowsThatShareAKey_AreCounted()
    {
        byte[] bytes = Encoding.UTF8.GetBytes("date,room,exam\n2026-03-03,1,Gizmo\n2026-03-03,1,Gizmo\n2026-03-03,2,Gizmo\n");
        TableCheck check = intake.Check(new MemoryStream(bytes), TableLook.At(new MemoryStream(bytes), "t").Proposed);
        Assert.Equal(1, check.SameKey);
        Assert.Equal(("Gizmo", 3L), Assert.Single(check.UnknownProjections));
    }

    [Fact]
    public void Mappings_AreKeptByNameAndComeBack()
    {
        MappingShelf shelf = new(folder["mappings"]);
        Assert.Empty(shelf.All());
        TableMapping mapping = new() { Name = "Room 2: rejects/öl", Key = ["d"], Columns = new Dictionary<string, TableMember> { ["d"] = TableMember.Date } };
        shelf.Keep(mapping);
        shelf.Keep(mapping with { Decimal = ',' });
        File.WriteAllText(folder["mappings/other.json"], "{}");
        TableMapping kept = Assert.Single(shelf.All());
        Assert.Equal((mapping.Name, ','), (kept.Name, kept.Decimal));
        Assert.Throws<FormatException>(() => shelf.Keep(new TableMapping()));
    }
}
