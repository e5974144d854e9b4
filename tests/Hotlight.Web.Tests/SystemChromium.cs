using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The system's Chromium, opened for tests; where it is not installed the tests that name <see cref="Path"/> are skipped.</summary>
public sealed class SystemChromium : IAsyncDisposable
{
    /// <summary>Path of Debian's Chromium.</summary>
    public const string Path = "/usr/bin/chromium";

    // A shared machine may be slow; a test waits for what it expects, never for a time.
    private const float PatienceMs = 120_000;

    private static readonly string[] Levels = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

    private readonly IPlaywright playwright;
    private readonly IBrowser browser;

    private SystemChromium(IPlaywright playwright, IBrowser browser)
    {
        this.playwright = playwright;
        this.browser = browser;
    }

    /// <summary>Opens the browser; null where it is not installed.</summary>
    /// <param name="withGraphics">Whether WebGL is drawn by software, as a graphics unit would; otherwise pages find no unit to rely on.</param>
    public static async Task<SystemChromium?> LaunchAsync(bool withGraphics = false)
    {
        if (!File.Exists(Path))
        {
            return null;
        }

        string[] graphics = withGraphics ? ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"] : ["--enable-unsafe-swiftshader"];
        IPlaywright playwright = await Playwright.CreateAsync();
        IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = Path,
            Timeout = PatienceMs,
            Args = ["--no-sandbox", "--disable-background-networking", .. graphics],
        });
        return new SystemChromium(playwright, browser);
    }

    /// <summary>An empty page in a window of its own, with nothing kept from other windows.</summary>
    public async Task<IPage> NewPageAsync(int width = 1280, int height = 720, bool hasTouch = false)
    {
        IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = width, Height = height },
            HasTouch = hasTouch,
            AcceptDownloads = true,
        });
        context.SetDefaultTimeout(PatienceMs);
        Assertions.SetDefaultExpectTimeout(PatienceMs);
        return await context.NewPageAsync();
    }

    /// <summary>A page of the bench, once its heading is there.</summary>
    public async Task<IPage> OpenAsync(Uri address, int width = 1280, int height = 720)
    {
        IPage page = await NewPageAsync(width, height);
        await page.GotoAsync(address.ToString());
        await page.WaitForSelectorAsync("main h1, .bench h1");
        return page;
    }

    /// <summary>What a page is complained of from now on: script errors, and what its policy forbade.</summary>
    public static List<string> Complaints(IPage page)
    {
        ArgumentNullException.ThrowIfNull(page);
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

    /// <summary>Gives files to a chooser once the page listens to it; what is chosen before that is heard by nobody.</summary>
    public static async Task ChooseFileAsync(ILocator chooser, string path)
    {
        ArgumentNullException.ThrowIfNull(chooser);
        long start = Environment.TickCount64;
        while (!await chooser.EvaluateAsync<bool>("each => each._blazorInputFileNextFileId !== undefined"))
        {
            Assert.True(Environment.TickCount64 - start < PatienceMs, $"Nothing listens to the chooser of files on {chooser.Page.Url}.");
            await Task.Delay(20);
        }

        await chooser.SetInputFilesAsync(path);
    }

    /// <summary>Holds a page against WCAG 2.2, levels A and AA, and against all that axe calls serious or critical.</summary>
    /// <param name="page">The page.</param>
    /// <param name="pointsHaveATable">Whether points of charts may be smaller targets than others, because the same links stand in a table under each chart (WCAG 2.5.8, equivalent).</param>
    public static async Task AssertAccessibleAsync(IPage page, bool pointsHaveATable = false)
    {
        ArgumentNullException.ThrowIfNull(page);
        // The rule on the size of targets is WCAG 2.2's own and not among those axe runs by itself.
        AxeResult result = await page.RunAxe(new AxeRunOptions { Rules = new Dictionary<string, RuleOptions> { ["target-size"] = new() { Enabled = true } } });
        string[] violations =
        [
            .. result.Violations.Where(each => !(pointsHaveATable && each.Id == "target-size" && each.Nodes.All(node => node.Html.StartsWith("<a href=", StringComparison.Ordinal) && node.Html.Contains("aria-label=", StringComparison.Ordinal))))
                .Where(each => each.Impact is "serious" or "critical" || each.Tags.Any(Levels.Contains))
                .Select(each => $"{each.Id} ({each.Impact}): {each.Help}: {string.Join(", ", each.Nodes.Select(node => node.Html).Take(4))}"),
        ];
        Assert.True(violations.Length == 0, $"{page.Url}:{Environment.NewLine}{string.Join(Environment.NewLine, violations)}");
    }

    public async ValueTask DisposeAsync()
    {
        await browser.DisposeAsync();
        playwright.Dispose();
    }
}
