using Hotlight.Privacy;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Tests.Cases;

public sealed class InboxTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private readonly HandClock clock = new();
    private readonly ArrivalLog log = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;

    public async Task InitializeAsync()
    {
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        cases = new CaseWorkflow(
            await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System), files, shelf, TimeProvider.System, intake: new IntakePolicy(IntakeSetting.Teaching, PrivacyKey.Fresh()));
        Directory.CreateDirectory(folder["in"]);
    }

    public Task DisposeAsync()
    {
        Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public async Task LookAsync_FileThatStillGrows_IsLeftUntilItIsWhole()
    {
        Inbox inbox = Create();
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200), folder["limb.dcm"]);
        byte[] whole = await File.ReadAllBytesAsync(folder["limb.dcm"]);
        await File.WriteAllBytesAsync(folder["in/limb.dcm"], whole[..5000]);

        Assert.True(await inbox.LookAsync());
        clock.Go(Inbox.WholeAfter);
        await File.WriteAllBytesAsync(folder["in/limb.dcm"], whole);
        Assert.True(await inbox.LookAsync());
        Assert.Equal(0, await cases.CountAsync());

        clock.Go(Inbox.WholeAfter);
        Assert.False(await inbox.LookAsync());
        Assert.Equal(1, await cases.CountAsync());
        Assert.True(File.Exists(folder["in/taken/limb.dcm"]));
        Assert.False(File.Exists(folder["in/limb.dcm"]));
        Assert.Equal(CaseOrigin.Inbox, (await cases.GetAsync((await cases.ListAsync(0, 1))[0].Id)).ReceivedBy);
    }

    [Fact]
    public async Task LookAsync_NoRadiograph_IsMovedWithTheReasonBeside()
    {
        await File.WriteAllTextAsync(folder["in/letter.doc"], "Dear colleague");
        await LookTwiceAsync(Create());

        Assert.StartsWith("letter.doc: ", await File.ReadAllTextAsync(folder["in/refused/letter.doc.txt"]), StringComparison.Ordinal);
        Assert.True(File.Exists(folder["in/refused/letter.doc"]));
        Assert.Equal("letter.doc", Assert.Single(log.Sums.Refusals).Name);
    }

    [Fact]
    public async Task LookAsync_KilledBetweenKeepingAndMoving_MakesNoSecondCase()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200), folder["in/limb.dcm"]);
        await using (FileStream file = File.OpenRead(folder["in/limb.dcm"]))
        {
            // What an earlier bench did before it was killed.
            await cases.BringInAsync("limb.dcm", file, 1 << 24, CaseOrigin.Inbox);
        }

        await LookTwiceAsync(Create());

        Assert.Equal(1, await cases.CountAsync());
        Assert.True(File.Exists(folder["in/taken/limb.dcm"]));
        Assert.Equal((0, 1, 0), (log.Sums.Kept, log.Sums.Known, log.Sums.Refused));
    }

    [Fact]
    public async Task LookAsync_FoldersSameNamesAndHiddenFiles_AreKeptApartAndLeftAlone()
    {
        Directory.CreateDirectory(folder["in/room 2"]);
        Directory.CreateDirectory(folder["in/taken"]);
        await File.WriteAllTextAsync(folder["in/taken/limb.dcm"], "an earlier one");
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200, seed: 1), folder["in/limb.dcm"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200, seed: 2), folder["in/room 2/limb.dcm"]);
        await File.WriteAllTextAsync(folder["in/.hidden"], "x");
        await File.WriteAllTextAsync(folder["in/sending.part"], "x");

        await LookTwiceAsync(Create(removes: false));

        Assert.Equal(2, await cases.CountAsync());
        Assert.Equal("an earlier one", await File.ReadAllTextAsync(folder["in/taken/limb.dcm"]));
        Assert.True(File.Exists(folder["in/taken/limb (2).dcm"]));
        Assert.True(File.Exists(folder["in/taken/room 2/limb.dcm"]));
        Assert.True(File.Exists(folder["in/.hidden"]) && File.Exists(folder["in/sending.part"]));
    }

    [Fact]
    public async Task LookAsync_WithRemoving_LeavesNoOriginal()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200), folder["in/limb.dcm"]);
        await LookTwiceAsync(Create(removes: true));

        Assert.Equal(1, await cases.CountAsync());
        Assert.Empty(Directory.GetFiles(folder["in"], "*", SearchOption.AllDirectories));
    }

    private async Task LookTwiceAsync(Inbox inbox)
    {
        await inbox.LookAsync();
        clock.Go(Inbox.WholeAfter);
        await inbox.LookAsync();
    }

    private Inbox Create(bool removes = false) => new(cases, log, folder["in"], removes, 1 << 26, clock);

    private sealed class HandClock : TimeProvider
    {
        private DateTimeOffset now = new(2026, 1, 5, 8, 0, 0, TimeSpan.Zero);

        public void Go(TimeSpan time) => now += time;

        public override DateTimeOffset GetUtcNow() => now;
    }
}
