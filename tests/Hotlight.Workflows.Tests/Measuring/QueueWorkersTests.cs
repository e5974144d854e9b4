using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Privacy;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Workflows.Tests.Measuring;

public sealed class QueueWorkersTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private readonly CaseNews news = new();
    private IRecordStore records = null!;
    private IMeasuringQueue queue = null!;
    private WatchedFiles files = null!;
    private RadiographShelf shelf = null!;
    private ClinicWorkflow clinic = null!;
    private CaseWorkflow cases = null!;

    public async Task InitializeAsync()
    {
        records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System, news);
        queue = SqliteRecords.Queue(folder["records.db"], TimeProvider.System, news);
        files = new WatchedFiles(new FolderFileStore(folder["files"]));
        shelf = new RadiographShelf(files);
        clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System), news);
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, clinic: clinic, intake: new IntakePolicy(IntakeSetting.Teaching, PrivacyKey.Fresh()), queue: queue);
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
    public async Task RunAsync_SettingsChange_BringsEveryCaseUpToDateAndTellsHowFarItIs()
    {
        for (int seed = 1; seed <= 3; seed++)
        {
            await cases.ChooseProjectionAsync(await cases.OpenAsync((await BringInAsync(seed)).Record.Id), "wrist-pa");
        }

        QueueWorkers workers = Workers();
        var told = new List<MeasuringProgress>();
        workers.Changed += () =>
        {
            lock (told)
            {
                told.Add(workers.Progress);
            }
        };
        await RunUntilAsync(workers, async () =>
        {
            ClinicState state = await clinic.ChangeAsync(clinic.Current, new ClinicSettings { TargetExposureIndices = new Dictionary<string, double> { ["wrist-pa"] = 400 } }, "target", null);
            await UntilAsync(async () => (await records.ListAsync(0, 9)).All(each => each.MeasuredWith == state.ResultKey) && workers.Progress == MeasuringProgress.None);
        });

        // 10·log10(312/400) by IEC 62494-1, as a case that is opened has it; nothing was opened here.
        foreach (CaseSummary each in await records.ListAsync(0, 9))
        {
            Assert.Contains("-1.07", (await records.FindAsync(each.Id))!.MeasurementsJson, StringComparison.Ordinal);
        }

        // Three small cases may be done between two tellings; what was told last is that nothing waits.
        lock (told)
        {
            Assert.Equal(MeasuringProgress.None, told.LastOrDefault(MeasuringProgress.None));
        }
    }

    [Theory]
    [InlineData(CaseOrigin.Inbox)]
    [InlineData(CaseOrigin.Network)]
    [InlineData(CaseOrigin.Web)]
    public async Task BringInAsync_FileThatCameByItself_IsKeptAtOnceAndMeasuredByTheQueue(CaseOrigin origin)
    {
        CaseRecord kept = (await BringInAsync(1, origin)).Record;

        Assert.Equal((string.Empty, "{}", "DX", "L", null), (kept.MeasuredBy, kept.MeasurementsJson, kept.Modality, kept.Laterality, kept.Verdict));
        Assert.Equal(1, (await queue.ProgressAsync()).Waiting);
        await RunUntilAsync(Workers(), () => UntilAsync(async () => (await records.FindAsync(kept.Id))!.MeasuredBy == CaseWorkflow.ThisVersion));

        // As one that a reader brought in and saw measured.
        CaseRecord seen = (await BringInAsync(1)).Record;
        Assert.Equal(kept.Id, seen.Id);
        OpenCase open = await cases.OpenAsync(kept.Id);
        Assert.Equal((2, 312), (open.Record.Version, open.Measurements.Exposure.Value!.ExposureIndex));
    }

    [Fact]
    public async Task BringInAsync_NoRadiographThatCameByItself_IsRefusedBeforeAnythingIsKept()
    {
        byte[] limb = Limb(1);
        await Assert.ThrowsAsync<UnreadableImageException>(() => cases.BringInAsync("cut.dcm", new MemoryStream(limb[..9000]), long.MaxValue, CaseOrigin.Network));
        Assert.Equal((0, MeasuringProgress.None), (await records.CountAsync(), await queue.ProgressAsync()));
        Assert.Empty(Directory.EnumerateFiles(folder["files"], "*", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task OpenAsync_CaseThatWaits_IsMeasuredAtOnceAndTheQueueLeavesItAlone()
    {
        CaseRecord kept = (await BringInAsync(1, CaseOrigin.Inbox)).Record;

        OpenCase open = await cases.OpenAsync(kept.Id);

        Assert.Equal((CaseWorkflow.ThisVersion, 2), (open.Record.MeasuredBy, open.Record.Version));
        Assert.Equal(MeasuringProgress.None, await queue.ProgressAsync());
        int reads = files.Reads;
        MeasuringJob job = (await queue.TakeAsync(cases.Target, "a"))!;
        await Workers().DoAsync(job, CancellationToken.None);
        Assert.Equal((reads, 2), (files.Reads, (await records.FindAsync(kept.Id))!.Version));
        Assert.Null(await queue.TakeAsync(cases.Target, "a"));
    }

    [Fact]
    public async Task MeasureAsync_ReaderAnswersMeanwhile_KeepsTheAnswerAndMeasuresOnce()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync((await BringInAsync(1)).Record.Id), "wrist-pa");
        CaseRecord earlier = await records.ChangeAsync(open.Record with { MeasuredBy = "earlier" });
        await queue.AskAsync(cases.Target);
        string line = open.Critique!.Verdict.Open[0].LineId;
        int reads = files.Reads;
        files.Reading = async () => await cases.AnswerAsync(open with { Record = earlier }, line, new Answer(ChecklistState.NotMet));

        Assert.True(await cases.MeasureAsync((await queue.TakeAsync(cases.Target, "a"))!, queue));

        OpenCase after = await cases.OpenAsync(earlier.Id);
        Assert.Equal((CaseWorkflow.ThisVersion, earlier.Version + 2, 1), (after.Record.MeasuredBy, after.Record.Version, after.Record.AnswerStep));
        Assert.Equal(ChecklistState.NotMet, after.Answers!.Lines[line].State);
        Assert.Equal(after.Critique!.Verdict.Kind == VerdictKind.Repeat ? "repeat" : after.Record.Verdict, after.Record.Verdict);
        Assert.Equal(reads + 1, files.Reads);
    }

    [Fact]
    public async Task DoAsync_FileThatIsMissingOrSpoiled_IsTriedAgainOrGivenUpWithItsReason()
    {
        CaseRecord missing = (await BringInAsync(1, CaseOrigin.Inbox)).Record;
        CaseRecord spoiled = (await BringInAsync(2, CaseOrigin.Inbox)).Record;
        File.Delete(PathOf(missing));
        await File.WriteAllTextAsync(PathOf(spoiled), "Dear colleague");
        QueueWorkers workers = Workers();

        for (int number = 0; number < 2; number++)
        {
            await workers.DoAsync((await queue.TakeAsync(cases.Target, "a"))!, CancellationToken.None);
        }

        Dictionary<Guid, QueuedCase> left = (await queue.ListAsync(9)).ToDictionary(each => each.CaseId);
        Assert.Equal((QueuedState.Waiting, 1), (left[missing.Id].State, left[missing.Id].Attempts));
        Assert.Contains("missing", left[missing.Id].Reason, StringComparison.Ordinal);
        Assert.Equal(QueuedState.GivenUp, left[spoiled.Id].State);
        Assert.Contains("text file", left[spoiled.Id].Reason, StringComparison.Ordinal);
        Assert.Equal(missing, await records.FindAsync(missing.Id));
    }

    [Fact]
    public async Task RunAsync_StoppedInTheMiddle_GivesTheCaseBackUntouched()
    {
        CaseRecord kept = (await BringInAsync(1, CaseOrigin.Inbox)).Record;
        var begun = new TaskCompletionSource();
        files.Reading = () =>
        {
            begun.TrySetResult();
            return Task.Delay(Timeout.Infinite);
        };
        using var stop = new CancellationTokenSource();
        Task running = Workers().RunAsync(stop.Token);
        await begun.Task;
        Assert.Equal(QueuedState.Running, Assert.Single(await queue.ListAsync(9)).State);

        await stop.CancelAsync();
        await running;

        QueuedCase back = Assert.Single(await queue.ListAsync(9));
        Assert.Equal((QueuedState.Waiting, 0), (back.State, back.Attempts));
        Assert.Equal(kept, await records.FindAsync(kept.Id));
    }

    private static async Task UntilAsync(Func<Task<bool>> isSo)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(10));
        while (!await isSo())
        {
            await Task.Delay(20, patience.Token);
        }
    }

    private static async Task RunUntilAsync(QueueWorkers workers, Func<Task> until)
    {
        using var stop = new CancellationTokenSource();
        Task running = workers.RunAsync(stop.Token);
        try
        {
            await until();
        }
        finally
        {
            await stop.CancelAsync();
            await running;
        }
    }

    private static byte[] Limb(int seed)
    {
        using var made = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200, seed: seed), made["limb.dcm"]);
        return File.ReadAllBytes(made["limb.dcm"]);
    }

    private string PathOf(CaseRecord record) => Path.Combine(folder["files"], record.ContentHash[..2], record.ContentHash);

    private QueueWorkers Workers() => new(cases, queue, clinic, news, TimeProvider.System);

    private Task<CaseBroughtIn> BringInAsync(int seed, CaseOrigin origin = CaseOrigin.Upload) => cases.BringInAsync($"limb {seed}.dcm", new MemoryStream(Limb(seed)), long.MaxValue, origin);

    /// <summary>Files whose reading is counted and can be held up.</summary>
    private sealed class WatchedFiles(IFileStore below) : IFileStore
    {
        private int reads;

        public int Reads => reads;

        /// <summary>What happens while a file is read; null: nothing.</summary>
        public Func<Task>? Reading { get; set; }

        public Task<KeptFile> KeepAsync(Stream content, long limitBytes, CancellationToken cancellation = default) => below.KeepAsync(content, limitBytes, cancellation);

        public async Task<byte[]> ReadAsync(string contentHash, CancellationToken cancellation = default)
        {
            Interlocked.Increment(ref reads);
            await (Reading?.Invoke() ?? Task.CompletedTask);
            return await below.ReadAsync(contentHash, cancellation);
        }

        public Task<byte[]> ReadHeadAsync(string contentHash, int mostBytes, CancellationToken cancellation = default) => below.ReadHeadAsync(contentHash, mostBytes, cancellation);

        public void Remove(string contentHash) => below.Remove(contentHash);
    }
}
