using Hotlight.Simulation.Scene;
using Hotlight.Testing;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The phantom lab's page as a student meets it, in the system's Chromium.</summary>
public sealed class LabInBrowserTests(RunningBench bench) : IClassFixture<RunningBench>, IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;

    public async Task InitializeAsync() => browser = await SystemChromium.LaunchAsync();

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }
    }

    public void Dispose() => folder.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_SliderMovedAndUndone_ChangesPictureAndFiguresAndBringsTheFormerBack()
    {
        IPage page = await OpenAsync(fromList: true);
        string[] former = await FiguresAsync(page);
        string formerPicture = await PictureAsync(page, "set");
        string startPicture = await PictureAsync(page, "start");
        Assert.Equal(startPicture, formerPicture);
        await Assertions.Expect(page.Locator(".lab-dose")).ToHaveTextAsync("Dose unchanged.");
        await SystemChromium.AssertAccessibleAsync(page);

        ILocator width = page.Locator("[data-setting=field-width] input[type=range]");
        await width.FillAsync("178");
        await Assertions.Expect(page.Locator("[data-setting=field-width] input[type=number]")).ToHaveValueAsync("178");
        await Assertions.Expect(page.Locator(".lab-changes")).ToContainTextAsync("Field width 178 mm instead of 150 mm");

        // The product follows the field's area: 178/150 = 1.187, up to the penumbra the same at the skin.
        await Assertions.Expect(page.Locator(".lab-dose")).ToContainTextAsync("kerma-area product 19 % more");
        string[] wider = await FiguresAsync(page);
        Assert.NotEqual(former, wider);
        Assert.NotEqual(formerPicture, await PictureAsync(page, "set"));
        Assert.Equal(startPicture, await PictureAsync(page, "start"));

        await page.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(page.Locator("[data-setting=field-width] input[type=number]")).ToHaveValueAsync("150");
        await Assertions.Expect(page.Locator(".lab-dose")).ToHaveTextAsync("Dose unchanged.");
        Assert.Equal(former, await FiguresAsync(page));
        await WaitForPictureAsync(page, formerPicture);

        await page.GetByRole(AriaRole.Button, new() { Name = "Redo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".lab-dose")).ToContainTextAsync("19 % more");
        Assert.Equal(wider, await FiguresAsync(page));
        await page.GetByRole(AriaRole.Button, new() { Name = "Reset" }).ClickAsync();
        await Assertions.Expect(page.Locator(".lab-dose")).ToHaveTextAsync("Dose unchanged.");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_ValueBeyondWhatCanBeExposed_SaysItsSentenceAndKeepsEverything()
    {
        IPage page = await OpenAsync();
        string[] former = await FiguresAsync(page);
        ILocator box = page.Locator("[data-setting=kvp] input[type=number]");
        await box.FillAsync("900");
        await box.PressAsync("Enter");
        ILocator fault = page.Locator("[data-setting=kvp] [role=alert]");
        await Assertions.Expect(fault).ToContainTextAsync("tube.tubeVoltageKvp is 900; it goes from 40 to 150 kVp.");
        await Assertions.Expect(box).ToHaveValueAsync("900");
        await Assertions.Expect(box).ToHaveAttributeAsync("aria-invalid", "true");
        Assert.Equal(former, await FiguresAsync(page));
        await SystemChromium.AssertAccessibleAsync(page);

        await box.FillAsync("70");
        await box.PressAsync("Enter");
        await Assertions.Expect(fault).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator(".lab-changes")).ToContainTextAsync("Tube voltage 70 kVp instead of 62 kVp");

        // A file that is no scene leaves the scene as it is.
        await File.WriteAllTextAsync(folder["letter.json"], "{\"schema\": \"hotlight.scene/1\", \"colour\": 3}");
        await SystemChromium.ChooseFileAsync(page.Locator("input[type=file]"), folder["letter.json"]);
        await Assertions.Expect(page.Locator(".lab-results .notice.bad")).ToContainTextAsync("there is no member 'colour' in a scene");
        await Assertions.Expect(box).ToHaveValueAsync("70");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_SceneDownloadedAndOpened_IsTheSameScene()
    {
        IPage page = await OpenAsync();
        await page.GetByLabel("Side").SelectOptionAsync("L");
        await page.Locator("[data-setting=turn] input[type=range]").FillAsync("-12");
        await Assertions.Expect(page.Locator(".lab-changes")).ToContainTextAsync("Turn -12°");
        IDownload download = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Button, new() { Name = "Download scene" }).ClickAsync());
        await download.SaveAsAsync(folder["kept.json"]);
        SceneDocument kept = SceneJson.Read(await File.ReadAllTextAsync(folder["kept.json"]), "kept.json");
        Assert.Equal(-12, kept.Part!.TurnDegrees);
        Assert.Equal("L", kept.Part.Side);
        Assert.Equal("L", kept.Marker!.Letter);

        await page.GetByRole(AriaRole.Button, new() { Name = "Reset" }).ClickAsync();
        await Assertions.Expect(page.Locator("[data-setting=turn] input[type=number]")).ToHaveValueAsync("0");
        await SystemChromium.ChooseFileAsync(page.Locator("input[type=file]"), folder["kept.json"]);
        await Assertions.Expect(page.Locator("[data-setting=turn] input[type=number]")).ToHaveValueAsync("-12");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_LandmarksSwitchedOn_AreNamedByKeyboardAndAccessible()
    {
        IPage page = await OpenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "landmarks" }).ClickAsync();
        ILocator first = page.Locator("[data-picture=set] .lab-landmark").First;
        await Assertions.Expect(first.Locator("text")).ToBeHiddenAsync();
        await first.FocusAsync();
        await Assertions.Expect(first.Locator("text")).ToBeVisibleAsync();
        Assert.Equal(await first.GetAttributeAsync("aria-label"), await first.Locator("text").TextContentAsync());
        await SystemChromium.AssertAccessibleAsync(page);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_ExposedAtFullSize_BecomesAnInventedCase()
    {
        IPage page = await OpenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Expose at full size" }).ClickAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Open the case" }).ClickAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await Assertions.Expect(page.Locator(".invented").First).ToBeVisibleAsync();
        await page.GotoAsync(bench.Address.ToString());
        await Assertions.Expect(page.Locator(".case-table tr.part")).ToContainTextAsync("Exposures of the phantom lab");
        await Assertions.Expect(page.Locator("a.lead")).ToHaveCountAsync(0);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Lab_AtUsualSizes_HasNoSidewaysScroll()
    {
        IPage page = await OpenAsync();
        foreach ((int width, int height) in new[] { (1280, 720), (1920, 1080) })
        {
            await page.SetViewportSizeAsync(width, height);
            int[] beyond = await page.EvaluateAsync<int[]>(
                "() => ['html', '.lab-settings', '.lab-pictures', '.lab-results'].map((each) => { const part = document.querySelector(each); return part.scrollWidth - part.clientWidth; })");
            Assert.Equal([0, 0, 0, 0], beyond);
        }
    }

    private static async Task<string[]> FiguresAsync(IPage page)
        => [.. await page.Locator(".lab-figures tbody td:nth-of-type(2)").AllTextContentsAsync()];

    /// <summary>The drawn pixels, as one text.</summary>
    private static Task<string> PictureAsync(IPage page, string name)
        => page.EvaluateAsync<string>("(name) => document.querySelector(`[data-picture=${name}] canvas`).toDataURL()", name);

    private static Task WaitForPictureAsync(IPage page, string picture)
        => page.WaitForFunctionAsync("(picture) => document.querySelector('[data-picture=set] canvas').toDataURL() === picture", picture);

    private async Task<IPage> OpenAsync(bool fromList = false)
    {
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(bench.Address, fromList ? "/" : "/lab").ToString());
        if (fromList)
        {
            await page.GetByRole(AriaRole.Link, new() { Name = "Phantom lab" }).ClickAsync();
        }

        await page.WaitForSelectorAsync("[data-picture=set] canvas[data-drawn]");
        await page.WaitForSelectorAsync("[data-picture=start] canvas[data-drawn]");
        await page.WaitForSelectorAsync(".lab-figures");
        return page;
    }
}
