using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Hotlight.Imaging;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A bench in this process and the system's Chromium, shared by the tests of a class; without Chromium both stay closed.</summary>
public sealed class BrowsedBench : IAsyncLifetime, IDisposable
{
    /// <summary>Path of Debian's Chromium.</summary>
    public const string Chromium = "/usr/bin/chromium";

    private const float PatienceMs = 90_000;
    private readonly ScratchFolder folder = new();
    private IPlaywright? playwright;
    private IBrowser? browser;
    private WebApplication? bench;

    // A file that is already kept makes no second case: every test has an exposure of its own.
    private int seed;

    /// <summary>Where the bench answers.</summary>
    public Uri Address => Bench.AddressOf(bench!);

    /// <summary>The bench's own workflow.</summary>
    public CaseWorkflow Cases => Service<CaseWorkflow>();

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
            Args = ["--no-sandbox", "--disable-background-networking", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
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

    /// <summary>A service of the bench.</summary>
    public T Service<T>()
        where T : notnull
        => (T)bench!.Services.GetService(typeof(T))!;

    /// <summary>Keeps an invented limb as a case, with a projection where one is named.</summary>
    public async Task<CaseRecord> KeepAsync(string title, string? projectionId = "wrist-pa", int rows = 300, int columns = 250)
    {
        Radiograph limb = InventedExposure.Limb(rows, columns, Interlocked.Increment(ref seed));
        string path = folder[$"{Guid.NewGuid():N}.dcm"];
        InventedExposure.Write(limb, path);
        await using FileStream file = File.OpenRead(path);
        CaseRecord record = (await Cases.BringInAsync($"{title}.dcm", file, 1 << 26)).Record;
        return projectionId is null ? record : (await Cases.ChooseProjectionAsync(await Cases.OpenAsync(record.Id), projectionId)).Record;
    }

    /// <summary>Opens a page of the bench in a window of its own.</summary>
    public async Task<IPage> OpenAsync(string path, int width = 1280, int height = 720)
    {
        IBrowserContext context = await browser!.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = width, Height = height } });
        context.SetDefaultTimeout(PatienceMs);
        Assertions.SetDefaultExpectTimeout(PatienceMs);
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(Address, path).ToString());
        await page.WaitForSelectorAsync("main h1, .bench h1");
        return page;
    }

    /// <summary>Opens a case and waits for its image and its checklist.</summary>
    public async Task<IPage> OpenCaseAsync(CaseRecord record, string query = "")
    {
        IPage page = await OpenAsync($"/cases/{record.Id}{query}");
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".line.current");
        return page;
    }

    /// <summary>What a page is complained of: script errors, and what its policy forbade.</summary>
    public static List<string> Complaints(IPage page)
    {
        var complaints = new List<string>();
        page.PageError += (_, error) => complaints.Add(error);
        page.Console += (_, message) =>
        {
            if (message.Type == "error" && message.Text.Contains("Content Security Policy", StringComparison.Ordinal))
            {
                complaints.Add(message.Text);
            }
        };
        return complaints;
    }

    /// <summary>Holds a page against WCAG 2.2, levels A and AA, by axe.</summary>
    public static async Task AssertAccessibleAsync(IPage page)
    {
        AxeResult result = await page.RunAxe(new AxeRunOptions { RunOnly = new RunOnlyOptions { Type = "tag", Values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] } });
        string[] violations = [.. result.Violations.Select(each => $"{each.Id} ({each.Impact}): {each.Help}: {string.Join(", ", each.Nodes.Select(node => node.Html).Take(4))}")];
        Assert.True(violations.Length == 0, $"{page.Url}:{Environment.NewLine}{string.Join(Environment.NewLine, violations)}");
    }
}
