using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Privacy;
using Hotlight.Records;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Records;

namespace Hotlight.Workflows.Tests.Records;

public sealed class CaseExposuresTests : IAsyncLifetime, IDisposable
{
    private static readonly PrivacyKey Key = PrivacyKey.Fresh();
    private readonly ScratchFolder folder = new();
    private IRecordStore records = null!;
    private IExposureLog log = null!;
    private CaseWorkflow cases = null!;
    private CaseExposures exposures = null!;

    public async Task InitializeAsync()
    {
        records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        log = SqliteRecords.Log(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        cases = new CaseWorkflow(records, files, new RadiographShelf(files), TimeProvider.System, intake: new IntakePolicy(IntakeSetting.Teaching, Key));
        exposures = new CaseExposures(records, files, log, ProjectionCatalogue.BuiltIn, Key);
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task ACaseWithAVerdict_IsOneExposure_WhateverTheVerdictSays()
    {
        CaseRecord record = await BringInAsync();
        Assert.Equal(0, await exposures.KeepAsync([record.Id]));
        OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        Assert.Equal(1, await exposures.KeepAsync([record.Id]));
        ExposureEntry entry = Assert.Single(await log.ListAsync(new LogQuery(), 0, 10));
        Assert.Equal((record.Id, "wrist-pa", ExposureUse.Kept, EntrySource.Bench, false), (entry.CaseId, entry.ProjectionId, entry.Use, entry.Source, entry.IsRepeat));
        Assert.Equal(312, entry.ExposureIndex);

        // The same again changes nothing; that it is the examination's second exposure of the view makes it a repeat.
        Assert.Equal(0, await exposures.KeepAsync([record.Id]));
        await cases.ExamineAsync(open, new ExaminationContext { RepeatsAlready = 1 });
        Assert.Equal(1, await exposures.KeepAsync([record.Id]));
        entry = Assert.Single(await log.ListAsync(new LogQuery(), 0, 10));
        Assert.True(entry.IsRepeat);
        Assert.Equal(ExposureUse.Kept, entry.Use);
    }

    [Fact]
    public async Task WhatAPersonSaidOnTheCase_StaysWhenTheCaseIsRenewed()
    {
        CaseRecord record = await BringInAsync();
        OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        await exposures.SayAsync(open.Record, ExposureUse.Rejected, RejectReason.Motion);
        await cases.ChooseProjectionAsync(open, "wrist-lateral");
        await exposures.KeepAsync([record.Id]);
        ExposureEntry entry = Assert.Single(await log.ListAsync(new LogQuery(), 0, 10));
        Assert.Equal((ExposureUse.Rejected, RejectReason.Motion, "wrist-lateral"), (entry.Use, entry.Reason, entry.ProjectionId));
        Assert.Equal(entry, await exposures.FindAsync(await cases.GetAsync(record.Id)));
    }

    private async Task<CaseRecord> BringInAsync()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100), folder["limb.dcm"]);
        await using FileStream content = File.OpenRead(folder["limb.dcm"]);
        return (await cases.BringInAsync("limb.dcm", content, long.MaxValue)).Record;
    }
}
