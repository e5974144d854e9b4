using System.Text.RegularExpressions;
using Hotlight.Records;
using Hotlight.Records.Invented;
using Hotlight.Testing;
using Hotlight.Workflows.Records;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The repeat analysis as a reader meets it, over a year of the invented department.</summary>
public sealed class RepeatsInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly RunningBench bench = new();
    private SystemChromium? browser;

    public async Task InitializeAsync()
    {
        browser = await SystemChromium.LaunchAsync();
        if (browser is not null)
        {
            await bench.InitializeAsync();
            DepartmentRecipe recipe = DepartmentRecipe.SaltmarshLane with { FirstDay = new DateOnly(2026, 5, 1) };
            await bench.Services.GetRequiredService<IExposureLog>().AddAsync(
                new LogImport { Id = InventedDepartment.ImportIdOf(recipe), Site = recipe.Site, Title = "invented" },
                InventedDepartment.Entries(recipe, ShiftHours.Usual));
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

    public void Dispose() => bench.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task FromAPointOfTheChart_ByKeyboard_ToItsEntries_AReasonIsChangedAndTakenBack()
    {
        IPage page = await browser!.NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);
        await page.GotoAsync(new Uri(bench.Address, "/repeats").ToString());
        await Assertions.Expect(page.GetByText("invented department", new PageGetByTextOptions { Exact = true })).ToBeVisibleAsync();
        ILocator bar = page.Locator("figure:has(#reasons-title) svg a").First;
        await Assertions.Expect(bar).ToHaveAttributeAsync("aria-label", new Regex(@"^positioning: \d"));
        await SystemChromium.AssertAccessibleAsync(page, pointsHaveATable: true);

        await bar.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForURLAsync(new Regex("/repeats/entries.*use=rejected.*reason=positioning"));
        ILocator reason = page.Locator("tr.entry select").First;
        await Assertions.Expect(reason).ToHaveValueAsync("Positioning");
        await SystemChromium.AssertAccessibleAsync(page, pointsHaveATable: true);
        ILocator counted = page.Locator(".entry-undo p").First;
        await reason.SelectOptionAsync("Motion");
        await Assertions.Expect(counted).ToContainTextAsync("Kept: motion.");
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { NameRegex = new Regex("^Take back") }).ClickAsync();
        await Assertions.Expect(counted).ToContainTextAsync("Taken back: positioning.");
        Assert.Empty(complaints);
    }
}
