using System.Text.RegularExpressions;
using Hotlight.Judgement;
using Hotlight.Teaching.Practice;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching.Practice;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A learner's practice from start to score, and a phantom that is exposed twice, as they are met in the browser.</summary>
public sealed class PracticeInBrowserTests : IAsyncLifetime, IDisposable
{
    // An exposure takes seconds, on a busy machine many.
    private const float ExposureMs = 240_000;
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
    public async Task Session_ByKeyboardAlone_FromStartToScore()
    {
        PracticeWorkflow practice = bench.Services.GetRequiredService<PracticeWorkflow>();
        var tern = new Person { Id = Guid.NewGuid(), Pseudonym = "Tern", Role = PersonRole.Learner };
        await bench.Services.GetRequiredService<ClinicWorkflow>().ChangeAsync(ClinicState.Initial, new ClinicSettings { People = [tern] }, "people", null);
        KeptPractice begun = await practice.BeginAsync(new PracticeOrder { Count = 1, ByWeakness = false, ProjectionIds = ["wrist-pa"], Kinds = [FaultKind.Marker], Seed = 4 }, CaseReader.Of(tern));

        IPage page = await browser!.OpenAsync(new Uri(bench.Address, $"/practice/{begun.Lesson.Id}"));
        await page.WaitForSelectorAsync(".viewer[data-state=shown]", new() { Timeout = ExposureMs });
        PracticeExercise exercise = (await practice.FindAsync(begun.Lesson.Id))!.Session.Exercises.Single();
        Assert.NotEmpty(exercise.Truth);

        // Nothing that was measured is shown before the answers are finished, and the console's figures are.
        await Assertions.Expect(page.Locator(".line-row .figure")).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator(".practice-about")).ToContainTextAsync("exposure index");
        await SystemChromium.AssertAccessibleAsync(page);

        foreach (ChecklistLine line in practice.Lines(exercise))
        {
            ILocator row = page.Locator($"#line-{line.Id.Replace('.', '-')}");
            await Assertions.Expect(row).ToHaveClassAsync(new Regex("current"));
            TrueLine? truth = exercise.Truth.FirstOrDefault(each => each.LineId == line.Id);
            await page.Keyboard.PressAsync(truth?.IsFault == true ? "n" : "m");
            await Assertions.Expect(row.Locator(".answers .answer[aria-pressed=true]")).ToHaveCountAsync(1);
            if (truth is { IsFault: true, Misses.Count: > 0 })
            {
                string looks = line.Misses.First(miss => miss.Id == truth.Misses[0]).Looks;
                ILocator way = row.GetByRole(AriaRole.Radio, new() { Name = looks });
                await way.FocusAsync();
                await page.Keyboard.PressAsync(" ");
                await Assertions.Expect(way).ToBeCheckedAsync();
            }

            await page.Keyboard.PressAsync("y");
            await Assertions.Expect(row.Locator(".practice-certainty .answer[aria-pressed=true]")).ToContainTextAsync("95 %");
            await page.Keyboard.PressAsync("j");
        }

