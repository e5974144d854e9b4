using System.Text;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>From a case to a page that can be given away, as a teacher meets it in the browser.</summary>
public sealed class HandoutInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly RunningBench bench = new();
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;

    public async Task InitializeAsync()
    {
        browser = await SystemChromium.LaunchAsync();
        if (browser is not null)
        {
            await bench.InitializeAsync();
        }
    }

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
            await bench.DisposeAsync();
        }
    }

    public void Dispose()
    {
        bench.Dispose();
        folder.Dispose();
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task ATeacher_EditsStopsMendsAndTakesTheFile()
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream content = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInInventedAsync("limb.dcm", content, "A limb", "wrist-pa", CaseOrigin.Lab)).Record;

        IPage page = await browser!.OpenAsync(new Uri(bench.Address, $"/cases/{record.Id}"));
        List<string> complaints = SystemChromium.Complaints(page);
        await page.GetByRole(AriaRole.Link, new() { Name = "Handout" }).ClickAsync();
        await Assertions.Expect(page.Locator("h1")).ToHaveTextAsync("Handout of “A limb”");
        await Assertions.Expect(page.Locator(".handout-sheet .handout-picture svg circle").First).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(page);

        // A paragraph in other words, a number in it that stops the publishing, and back by undo.
        await page.Locator(".handout-lead").GetByRole(AriaRole.Button).First.ClickAsync();
        await page.Locator(".handout-editing textarea").FillAsync("Ask about MRN 4471190.");
        await page.GetByRole(AriaRole.Button, new() { Name = "Keep it" }).ClickAsync();
        await Assertions.Expect(page.Locator(".handout-own-word")).ToHaveTextAsync("teacher's words");
        await Assertions.Expect(page.Locator(".handout-part")).ToContainTextAsync("stands in the summary");
        await Assertions.Expect(page.GetByRole(AriaRole.Link, new() { Name = "PDF" })).ToHaveCountAsync(0);
        Assert.Equal(409, (await page.APIRequest.GetAsync(new Uri(bench.Address, $"/cases/{record.Id}/handout.html").ToString())).Status);
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".handout-own-word")).ToHaveCountAsync(0);

        // The file itself, opened on its own: accessible, in light and dark, and nothing is fetched.
        IDownload download = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Link, new() { Name = "HTML file" }).ClickAsync());
        Assert.Equal("handout-wrist-pa-en.html", download.SuggestedFilename);
        await download.SaveAsAsync(folder["handout.html"]);
        IAPIResponse pdf = await page.APIRequest.GetAsync(new Uri(bench.Address, $"/cases/{record.Id}/handout.pdf?language=de").ToString());
        Assert.StartsWith("%PDF-", Encoding.Latin1.GetString((await pdf.BodyAsync())[..8]), StringComparison.Ordinal);
        Assert.Empty(complaints);

        var fetched = new List<string>();
        page.Request += (_, request) => fetched.Add(request.Url);
        foreach (ColorScheme scheme in new[] { ColorScheme.Light, ColorScheme.Dark })
        {
            await page.EmulateMediaAsync(new() { ColorScheme = scheme });
            await page.GotoAsync(new Uri(folder["handout.html"]).ToString());
            await SystemChromium.AssertAccessibleAsync(page);
        }

        Assert.All(fetched, address => Assert.True(address.StartsWith("file:", StringComparison.Ordinal) || address.StartsWith("data:", StringComparison.Ordinal), address));
    }
}
