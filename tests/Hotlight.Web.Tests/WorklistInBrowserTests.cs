using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The worklist and the settings of the clinic as a reader meets them.</summary>
public sealed class WorklistInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly RunningBench bench = new();
    private SystemChromium? browser;

    private IRecordStore Records => bench.Services.GetRequiredService<IRecordStore>();

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
    public async Task Worklist_LongList_HoldsOnlyTheLinesInSightAndBackLeadsToTheSamePlace()
    {
        await FillAsync(400);
        IPage page = await OpenAsync("?sort=title");
        ILocator lines = page.Locator("tr[data-line]");
        await Assertions.Expect(lines.First).ToContainTextAsync("case 000");
        Assert.InRange(await lines.CountAsync(), 10, 150);

        await page.Keyboard.PressAsync("End");
        ILocator last = page.Locator("tr[data-line='399']");
        await Assertions.Expect(last).ToBeFocusedAsync();
        await Assertions.Expect(last).ToContainTextAsync("case 399");
        Assert.InRange(await lines.CountAsync(), 10, 150);
        await page.Keyboard.PressAsync("ArrowUp");
        await Assertions.Expect(page.Locator("tr[data-line='398']")).ToBeFocusedAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForURLAsync(new Regex("/cases/"));
        await page.GoBackAsync();

        await Assertions.Expect(page.Locator("tr[data-line='398']")).ToBeFocusedAsync();
        Assert.EndsWith("?sort=title", page.Url, StringComparison.Ordinal);
        await Assertions.Expect(page.Locator("th[aria-sort=ascending]")).ToContainTextAsync("Case");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Worklist_SearchAndGiveByKeyboard_FilesWhatIsSelectedAndStandsInTheAddress()
    {
        IReadOnlyList<CaseRecord> cases = await FillAsync(30);
        ClinicState clinic = await bench.Services.GetRequiredService<ClinicWorkflow>().ChangeAsync(ClinicState.Initial, new ClinicSettings { People = [new Person { Id = Guid.NewGuid(), Pseudonym = "Tern" }] }, "people", null);
        IPage page = await OpenAsync("");
        await page.Keyboard.PressAsync("/");
        await page.Keyboard.TypeAsync("8");

        // 8, 18 and 28, and the three of the patient P-008.
        await Assertions.Expect(page.Locator("tr[data-line]:not(.part)")).ToHaveCountAsync(6);
        await Assertions.Expect(page).ToHaveURLAsync(new Regex(@"\?q=8$"));
        await page.Keyboard.PressAsync("Escape");
        await page.Keyboard.PressAsync("j");
        await page.Keyboard.PressAsync("x");
        await page.Keyboard.PressAsync("j");
        await page.Keyboard.PressAsync("x");
        await Assertions.Expect(page.Locator(".worklist-acts [role=status]")).ToHaveTextAsync("2 cases selected");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.Keyboard.PressAsync("a");
        await Assertions.Expect(page.Locator("#worklist-give")).ToBeFocusedAsync();
        await page.Locator("#worklist-give").SelectOptionAsync("Tern");
        await Assertions.Expect(page.Locator("tr[data-line]", new() { HasText = "Tern" })).ToHaveCountAsync(2);
        Assert.Equal(2, (await Records.CountAsync(new WorklistQuery { AssigneeId = clinic.Settings.People[0].Id })).Total);

        // Deleted and put back.
        await page.Locator("tr[data-line]:not(.part)").First.FocusAsync();
        await page.Keyboard.PressAsync("Delete");
        await Assertions.Expect(page.Locator(".notice")).ToContainTextAsync("is deleted");
        await Assertions.Expect(page.Locator("tr[data-line]:not(.part)")).ToHaveCountAsync(5);
        await page.GetByRole(AriaRole.Button, new() { Name = "Put it back" }).ClickAsync();
        await Assertions.Expect(page.Locator("tr[data-line]:not(.part)")).ToHaveCountAsync(6);
        Assert.Equal(cases.Count, await Records.CountAsync());
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Worklist_CaseFiledInAnotherWindow_IsLeftAsItIsAndTheReaderIsTold()
    {
        CaseRecord record = (await FillAsync(1))[0];
        IPage page = await OpenAsync("");
        await page.Locator("tr[data-line] input[type=checkbox]").CheckAsync();
        await Records.FileAsync([new FiledCase(record.Id, record.FilingVersion)], new CaseFiling { State = CaseState.Done });
        await page.Locator(".worklist-acts select").Nth(1).SelectOptionAsync("New");
        await Assertions.Expect(page.Locator(".notice.bad")).ToContainTextAsync("in another window");
        Assert.Equal(CaseState.Done, (await Records.FindAsync(record.Id))!.State);

        // What another window does comes into sight by itself; so does the list when its only case is deleted and put back.
        record = (await Records.FindAsync(record.Id))!;
        await Records.FileAsync([new FiledCase(record.Id, record.FilingVersion)], new CaseFiling { Tags = "seen again" });
        await Assertions.Expect(page.Locator("tr[data-line] .second-words")).ToContainTextAsync("seen again");
        await page.Locator("tr[data-line]:not(.part)").FocusAsync();
        await page.Keyboard.PressAsync("Delete");
        await Assertions.Expect(page.Locator("table.case-table")).ToHaveCountAsync(0);
        await page.GetByRole(AriaRole.Button, new() { Name = "Put it back" }).ClickAsync();
        await Assertions.Expect(page.Locator("tr[data-line]:not(.part)")).ToHaveCountAsync(1);
        await page.WaitForFunctionAsync("() => document.querySelector('tr.space > td')?.style.height !== ''");
        await page.Keyboard.PressAsync("End");
        await Assertions.Expect(page.Locator("tr[data-line]:not(.part)")).ToBeFocusedAsync();
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Worklist_ByExamination_FoldsAndUnfolds()
    {
        await FillAsync(9);
        IPage page = await OpenAsync("?group=examination&sort=title");
        ILocator heads = page.Locator("tr.part");
        await Assertions.Expect(heads).ToHaveCountAsync(3);
        await Assertions.Expect(heads.First).ToContainTextAsync("3 exposures");
        await Assertions.Expect(page.Locator("tr[data-line]")).ToHaveCountAsync(12);
        await heads.First.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("tr[data-line]")).ToHaveCountAsync(9);
        await page.Keyboard.PressAsync("x");
        await Assertions.Expect(page.Locator(".worklist-acts [role=status]")).ToHaveTextAsync("3 cases selected");
        await SystemChromium.AssertAccessibleAsync(page);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Clinic_EveryPart_IsKeptAtOnceAndTheLastChangeTakenBack()
    {
        string calibration = Path.Combine(bench.DataFolder, "room2.json");
        await File.WriteAllTextAsync(calibration, "{\"schema\":\"hotlight.calibration/1\",\"relationship\":\"logarithmic\",\"gain\":1000,\"offset\":500}");
        string bad = Path.Combine(bench.DataFolder, "letter.json");
        await File.WriteAllTextAsync(bad, "{\"schema\":\"a letter\"}");
        ClinicWorkflow clinic = bench.Services.GetRequiredService<ClinicWorkflow>();
        IPage page = await NewPageAsync("clinic");
        var complaints = new List<string>();
        page.PageError += (_, error) => complaints.Add(error);
        ILocator last = page.Locator(".clinic-last");

        await AddAsync(page, "#people-heading", "Tern");
        await Assertions.Expect(last).ToContainTextAsync("Tern added");
        await page.Locator(".reader-choice select").SelectOptionAsync("Tern");
        await AddAsync(page, "#rooms-heading", "Room 2");
        await Assertions.Expect(last).ToContainTextAsync("by Tern");

        // Images that the page fetches carry the choice too.
        Assert.Contains($"hotlight.reader={clinic.Current.Settings.People.Single(each => each.Pseudonym == "Tern").Id}", await page.EvaluateAsync<string>("() => document.cookie"), StringComparison.Ordinal);
        await AddAsync(page, "#receptors-heading", "Wall stand");
        await Assertions.Expect(page.Locator(".clinic-receptor input[type=file]")).ToHaveCountAsync(0);
        await page.Locator(".clinic-receptor").GetByLabel("Detector ID").FillAsync("SML-7");

        // Whoever goes on by keyboard before the first field is kept stays where they are, and both are kept.
        await page.Keyboard.PressAsync("Tab");
        await page.Keyboard.TypeAsync("WALL 1");
        await page.Keyboard.PressAsync("Tab");
        await Assertions.Expect(last).ToContainTextAsync("Wall stand changed");
        await Assertions.Expect(page.Locator(".clinic-receptor").GetByLabel("Model")).ToBeFocusedAsync();
        await SystemChromium.ChooseFileAsync(page.Locator(".clinic-receptor input[type=file]"), bad);
        await Assertions.Expect(page.Locator(".clinic-receptor .notice.bad")).ToContainTextAsync("letter.json");
        await SystemChromium.ChooseFileAsync(page.Locator(".clinic-receptor input[type=file]"), calibration);
        await Assertions.Expect(page.Locator(".clinic-calibration")).ToContainTextAsync("detector ID SML-7");

        ILocator trim = page.GetByLabel("Side of the field brought in from, mm");
        await trim.FillAsync("900");
        await page.Keyboard.PressAsync("Tab");
        await Assertions.Expect(page.Locator(".notice.bad").Last).ToContainTextAsync("from 0.1 to 100 mm");
        await Assertions.Expect(trim).ToHaveValueAsync("10");
        await trim.FillAsync("15");
        await page.Keyboard.PressAsync("Tab");
        await Assertions.Expect(last).ToContainTextAsync("15 mm");
        Assert.Equal(15, clinic.Current.Settings.Rules.SmallestTrimMm);
        await SystemChromium.AssertAccessibleAsync(page);

        await page.GetByRole(AriaRole.Button, new() { Name = "Take it back" }).ClickAsync();
        await Assertions.Expect(trim).ToHaveValueAsync("10");
        Assert.Empty(clinic.Current.Settings.Thresholds);
        Receptor receptor = Assert.Single(clinic.Current.Settings.Receptors);
        Assert.Equal(("SML-7", "WALL 1"), (receptor.DetectorId, receptor.StationName));

        // The file of settings: what was saved is brought in again over a change.
        string saved = await bench.Client.GetStringAsync(new Uri("/clinic/settings.json", UriKind.Relative));
        string file = Path.Combine(bench.DataFolder, "saved.json");
        await File.WriteAllTextAsync(file, saved);
        await AddAsync(page, "#people-heading", "Knot");
        await Assertions.Expect(last).ToContainTextAsync("Knot added");
        await SystemChromium.ChooseFileAsync(page.Locator("#file-heading ~ p input[type=file]"), file);
        await Assertions.Expect(last).ToContainTextAsync("brought in from saved.json");
        Assert.Equal(saved.TrimEnd(), ClinicSettingsJson.Write(clinic.Current.Settings));
        await SystemChromium.ChooseFileAsync(page.Locator("#file-heading ~ p input[type=file]"), bad);
        await Assertions.Expect(page.Locator(".clinic-head .notice.bad")).ToContainTextAsync("nothing was changed");
        Assert.Empty(complaints);
    }

    private static async Task AddAsync(IPage page, string heading, string name)
    {
        await page.Locator($"{heading} ~ form input").FillAsync(name);
        await page.Locator($"{heading} ~ form button").ClickAsync();
        await Assertions.Expect(page.Locator($"{heading} ~ form input")).ToHaveValueAsync("");
    }

    private async Task<IReadOnlyList<CaseRecord>> FillAsync(int count)
    {
        DateTimeOffset time = new(2026, 5, 1, 8, 0, 0, TimeSpan.Zero);
        var kept = new List<CaseRecord>();
        for (int number = 0; number < count; number++)
        {
            kept.Add(await Records.AddAsync(new CaseRecord
            {
                Id = Guid.NewGuid(),
                Title = $"case {number:000}",
                FileName = $"{number}.dcm",
                ContentHash = new string('a', 64),
                ContentBytes = 9,
                ExposureRecordJson = "{}",
                MeasurementsJson = "{}",
                MeasuredBy = CaseWorkflow.ThisVersion,
                PatientKey = $"p{number / 3}",
                PatientLabel = $"Reader P-{number / 3:000}",
                ExaminationKey = $"2.25.{number / 3}",
                AcquiredAt = time.AddMinutes(number),
                Created = time.AddMinutes(number),
                Changed = time.AddMinutes(number),
            }));
        }

        return kept;
    }

    private Task<IPage> NewPageAsync(string address) => browser!.OpenAsync(new Uri(bench.Address, "/" + address));

    private async Task<IPage> OpenAsync(string address)
    {
        IPage page = await NewPageAsync(address);
        await page.WaitForSelectorAsync("tr[data-line]");
        await page.WaitForFunctionAsync("() => document.querySelector('tr.space > td')?.style.height !== ''");
        return page;
    }
}
