using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Hotlight.Web.Upkeep;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;

namespace Hotlight.Web.Tests;

/// <summary>What whoever looks after the bench sees of it: health, log, measures, settings in one file.</summary>
public sealed class UpkeepTests
{
    private static readonly string[] Planted = ["Quillfeather", "Odette", "MRN-77120934", "quillfeather", "elbow fell off"];

    [Fact]
    public async Task Health_OfARunningBench_PassesAndHoldsNothingOfACase()
    {
        var bench = new RunningBench();
        await bench.InitializeAsync();
        try
        {
            using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri("/health", UriKind.Relative));

            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            Assert.Equal("application/health+json", answer.Content.Headers.ContentType!.MediaType);
            using JsonDocument health = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
            Assert.NotEqual("fail", health.RootElement.GetProperty("status").GetString());
            Assert.Equal(["audit trail", "data folder", "measuring queue", "records"], health.RootElement.GetProperty("checks").EnumerateObject().Select(each => each.Name).Order());
            Assert.True(health.RootElement.GetProperty("checks").GetProperty("audit trail").GetProperty("facts").GetProperty("newest").GetInt64() >= 1);
        }
        finally
        {
            await bench.DisposeAsync();
        }
    }

    [Fact]
    public async Task Health_RecordsThatWereTakenAway_FailsWithoutNamingAFile()
    {
        var bench = new RunningBench();
        await bench.InitializeAsync();
        try
        {
            Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
            foreach (string file in Directory.GetFiles(bench.DataFolder, "records.db*"))
            {
                File.Delete(file);
            }

            using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri("/health", UriKind.Relative));

            Assert.Equal(HttpStatusCode.ServiceUnavailable, answer.StatusCode);
            string text = await answer.Content.ReadAsStringAsync();
            Assert.Contains("\"fail\"", text, StringComparison.Ordinal);
            Assert.DoesNotContain("records.db", text, StringComparison.Ordinal);
            Assert.DoesNotContain(bench.DataFolder, text, StringComparison.Ordinal);
        }
        finally
        {
            await bench.DisposeAsync();
        }
    }

    [Theory]
    [InlineData("json")]
    [InlineData("lines")]
    public async Task Log_AtItsMostTalkative_HoldsNoPlantedName(string form)
    {
        using var folder = new ScratchFolder();
        using (FileStream file = File.Create(folder["wrist.dcm"]))
        {
            DicomWriter.Write(file, DxObject.Create(InventedExposure.Limb(200, 160, 9), new DxDescription { PatientName = "Quillfeather^Odette", PatientId = "MRN-77120934", Seed = "log" }));
        }

        Directory.CreateDirectory(folder["inbox"]);
        string log;
        using (BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"], null, "--setting", "clinical", "--log", form, "--log-level", "information", "--inbox", folder["inbox"]))
        using (var client = new HttpClient { BaseAddress = bench.Address })
        {
            string token = Regex.Match(await client.GetStringAsync(new Uri("/?q=Quillfeather", UriKind.Relative)), "name=\"hotlight-token\" content=\"([^\"]+)\"").Groups[1].Value;
            string id = await SendAsync(client, token, await File.ReadAllBytesAsync(folder["wrist.dcm"]), "Quillfeather Odette.dcm", HttpStatusCode.Created);
            await SendAsync(client, token, Encoding.ASCII.GetBytes("DICM of Quillfeather, MRN-77120934"), "Quillfeather.dcm", HttpStatusCode.UnprocessableEntity);
            foreach (string path in new[] { "/cases/Quillfeather/pixels", "/nothing/Quillfeather?mrn=MRN-77120934", "/shared/Quillfeather", $"/cases/{id}/pixels?scale=Quillfeather" })
            {
                using HttpResponseMessage answer = await client.GetAsync(new Uri(path, UriKind.Relative));
            }

            // A kept file that is gone, and an inbox that cannot be read any more, are errors that name files.
            foreach (string kept in Directory.GetFiles(Path.Combine(folder["data"], "files"), "*", SearchOption.AllDirectories))
            {
                File.Delete(kept);
            }

            using (HttpResponseMessage gone = await client.GetAsync(new Uri($"/cases/{id}/handout.pdf", UriKind.Relative)))
            {
                Assert.NotEqual(HttpStatusCode.OK, gone.StatusCode);
            }

            Directory.Delete(folder["inbox"]);
            await File.WriteAllTextAsync(folder["inbox"], "Quillfeather");
            await Task.Delay(TimeSpan.FromSeconds(7));
            log = await bench.EndAsync();
        }

        string[] lines = log.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Contains("GET /cases/{id:guid}/pixels answered ", log, StringComparison.Ordinal);
        Assert.Contains("POST /cases answered 422", log, StringComparison.Ordinal);
        Assert.All(Planted, name => Assert.DoesNotContain(name, log, StringComparison.OrdinalIgnoreCase));
        if (form == "json")
        {
            Assert.All(lines, line => JsonDocument.Parse(line).Dispose());
        }
    }

    private static async Task<string> SendAsync(HttpClient client, string token, byte[] content, string name, HttpStatusCode expected)
    {
        using var body = new ByteArrayContent(content);
        body.Headers.ContentType = new MediaTypeHeaderValue("application/octet-stream");
        using var request = new HttpRequestMessage(HttpMethod.Post, $"/cases?name={Uri.EscapeDataString(name)}") { Content = body };
        request.Headers.Add("X-Hotlight-Token", token);
        using HttpResponseMessage answer = await client.SendAsync(request);
        Assert.Equal(expected, answer.StatusCode);
        return answer.Headers.Location?.ToString().Split('/')[^1] ?? string.Empty;
    }

    [Fact]
    public void Log_OfAnError_NamesItsKindsAndPlacesAndNeverItsMessage()
    {
        Exception error;
        try
        {
            try
            {
                throw new FileNotFoundException("Could not find file '/in/Quillfeather.dcm'.");
            }
            catch (IOException inner)
            {
                throw new InvalidOperationException("elbow fell off", inner);
            }
        }
        catch (InvalidOperationException outer)
        {
            error = outer;
        }

        Assert.Equal("InvalidOperationException by FileNotFoundException", BenchLog.Kinds(error));
        Assert.Contains(nameof(Log_OfAnError_NamesItsKindsAndPlacesAndNeverItsMessage), BenchLog.Where(error), StringComparison.Ordinal);
        Assert.DoesNotContain(" in ", BenchLog.Where(error), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Measures_SentToACollector_AreOpenTelemetrysAndHoldNoPlantedName()
    {
        int port = BenchProcess.FreePort();
        var arrived = new TaskCompletionSource<(string Path, string? Kind, byte[] Body)>(TaskCreationOptions.RunContinuationsAsynchronously);
        WebApplicationBuilder builder = WebApplication.CreateSlimBuilder();
        await using WebApplication collector = builder.Build();
        collector.Urls.Add($"http://127.0.0.1:{port}");
        collector.MapPost("/{**path}", async (HttpContext context) =>
        {
            using var body = new MemoryStream();
            await context.Request.Body.CopyToAsync(body);
            if (Encoding.UTF8.GetString(body.ToArray()).Contains("hotlight.case.changes", StringComparison.Ordinal))
            {
                arrived.TrySetResult((context.Request.Path, context.Request.ContentType, body.ToArray()));
            }
        });
        await collector.StartAsync();
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(200, 160, 11), folder["limb.dcm"]);
        await using (WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, MetricsCollector = new Uri($"http://127.0.0.1:{port}") }, TextWriter.Null))
        {
            using var client = new HttpClient { BaseAddress = Bench.AddressOf(bench) };
            string token = Regex.Match(await client.GetStringAsync(new Uri("/", UriKind.Relative)), "name=\"hotlight-token\" content=\"([^\"]+)\"").Groups[1].Value;
            await SendAsync(client, token, await File.ReadAllBytesAsync(folder["limb.dcm"]), "Quillfeather Odette MRN-77120934.dcm", HttpStatusCode.Created);

            // What is left is sent when the bench stops.
            await bench.StopAsync();
        }

        (string path, string? kind, byte[] sent) = await arrived.Task.WaitAsync(TimeSpan.FromMinutes(1));
        string text = Encoding.UTF8.GetString(sent);
        Assert.Equal(("/v1/metrics", "application/x-protobuf"), (path, kind));
        Assert.All(new[] { "hotlight.queue.left", "hotlight.page.connections", "http.server.request.duration", "added" }, name => Assert.Contains(name, text, StringComparison.Ordinal));
        Assert.All(Planted, name => Assert.DoesNotContain(name, text, StringComparison.OrdinalIgnoreCase));
        Assert.DoesNotContain(Environment.UserName + "@", text, StringComparison.Ordinal);
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public void SettingsFile_OfEveryKind_IsReadAndTheCommandLineWins()
    {
        using var folder = new ScratchFolder();
        File.WriteAllText(folder["bench.json"], """
            {
              // what the bench listens on
              "port": 5190, "data": "/srv/hotlight", "no-demo": true, "inbox-removes": false, "audit-kept-days": 3650, "log": "json",
            }
            """);

        BenchOptions options = BenchOptions.Parse(["--settings-file", folder["bench.json"], "--port", "5191"]);

        Assert.Equal((5191, "/srv/hotlight", false, false, 3650, LogForm.Json), (options.Port, options.DataFolder, options.WithDemoCases, options.InboxRemoves, options.AuditKeptDays, options.LogForm));
    }

    [Theory]
    [InlineData("{ \"prot\": 1 }", "'prot' is no setting, perhaps 'port'")]
    [InlineData("{ \"colour\": 1 }", "'colour' is no setting.")]
    [InlineData("{ \"help\": true }", "'help' is no setting")]
    [InlineData("{ \"port\": true }", "'port' takes a text or a number")]
    [InlineData("{ \"no-demo\": \"yes\", \"port\": [] }", "'no-demo' takes true or false; 'port' takes a text or a number")]
    [InlineData("{ \"port\": 1, \"port\": 2 }", "'port' stands there twice")]
    [InlineData("{ \"port\": 99999 }", "--port takes a number from 0 to 65535")]
    [InlineData("[ 1 ]", "must be one JSON object")]
    [InlineData("{\n\n \"port\" 5 }", "is no JSON: look at line 3")]
    [InlineData(null, "cannot be read")]
    public void SettingsFile_ThatIsWrong_IsRefusedInOneSentence(string? content, string expected)
    {
        using var folder = new ScratchFolder();
        if (content is not null)
        {
            File.WriteAllText(folder["bench.json"], content);
        }

        string sentence = Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(["--settings-file=" + folder["bench.json"]])).Message;

        Assert.Contains(expected, sentence, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', sentence);
    }

    [Fact]
    public void SettingsFile_OfTheService_IsInOrder()
    {
        BenchOptions options = BenchOptions.Parse(["--settings-file", Path.Combine(SharedData.RepositoryRoot, "service", "bench.json")]);
        Assert.Equal((5180, "/var/lib/hotlight", LogForm.Json), (options.Port, options.DataFolder, options.LogForm));
    }

    [SystemFileFact("/usr/bin/systemd-analyze")]
    public async Task Unit_OfTheService_IsSoundBySystemdItself()
    {
        // The program is not installed here: one that is stands in for it.
        using var folder = new ScratchFolder();
        string unit = await File.ReadAllTextAsync(Path.Combine(SharedData.RepositoryRoot, "service", "hotlight.service"));
        await File.WriteAllTextAsync(folder["hotlight.service"], unit.Replace("/opt/hotlight/Hotlight.Web", "/bin/true", StringComparison.Ordinal));
        using var systemd = System.Diagnostics.Process.Start(new System.Diagnostics.ProcessStartInfo("/usr/bin/systemd-analyze", ["verify", folder["hotlight.service"]]) { RedirectStandardError = true, RedirectStandardOutput = true })!;
        string said = await systemd.StandardError.ReadToEndAsync();
        await systemd.WaitForExitAsync();

        Assert.DoesNotContain("hotlight.service", said, StringComparison.Ordinal);
        Assert.Equal(0, systemd.ExitCode);
    }

    /// <summary>The list of options, the command line's and the help's are one.</summary>
    [Fact]
    public void Names_AgainstTheCommandLineAndTheHelp_AreTheSame()
    {
        string[] told = [.. Regex.Matches(BenchOptions.Help, "--[a-z-]+").Select(found => found.Value).Distinct().Order(StringComparer.Ordinal)];
        Assert.Equal(told, BenchOptions.Names.Keys.Append("--settings-file").Order(StringComparer.Ordinal));
        foreach ((string name, bool takesValue) in BenchOptions.Names)
        {
            Exception? error = Record.Exception(() => BenchOptions.Parse(takesValue ? [name] : [name, "--port", "0"]));
            Assert.Equal(takesValue ? $"{name} needs a value; see --help." : null, error?.Message);
        }
    }
}
