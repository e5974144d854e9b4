using Hotlight.Imaging;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A bench in this process and the system's Chromium, shared by the tests of a class; without Chromium both stay closed.</summary>
public sealed class BrowsedBench : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;
    private WebApplication? bench;

    // A file that is already kept makes no second case: every test has an exposure of its own.
    private int seed;

    /// <summary>Where the bench answers.</summary>
    public Uri Address => Bench.AddressOf(bench!);

    /// <summary>The bench's own workflow.</summary>
    public CaseWorkflow Cases => bench!.Services.GetRequiredService<CaseWorkflow>();

    public async Task InitializeAsync()
    {
        browser = await SystemChromium.LaunchAsync();
        if (browser is not null)
        {
            bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null);
        }
    }

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }

        if (bench is not null)
        {
            await bench.StopAsync();
            await bench.DisposeAsync();
        }

        Dispose();
    }

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    /// <summary>Keeps an invented limb, unlike every other, as a case.</summary>
    public async Task<CaseRecord> KeepAsync(string title, string projectionId = "wrist-pa", int rows = 300, int columns = 250)
        => (await KeepAsync(InventedExposure.Limb(rows, columns, 1000 + Interlocked.Increment(ref seed)), projectionId, $"{title}.dcm")).Record;

    /// <summary>Keeps a radiograph as a case.</summary>
    /// <returns>The radiograph as it is read from the file, and the case.</returns>
    public async Task<(Radiograph Radiograph, CaseRecord Record)> KeepAsync(Radiograph radiograph, string? projectionId = null, string fileName = "limb.dcm")
    {
        string path = folder[$"{Guid.NewGuid():N}.dcm"];
        InventedExposure.Write(radiograph, path);
        Radiograph read = RadiographReader.Read(path);
        await using FileStream content = File.OpenRead(path);
        CaseRecord record = (await Cases.BringInAsync(fileName, content, long.MaxValue)).Record;
        return (read, projectionId is null ? record : (await Cases.ChooseProjectionAsync(await Cases.OpenAsync(record.Id), projectionId)).Record);
    }

    /// <summary>Opens a page of the bench in a window of its own.</summary>
    public Task<IPage> OpenAsync(string path) => browser!.OpenAsync(new Uri(Address, path));

    /// <summary>Opens a case and waits for its image and its checklist.</summary>
    public async Task<IPage> OpenCaseAsync(CaseRecord record, string query = "")
    {
        IPage page = await OpenAsync($"/cases/{record.Id}{query}");
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".line.current");
        return page;
    }

    /// <summary>A page on which the viewer shows a case.</summary>
    public async Task<IPage> ShowAsync(CaseRecord record, bool hasTouch = false, Func<IPage, Task>? before = null, string state = "shown")
    {
        IPage page = await browser!.NewPageAsync(hasTouch: hasTouch);
        if (before is not null)
        {
            await before(page);
        }

        await page.GotoAsync(new Uri(Address, $"/cases/{record.Id}").ToString());
        await page.WaitForSelectorAsync($".viewer[data-state={state}]");
        return page;
    }

    /// <summary>A page of the bench without a live connection, on which modules can be tried.</summary>
    public async Task<IPage> PlainPageAsync()
    {
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(Address, "/ready").ToString());
        return page;
    }
}
