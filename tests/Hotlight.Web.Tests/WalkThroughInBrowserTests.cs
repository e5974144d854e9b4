using Hotlight.Imaging;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching.WalkThroughs;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Walk-throughs as a learner and a teacher meet them, in the system's Chromium with a made-up microphone.</summary>
public sealed class WalkThroughInBrowserTests(RunningBench bench) : IClassFixture<RunningBench>, IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private IPlaywright? playwright;
    private IBrowser? browser;

    public async Task InitializeAsync()
    {
        if (File.Exists(SystemChromium.Path))
        {
            playwright = await Playwright.CreateAsync();
            browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
            {
                ExecutablePath = SystemChromium.Path,
                Timeout = 120_000,
                Args = ["--no-sandbox", "--disable-background-networking", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", "--autoplay-policy=no-user-gesture-required"],
            });
        }
    }

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }

        playwright?.Dispose();
    }

    public void Dispose() => folder.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task Page_OpenedFromADiskWithoutANetwork_PlaysThroughByKeyboardAlone()
    {
        (OpenWalkThrough open, Radiograph radiograph) = await OpenAsync(seed: 31);
        string path = folder["walk.html"];
        await File.WriteAllBytesAsync(path, WalkThroughPage.Make(open.Draft.Now, radiograph, new Dictionary<string, byte[]>()));
        IPage page = await NewPageAsync();
        await page.Context.SetOfflineAsync(true);
        List<string> complaints = SystemChromium.Complaints(page);
        await page.GotoAsync("file://" + path);
        await page.WaitForSelectorAsync(".walk[data-step]");
        await SystemChromium.AssertAccessibleAsync(page);
        int steps = open.Draft.Now.Steps.Count;
        await Assertions.Expect(page.Locator(".walk-place")).ToHaveTextAsync($"Step 1 of {steps}");
        for (int step = 1; step < steps; step++)
        {
            await page.Keyboard.PressAsync("ArrowRight");
            await Assertions.Expect(page.Locator(".walk")).ToHaveAttributeAsync("data-step", open.Draft.Now.Steps[step].Id);
            await Assertions.Expect(page.Locator(".walk [role=status]")).ToContainTextAsync(open.Draft.Now.Steps[step].Heading);
            await Assertions.Expect(page.Locator(".walk-list [aria-current=step]")).ToContainTextAsync(open.Draft.Now.Steps[step].Caption);
        }

        await page.Keyboard.PressAsync("Home");
        await Assertions.Expect(page.Locator(".walk-place")).ToHaveTextAsync($"Step 1 of {steps}");
        await page.Keyboard.PressAsync("]");
        await Assertions.Expect(page.Locator(".walk-controls select")).ToHaveValueAsync("1.25");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator(".walk")).ToHaveAttributeAsync("data-playing", "");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator(".walk")).Not.ToHaveAttributeAsync("data-playing", "");
        await page.Keyboard.PressAsync("End");
        await Assertions.Expect(page.Locator(".walk-place")).ToHaveTextAsync($"Step {steps} of {steps}");

        // What is drawn is the radiograph: the canvas is neither empty nor of one grey.
        int greys = await page.EvaluateAsync<int>("() => { const c = document.querySelector('.walk canvas'); const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; const s = new Set(); for (let i = 0; i < d.length; i += 40) s.add(d[i]); return s.size; }");
        Assert.True(greys > 20, $"{greys} greys are drawn");
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Recording_WithVoiceAndPointer_IsKeptCutFromReloadedAndPlayed()
    {
        (OpenWalkThrough made, _) = await OpenAsync(seed: 32);
        Guid id = made.Case.Record.Id;
        IPage page = await NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);
        await page.GotoAsync(new Uri(bench.Address, $"/cases/{id}/walk-through").ToString());
        await page.WaitForSelectorAsync("[data-walk=player][data-state=shown]");
        await SystemChromium.AssertAccessibleAsync(page);

        // A caption is typed anew, a step is cut, and the cut is taken back.
        string cut = made.Draft.Now.Steps[1].Id;
        await page.Locator(".walk-list button").Nth(1).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Cut this step" }).ClickAsync();
        await Assertions.Expect(page.Locator(".walk-list li")).ToHaveCountAsync(made.Draft.Now.Steps.Count - 1);
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".walk-list li")).ToHaveCountAsync(made.Draft.Now.Steps.Count);
        await page.GetByRole(AriaRole.Button, new() { Name = "Redo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".walk-list li")).ToHaveCountAsync(made.Draft.Now.Steps.Count - 1);

        await page.Locator(".walk-list button").First.ClickAsync();
        await page.GetByRole(AriaRole.Tab, new() { Name = "Record" }).ClickAsync();
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Record this step" }).ClickAsync();
        await Assertions.Expect(page.Locator("[data-walk=said]")).ToContainTextAsync("Recording");
        LocatorBoundingBoxResult box = (await page.Locator(".walk-stage").BoundingBoxAsync())!;
        await page.Mouse.MoveAsync(box.X + (box.Width / 2), box.Y + (box.Height / 2));
        await page.Mouse.WheelAsync(0, -300);
        await page.GetByRole(AriaRole.Button, new() { Name = "Draw", Exact = true }).ClickAsync();

        // The page may have scrolled to the button.
        box = (await page.Locator(".walk-stage").BoundingBoxAsync())!;
        await page.Mouse.MoveAsync(box.X + (box.Width / 2), box.Y + (box.Height / 2));
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(box.X + (box.Width / 2) + 60, box.Y + (box.Height / 2) + 40, new() { Steps = 8 });
        await page.Mouse.UpAsync();
        await Assertions.Expect(page.Locator("[data-walk=said]")).ToContainTextAsync("Recording, 2 s");
        await page.GetByRole(AriaRole.Button, new() { Name = "Stop" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Record this step again" })).ToBeVisibleAsync();

        // Kept: a voice of its own, a view that moved, a stroke on the image.
        OpenWalkThrough kept = await Walks.OpenAsync(id);
        Assert.DoesNotContain(kept.Draft.Now.Steps, step => step.Id == cut);
        WalkRecording recording = kept.Draft.Now.Steps[0].Recording!;
        Assert.InRange(recording.Seconds, 1.5, 60);
        Assert.True(recording.Views.Count >= 2);
        Assert.NotEmpty(Assert.Single(recording.Strokes));
        byte[] voice = (await Walks.VoiceAsync(kept, recording.Voice!.Sha256))!;
        Assert.Equal([0x1A, 0x45, 0xDF, 0xA3], voice[..4]);
        Assert.Empty(Walks.Takes.Of(id));

        // After a reload it plays, led by the voice.
        await page.ReloadAsync();
        await page.WaitForSelectorAsync("[data-walk=player][data-state=shown]");
        await page.GetByRole(AriaRole.Button, new() { Name = "Play" }).ClickAsync();
        await Assertions.Expect(page.Locator("[data-walk=player]")).ToHaveAttributeAsync("data-step", kept.Draft.Now.Steps[1].Id);
        Assert.Empty(complaints);
    }

    private WalkThroughWorkflow Walks => bench.Services.GetRequiredService<WalkThroughWorkflow>();

    private async Task<IPage> NewPageAsync()
    {
        IBrowserContext context = await browser!.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = 1280, Height = 720 }, Permissions = ["microphone"] });
        context.SetDefaultTimeout(120_000);
        Assertions.SetDefaultExpectTimeout(120_000);
        return await context.NewPageAsync();
    }

    private async Task<(OpenWalkThrough Open, Radiograph Radiograph)> OpenAsync(int seed)
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        Radiograph limb = InventedExposure.Limb(rows: 600, columns: 500, seed);
        string path = folder[$"limb{seed}.dcm"];
        InventedExposure.Write(limb, path);
        await using FileStream stream = File.OpenRead(path);
        CaseRecord record = (await cases.BringInAsync($"limb{seed}.dcm", stream, 10_000_000)).Record;
        await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        OpenWalkThrough open = await Walks.OpenAsync(record.Id);
        return (open, await cases.RadiographAsync(open.Case.Record));
    }
}
