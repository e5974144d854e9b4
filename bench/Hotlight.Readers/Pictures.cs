using Microsoft.Playwright;

namespace Hotlight.Readers;

/// <summary>A picture of every page, as a reader finds it.</summary>
internal static class Pictures
{
    public static async Task TakeAsync(StartedBench bench, IBrowser browser, string folder)
    {
        Directory.CreateDirectory(folder);
        IReadOnlyList<(string Title, string Path)> cases = await bench.DemoCasesAsync(browser);
        string Case(string part) => cases.First(each => each.Title.Contains(part, StringComparison.Ordinal)).Path;
        string elbow = Case("shoulder end too low");
        string repeat = Case("Right elbow lateral, the repeat");
        await TakeAsync("cases", "/", page => page.WaitForTimeoutAsync(1500));
        await TakeAsync("cases-light", "/", page => page.WaitForTimeoutAsync(1500), isLight: true);
        await TakeAsync("critique", elbow, async page =>
        {
            await ShownAsync(page);
            await page.Keyboard.PressAsync("o");
            await page.WaitForTimeoutAsync(800);
        });
        await TakeAsync("critique-verdict", elbow, async page =>
        {
            await ShownAsync(page);
            await page.Locator(".verdict-toggle").ClickAsync();
            await page.WaitForTimeoutAsync(800);
        });
        await TakeAsync("critique-landmarks", Case("condyles not over"), async page =>
        {
            await ShownAsync(page);
            await page.Locator("#tab-landmarks").ClickAsync();
            await page.WaitForTimeoutAsync(800);
        });
        await TakeAsync("critique-measurements", elbow, async page =>
        {
            await ShownAsync(page);
            await page.Locator("#tab-figures").ClickAsync();
            await page.WaitForTimeoutAsync(800);
        });
        await TakeAsync("critique-keys", elbow, async page =>
        {
            await ShownAsync(page);
            await page.Keyboard.PressAsync("?");
            await page.WaitForTimeoutAsync(500);
        });
        await TakeAsync("critique-light", elbow, ShownAsync, isLight: true);
        await TakeAsync("tour", elbow + "?tour=1", async page =>
        {
            await page.WaitForSelectorAsync(".tour");
            await page.WaitForTimeoutAsync(1500);
        });
        await TakeAsync("compare", $"/compare{elbow["/cases".Length..]}?with={repeat["/cases/".Length..]}", async page =>
        {
            await page.WaitForFunctionAsync("() => document.querySelectorAll('.viewer[data-state=shown]').length === 2");
            await page.WaitForTimeoutAsync(1200);
        });
        await TakeAsync("lab", "/lab", page => page.WaitForTimeoutAsync(8000));
        await TakeAsync("clinic", "/clinic", page => page.WaitForTimeoutAsync(1200));
        await TakeAsync("help", "/help", page => page.WaitForTimeoutAsync(800));
        await TakeAsync("help-mottle", "/help/mottle", page => page.WaitForTimeoutAsync(800));

        async Task TakeAsync(string name, string path, Func<IPage, Task> prepare, bool isLight = false)
        {
            foreach ((int width, int height, string suffix) in new[] { (1280, 720, ""), (1920, 1080, "-wide") })
            {
                await using IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = width, Height = height } });
                IPage page = await context.NewPageAsync();
                page.SetDefaultTimeout(120_000);
                if (isLight)
                {
                    await page.AddInitScriptAsync("localStorage.setItem('hotlight.theme', 'light')");
                }

                await page.GotoAsync(new Uri(bench.Address, path).ToString());
                await page.WaitForSelectorAsync("main h1, .bench h1");
                await prepare(page);
                await page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, $"{name}{suffix}.png") });
                Console.Error.WriteLine($"{name}{suffix}");
            }
        }
    }

    private static async Task ShownAsync(IPage page)
    {
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".line.current");
        await page.WaitForTimeoutAsync(1200);
    }
}
