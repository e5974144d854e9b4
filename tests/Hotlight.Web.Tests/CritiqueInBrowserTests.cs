using Hotlight.Judgement;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Whole critiques in the browser: by mouse, by keyboard, by two readers at once.</summary>
public sealed class CritiqueInBrowserTests(BrowsedBench bench) : IClassFixture<BrowsedBench>
{
    [SystemFileFact(SystemChromium.Path)]
    public async Task Critique_ByMouseAlone_IsMadeToTheEnd()
    {
        CaseRecord record = await bench.KeepAsync("by mouse");
        IPage page = await bench.OpenCaseAsync(record);
        List<string> complaints = SystemChromium.Complaints(page);

        // Every open line is answered: the last of them "not met", with the first way of missing it.
        string[] open = [.. (await bench.Cases.OpenAsync(record.Id)).Critique!.Verdict.Open.Select(reason => reason.LineId)];
        Assert.NotEmpty(open);
        string missed = open.Last(id => id.StartsWith("position.", StringComparison.Ordinal));
        foreach (string id in open)
        {
            ILocator line = page.Locator($"#line-{id.Replace('.', '-')}");
            await line.Locator(".line-row").ClickAsync();
            await line.Locator(id == missed ? ".answer.not-met" : ".answer.met").ClickAsync();
            if (id == missed)
            {
                await line.Locator(".misses input").First.CheckAsync();
                await line.Locator("textarea").ClickAsync();
                await page.Keyboard.TypeAsync("seen on the ulna");
            }
        }

        await Assertions.Expect(page.Locator(".verdict-first")).Not.ToContainTextAsync("open");

        // The plan: the proposed change is worded otherwise, struck out, put back; one of the reader's own is added.
        if (await page.Locator("#verdict-more").IsHiddenAsync())
        {
            await page.Locator(".verdict-toggle").ClickAsync();
        }

        await page.Locator(".changes button", new() { HasText = "reword" }).First.ClickAsync();
        await page.Locator(".plan-edit textarea").FillAsync("Turn the hand until the palm lies flat.");
        await page.Locator(".changes button", new() { HasText = "Keep" }).ClickAsync();
        ILocator reworded = page.Locator(".changes li", new() { HasText = "Turn the hand until the palm lies flat." });
        await Assertions.Expect(reworded).ToContainTextAsync("Proposed was");
        await reworded.Locator("button", new() { HasText = "strike out" }).ClickAsync();
        await Assertions.Expect(page.Locator(".struck")).ToBeVisibleAsync();
        await page.Locator(".struck button").ClickAsync();
        await Assertions.Expect(page.Locator(".struck")).ToBeHiddenAsync();
        await page.Locator("button", new() { HasText = "add a change of your own" }).ClickAsync();
        await page.Locator(".plan-own select").SelectOptionAsync("Marker");
        await page.Locator(".plan-own textarea").FillAsync("Lay the marker beside the thumb.");
        await page.Locator(".plan-own button", new() { HasText = "Add" }).ClickAsync();
        await Assertions.Expect(page.Locator(".changes")).ToContainTextAsync("Lay the marker beside the thumb.");

        // The reader's own verdict stands beside the one found.
        await page.Locator(".own-verdict select").SelectOptionAsync("AcceptWithRemark");
        await page.Locator(".own-verdict input").FillAsync("The question is answered all the same.");
        await page.Locator(".own-verdict button").ClickAsync();
        await Assertions.Expect(page.Locator(".verdict-more")).ToContainTextAsync("both are kept");
        await SystemChromium.AssertAccessibleAsync(page);
        ILocator done = page.Locator(".head-acts button", new() { HasText = "Done" });
        await done.ClickAsync();
        await Assertions.Expect(done).ToHaveAttributeAsync("aria-pressed", "true");

        // What the page shows is what is kept.
        OpenCase kept = await bench.Cases.OpenAsync(record.Id);
        Assert.Equal(CaseState.Done, kept.Record.State);
        Assert.Empty(kept.Critique!.Verdict.Open);
        Assert.Equal("seen on the ulna", kept.Answers!.Lines[missed].Remark);
        Assert.NotNull(kept.Answers.Lines[missed].Miss);
        Assert.Contains(kept.Critique.Changes, change => change.Instruction == "Lay the marker beside the thumb." && change.Step == TableStep.Marker);
        Assert.Equal(VerdictKind.AcceptWithRemark, kept.Answers.Verdict!.Kind);

        // Undo goes through all of it, step by step, to the beginning.
        for (int step = kept.Record.AnswerStep; step > 0; step--)
        {
            await page.Locator(".head-acts button", new() { HasText = "Undo" }).ClickAsync();
            await page.WaitForFunctionAsync("(left) => document.querySelector('.head-acts button').disabled === (left === 0)", step - 1);
        }

        await Assertions.Expect(page.Locator(".head-acts button", new() { HasText = "Undo" })).ToBeDisabledAsync();
        Assert.Empty((await bench.Cases.OpenAsync(record.Id)).Answers!.Lines);
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Critique_ByKeyboardAlone_IsMadeToTheEnd()
    {
        CaseRecord record = await bench.KeepAsync("by keyboard");
        IPage page = await bench.OpenAsync("/");
        List<string> complaints = SystemChromium.Complaints(page);

        // No pointer and no script sets the focus from here on.
        await page.WaitForSelectorAsync($"a[href=\"/cases/{record.Id}\"]");
        await TabUntilAsync(page, $"document.activeElement.getAttribute('href') === '/cases/{record.Id}'");
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".line.current");

        int open = (await bench.Cases.OpenAsync(record.Id)).Critique!.Verdict.Open.Count;
        for (int line = open; line > 0; line--)
        {
            await page.Keyboard.PressAsync("o");
            await page.WaitForFunctionAsync("() => document.querySelector('.line.current .open-mark')");
            await page.Keyboard.PressAsync("m");
            await page.WaitForFunctionAsync("() => !document.querySelector('.line.current .open-mark')");
        }

        await page.WaitForFunctionAsync("() => !document.querySelector('.verdict').classList.contains('undetermined')");
        Assert.Empty((await bench.Cases.OpenAsync(record.Id)).Critique!.Verdict.Open);

        // A remark, and back to the lines.
        await page.Keyboard.PressAsync("r");
        await page.WaitForFunctionAsync("() => document.activeElement.tagName === 'TEXTAREA'");
        await page.Keyboard.TypeAsync("typed by key");
        await page.WaitForFunctionAsync("() => !Object.keys(sessionStorage).some((name) => name.startsWith('hotlight.draft:'))");
        await page.Keyboard.PressAsync("Escape");
        Assert.Contains((await bench.Cases.OpenAsync(record.Id)).Answers!.Lines.Values, answer => answer.Remark == "typed by key");

        // A landmark: to its tab, onto its button, onto the image, placed under the cross.
        await TabUntilAsync(page, "document.activeElement.id === 'tab-landmarks'", backwards: true);
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForSelectorAsync(".landmark-list .landmark");
        await TabUntilAsync(page, "document.activeElement.classList.contains('landmark')");
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForSelectorAsync("[data-view=stage][data-marking]");
        await TabUntilAsync(page, "document.activeElement.dataset.view === 'stage'", backwards: true);
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForFunctionAsync("() => document.querySelectorAll('.landmark-list .small').length === 1");
        Assert.Single((await bench.Cases.OpenAsync(record.Id)).Answers!.Landmarks);

        // An own change and an own verdict.
        await page.Keyboard.PressAsync("Escape");
        for (int press = 0; press < 3 && !await page.Locator("#verdict-more .own-verdict").IsVisibleAsync(); press++)
        {
            await page.Keyboard.PressAsync("v");
            await page.WaitForTimeoutAsync(2000);
        }

        await page.WaitForSelectorAsync("#verdict-more .own-verdict");
        await TabUntilAsync(page, "document.activeElement.tagName === 'BUTTON' && document.activeElement.textContent.includes('add a change of your own')");
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForSelectorAsync(".plan-own textarea");
        await TabUntilAsync(page, "document.activeElement.matches('.plan-own textarea')");
        await page.Keyboard.TypeAsync("Warm the table.");
        await page.Keyboard.PressAsync("Control+Enter");
        await Assertions.Expect(page.Locator(".changes")).ToContainTextAsync("Warm the table.");
        Assert.Contains((await bench.Cases.OpenAsync(record.Id)).Critique!.Changes, change => change.Instruction == "Warm the table.");
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task TwoReaders_OfOneCase_SeeEachOther_AndOverwriteNothing()
    {
        CaseRecord record = await bench.KeepAsync("by two");
        IPage one = await bench.OpenCaseAsync(record);
        IPage other = await bench.OpenCaseAsync(record);
        await Assertions.Expect(one.Locator(".others")).ToContainTextAsync("also here");
        await Assertions.Expect(other.Locator(".others")).ToContainTextAsync("also here");

        // What one answers the other sees without doing anything.
        string[] open = [.. (await bench.Cases.OpenAsync(record.Id)).Critique!.Verdict.Open.Select(reason => reason.LineId)];
        string first = ElementOf(open[0]);
        string second = ElementOf(open[1]);
        await one.Locator($"{first} .line-row").ClickAsync();
        await one.Locator($"{first} .answer.met").ClickAsync();
        await Assertions.Expect(other.Locator($"{first} .line-row .state")).ToContainTextAsync("met");

        // Letters under way in one window stay when the other changes another line.
        await other.Locator($"{second} .line-row").ClickAsync();
        await other.Locator($"{second} textarea").ClickAsync();
        await other.Keyboard.TypeAsync("half a sen");
        await one.Locator($"{first} .answer.not-met").ClickAsync();
        await Assertions.Expect(other.Locator($"{first} .line-row .state")).ToContainTextAsync("not met");
        await other.Keyboard.TypeAsync("tence");
        await Assertions.Expect(other.Locator($"{second} textarea")).ToHaveValueAsync("half a sentence");
        await other.WaitForFunctionAsync("() => !Object.keys(sessionStorage).some((name) => name.startsWith('hotlight.draft:'))");

        OpenCase kept = await bench.Cases.OpenAsync(record.Id);
        Assert.Equal(ChecklistState.NotMet, kept.Answers!.Lines[open[0]].State);
        Assert.Equal("half a sentence", kept.Answers.Lines[open[1]].Remark);

        // Deleted under one's hands: said at once, and it can be put back.
        await bench.Cases.DeleteAsync(record.Id);
        await Assertions.Expect(one.Locator("main [role=alert]")).ToContainTextAsync("deleted");
        await one.Locator("button", new() { HasText = "Put it back" }).ClickAsync();
        await one.WaitForSelectorAsync(".line.current");

        // Who leaves is seen no more.
        await other.GotoAsync(bench.Address.ToString());
        await Assertions.Expect(one.Locator(".others")).ToBeHiddenAsync();
    }

    // A 100 x 60 part in a canvas of 800 x 600: twice its size is seen, so max(200/800, 120/600, 0.5) = 0.5 columns a canvas pixel; 1000 x 600: max(2000/800, 1200/600) = 2.5.
    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task Evidence_IsPutInTheMiddle_AtTwiceItsSize()
    {
        IPage page = await bench.PlainPageAsync();
        double[] seen = await page.EvaluateAsync<double[]>("""
            async () => {
              const { View } = await import("/viewer/view.js");
              const view = new View();
              view.setImage(3000, 2400, 1);
              view.setCanvas(800, 600);
              view.fit();
              const whole = view.step;
              const small = view.lookAt([[500, 700], [599, 759]]);
              const first = [view.step, ...view.toCanvas([549.5, 729.5])];
              const large = view.lookAt([[500, 700], [1499, 1299]]);
              const second = [view.step, ...view.toCanvas([999.5, 999.5])];
              view.fit();
              const most = view.lookAt([[0, 0], [2999, 2000]]);
              return [whole, Number(small), ...first, Number(large), ...second, Number(most), view.step];
            }
            """);
        Assert.Equal([4, 1, 0.5, 400, 300, 1, 2.5, 400, 300, 0, 4], seen);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Draft_OfAPlan_IsThereAgainAfterThePageWasLost()
    {
        CaseRecord record = await bench.KeepAsync("draft");
        IPage page = await bench.OpenCaseAsync(record);
        await ShowVerdictAsync(page);
        await page.Locator("button", new() { HasText = "add a change of your own" }).ClickAsync();
        await page.Locator(".plan-own textarea").ClickAsync();
        await page.Keyboard.TypeAsync("Ask for help with hold");

        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".line.current");
        await ShowVerdictAsync(page);
        await page.Locator("button", new() { HasText = "add a change of your own" }).ClickAsync();
        await page.Locator(".plan-own textarea").ClickAsync();
        await Assertions.Expect(page.Locator(".plan-own textarea")).ToHaveValueAsync("Ask for help with hold");
        await page.Keyboard.PressAsync("End");
        await page.Keyboard.TypeAsync("ing");
        await page.Keyboard.PressAsync("Control+Enter");
        await Assertions.Expect(page.Locator(".changes")).ToContainTextAsync("Ask for help with holding");
        await page.WaitForFunctionAsync("() => !Object.keys(sessionStorage).some((name) => name.includes('plan:'))");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Compare_SaysWhatWasPutRight_AndFollowsWhatIsAnswered()
    {
        CaseRecord original = await bench.KeepAsync("original");
        CaseRecord repeat = await bench.KeepAsync("the repeat");
        OpenCase open = await bench.Cases.OpenAsync(original.Id);
        string line = open.Critique!.Lines.First(each => each is { Required: true, Weight: Catalogue.Weight.Repeat, Section: ChecklistSection.Positioning }).Id;
        string question = open.Critique.Lines.First(each => each.Id == line).Question;
        await bench.Cases.AnswerAsync(open, line, new Answer(ChecklistState.NotMet));

        IPage page = await bench.OpenAsync($"/compare/{original.Id}");
        List<string> complaints = SystemChromium.Complaints(page);
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.Locator(".beside select").SelectOptionAsync(repeat.Id.ToString());
        await page.WaitForFunctionAsync("() => document.querySelectorAll('.viewer[data-state=shown]').length === 2");
        await Assertions.Expect(page.Locator("#fixed-heading")).ToContainTextAsync("cannot be told yet");
        await Assertions.Expect(page.Locator(".compare-lines")).ToContainTextAsync(question);

        // The repeat is judged in another window: the words follow.
        await bench.Cases.AnswerAsync(await bench.Cases.OpenAsync(repeat.Id), line, new Answer(ChecklistState.Met));
        await Assertions.Expect(page.Locator("#fixed-heading")).ToHaveTextAsync("Put right");
        await Assertions.Expect(page.Locator(".compare-words")).ToContainTextAsync("no difference can be told");
        await SystemChromium.AssertAccessibleAsync(page);

        // Turned round, it is newly missed.
        await page.Locator("a", new() { HasText = "swap" }).ClickAsync();
        await Assertions.Expect(page.Locator(".compare-lines")).ToContainTextAsync("newly missed");
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Tour_GoesThroughTheBench_ByKeyboard()
    {
        CaseRecord record = await bench.KeepAsync("tour");
        IPage page = await bench.OpenCaseAsync(record, "?tour=1");
        List<string> complaints = SystemChromium.Complaints(page);
        ILocator tour = page.Locator(".tour");
        await Assertions.Expect(tour).ToContainTextAsync("1 of 8");
        await page.WaitForFunctionAsync("() => document.activeElement?.closest('.tour')");
        await SystemChromium.AssertAccessibleAsync(page);
        for (int step = 2; step <= 8; step++)
        {
            await page.Keyboard.PressAsync("ArrowRight");
            await Assertions.Expect(tour).ToContainTextAsync($"{step} of 8");
            await page.WaitForFunctionAsync("() => document.querySelectorAll('[data-tour-here]').length === 1");
        }

        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(tour).ToBeHiddenAsync();
        Assert.Equal(0, await page.Locator("[data-tour-here]").CountAsync());
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task EveryPage_InBothThemes_PassesTheRulesOfAccess()
    {
        CaseRecord record = await bench.KeepAsync("themes");
        foreach (string path in new[] { "/", "/lab", "/clinic", "/help", "/help/mottle", $"/cases/{record.Id}", $"/compare/{record.Id}", "/nowhere" })
        {
            IPage page = await bench.OpenAsync(path);
            await page.WaitForTimeoutAsync(500);
            await SystemChromium.AssertAccessibleAsync(page);
            await page.EvaluateAsync("() => localStorage.setItem('hotlight.theme', 'light')");
            await page.ReloadAsync();
            await page.WaitForSelectorAsync("main h1, .bench h1");
            await page.WaitForTimeoutAsync(500);
            Assert.Equal("light", await page.EvaluateAsync<string>("() => document.documentElement.dataset.theme"));
            await SystemChromium.AssertAccessibleAsync(page);
            await page.Context.CloseAsync();
        }
    }

    private static string ElementOf(string lineId) => $"#line-{lineId.Replace('.', '-')}";

    private static async Task ShowVerdictAsync(IPage page)
    {
        await page.WaitForSelectorAsync(".verdict-toggle");
        if (await page.Locator("#verdict-more").IsHiddenAsync())
        {
            await page.Locator(".verdict-toggle").ClickAsync();
        }

        await page.WaitForSelectorAsync("#verdict-more .own-verdict");
    }

    private static async Task TabUntilAsync(IPage page, string isThere, bool backwards = false)
    {
        for (int press = 0; press < 150; press++)
        {
            await page.Keyboard.PressAsync(backwards ? "Shift+Tab" : "Tab");
            if (await page.EvaluateAsync<bool>($"() => Boolean(document.activeElement && ({isThere}))"))
            {
                return;
            }
        }

        Assert.Fail($"150 presses of Tab did not lead to: {isThere}");
    }
}
