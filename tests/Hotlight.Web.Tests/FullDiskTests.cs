using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hotlight.Audit;
using Hotlight.Judgement;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>A bench whose disk is full or read-only says so in a sentence, loses nothing, and goes on when there is room again.</summary>
public sealed class FullDiskTests
{
    private static readonly string[] Pages = ["/rounds", "/practice/expose"];

    [SmallDiskFact(withBrowser: true)]
    public async Task Pages_OfABenchWhoseDiskIsFull_SayItInASentenceAndGoOnWhenThereIsRoom()
    {
        using var disk = new SmallDisk(48);
        string data = Path.Combine(disk.Path, "data");
        await using (WebApplication bench = await StartAsync(data))
        await using (SystemChromium browser = (await SystemChromium.LaunchAsync())!)
        {
            CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
            OpenCase open = await BringInAsync(cases, 1);
            OpenCase other = await BringInAsync(cases, 2);
            IPage worklist = await browser.OpenAsync(Bench.AddressOf(bench));
            IPage page = await browser.OpenAsync(new Uri(Bench.AddressOf(bench), $"/cases/{open.Record.Id}"));
            await page.WaitForSelectorAsync(".viewer[data-state=shown]");
            await page.WaitForSelectorAsync(".line.current");
            await page.Keyboard.PressAsync("m");
            (int Version, string AnswersJson) kept = await ChangedAsync(bench, open.Record.Id, open.Record.Version);

            disk.Fill();

            // What is changed on an open page is not kept, which the page says; the page itself stays.
            await page.Keyboard.PressAsync("n");
            await Assertions.Expect(page.Locator("main, .bench").First).ToContainTextAsync("could not be kept");
            await Assertions.Expect(page.Locator(".kept")).ToContainTextAsync("not kept");
            Assert.Equal(kept, await StateAsync(bench, open.Record.Id));

            // A step within a page's live connection, and every page opened anew.
            await worklist.Locator("a[href='/clinic'], a[href='clinic']").First.ClickAsync();
            await RefusedAsync(worklist);
            foreach (string path in Pages.Append($"/cases/{other.Record.Id}").Append($"/cases/{other.Record.Id}/handout"))
            {
                await worklist.GotoAsync(new Uri(Bench.AddressOf(bench), path).ToString());
                await RefusedAsync(worklist);
            }

            disk.Clear();

            // The way out that the page itself offers; and the case that was open all the time.
            await worklist.GetByRole(AriaRole.Button, new() { Name = "Open the page again" }).ClickAsync();
            await Assertions.Expect(worklist.GetByText("This could not be done")).ToHaveCountAsync(0);
            await page.Keyboard.PressAsync("n");
            await Assertions.Expect(page.Locator(".kept")).Not.ToContainTextAsync("not kept");
            await ChangedAsync(bench, open.Record.Id, kept.Version);
            await page.Context.CloseAsync();
            await worklist.Context.CloseAsync();
            Assert.Empty((await bench.Services.GetRequiredService<AuditTrail>().CheckAsync()).Faults);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
        Assert.Empty((await SqliteUpkeep.CheckAsync(Path.Combine(data, KeptRecords.FileName))).Faults);
    }

    [SmallDiskFact]
    public async Task Requests_ToABenchWhoseDiskIsFull_AreAnsweredWithASentenceAndNothingHalfIsLeft()
    {
        using var disk = new SmallDisk(32);
        string data = Path.Combine(disk.Path, "data");
        await using (WebApplication bench = await StartAsync(data))
        using (var client = new HttpClient(new SocketsHttpHandler { CookieContainer = new CookieContainer() }) { BaseAddress = Bench.AddressOf(bench) })
        {
            client.DefaultRequestHeaders.Add("X-Hotlight-Token", Regex.Match(await client.GetStringAsync(new Uri("/", UriKind.Relative)), "name=\"hotlight-token\" content=\"([^\"]+)\"").Groups[1].Value);
            CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
            OpenCase seen = await BringInAsync(cases, 1);
            OpenCase unseen = await BringInAsync(cases, 2);
            var pixels = new Uri($"/cases/{seen.Record.Id}/handout/picture", UriKind.Relative);
            Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(pixels)).StatusCode);
            byte[] file = Exposure(3);
            Guid begun = (await JsonAsync(await client.PostAsync(new Uri($"/uploads/?name=a.dcm&bytes={file.Length}", UriKind.Relative), null))).GetProperty("id").GetGuid();
            string[] before = Files(data);

            disk.Fill();

            // What was looked at a moment ago is still shown: reading needs no room.
            Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(pixels)).StatusCode);
            Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(new Uri("/ready", UriKind.Relative))).StatusCode);
            await RefusedAsync(await client.GetAsync(new Uri($"/cases/{unseen.Record.Id}/handout/picture", UriKind.Relative)));
            using (var body = new ByteArrayContent(file))
            {
                await RefusedAsync(await client.PostAsync(new Uri("/cases?name=b.dcm", UriKind.Relative), body));
            }

            using (var piece = new ByteArrayContent(file))
            using (var request = new HttpRequestMessage(HttpMethod.Patch, $"/uploads/{begun}") { Content = piece })
            {
                request.Headers.Add("Upload-Offset", "0");
                await RefusedAsync(await client.SendAsync(request));
            }

            // What was refused made room for a small file.
            disk.Fill();
            await RefusedAsync(await client.PostAsync(new Uri($"/uploads/?name=c.dcm&bytes={file.Length}", UriKind.Relative), null));
            await Assert.ThrowsAsync<AuditRefusedException>(() => cases.AnswerAsync(seen, seen.Critique!.Lines[0].Id, new Answer(ChecklistState.Met)));
            Assert.Empty(Files(data).Except(before));

            disk.Clear();

            using (var body = new ByteArrayContent(file))
            {
                Assert.Equal(HttpStatusCode.Created, (await client.PostAsync(new Uri("/cases?name=b.dcm", UriKind.Relative), body)).StatusCode);
            }

            await cases.AnswerAsync(seen, seen.Critique!.Lines[0].Id, new Answer(ChecklistState.Met));
            Assert.Equal(3, await bench.Services.GetRequiredService<IRecordStore>().CountAsync());
            Assert.Empty((await bench.Services.GetRequiredService<AuditTrail>().CheckAsync()).Faults);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
        Assert.Empty((await SqliteUpkeep.CheckAsync(Path.Combine(data, KeptRecords.FileName))).Faults);
    }

    [SmallDiskFact]
    public async Task Inbox_FileThatComesWhileTheDiskIsFull_WaitsThereAndComesInWhenThereIsRoom()
    {
        using var disk = new SmallDisk(32);
        using var folder = new ScratchFolder();
        await using (WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = Path.Combine(disk.Path, "data"), WithDemoCases = false, InboxFolder = folder["inbox"] }, TextWriter.Null))
        {
            IRecordStore records = bench.Services.GetRequiredService<IRecordStore>();
            disk.Fill();
            await File.WriteAllBytesAsync(folder["inbox/limb.dcm"], Exposure(1));

            // Long enough to be tried.
            await Task.Delay(TimeSpan.FromSeconds(6));
            Assert.Equal(0, await records.CountAsync());
            Assert.True(File.Exists(folder["inbox/limb.dcm"]));

            disk.Clear();
            using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(2));
            while (await records.CountAsync() == 0)
            {
                await Task.Delay(50, patience.Token);
            }

            Assert.Empty((await bench.Services.GetRequiredService<AuditTrail>().CheckAsync()).Faults);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
    }

    [SmallDiskFact]
    public async Task StartAsync_DiskIsFullOrReadOnly_IsRefusedInOneSentenceAndNothingIsLost()
    {
        using var disk = new SmallDisk(32);
        string data = Path.Combine(disk.Path, "data");
        await using (WebApplication bench = await StartAsync(data))
        {
            await BringInAsync(bench.Services.GetRequiredService<CaseWorkflow>(), 1);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
        disk.Fill();
        OneSentence(await Assert.ThrowsAsync<BenchRefusedException>(() => StartAsync(data)));
        SqliteConnection.ClearAllPools();
        disk.Clear();
        disk.Turn(isReadOnly: true);
        OneSentence(await Assert.ThrowsAsync<BenchRefusedException>(() => StartAsync(data)));
        SqliteConnection.ClearAllPools();
        disk.Turn(isReadOnly: false);
        await using (WebApplication bench = await StartAsync(data))
        {
            Assert.Equal(1, await bench.Services.GetRequiredService<IRecordStore>().CountAsync());
            Assert.Empty((await bench.Services.GetRequiredService<AuditTrail>().CheckAsync()).Faults);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
    }

    private static void OneSentence(BenchRefusedException refused)
    {
        Assert.DoesNotContain('\n', refused.Message);
        Assert.Matches("full|read-only|readonly|written|space", refused.Message);
    }

    private static async Task RefusedAsync(IPage page)
    {
        await Assertions.Expect(page.Locator("main[role=alert]")).ToContainTextAsync("cannot be noted in the audit trail, so it was not done");
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
    }

    private static async Task RefusedAsync(HttpResponseMessage answer)
    {
        using (answer)
        {
            Assert.Equal(HttpStatusCode.InsufficientStorage, answer.StatusCode);
            string sentence = (await JsonAsync(answer)).GetProperty("detail").GetString()!;
            Assert.Matches("full|written", sentence);
            Assert.DoesNotContain('\n', sentence);
        }
    }

    private static async Task<JsonElement> JsonAsync(HttpResponseMessage answer) => JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement;

    private static string[] Files(string data) => [.. new[] { "files", "arriving" }.Select(folder => Path.Combine(data, folder)).Where(Directory.Exists).SelectMany(folder => Directory.GetFiles(folder, "*", SearchOption.AllDirectories))];

    private static async Task<(int Version, string AnswersJson)> StateAsync(WebApplication bench, Guid id)
        => (await bench.Services.GetRequiredService<IRecordStore>().FindAsync(id))! is { } record ? (record.Version, record.AnswersJson) : default;

    private static async Task<(int Version, string AnswersJson)> ChangedAsync(WebApplication bench, Guid id, int version)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(2));
        while ((await StateAsync(bench, id)).Version == version)
        {
            await Task.Delay(50, patience.Token);
        }

        return await StateAsync(bench, id);
    }

    private static byte[] Exposure(int seed)
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(300, 250, seed), folder["limb.dcm"]);
        return File.ReadAllBytes(folder["limb.dcm"]);
    }

    private static async Task<OpenCase> BringInAsync(CaseWorkflow cases, int seed)
    {
        using var file = new MemoryStream(Exposure(seed));
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, 1 << 24)).Record;
        return await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
    }

    private static Task<WebApplication> StartAsync(string data) => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = data, WithDemoCases = false }, TextWriter.Null);
}
