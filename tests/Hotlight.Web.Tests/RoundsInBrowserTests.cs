using System.Collections.Concurrent;
using System.Text;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A whole round as a teacher and four readers meet it, each reader in a browser of their own, let in by a link.</summary>
public sealed class RoundsInBrowserTests : IAsyncLifetime, IDisposable
{
    private const string Remark = "the styloid is cut, said the first reader";
    private const string Why = "I still see the whole styloid";
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
    public async Task Round_FourReadersByLinks_FromPublishingToConsensusWithDissent()
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        await KeepAsync(cases, "Another", 92);
        Guid caseId = await KeepAsync(cases, "Wrist to read", 91);

        // The teacher publishes; what stops the publishing is named, and the picture is looked over where no program can.
        IPage teacher = await browser!.OpenAsync(new Uri(bench.Address, "/rounds"));
        await teacher.GetByLabel("Title").FillAsync("Wrists on Thursday");
        await teacher.GetByLabel("Words to the readers").FillAsync("Compare with MRN 4711082.");
        await teacher.GetByRole(AriaRole.Checkbox, new() { NameRegex = new Regex("^Wrist to read") }).CheckAsync();
        await SystemChromium.AssertAccessibleAsync(teacher);
        ILocator publish = teacher.GetByRole(AriaRole.Button, new() { Name = "Look it over and publish" });
        await publish.ClickAsync();
        await Assertions.Expect(teacher.Locator(".round-findings")).ToContainTextAsync("the words to the readers");
        await LookOverAsync(teacher);

