using Hotlight.Catalogue;
using Hotlight.Testing;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

public sealed class LanguageTests
{
    private const string Chromium = "/usr/bin/chromium";

    [SystemFileFact(Chromium)]
    public async Task StartAsync_InGerman_SaysItsTextsAndItsCatalogueInItOverThePagesLiveConnection()
    {
        using var folder = new ScratchFolder();
        await using WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Language = "de" }, TextWriter.Null);
        Assert.Equal("Handgelenk p.a.", bench.Services.GetRequiredService<ProjectionCatalogue>().Get("wrist-pa").Name);
        using IPlaywright playwright = await Playwright.CreateAsync();
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions { ExecutablePath = Chromium, Timeout = 20_000, Args = ["--no-sandbox", "--disable-background-networking"] });
        IPage page = await browser.NewPageAsync();
        await page.GotoAsync(Bench.AddressOf(bench).ToString());
        ILocator caution = page.Locator("p.caution");
        await caution.WaitForAsync(new LocatorWaitForOptions { Timeout = 20_000 });
        Assert.StartsWith("Hotlight dient der Ausbildung", await caution.InnerTextAsync(), StringComparison.Ordinal);

        // What a click redraws is said in it too: the live connection keeps its language.
        await page.Locator("nav a[href='/lab']").ClickAsync();
        await page.Locator("nav a[href='/lab'][aria-current=page]").WaitForAsync(new LocatorWaitForOptions { Timeout = 20_000 });
        Assert.StartsWith("Hotlight dient der Ausbildung", await caution.InnerTextAsync(), StringComparison.Ordinal);
        await bench.StopAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task StartAsync_LanguageWithoutTexts_IsRefusedInOneSentence()
    {
        using var folder = new ScratchFolder();
        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(
            () => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Language = "fr" }, TextWriter.Null));
        Assert.Equal("--language names one of de, en, es; there are no texts in 'fr'.", refused.Message);
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public void Parse_Language_IsTaken()
    {
        Assert.Equal("de", BenchOptions.Parse(["--language", "de"]).Language);
        Assert.Equal("en", BenchOptions.Parse([]).Language);
    }
}
