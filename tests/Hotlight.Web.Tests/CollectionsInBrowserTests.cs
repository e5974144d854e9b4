using System.IO.Compression;
using System.Text.RegularExpressions;
using Hotlight.Teaching.Collections;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A collection as a teacher makes it: gathered in the list of cases, put in order, commented, made into a file, and opened again.</summary>
public sealed class CollectionsInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly RunningBench bench = new();
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;

    public async Task InitializeAsync()
    {
        browser = await SystemChromium.LaunchAsync();
        if (browser is null)
        {
            return;
        }

        await bench.InitializeAsync();
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        foreach ((string title, int marker) in new[] { ("Wrist, straight", 1), ("Wrist, turned", 2) })
        {
            InventedExposure.Write(InventedExposure.Limb(seed: marker), folder[$"{marker}.dcm"], $"collections {marker}");
            await using FileStream file = File.OpenRead(folder[$"{marker}.dcm"]);
            await cases.BringInInventedAsync($"{marker}.dcm", file, title, "wrist-pa", CaseOrigin.Lab);
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
    public async Task Collection_GatheredOrderedSharedAndOpened_HoldsTheCasesInThatOrder()
    {
        IPage page = await browser!.NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);
        await page.GotoAsync(new Uri(bench.Address, "/").ToString());
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { NameRegex = new Regex("^Select all") }).ClickAsync();
        await page.Locator("#worklist-collect").SelectOptionAsync(new SelectOptionValue { Label = "a new collection" });
        await page.WaitForURLAsync(new Regex("/collections/[0-9a-f-]{36}$"));

        ILocator cases = page.Locator(".collection-cases > li");
        await Assertions.Expect(cases).ToHaveCountAsync(2);
        string first = await cases.First.Locator("a").InnerTextAsync(), second = await cases.Last.Locator("a").InnerTextAsync();
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = $"“{first}” further down" }).PressAsync("Enter");
        await Assertions.Expect(cases.First.Locator("a")).ToHaveTextAsync(second);
        await page.GetByLabel($"Words to “{second}”").FillAsync("Look at the ulna.");
        await page.GetByLabel("Title").FillAsync("Wrists, week 3");
        await page.GetByLabel("Title").PressAsync("Tab");
        await Assertions.Expect(page).ToHaveTitleAsync("Wrists, week 3: Hotlight");
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = $"Take out “{first}”" }).ClickAsync();
        await Assertions.Expect(cases).ToHaveCountAsync(1);
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Take the last change back" }).ClickAsync();
        await Assertions.Expect(cases).ToHaveCountAsync(2);
        await SystemChromium.AssertAccessibleAsync(page);

        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Make the file" }).ClickAsync();
        ILocator save = page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { NameRegex = new Regex("^Save wrists-week-3.zip") });
        await Assertions.Expect(save).ToBeVisibleAsync(new LocatorAssertionsToBeVisibleOptions { Timeout = 30_000 });
        IDownload download = await page.RunAndWaitForDownloadAsync(() => save.ClickAsync());
        await download.SaveAsAsync(folder["shared.zip"]);

        // What was taken out stands beside, and can be kept.
        await page.GetByText("What was taken out of the files").ClickAsync();
        await Assertions.Expect(page.Locator("details.privacy-report tbody tr")).ToHaveCountAsync(2);
        IDownload report = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = "Save the report" }).ClickAsync());
        Assert.Equal("wrists-week-3-report.json", report.SuggestedFilename);
        using (ZipArchive zip = ZipFile.OpenRead(folder["shared.zip"]))
        {
            SharedCollection shared = CollectionZip.ReadContents(zip);
            Assert.Equal([(second, "Look at the ulna."), (first, "")], shared.Cases.Select(each => (each.Title, each.Words)));
        }

        await page.GotoAsync(new Uri(bench.Address, "/collections").ToString());
        await SystemChromium.ChooseFileAsync(page.Locator("input[type=file]"), folder["shared.zip"]);
        await Assertions.Expect(page.GetByText("“Wrists, week 3” is opened: 2 cases brought in.")).ToBeVisibleAsync(new LocatorAssertionsToBeVisibleOptions { Timeout = 30_000 });
        await Assertions.Expect(page.Locator("tbody tr")).ToHaveCountAsync(2);
        await SystemChromium.AssertAccessibleAsync(page);
        Assert.Empty(complaints);
    }
}