        await teacher.GetByLabel("Words to the readers").FillAsync("Look at the field first.");
        await publish.ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round-link]")).ToHaveCountAsync(4);
        await SystemChromium.AssertAccessibleAsync(teacher);
        List<(string Name, string Link)> links = [];
        foreach (ILocator link in await teacher.Locator("[data-round-link]").AllAsync())
        {
            links.Add(((await link.GetAttributeAsync("data-round-link"))!, await link.InputValueAsync()));
        }

        await teacher.GetByRole(AriaRole.Link, new() { Name = "To the round" }).ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round=state]")).ToContainTextAsync("read blind");
        string round = new Uri(teacher.Url).AbsolutePath;

        // As long as nobody reads, a case is added, through the same gate, and taken away again.
        ILocator listed = teacher.Locator("[aria-labelledby=read-heading] .round-own li");
        await teacher.GetByLabel("Add a case").FillAsync("another");
        await teacher.GetByLabel("Add a case").PressAsync("Enter");
        ILocator add = teacher.GetByRole(AriaRole.Button, new() { Name = "Add Another" });
        await add.ClickAsync();
        await Assertions.Expect(listed.Nth(1).Or(teacher.Locator(".round-findings")).First).ToBeVisibleAsync();
        if (await listed.CountAsync() == 1)
        {
            await LookOverAsync(teacher);
            await add.ClickAsync();
        }

        await Assertions.Expect(listed).ToHaveCountAsync(2);
        await SystemChromium.AssertAccessibleAsync(teacher);
        await listed.Nth(1).GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^Take it away") }).ClickAsync();
        await Assertions.Expect(listed).ToHaveCountAsync(1);

        // Four readers, each in a browser of their own; all that comes to it over the wire is kept.
        List<(IPage Page, ConcurrentQueue<byte[]> Wire)> readers = [];
        for (int place = 0; place < links.Count; place++)
        {
            IPage page = await browser.NewPageAsync();
            ConcurrentQueue<byte[]> wire = Listen(page);
            readers.Add((page, wire));
            // The page goes on by itself, perhaps before it has loaded: then waiting for its loading would fail.
            await page.GotoAsync(links[place].Link, new PageGotoOptions { WaitUntil = WaitUntilState.Commit });
            await page.WaitForURLAsync(new Regex(Regex.Escape(round) + "$"));
            await Assertions.Expect(page.Locator("#own-heading")).ToHaveTextAsync($"You read as {links[place].Name}");
            Assert.DoesNotContain("#", page.Url, StringComparison.Ordinal);
        }

        await SystemChromium.AssertAccessibleAsync(readers[0].Page);
        for (int place = 0; place < readers.Count; place++)
        {
            IPage page = readers[place].Page;
            await page.GetByRole(AriaRole.Button, new() { Name = "Read it" }).ClickAsync();
            await Assertions.Expect(page.Locator(".own-reading")).ToContainTextAsync($"own reading of {links[place].Name}, blind");
            await page.WaitForSelectorAsync(".viewer[data-state=shown]");
            await page.WaitForSelectorAsync(".line.current");
            if (place == 0)
            {
                await page.Keyboard.PressAsync("n");
                await Assertions.Expect(page.Locator(".line.current .answer[aria-pressed=true]")).ToContainTextAsync("not met");
                await page.Locator(".line.current textarea").FillAsync(Remark);
                await Assertions.Expect(page.Locator(".kept")).ToContainTextAsync("kept");
                await page.GetByRole(AriaRole.Button, new() { Name = "Finish my reading" }).FocusAsync();
            }
            else
            {
                await page.Keyboard.PressAsync("m");
                await Assertions.Expect(page.Locator(".line.current .answer[aria-pressed=true]")).ToContainTextAsync("met");
            }

            if (place == 3)
            {
                // Before the last one finishes, nothing of the first reader has come to any other: neither to the page nor over the wire.
                for (int other = 1; other < readers.Count; other++)
                {
                    AssertNothingOf(readers[other].Wire, Remark);
                    AssertNothingOf(readers[other].Wire, links[0].Name);
                    string shown = await readers[other].Page.ContentAsync();
                    Assert.DoesNotContain(Remark, shown, StringComparison.Ordinal);
                    Assert.DoesNotContain(links[0].Name, shown, StringComparison.Ordinal);
                }

                AssertHolds(readers[0].Wire, links[0].Name);
                AssertNothingOf(readers[0].Wire, links[1].Name);
            }

            await page.GetByRole(AriaRole.Button, new() { Name = "Finish my reading" }).ClickAsync();
            await page.GetByRole(AriaRole.Button, new() { Name = "Finish it" }).ClickAsync();
            await page.WaitForURLAsync(new Regex(Regex.Escape(round) + "$"));
            if (place < 3)
            {
                await Assertions.Expect(page.Locator("main")).ToContainTextAsync("You have finished");
            }
        }

        // A page asked for over the live connection is not there either.
        await readers[1].Page.EvaluateAsync("Blazor.navigateTo('/clinic')");
        await Assertions.Expect(readers[1].Page.Locator("h1")).ToHaveTextAsync("There is nothing at this address");
        await readers[1].Page.GetByRole(AriaRole.Link, new() { Name = "Back to the round" }).ClickAsync();

        // The last finished: everybody's page shows it by itself.
        foreach (IPage page in readers.Select(each => each.Page).Append(teacher))
        {
            await Assertions.Expect(page.Locator("[data-round=state]")).ToContainTextAsync("shown");
        }

        await Assertions.Expect(teacher.Locator("#agreement-heading")).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(teacher);

        // Talked over at a point on the image; the others see it without doing anything.
        string casePath = $"{round}/cases/{caseId}";
        IPage second = readers[1].Page;
        IPage last = readers[3].Page;
        foreach (IPage page in new[] { second, last, teacher })
        {
            await page.GotoAsync(new Uri(bench.Address, casePath).ToString());
            await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        }

        await Assertions.Expect(teacher.Locator(".readings-table tr.divides")).ToContainTextAsync([Remark]);
        await second.GetByLabel("About").SelectOptionAsync("point");
        await second.Locator(".stage[data-marking]").ClickAsync();
        await Assertions.Expect(second.Locator("[data-round=place]")).ToContainTextAsync("number 1");
        await second.Locator("#new-thread").FillAsync("Is it cut here?");
        await second.Locator("form:has(#new-thread) button[type=submit]").ClickAsync();
        await Assertions.Expect(last.Locator(".round-threads")).ToContainTextAsync("Is it cut here?");

        // The number on the image leads to its thread: it lies where the other clicked, in the middle of a stage of the same size.
        await Assertions.Expect(teacher.Locator(".round-threads li")).ToHaveCountAsync(1);
        await teacher.Locator(".stage").ClickAsync();
        await Assertions.Expect(teacher.Locator(".round-threads li.chosen .link")).ToBeFocusedAsync();
        await last.Locator(".round-threads .link").ClickAsync();
        await Assertions.Expect(last.Locator(".round-threads .link")).ToHaveAttributeAsync("aria-pressed", "true");
        await last.GetByRole(AriaRole.Button, new() { NameRegex = new Regex("^Answer") }).ClickAsync();
        await last.Locator("#reply").FillAsync("By a millimetre.");
        await last.Locator("form:has(#reply) button[type=submit]").ClickAsync();
        await Assertions.Expect(teacher.Locator(".round-threads")).ToContainTextAsync("By a millimetre.");
        await SystemChromium.AssertAccessibleAsync(last);

        // The teacher records what was agreed on the line that divides; the last reader dissents, and it is kept.
        await teacher.Locator(".readings-table tr.divides").Filter(new() { HasText = Remark }).GetByRole(AriaRole.Button).ClickAsync();
        await teacher.GetByLabel("Agreed").SelectOptionAsync("not-met");
        await teacher.GetByLabel($"Voice of {links[1].Name}").SelectOptionAsync("shares");
        await SystemChromium.AssertAccessibleAsync(teacher);
        await teacher.GetByRole(AriaRole.Button, new() { Name = "Record it" }).ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round=record]")).ToContainTextAsync($"Shared by {links[0].Name}, {links[1].Name}");
        await last.Locator(".readings-table tr.divides").Filter(new() { HasText = Remark }).GetByRole(AriaRole.Button).ClickAsync();
        await last.Locator("#own-dissent").FillAsync(Why);
        await last.GetByRole(AriaRole.Button, new() { Name = "Record my dissent" }).ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round=record]")).ToContainTextAsync($"{links[3].Name} dissents: {Why}");

        await teacher.GotoAsync(new Uri(bench.Address, round).ToString());
        await teacher.GetByRole(AriaRole.Button, new() { Name = "The consensus is recorded" }).ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round=state]")).ToHaveTextAsync("consensus recorded");
        await teacher.GetByRole(AriaRole.Link, new() { Name = "Summary to print" }).ClickAsync();
        await Assertions.Expect(teacher.Locator("main")).ToContainTextAsync($"{links[3].Name} dissents: {Why}");
        await SystemChromium.AssertAccessibleAsync(teacher);

        // Closed, it is over for whoever came by a link, on the page that is open too.
        await teacher.GotoAsync(new Uri(bench.Address, round).ToString());
        await teacher.GetByRole(AriaRole.Button, new() { Name = "Close the round…" }).ClickAsync();
        await teacher.GetByRole(AriaRole.Button, new() { Name = "Close the round", Exact = true }).ClickAsync();
        await Assertions.Expect(teacher.Locator("[data-round=state]")).ToHaveTextAsync("closed");
        await Assertions.Expect(last.Locator("h1")).ToHaveTextAsync("This round is over for you");
        await SystemChromium.AssertAccessibleAsync(last);
        await readers[2].Page.GotoAsync(new Uri(bench.Address, round).ToString());
        await Assertions.Expect(readers[2].Page.Locator("h1")).ToHaveTextAsync("There is nothing at this address");
        await SystemChromium.AssertAccessibleAsync(readers[2].Page);
        Assert.Equal(RoundState.Closed, Assert.Single(await bench.Services.GetRequiredService<RoundWorkflow>().ListAsync()).State);
    }

    /// <summary>Keeps all that comes to a page: over its live connection, and the text of its answers.</summary>
    private static ConcurrentQueue<byte[]> Listen(IPage page)
    {
        var wire = new ConcurrentQueue<byte[]>();
        page.WebSocket += (_, socket) => socket.FrameReceived += (_, frame) => wire.Enqueue(frame.Binary ?? Encoding.UTF8.GetBytes(frame.Text ?? string.Empty));
        return wire;
    }

    private static void AssertNothingOf(ConcurrentQueue<byte[]> wire, string text)
        => Assert.DoesNotContain(wire, frame => frame.AsSpan().IndexOf(Encoding.UTF8.GetBytes(text)) >= 0);

    // The search finds what is there: the reader's own name has come over the wire.
    private static void AssertHolds(ConcurrentQueue<byte[]> wire, string text)
        => Assert.Contains(wire, frame => frame.AsSpan().IndexOf(Encoding.UTF8.GetBytes(text)) >= 0);

    // Where no program reads text in pictures, a person says that the picture was looked over.
    private static async Task LookOverAsync(IPage page)
    {
        foreach (ILocator asked in await page.Locator(".round-pixels input[type=checkbox]").AllAsync())
        {
            await asked.CheckAsync();
        }
    }

    private static async Task<Guid> KeepAsync(CaseWorkflow cases, string name, int seed)
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(300, 250, seed), folder["limb.dcm"]);
        await using FileStream content = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync($"{name}.dcm", content, long.MaxValue)).Record;
        return (await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa")).Record.Id;
    }
}
