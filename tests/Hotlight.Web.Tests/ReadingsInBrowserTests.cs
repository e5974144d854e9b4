using System.Text.RegularExpressions;
using Hotlight.Judgement;
using Hotlight.Records;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Records;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Two readers on one case, from blind to compared, as they meet it in the browser.</summary>
public sealed class ReadingsInBrowserTests : IAsyncLifetime, IDisposable
{
    private const string Secret = "a remark of the other reader";
    private readonly RunningBench bench = new();
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

    public void Dispose() => bench.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task TwoReadersOnOneCase_FromBlindToCompared()
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        ReadingWorkflow readings = bench.Services.GetRequiredService<ReadingWorkflow>();
        var tern = new Person { Id = Guid.NewGuid(), Pseudonym = "Tern", Role = PersonRole.Learner };
        var gull = new Person { Id = Guid.NewGuid(), Pseudonym = "Gull", Role = PersonRole.Supervisor };
        await bench.Services.GetRequiredService<ClinicWorkflow>().ChangeAsync(ClinicState.Initial, new ClinicSettings { People = [tern, gull] }, "people", null);
        Guid id = await KeepAsync(cases);

        // The supervisor reads first, and calls the case for blind reading.
        await readings.CallAsync(id, gull.Id);
        OwnReading first = await readings.BeginAsync(id, CaseReader.Of(gull));
        OpenCase theirs = await cases.OpenAsync(first.Id);
        string line = theirs.Critique!.Verdict.Open[0].LineId;
        await cases.AnswerAsync(theirs, line, new Answer(ChecklistState.NotMet, null, Secret));
        await readings.FinishAsync(first.Id, gull.Id);

        // The learner sees that the case is read blind, and nothing of what was answered, whatever page is tried.
        IPage page = await browser!.OpenAsync(new Uri(bench.Address, $"/cases/{id}"));
        await Assertions.Expect(page.Locator("#blind-heading")).ToHaveTextAsync("This case is read blind");
        await page.Locator(".blind-notice select").SelectOptionAsync("Tern");
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Begin your own reading" })).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(page);
        foreach ((string path, string shown) in new[] { ($"/agreement/cases/{id}", "blind to you"), ("/agreement", "1 case left out"), ($"/compare/{id}", "read blind"), ($"/cases/{id}/pose", "read blind"), ($"/cases/{first.Id}/pose", "This reading is finished"), ("/", "read blind") })
        {
            await page.GotoAsync(new Uri(bench.Address, path).ToString());
            await Assertions.Expect(page.Locator("main")).ToContainTextAsync(shown);
            Assert.DoesNotContain(Secret, await page.ContentAsync(), StringComparison.Ordinal);
        }

        // What became of the exposure is a hint as well: the list of entries keeps it back.
        await bench.Services.GetRequiredService<CaseExposures>().SayAsync((await cases.OpenAsync(id)).Record, ExposureUse.Rejected, RejectReason.Positioning);
        await page.GotoAsync(new Uri(bench.Address, "/repeats/entries?site=&period=all").ToString());
        await Assertions.Expect(page.Locator("tr.entry")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator("tr.entry")).ToContainTextAsync("read blind");
        await Assertions.Expect(page.Locator("tr.entry select")).ToHaveCountAsync(0);

        // The reading is the case page with answers of one's own.
        await page.GotoAsync(new Uri(bench.Address, $"/cases/{id}").ToString());
        await page.GetByRole(AriaRole.Button, new() { Name = "Begin your own reading" }).ClickAsync();
        await Assertions.Expect(page.Locator(".own-reading")).ToContainTextAsync("own reading of Tern, blind");
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".line.current");
        Assert.DoesNotContain(Secret, await page.ContentAsync(), StringComparison.Ordinal);
        await page.Keyboard.PressAsync("m");
        await Assertions.Expect(page.Locator(".line.current .answer[aria-pressed=true]")).ToContainTextAsync("met");
        await page.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(page.Locator(".line.current .answer[aria-pressed=true]")).ToHaveCountAsync(0);
        await page.Keyboard.PressAsync("m");
        await Assertions.Expect(page.Locator(".line.current .answer[aria-pressed=true]")).ToContainTextAsync("met");
        await page.GetByRole(AriaRole.Button, new() { Name = "Finish my reading" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Finish it" }).ClickAsync();

        // Finished: both stand side by side, and are talked over.
        await page.WaitForURLAsync(new Regex($"/agreement/cases/{id}"));
        await Assertions.Expect(page.Locator(".readings-table thead")).ToContainTextAsync("Gull");
        await Assertions.Expect(page.Locator(".readings-table tr.divides").Filter(new() { HasText = Secret })).ToHaveCountAsync(1);
        await page.Locator("#new-remark").FillAsync("Let us look at it together.");
        await page.GetByRole(AriaRole.Button, new() { Name = "Say it" }).ClickAsync();
        await Assertions.Expect(page.Locator(".remark-text")).ToHaveTextAsync("Let us look at it together.");
        await SystemChromium.AssertAccessibleAsync(page);
        Assert.Empty((await cases.OpenAsync(id)).Answers!.Lines);

        // Agreement and progress count it now.
        await page.GotoAsync(new Uri(bench.Address, "/agreement").ToString());
        await Assertions.Expect(page.Locator(".agreement-ground")).ToContainTextAsync("2 readings of 1 case by 2 readers");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GotoAsync(new Uri(bench.Address, "/progress").ToString());
        await Assertions.Expect(page.Locator("h1")).ToContainTextAsync("Progress of Tern");
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("0 of 1 (0 %");
        await SystemChromium.AssertAccessibleAsync(page);
    }

    private static async Task<Guid> KeepAsync(CaseWorkflow cases)
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(300, 250, 77), folder["limb.dcm"]);
        await using FileStream content = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("Wrist to read.dcm", content, long.MaxValue)).Record;
        return (await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa")).Record.Id;
    }
}
