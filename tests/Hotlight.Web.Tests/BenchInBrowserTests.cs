using System.Text.Json;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The bench as a reader meets it, in the system's Chromium.</summary>
public sealed class BenchInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;

    public async Task InitializeAsync() => browser = await SystemChromium.LaunchAsync(withGraphics: true);

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }
    }

    public void Dispose() => folder.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task Critique_ByKeyboardWithTheServerKilledInBetween_NothingAcknowledgedIsLost()
    {
        int port = BenchProcess.FreePort();
        InventedExposure.Write(InventedExposure.Limb(rows: 600, columns: 500), folder["limb.dcm"]);
        await File.WriteAllTextAsync(folder["letter.txt"], "Dear colleague, this is not a radiograph.");
        using BenchProcess first = await BenchProcess.StartAsync(port, folder["data"]);
        IPage page = await OpenAsync(first.Address);
        List<string> complaints = SystemChromium.Complaints(page);

        // Two files at once: one is refused with a sentence, the other goes on.
        await page.Locator("input[type=file]").SetInputFilesAsync([folder["letter.txt"], folder["limb.dcm"]]);
        await Assertions.Expect(page.Locator(".arrivals li.refused")).ToContainTextAsync("letter.txt");
        await Assertions.Expect(page.Locator(".arrivals li.kept")).ToContainTextAsync("limb.dcm");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.Locator(".arrivals li.kept a").ClickAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");

        await page.Locator(".projection select").SelectOptionAsync("wrist-pa");
        ILocator current = page.Locator(".line.current");
        await Assertions.Expect(current).ToBeVisibleAsync();
        string firstLine = (await current.GetAttributeAsync("id"))!;
        await Assertions.Expect(page.Locator(".verdict .verdict-word")).ToBeVisibleAsync();

        // By keyboard alone: met, next line, not met with a remark.
        await page.Locator($"#{firstLine} .line-row").FocusAsync();
        await page.Keyboard.PressAsync("m");
        await Assertions.Expect(page.Locator($"#{firstLine} .line-row .state")).ToContainTextAsync("met");
        await Assertions.Expect(page.Locator($"#{firstLine} .answer.met")).ToHaveAttributeAsync("aria-pressed", "true");
        await page.Keyboard.PressAsync("j");
        await Assertions.Expect(current).Not.ToHaveAttributeAsync("id", firstLine);
        string secondLine = (await current.GetAttributeAsync("id"))!;
        await page.Keyboard.PressAsync("n");
        await Assertions.Expect(page.Locator($"#{secondLine} .answer.not-met")).ToHaveAttributeAsync("aria-pressed", "true");
        await page.Keyboard.PressAsync("r");
        await Assertions.Expect(page.Locator($"#{secondLine} textarea")).ToBeFocusedAsync();
        await page.Keyboard.TypeAsync("cut off at the border");
        await WaitUntilRemarksAreKeptAsync(page);
        await Assertions.Expect(page.Locator($"#{secondLine} textarea")).ToHaveValueAsync("cut off at the border");
        await SystemChromium.AssertAccessibleAsync(page);

        first.Kill();
        using BenchProcess second = await BenchProcess.StartAsync(port, folder["data"]);
        IPage again = await OpenAsync(new Uri(page.Url));
        await again.WaitForSelectorAsync(".viewer[data-state=shown]");
        await again.Locator($"#{secondLine} .line-row").ClickAsync();
        await Assertions.Expect(again.Locator($"#{secondLine} .answer.not-met")).ToHaveAttributeAsync("aria-pressed", "true");
        await Assertions.Expect(again.Locator($"#{secondLine} textarea")).ToHaveValueAsync("cut off at the border");
        await Assertions.Expect(again.Locator($"#{firstLine} .line-row .state")).ToContainTextAsync("met");

        // The history survived too: remark, then the answer, are taken back and given again.
        await again.Locator($"#{secondLine} .line-row").FocusAsync();
        await again.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(again.Locator($"#{secondLine} textarea")).ToHaveValueAsync("");
        await again.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(again.Locator($"#{secondLine} .answer.not-met")).ToHaveAttributeAsync("aria-pressed", "false");
        await again.Keyboard.PressAsync("Control+y");
        await Assertions.Expect(again.Locator($"#{secondLine} .answer.not-met")).ToHaveAttributeAsync("aria-pressed", "true");

        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Landmarks_ByMouseAndByKeyboard_AreMarkedToldAndTakenBack()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 600, columns: 500), folder["limb.dcm"]);
        using BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        IPage page = await OpenAsync(bench.Address);
        List<string> complaints = SystemChromium.Complaints(page);
        await page.Locator("input[type=file]").SetInputFilesAsync(folder["limb.dcm"]);
        await page.Locator(".arrivals li.kept a").ClickAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.Locator(".projection select").SelectOptionAsync("knee-lateral");
        await page.Locator("#tab-landmarks").ClickAsync();
        ILocator rows = page.Locator(".landmark-list li");
        await Assertions.Expect(rows).ToHaveCountAsync(9);
        await Assertions.Expect(page.Locator(".findings")).ToContainTextAsync("Mark also: lateral femoral condyle, back edge");

        // The first by mouse, and the next one waits; the second by keyboard, under the middle of the picture.
        await rows.Nth(0).Locator(".landmark").ClickAsync();
        ILocator stage = page.Locator("[data-view=stage]");
        await Assertions.Expect(stage).ToHaveAttributeAsync("data-marking", "");
        LocatorBoundingBoxResult box = (await stage.BoundingBoxAsync())!;
        await page.Mouse.ClickAsync(box.X + (box.Width * 0.45f), box.Y + (box.Height * 0.5f));
        await Assertions.Expect(rows.Nth(0)).ToContainTextAsync("marked");
        await Assertions.Expect(rows.Nth(0).GetByRole(AriaRole.Button, new LocatorGetByRoleOptions { NameRegex = new("Take .* away") })).ToBeVisibleAsync();
        await Assertions.Expect(rows.Nth(1)).ToHaveClassAsync("current");
        await stage.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(rows.Nth(2)).ToHaveClassAsync("current");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(stage).Not.ToHaveAttributeAsync("data-marking", "");

        await page.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(rows.Nth(1)).ToContainTextAsync("not marked");
        await Assertions.Expect(rows.Nth(0)).Not.ToContainTextAsync("not marked");
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Verdict_BecomesRepeat_OpensByItselfAndKeepsCostAndGainInSight()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 300, columns: 250), folder["limb.dcm"]);
        await using BenchInTest bench = await BenchInTest.StartAsync(folder["data"]);
        IPage page = await OpenAsync(bench.Address);
        List<string> complaints = SystemChromium.Complaints(page);
        await page.Locator("input[type=file]").SetInputFilesAsync([folder["limb.dcm"]]);
        await page.Locator(".arrivals li.kept a").ClickAsync();
        await page.Locator(".projection select").SelectOptionAsync("wrist-pa");
        ILocator toggle = page.Locator(".verdict-toggle");
        ILocator cost = page.Locator(".verdict .cost");
        await Assertions.Expect(toggle).ToHaveAttributeAsync("aria-expanded", "false");
        await Assertions.Expect(cost).ToHaveCountAsync(0);

        // Not met takes the reader to the ways of missing; the space bar names the first.
        await page.Locator("#line-anatomy-carpus .line-row").ClickAsync();
        await Assertions.Expect(page.Locator("#line-anatomy-carpus")).ToHaveClassAsync("line current");
        await page.Keyboard.PressAsync("n");
        await Assertions.Expect(page.Locator("#line-anatomy-carpus .misses input").First).ToBeFocusedAsync();
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator(".verdict .verdict-word")).ToContainTextAsync("Repeat");
        await Assertions.Expect(toggle).ToHaveAttributeAsync("aria-expanded", "true");
        await Assertions.Expect(cost).ToContainTextAsync("repeat");
        await SystemChromium.AssertAccessibleAsync(page);

        await page.Keyboard.PressAsync("v");
        await Assertions.Expect(toggle).ToHaveAttributeAsync("aria-expanded", "false");
        await Assertions.Expect(cost).ToBeVisibleAsync();
        await Assertions.Expect(cost).ToContainTextAsync("gain");
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task CaseList_InventedCases_BeginWithTheOneToOpenFirstAndStandBelowOwnOnes()
    {
        await using BenchInTest bench = await BenchInTest.StartAsync(folder["data"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100), folder["own.dcm"]);
        byte[] content = await File.ReadAllBytesAsync(folder["own.dcm"]);
        foreach (string title in new[] { "One to begin with", "One for later" })
        {
            await bench.Cases.BringInInventedAsync(title + ".dcm", new MemoryStream(content), title, "wrist-pa");
        }

        IPage page = await OpenAsync(bench.Address);
        ILocator titles = page.Locator(".case-table tbody th a");
        await Assertions.Expect(titles).ToHaveTextAsync(["One to begin with", "One for later"]);
        await Assertions.Expect(page.Locator("a.lead")).ToHaveTextAsync("Open the first demo case: One to begin with");
        await SystemChromium.AssertAccessibleAsync(page);

        // A reader with a case of their own knows the way: theirs stands first.
        await page.Locator("input[type=file]").SetInputFilesAsync([folder["own.dcm"]]);
        await Assertions.Expect(titles).ToHaveTextAsync(["own", "One to begin with", "One for later"]);
        await Assertions.Expect(page.Locator("a.lead")).ToHaveCountAsync(0);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pages_LeftBeforeTheirModulesAreThere_KeepTheConnection()
    {
        await using BenchInTest bench = await BenchInTest.StartAsync(folder["data"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100), folder["limb.dcm"]);
        await bench.Cases.BringInInventedAsync("limb.dcm", new MemoryStream(await File.ReadAllBytesAsync(folder["limb.dcm"])), "Limb", "wrist-pa");
        IPage page = await browser!.NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);

        // The modules arrive only when they are let through: by then the reader has gone on.
        var letThrough = new TaskCompletionSource();
        foreach (string module in new[] { "**/intake.js", "**/keys.js", "**/viewer/viewer.js" })
        {
            await page.RouteAsync(module, async route =>
            {
                await letThrough.Task;
                await route.ContinueAsync();
            });
        }

        await page.GotoAsync(bench.Address.ToString());
        await page.Locator(".case-table tbody th a").ClickAsync();
        await Assertions.Expect(page.Locator(".line.current")).ToBeVisibleAsync();
        await page.Locator(".to-cases").ClickAsync();
        await Assertions.Expect(page.Locator(".case-table tbody th a")).ToBeVisibleAsync();
        letThrough.SetResult();

        // The same connection goes on: the case opens, its viewer and its keys work.
        await page.Locator(".case-table tbody th a").ClickAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.Locator(".line-row").First.ClickAsync();
        await page.Keyboard.PressAsync("m");
        await Assertions.Expect(page.Locator(".line.current .answer.met")).ToHaveAttributeAsync("aria-pressed", "true");
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
        Assert.Empty(complaints);
    }

    /// <summary>The page keeps letters as drafts until the bench has acknowledged them.</summary>
    private static Task WaitUntilRemarksAreKeptAsync(IPage page)
        => page.WaitForFunctionAsync("() => !Object.keys(sessionStorage).some((name) => name.startsWith('hotlight.draft:'))");

    private Task<IPage> OpenAsync(Uri address) => browser!.OpenAsync(address);

    /// <summary>A bench in this process.</summary>
    private sealed class BenchInTest : IAsyncDisposable
    {
        private readonly Microsoft.AspNetCore.Builder.WebApplication bench;

        private BenchInTest(Microsoft.AspNetCore.Builder.WebApplication bench) => this.bench = bench;

        public Uri Address => Bench.AddressOf(bench);

        public CaseWorkflow Cases => (CaseWorkflow)bench.Services.GetService(typeof(CaseWorkflow))!;

        public static async Task<BenchInTest> StartAsync(string dataFolder)
            => new(await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = dataFolder, WithDemoCases = false }, TextWriter.Null));

        public async ValueTask DisposeAsync()
        {
            await bench.StopAsync();
            await bench.DisposeAsync();
            Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        }
    }
}
