using Hotlight.Imaging;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A bench of its own and the system's Chromium, for tests of the viewer.</summary>
public sealed class ViewerBench : IAsyncLifetime, IDisposable
{
    public const string Chromium = "/usr/bin/chromium";
    private const float PatienceMs = 60_000;
    private readonly ScratchFolder folder = new();
    private IPlaywright? playwright;
    private IBrowser? browser;
    private WebApplication? bench;

    public Uri Address => Bench.AddressOf(bench!);

    private CaseWorkflow Cases => bench!.Services.GetRequiredService<CaseWorkflow>();

    public async Task InitializeAsync()
    {
        if (!File.Exists(Chromium))
        {
            return;
        }

        bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null);
        playwright = await Playwright.CreateAsync();
        browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = Chromium,
            Timeout = PatienceMs,
            Args = ["--no-sandbox", "--disable-background-networking", "--enable-unsafe-swiftshader"],
        });
    }

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }

        playwright?.Dispose();
        if (bench is not null)
        {
            await bench.StopAsync();
            await bench.DisposeAsync();
            Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        }
    }

    public void Dispose() => folder.Dispose();

    /// <summary>Keeps a radiograph as a case.</summary>
    /// <returns>The radiograph as it is read from the file, and the case.</returns>
    public async Task<(Radiograph Radiograph, CaseRecord Record)> KeepAsync(Radiograph radiograph, string? projection = null)
    {
        string path = folder[$"{Guid.NewGuid():N}.dcm"];
        InventedExposure.Write(radiograph, path);
        Radiograph read = RadiographReader.Read(path);
        using FileStream content = File.OpenRead(path);
        CaseBroughtIn brought = await Cases.BringInAsync("limb.dcm", content, long.MaxValue);
        if (projection is not null)
        {
            await Cases.ChooseProjectionAsync(await Cases.OpenAsync(brought.Record.Id), projection);
        }

        return (read, brought.Record);
    }

    /// <summary>What is known of a case.</summary>
    public Task<OpenCase> OpenAsync(CaseRecord record) => Cases.OpenAsync(record.Id);

    /// <summary>A page on which the viewer shows a case; <c>window.viewer</c> is the viewer.</summary>
    public async Task<IPage> ShowAsync(CaseRecord record, bool hasTouch = false, Func<IPage, Task>? before = null, string state = "shown")
    {
        IPage page = await NewPageAsync(hasTouch);
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
        IPage page = await NewPageAsync(hasTouch: false);
        await page.GotoAsync(new Uri(Address, "/ready").ToString());
        return page;
    }

    private async Task<IPage> NewPageAsync(bool hasTouch)
    {
        IBrowserContext context = await browser!.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = 1280, Height = 720 },
            HasTouch = hasTouch,
        });
        context.SetDefaultTimeout(PatienceMs);
        Assertions.SetDefaultExpectTimeout(PatienceMs);
        return await context.NewPageAsync();
    }
}