        // Answers are kept as drafts: the page opened anew holds them.
        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]", new() { Timeout = ExposureMs });
        await Assertions.Expect(page.Locator(".practice-sure")).ToHaveCountAsync(practice.Lines(exercise).Count);
        await page.Keyboard.PressAsync("v");
        await Assertions.Expect(page.Locator(".practice-here")).ToHaveCountAsync(1);
        await page.Keyboard.PressAsync(exercise.Verdicts[0] switch { VerdictKind.Accept => "m", VerdictKind.Repeat => "n", _ => "c" });
        await Assertions.Expect(page.Locator(".practice-verdict .practice-three .answer[aria-pressed=true]")).ToHaveCountAsync(1);
        await page.Keyboard.PressAsync("e");
        await Assertions.Expect(page.Locator(".practice-verdict .practice-certainty .answer[aria-pressed=true]")).ToContainTextAsync("75 %");
        await page.Keyboard.PressAsync("Control+Enter");

        // Answered as the truth is: full marks, and the evidence on the image.
        await Assertions.Expect(page.Locator("#score-heading")).ToHaveTextAsync("Score 100 %");
        await Assertions.Expect(page.Locator(".practice-score")).ToContainTextAsync("Nothing was imagined");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.Keyboard.PressAsync("Control+Enter");
        await Assertions.Expect(page.Locator("h2").First).ToHaveTextAsync("The session is over");
        await Assertions.Expect(page.Locator(".practice-number")).ToContainTextAsync("100 %");
        await SystemChromium.AssertAccessibleAsync(page);

        // It stands in the learner's list and in the competency record, told apart from readings.
        await page.GotoAsync(new Uri(bench.Address, "/practice").ToString());
        await page.Locator(".masthead select").SelectOptionAsync("Tern");
        await Assertions.Expect(page.Locator("#sessions-heading + .wide-table tbody tr")).ToHaveCountAsync(1);
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GotoAsync(new Uri(bench.Address, $"/progress/{tern.Id}").ToString());
        await Assertions.Expect(page.Locator("#practice-heading")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("1 exercise finished, mean score 100 %.");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task ExposeItYourself_WithARepeat_SaysWhatItCost()
    {
        PracticeWorkflow practice = bench.Services.GetRequiredService<PracticeWorkflow>();
        IPage page = await browser!.OpenAsync(new Uri(bench.Address, "/practice/expose"));
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Wrist PA" }).ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Regex("/practice/expose/[0-9a-f-]{36}"));
        await Assertions.Expect(page.Locator(".practice-request")).ToContainTextAsync("An imagined adult");
        await SystemChromium.AssertAccessibleAsync(page);

        // As it stands: no letter, the field wide open.
        await page.GetByRole(AriaRole.Button, new() { Name = "Expose", Exact = true }).ClickAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]", new() { Timeout = ExposureMs });
        await Assertions.Expect(page.Locator(".lab-results tbody tr")).ToHaveCountAsync(1);
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Expose again" })).ToBeDisabledAsync();
        await SystemChromium.AssertAccessibleAsync(page);

        // The letter is missing, by mouse; the verdict by keyboard.
        await page.Locator("#line-marker-side .line-row").ClickAsync();
        await page.Locator("#line-marker-side").GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^not met") }).ClickAsync();
        await page.Locator("#line-marker-side").GetByRole(AriaRole.Radio, new() { Name = "no marker is seen" }).CheckAsync();
        await page.Locator("#line-marker-side").GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^sure") }).ClickAsync();
        await Assertions.Expect(page.Locator("#line-marker-side .practice-sure")).ToHaveTextAsync("sure");
        await page.Keyboard.PressAsync("v");
        await Assertions.Expect(page.Locator("#verdict-heading")).ToHaveClassAsync(new Regex("practice-here"));
        await page.Keyboard.PressAsync("n");
        await Assertions.Expect(page.Locator(".practice-three .answer[aria-pressed=true]")).ToHaveTextAsync(new Regex("^Repeat"));

        // Tighter, with the letter, and turned back by what the task hides.
        Guid id = Guid.Parse(page.Url[^36..]);
        ExposeTask task = (await practice.FindAsync(id))!.Session.Task!;
        await SetAsync(page, "turn", -task.HiddenTurnDegrees);
        await SetAsync(page, "field-width", 138);
        await SetAsync(page, "field-height", 150);
        await page.GetByLabel("Letter").SelectOptionAsync(task.Side);
        await page.GetByRole(AriaRole.Button, new() { Name = "Expose again" }).ClickAsync();
        await Assertions.Expect(page.Locator(".lab-results tbody tr")).ToHaveCountAsync(2, new() { Timeout = ExposureMs });
        await page.GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^Accept with remark") }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^Keep this image") }).ClickAsync();
        await Assertions.Expect(page.Locator(".lab-dose")).ToContainTextAsync("2 exposures", new() { Timeout = ExposureMs });
        await Assertions.Expect(page.Locator(".lab-results")).ToContainTextAsync("What would have sufficed");
        await page.GetByRole(AriaRole.Button, new() { Name = "Show image 1" }).ClickAsync();
        await Assertions.Expect(page.Locator("#line-marker-side .line-row")).ToContainTextAsync("right", new() { Timeout = ExposureMs });
        await SystemChromium.AssertAccessibleAsync(page);

        // The sum is of both, and the second costs less by its smaller field: 138 × 150 of 180 × 240 mm.
        ExposeTask done = (await practice.FindAsync(id))!.Session.Task!;
        Assert.Equal(2, done.Attempts.Count);
        Assert.All(done.Attempts, each => Assert.NotNull(each.Total));
        Assert.Equal(new PracticeAnswer(ChecklistState.NotMet, "absent", "sure"), done.Attempts[0].Answers.Lines["marker.side"]);
        Assert.DoesNotContain(done.Attempts[1].Truth, line => line.LineId == "marker.side" && line.IsFault);
        Assert.Contains(done.Attempts[0].Truth, line => line.LineId == "marker.side" && line.Misses.Contains("absent"));
    }

    private static async Task SetAsync(IPage page, string setting, double value)
    {
        ILocator box = page.Locator($"[data-setting={setting}] input[type=number]");
        await box.FillAsync(value.ToString(System.Globalization.CultureInfo.InvariantCulture));
        await box.PressAsync("Tab");
        await Assertions.Expect(page.Locator($"[data-setting={setting}] .dial-fault")).ToHaveCountAsync(0);
    }
}
