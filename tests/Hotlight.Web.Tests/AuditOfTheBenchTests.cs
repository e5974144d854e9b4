using System.Net;
using Hotlight.Audit;
using Hotlight.Testing;
using Hotlight.Web.Audit;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

public sealed class AuditOfTheBenchTests(RunningBench bench) : IClassFixture<RunningBench>
{
    private AuditTrail Trail => bench.Services.GetRequiredService<AuditTrail>();

    [Fact]
    public async Task Bench_FromItsStart_NotesWhoBroughtInLookedChangedAndDeleted()
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(200, 160, 5), folder["limb.dcm"]);
        using HttpResponseMessage sent = await bench.SendAsync(await File.ReadAllBytesAsync(folder["limb.dcm"]), "Patient Surname 4711082.dcm");
        string id = sent.Headers.Location!.ToString().Split('/')[^1];
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();

        // At once, as a page asks for the parts of an image.
        HttpResponseMessage[] parts = await Task.WhenAll(Enumerable.Range(0, 6).Select(part => bench.Client.GetAsync(new Uri($"/cases/{id}/{(part % 2 == 0 ? "pixels" : "table")}", UriKind.Relative))));
        foreach (HttpResponseMessage part in parts)
        {
            part.EnsureSuccessStatusCode();
            part.Dispose();
        }

        await cases.ChooseProjectionAsync(await cases.OpenAsync(Guid.Parse(id)), "wrist-pa");
        await cases.DeleteAsync(Guid.Parse(id));

        List<AuditEntry> entries = await Trail.ReadAsync(new AuditQuery { Subject = AuditSubject.Case, SubjectId = id }).ToListAsync();
        Assert.Equal(AuditAct.BroughtIn, entries[0].Act);
        AuditEntry look = Assert.Single(entries, entry => entry.Act == AuditAct.Looked);
        Assert.Equal((AuditIdentity.OneReader, "127.0.0.1"), (look.By.Name, look.By.Address));
        Assert.Contains(entries, entry => entry.Act == AuditAct.Changed);
        Assert.Equal(AuditAct.Deleted, entries[^1].Act);

        // The name that the file came with is nowhere in the trail.
        List<AuditEntry> all = await Trail.ReadAsync(new AuditQuery()).ToListAsync();
        Assert.Equal((AuditAct.Started, "the bench"), (all[0].Act, all[0].By.Name));
        Assert.DoesNotContain(all, entry => entry.ToString().Contains("Surname", StringComparison.OrdinalIgnoreCase) || entry.ToString().Contains("4711082", StringComparison.Ordinal));
        Assert.Empty((await Trail.CheckAsync()).Faults);
    }

    [Fact]
    public async Task Image_FetchedByItsAddress_IsNotedWithWhoWasChosenInTheMasthead()
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(200, 160, 6), folder["limb.dcm"]);
        using HttpResponseMessage sent = await bench.SendAsync(await File.ReadAllBytesAsync(folder["limb.dcm"]), "limb.dcm");
        string id = sent.Headers.Location!.ToString().Split('/')[^1];
        ClinicWorkflow clinic = bench.Services.GetRequiredService<ClinicWorkflow>();
        ClinicState state = await clinic.LoadAsync();
        var turnstone = new Person { Id = Guid.NewGuid(), Pseudonym = "Turnstone", Role = PersonRole.Reader };
        var gone = new Person { Id = Guid.NewGuid(), Pseudonym = "Knot", Role = PersonRole.Reader, IsActive = false };
        await clinic.ChangeAsync(state, state.Settings with { People = [.. state.Settings.People, turnstone, gone] }, "people", null);

        // Chosen, out of work by now, known to nobody, and no identifier at all.
        foreach (string cookie in new[] { $"{turnstone.Id}", $"{gone.Id}", $"{Guid.NewGuid()}", "Turnstone" })
        {
            using var request = new HttpRequestMessage(HttpMethod.Get, new Uri($"/cases/{id}/table", UriKind.Relative));
            request.Headers.Add("Cookie", $"{AuditIdentity.ChosenCookie}={cookie}");
            using HttpResponseMessage table = await bench.Client.SendAsync(request);
            table.EnsureSuccessStatusCode();
        }

        List<AuditEntry> looks = await Trail.ReadAsync(new AuditQuery { Acts = [AuditAct.Looked], Subject = AuditSubject.Case, SubjectId = id }).ToListAsync();
        Assert.Equal([("Turnstone", turnstone.Id), (AuditIdentity.OneReader, null)], looks.Select(look => (look.By.Name, look.By.Id)));
    }

    [Theory]
    [InlineData("127.0.0.1", "127.0.0.1")]
    [InlineData("::ffff:198.51.100.7", "198.51.100.7")]
    [InlineData("::1", "::1")]
    [InlineData("2001:db8::17", "2001:db8::17")]
    public void AddressOf_EveryKindOfAddress_IsToldAsItIs(string from, string told)
    {
        var context = new DefaultHttpContext();
        Assert.Null(AuditIdentity.AddressOf(context));
        context.Connection.RemoteIpAddress = IPAddress.Parse(from);
        Assert.Equal(told, AuditIdentity.AddressOf(context));
    }

    [Fact]
    public async Task Exports_OverTheirAddress_AreEachNoted()
    {
        int before = await CountAsync();
        for (int time = 0; time < 2; time++)
        {
            using HttpResponseMessage settings = await bench.Client.GetAsync(new Uri("/clinic/settings.json", UriKind.Relative));
        }

        Assert.Equal(before + 2, await CountAsync());

        Task<int> CountAsync() => Trail.ReadAsync(new AuditQuery { Acts = [AuditAct.Exported], Subject = AuditSubject.Page }).CountAsync().AsTask();
    }

    [Theory]
    [InlineData("/cases/6F1D0C52-58b4-4c19-9f0e-2f6f3a1f7c11", AuditSubject.Case, "6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11")]
    [InlineData("/cases/6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11/pixels", AuditSubject.Case, "6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11")]
    [InlineData("/rounds/00000000-0000-0000-0000-000000000001/cases/6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11", AuditSubject.Case, "6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11")]
    [InlineData("/rounds/6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11/summary", AuditSubject.Lesson, "6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11")]
    [InlineData("/repeats", AuditSubject.Page, "/repeats")]
    [InlineData("/", AuditSubject.Page, "/")]
    [InlineData("", AuditSubject.Page, "/")]
    public void SubjectOf_Paths_NamesTheCaseBeforeAllElse(string path, object subject, string id)
        => Assert.Equal(((AuditSubject)subject, id), LookTelling.SubjectOf(path));

    [SystemFileFact(SystemChromium.Path)]
    public async Task Page_OpenedOverTheLiveConnection_IsNotedWithItsReaderAndWithoutItsQuery()
    {
        await using SystemChromium browser = (await SystemChromium.LaunchAsync())!;
        IPage page = await browser.OpenAsync(new Uri(bench.Address, "/repeats?from=2026-01-01"));
        await page.GetByRole(AriaRole.Link, new() { Name = "Clinic" }).First.ClickAsync();

        // The address changes before the page is there, and a page is noted before it is shown.
        await Assertions.Expect(page.Locator("main h1").First).ToHaveTextAsync("Clinic");

        List<AuditEntry> looks = await Trail.ReadAsync(new AuditQuery { Acts = [AuditAct.Looked], Subject = AuditSubject.Page }).ToListAsync();
        Assert.Single(looks, entry => entry.SubjectId == "/repeats");
        AuditEntry clinic = Assert.Single(looks, entry => entry.SubjectId == "/clinic");
        Assert.Equal((AuditIdentity.OneReader, "127.0.0.1"), (clinic.By.Name, clinic.By.Address));
        Assert.DoesNotContain(looks, entry => entry.SubjectId.Contains('?', StringComparison.Ordinal));
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task AuditPage_ListsFiltersChecksAndGivesTheMessages()
    {
        await Trail.TellAsync(new AuditEvent(AuditAct.Exported, AuditSubject.Lesson, "page-test", "collection") { By = new AuditActor("Turnstone") });
        await using SystemChromium browser = (await SystemChromium.LaunchAsync())!;
        IPage page = await browser.OpenAsync(new Uri(bench.Address, "/audit?of=page-test"));

        ILocator rows = page.Locator(".audit-table tbody tr");
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await Assertions.Expect(rows.First).ToContainTextAsync("gave out");
        await Assertions.Expect(rows.First).ToContainTextAsync("lesson page-test: collection");
        await page.GetByLabel("Of which").FillAsync("");
        await page.GetByRole(AriaRole.Textbox, new() { Name = "Who" }).FillAsync("Turnstone");
        await page.GetByLabel("What was done").SelectOptionAsync("exports");
        await page.GetByRole(AriaRole.Button, new() { Name = "Show" }).ClickAsync();
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await page.GetByRole(AriaRole.Button, new() { Name = "Check the chain" }).ClickAsync();
        await Assertions.Expect(page.Locator("[data-audit=whole]")).ToContainTextAsync("every seal fits");
        await page.GetByRole(AriaRole.Button, new() { Name = "Make a file of audit messages" }).ClickAsync();
        IDownload saved = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Link, new() { Name = "Save it" }).ClickAsync());
        Assert.StartsWith("<AuditMessage>", await File.ReadAllTextAsync(await saved.PathAsync()), StringComparison.Ordinal);
        await SystemChromium.AssertAccessibleAsync(page);
    }
}
