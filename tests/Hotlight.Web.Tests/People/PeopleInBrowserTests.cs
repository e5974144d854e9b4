using System.Reflection;
using Hotlight.Audit;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests.People;

/// <summary>The people of a department as they meet the bench: in a browser.</summary>
public sealed class PeopleInBrowserTests : IAsyncLifetime
{
    private const string Password = "nine otters in the reeds";
    private DepartmentBench bench = null!;
    private SystemChromium? browser;
    private PutForwardClock clock = null!;

    public async Task InitializeAsync()
    {
        browser = await SystemChromium.LaunchAsync();
        if (browser is not null)
        {
            clock = new PutForwardClock();
            bench = await DepartmentBench.StartAsync(clock: clock);
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

    [SystemFileFact(SystemChromium.Path)]
    public async Task FirstAdministrator_InvitesALearner_WhoSignsInWithCodes()
    {
        IPage page = await browser!.NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);
        string link = bench.Said[bench.Said.IndexOf("http", StringComparison.Ordinal)..].Trim();
        await OpenLinkAsync(page, link);
        await SetUpAsync(page, Password);

        // The administrator's own pages, and somebody invited.
        await page.GetByRole(AriaRole.Link, new() { Name = "to the cases" }).ClickAsync();
        await Assertions.Expect(page.Locator("main h1").First).ToHaveTextAsync("Cases");
        await Assertions.Expect(page.Locator(".signed-in")).ToContainTextAsync("Administrator, administrator");
        await page.GetByRole(AriaRole.Link, new() { Name = "People" }).ClickAsync();
        await Assertions.Expect(page.GetByLabel("Sign-in name")).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByLabel("Sign-in name").FillAsync("dunlin");
        await page.GetByLabel("Pseudonym of somebody new").FillAsync("Dunlin");
        await page.Locator(".people-invite select[name=role]").SelectOptionAsync("Learner");
        await page.GetByRole(AriaRole.Button, new() { Name = "Make an invitation" }).ClickAsync();
        string invitation = await page.Locator("[data-invitation=link]").InnerTextAsync();
        await Assertions.Expect(page.Locator("tbody tr", new() { HasText = "dunlin" })).ToContainTextAsync("invited, until");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Link, new() { Name = "My account" }).ClickAsync();
        await Assertions.Expect(page.GetByText("10 recovery codes left")).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign out", Exact = true }).ClickAsync();
        await Assertions.Expect(page.GetByText("You are signed out.")).ToBeVisibleAsync();

        // The learner, on another machine.
        IPage learner = await browser.NewPageAsync();
        complaints.AddRange(SystemChromium.Complaints(learner));
        await OpenLinkAsync(learner, invitation);
        byte[] key = await SetUpAsync(learner, "eight curlews at low tide");
        await learner.GetByRole(AriaRole.Link, new() { Name = "to the cases" }).ClickAsync();
        await Assertions.Expect(learner.Locator(".signed-in")).ToContainTextAsync("Dunlin, learner");
        await Assertions.Expect(learner.Locator(".reader-choice")).ToHaveCountAsync(0);
        await Assertions.Expect(learner.GetByRole(AriaRole.Link, new() { Name = "Clinic" })).ToHaveCountAsync(0);
        await SystemChromium.AssertAccessibleAsync(learner);
        await learner.GetByRole(AriaRole.Button, new() { Name = "Sign out" }).ClickAsync();

        // Signing in by name, password and a code, back to where the learner wanted to go.
        await learner.GotoAsync(new Uri(bench.Address, "/practice").ToString());
        await learner.GetByLabel("Name").FillAsync("dunlin");
        await learner.GetByLabel("Password").FillAsync("eight curlews at low tide");
        await SystemChromium.AssertAccessibleAsync(learner);
        await learner.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await learner.GetByLabel("Code of your app").FillAsync(TimeCodes.At(key, DateTimeOffset.UtcNow.ToUnixTimeSeconds() + 30));
        await SystemChromium.AssertAccessibleAsync(learner);
        await learner.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await learner.WaitForURLAsync("**/practice");
        await Assertions.Expect(learner.Locator(".signed-in")).ToContainTextAsync("Dunlin, learner");

        // Sent straight to a page of the administrator's, the learner is told.
        await learner.GotoAsync(new Uri(bench.Address, "/people").ToString());
        await Assertions.Expect(learner.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Not open to your role");
        await SystemChromium.AssertAccessibleAsync(learner);
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Password_WrongFiveTimes_TheNameIsLockedAndThePageSaysHowLong()
    {
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(bench.Address, "/sign-in").ToString());
        for (int attempt = 0; attempt < 6; attempt++)
        {
            await page.GetByLabel("Name").FillAsync(rowan.Name);
            await page.GetByLabel("Password").FillAsync(attempt < 5 ? "not this one at all" : rowan.Password);
            await page.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
            await Assertions.Expect(page.GetByRole(AriaRole.Alert).First).ToContainTextAsync("locked for ten minutes");
            await Assertions.Expect(page.GetByLabel("Password")).ToHaveValueAsync("");
        }

        await SystemChromium.AssertAccessibleAsync(page);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Passkey_MadeInTheBrowser_SignsInWithoutPasswordAndCode()
    {
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        IPage page = await SignInAsync(rowan);
        ICDPSession devices = await page.Context.NewCDPSessionAsync(page);
        await devices.SendAsync("WebAuthn.enable");
        await devices.SendAsync("WebAuthn.addVirtualAuthenticator", new Dictionary<string, object>
        {
            ["options"] = new Dictionary<string, object> { ["protocol"] = "ctap2", ["transport"] = "internal", ["hasResidentKey"] = true, ["hasUserVerification"] = true, ["isUserVerified"] = true, ["automaticPresenceSimulation"] = true },
        });
        await page.GotoAsync(new Uri(bench.Address, "/account/second-factor").ToString());
        await page.GetByLabel("What it is called").FillAsync("key ring");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Make a passkey" }).ClickAsync();
        await page.WaitForURLAsync("**/account?said=passkey");
        await Assertions.Expect(page.Locator(".people-list").First).ToContainTextAsync("key ring");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign out", Exact = true }).ClickAsync();

        // The device alone, without a name: and back to where one wanted to go.
        await page.GotoAsync(new Uri(bench.Address, "/people").ToString());
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in with a passkey" }).ClickAsync();
        await page.WaitForURLAsync("**/people");
        await Assertions.Expect(page.Locator("tbody tr", new() { HasText = "rowan" })).ToContainTextAsync("a passkey");

        // Removed, it lets nobody in, and the page says so.
        Assert.Single((await bench.Accounts.GetAsync(rowan.AccountId)).Passkeys);
        await page.GotoAsync(new Uri(bench.Address, "/account").ToString());
        await page.GetByRole(AriaRole.Button, new() { Name = "Remove key ring" }).ClickAsync();
        await page.WaitForURLAsync("**/account?said=removed");
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign out", Exact = true }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in with a passkey" }).ClickAsync();
        await Assertions.Expect(page.Locator("[data-passkey=fault]")).ToContainTextAsync("lets nobody in");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Session_Ended_ShowsNothingMoreOnTheOpenPage()
    {
        await bench.AddAsync("rowan", PersonRole.Administrator);
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Reader);
        IPage page = await SignInAsync(dunlin);
        await Assertions.Expect(page.Locator(".signed-in")).ToContainTextAsync("Pseudonym dunlin, reader");
        Acting.As(Actor.Program);
        await bench.Accounts.SetDisabledAsync(dunlin.AccountId, true);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You are signed out");
        await Assertions.Expect(page.Locator(".masthead")).ToHaveCountAsync(0);
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in again" }).ClickAsync();
        await page.WaitForURLAsync("**/sign-in**");

        // Left alone for too long, the same, without anybody's doing.
        await bench.Accounts.SetDisabledAsync(dunlin.AccountId, false);
        IPage left = await SignInAsync(dunlin);
        await Assertions.Expect(left.Locator(".signed-in")).ToContainTextAsync("Pseudonym dunlin, reader");
        clock.Advance(TimeSpan.FromMinutes(31));
        await Assertions.Expect(left.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You are signed out");
    }

    [SystemFileTheory(SystemChromium.Path)]
    [InlineData(PersonRole.Learner)]
    [InlineData(PersonRole.Reader)]
    [InlineData(PersonRole.Supervisor)]
    [InlineData(PersonRole.Administrator)]
    public async Task EveryPage_OverTheLiveConnection_InEachRole_IsShownAsTheTableSays(PersonRole role)
    {
        IPage page = await SignInAsync(await bench.AddAsync("whimbrel", role));
        await Assertions.Expect(page.Locator(".signed-in")).ToBeVisibleAsync();

        // What is set on the page would be gone if it were loaded anew: all of this goes over the one connection.
        await page.EvaluateAsync("() => { window.stays = true; }");
        int refused = 0;
        foreach (string route in typeof(Bench).Assembly.GetTypes().SelectMany(type => type.GetCustomAttributes<RouteAttribute>()).Select(each => each.Template).Where(each => each != "/error").Order(StringComparer.Ordinal))
        {
            string need = AccessTable.NeedOf("GET", route)!;
            bool isOpen = need == "SignedIn" || AccessTable.Roles[need].Contains(role);
            string path = string.Join('/', route.Split('/').Select(part => part.StartsWith('{') ? part.Contains("guid", StringComparison.Ordinal) ? Guid.NewGuid().ToString() : "none" : part));
            await page.EvaluateAsync("path => Blazor.navigateTo(path)", path);

            // A page may lead further down by itself, as a learner's progress leads to the learner's own.
            await page.WaitForFunctionAsync("path => (location.pathname === path || location.pathname.startsWith(path + '/')) && document.querySelector('h1') !== null && document.querySelector('[data-progress=looking]') === null && (path !== '/progress' || document.querySelector('[data-progress=settled]') !== null)", path);
            ILocator heading = page.Locator("h1").First;
            string shown = await page.Locator("main").First.InnerTextAsync();
            Assert.False(shown.Contains("This could not be done", StringComparison.Ordinal), $"{route}: {shown}");
            if (isOpen)
            {
                await Assertions.Expect(heading).Not.ToHaveTextAsync("Not open to your role");
            }
            else
            {
                await Assertions.Expect(heading).ToHaveTextAsync("Not open to your role");
                await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Your role here");
                refused++;
            }
        }

        Assert.True(await page.EvaluateAsync<bool>("() => window.stays === true"));
        Assert.Equal(role == PersonRole.Administrator, refused == 0);

        // In the trail a page was looked at or refused, and never both.
        bool isOpenToSettings = AccessTable.Roles[AccessTable.NeedOf("GET", "/clinic")!].Contains(role);
        List<AuditEntry> noted = await bench.Services.GetRequiredService<AuditTrail>().ReadAsync(new AuditQuery { Subject = AuditSubject.Page, SubjectId = "/clinic" }).ToListAsync();
        AuditEntry entry = Assert.Single(noted);
        Assert.Equal((isOpenToSettings ? AuditAct.Looked : AuditAct.Refused, !isOpenToSettings), (entry.Act, entry.IsFailure));
        Assert.Equal(("whimbrel", RoleTable.Word(role), isOpenToSettings ? string.Empty : RoleTable.Words(Operation.KeepSettings)), (entry.By.Name, entry.By.Role, entry.Detail));
        if (refused > 0)
        {
            await page.EvaluateAsync("path => Blazor.navigateTo(path)", "/clinic");
            await Assertions.Expect(page.Locator("main h1")).ToHaveTextAsync("Not open to your role");
            await SystemChromium.AssertAccessibleAsync(page);
        }
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Changes_OverTheLiveConnection_CarryThePersonAndTheRole()
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(300, 250, 4711), folder["limb.dcm"]);
        Acting.As(Actor.Program);
        await using FileStream content = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", content, long.MaxValue)).Record;
        await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");

        // A reader answers for the clinic.
        IPage reader = await SignInAsync(await bench.AddAsync("whimbrel", PersonRole.Reader));
        await reader.GotoAsync(new Uri(bench.Address, $"/cases/{record.Id}").ToString());
        await TakesKeysAsync(reader);
        await reader.Keyboard.PressAsync("m");
        await Assertions.Expect(reader.GetByRole(AriaRole.Button, new() { Name = "Undo" })).ToBeEnabledAsync();
        Acting.As(Actor.Program);
        Assert.NotEqual(0, (await bench.Services.GetRequiredService<IRecordStore>().FindAsync(record.Id))!.AnswerStep);

        // A learner who opens the case comes to its readings, reads it alone, and the reading is the learner's.
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Learner);
        IPage learner = await SignInAsync(dunlin);
        await learner.GotoAsync(new Uri(bench.Address, $"/cases/{record.Id}").ToString());
        await learner.GetByRole(AriaRole.Link, new() { Name = "To the readings of this case" }).ClickAsync();
        await learner.GetByRole(AriaRole.Button, new() { Name = "Begin your own reading" }).ClickAsync();
        await TakesKeysAsync(learner);
        await Assertions.Expect(learner.Locator(".own-reading")).ToContainTextAsync("Pseudonym dunlin");
        await learner.Keyboard.PressAsync("m");
        await Assertions.Expect(learner.GetByRole(AriaRole.Button, new() { Name = "Undo" })).ToBeEnabledAsync();
        Assert.Equal(1, (await bench.Services.GetRequiredService<IRecordStore>().FindAsync(record.Id))!.AnswerStep);

