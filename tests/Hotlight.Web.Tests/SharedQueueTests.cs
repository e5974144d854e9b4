using System.Diagnostics;
using Hotlight.Judgement;
using Hotlight.Store.Postgres;
using Hotlight.Store.Tests;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Readings;
using Microsoft.AspNetCore.Builder;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Several bench processes on one store: they share the measuring queue and see each other's changes.</summary>
public sealed class SharedQueueTests : IAsyncLifetime
{
    private const string Earlier = "an earlier version";
    private readonly ScratchFolder folder = new();
    private readonly List<WebApplication> benches = [];
    private SystemChromium? browser;

    public Task InitializeAsync() => Task.CompletedTask;

    public async Task DisposeAsync()
    {
        foreach (WebApplication bench in benches.ToArray())
        {
            await StopAsync(bench);
        }

        if (browser is not null)
        {
            await browser.DisposeAsync();
        }

        SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [SystemFileFact("/usr/bin/mkfifo")]
    public Task Queue_BenchKilledInTheMiddleOfACase_IsDoneOnceByAnother_Sqlite() => IsDoneOnceByAnotherAsync(null);

    [PostgresFact]
    public Task Queue_BenchKilledInTheMiddleOfACase_IsDoneOnceByAnother_Postgres() => IsDoneOnceByAnotherAsync(Database());

    [PostgresFact]
    public async Task TwoBenches_OnOneDatabase_SeeReadingsAndSettingsOfEachOther()
    {
        string store = Database();
        WebApplication here = await StartAsync(store, TimeProvider.System);
        CaseWorkflow cases = here.Services.GetRequiredService<CaseWorkflow>();
        ClinicWorkflow clinic = here.Services.GetRequiredService<ClinicWorkflow>();
        ReadingWorkflow readings = here.Services.GetRequiredService<ReadingWorkflow>();
        var dunlin = new Person { Id = Guid.NewGuid(), Pseudonym = "Dunlin", Role = PersonRole.Reader };
        await clinic.ChangeAsync(clinic.Current, ClinicSettings.None with { People = [dunlin] }, "people", null);
        OpenCase open = await BringInAsync(cases);

        using BenchProcess there = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"], store);
        browser = await SystemChromium.LaunchAsync();
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(there.Address, $"/agreement/cases/{open.Record.Id}").ToString());
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Nobody has read it on their own yet.");

        OwnReading reading = await readings.BeginAsync(open.Record.Id, CaseReader.Of(dunlin));
        OpenCase own = await cases.OpenAsync(reading.Id);
        await cases.AnswerAsync(own, own.Critique!.Verdict.Open[0].LineId, new Answer(ChecklistState.Met));
        await readings.FinishAsync(reading.Id, dunlin.Id);
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Dunlin");
        await Assertions.Expect(page.Locator("main")).Not.ToContainTextAsync("Nobody has read it on their own yet.");

        // The settings of the other, and with them its queue, follow too.
        await clinic.ChangeAsync(clinic.Current, clinic.Current.Settings with { People = [dunlin, new Person { Id = Guid.NewGuid(), Pseudonym = "Redshank", Role = PersonRole.Reader }] }, "people", null);
        await Assertions.Expect(page.Locator(".reader-choice select")).ToContainTextAsync("Redshank");
    }

    private async Task IsDoneOnceByAnotherAsync(string? store)
    {
        // A case that another version measured, and its file such that reading it never ends.
        WebApplication first = await StartAsync(store, TimeProvider.System);
        CaseRecord before = (await BringInAsync(first.Services.GetRequiredService<CaseWorkflow>())).Record;
        before = await first.Services.GetRequiredService<IRecordStore>().ChangeAsync(before with { MeasuredBy = Earlier });
        await StopAsync(first);
        string file = Path.Combine(folder["data"], "files", before.ContentHash[..2], before.ContentHash);
        File.Move(file, folder["aside"]);
        using (var made = Process.Start("/usr/bin/mkfifo", [file]))
        {
            await made.WaitForExitAsync();
        }

        BenchProcess killed = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"], store);
        try
        {
            // No timer of its own: another server with the clock of now, which sees the taking and cannot take it.
            await using KeptRecords kept = await KeptRecords.OpenAsync(Options(store), TimeProvider.System, new CaseNews());
            await UntilAsync(async () => (await kept.Queue.ListAsync(9)).Any(each => each.State == QueuedState.Running && each.Worker!.EndsWith($"process {killed.Id}", StringComparison.Ordinal)));
            killed.Kill();
            Assert.Equal(QueuedState.Running, Assert.Single(await kept.Queue.ListAsync(9)).State);
            Assert.Null(await kept.Queue.TakeAsync(new MeasuringTarget(CaseWorkflow.ThisVersion, string.Empty, 0), "early"));
        }
        finally
        {
            killed.Dispose();
        }

        File.Delete(file);
        File.Move(folder["aside"], file);

        // Another bench, for which the lease of the dead one has run out.
        WebApplication other = await StartAsync(store, new LaterClock(MeasuringJob.LeaseTime + TimeSpan.FromMinutes(1)));
        IRecordStore records = other.Services.GetRequiredService<IRecordStore>();
        await UntilAsync(async () => (await records.FindAsync(before.Id))!.MeasuredBy == CaseWorkflow.ThisVersion);

        CaseRecord after = (await records.FindAsync(before.Id))!;
        Assert.Equal((before.Version + 1, before.AnswersJson, before.Verdict), (after.Version, after.AnswersJson, after.Verdict));
        Assert.Equal(MeasuringProgress.None, await other.Services.GetRequiredService<IMeasuringQueue>().ProgressAsync());
    }

    private static async Task UntilAsync(Func<Task<bool>> isSo)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(10));
        while (!await isSo())
        {
            await Task.Delay(50, patience.Token);
        }
    }

    // A shared machine may be slow: in seconds.
    private static string Database() => PostgresServer.AddressOf(PostgresServer.Instance.NewDatabase()) + "?timeout=300&command%20timeout=300";

    private BenchOptions Options(string? store) => new() { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Store = store is null ? null : PostgresAddress.Parse(store) };

    private async Task<OpenCase> BringInAsync(CaseWorkflow cases)
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, 1 << 24)).Record;
        return await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
    }

    private async Task<WebApplication> StartAsync(string? store, TimeProvider clock)
    {
        WebApplication bench = await Bench.StartAsync(Options(store), TextWriter.Null, clock);
        benches.Add(bench);
        return bench;
    }

    private async Task StopAsync(WebApplication bench)
    {
        await bench.StopAsync();
        await bench.DisposeAsync();
        SqliteConnection.ClearAllPools();
        benches.Remove(bench);
    }

    private sealed class LaterClock(TimeSpan by) : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => base.GetUtcNow() + by;
    }
}

/// <summary>A test that needs PostgreSQL and Chromium, skipped with a clear word where one is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class PostgresFactAttribute : FactAttribute
{
    /// <summary>Looks once whether they are there.</summary>
    public PostgresFactAttribute()
        => Skip = !PostgresServer.IsInstalled ? PostgresServer.Missing : !File.Exists(SystemChromium.Path) ? "skipped: Chromium is not installed here (Debian: apt-get install chromium)" : null;
}