        // Somebody else's reading is not shown, whoever looks.
        string address = learner.Url;
        await reader.GotoAsync(address);
        await Assertions.Expect(reader.Locator("main")).ToBeVisibleAsync();
        await Assertions.Expect(reader.Locator(".line.current")).ToHaveCountAsync(0);
    }

    // The page of a link goes on by itself, perhaps before it has loaded: then waiting for its loading would fail.
    private static Task OpenLinkAsync(IPage page, string link) => page.GotoAsync(link, new PageGotoOptions { WaitUntil = WaitUntilState.Commit });

    // The keys' switch says that it is on once the keys are heard.
    private static async Task TakesKeysAsync(IPage page)
    {
        await page.WaitForSelectorAsync(".line.current");
        await page.WaitForSelectorAsync("[data-keys=heard]", new PageWaitForSelectorOptions { State = WaitForSelectorState.Attached });
    }

    private async Task<IPage> SignInAsync(Member member)
    {
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(bench.Address, "/sign-in").ToString());
        await page.GetByLabel("Name").FillAsync(member.Name);
        await page.GetByLabel("Password").FillAsync(member.Password);
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await page.GetByLabel("Code of your app").FillAsync(member.NextCode());
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await page.WaitForSelectorAsync(".signed-in");
        return page;
    }

    // From an opened link to the page of recovery codes, with axe on every page between.
    private static async Task<byte[]> SetUpAsync(IPage page, string password)
    {
        await page.WaitForURLAsync("**/invitation/account");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByLabel("Password", new() { Exact = true }).FillAsync(password);
        await page.GetByLabel("The same again").FillAsync(password);
        await page.GetByRole(AriaRole.Button, new() { Name = "Keep it and go on" }).ClickAsync();
        await page.WaitForURLAsync("**/account/second-factor");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByText("or type the key").ClickAsync();
        byte[] key = TimeCodes.KeyOf(await page.Locator("[data-code-key]").InnerTextAsync());
        await page.GetByLabel("Type the code that it shows now").FillAsync(TimeCodes.At(key, DateTimeOffset.UtcNow.ToUnixTimeSeconds()));
        await page.GetByRole(AriaRole.Button, new() { Name = "Use these codes" }).ClickAsync();
        await Assertions.Expect(page.Locator(".recovery-codes li")).ToHaveCountAsync(10);
        await SystemChromium.AssertAccessibleAsync(page);
        return key;
    }
}
