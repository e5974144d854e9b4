using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Threats of docs/security.md that no other test holds.</summary>
public sealed partial class ThreatTests(RunningBench bench) : IClassFixture<RunningBench>
{
    /// <summary>Every test that docs/security.md names is there.</summary>
    [Fact]
    public void Page_EveryTestItNames_Exists()
    {
        string root = SharedData.RepositoryRoot;
        string page = File.ReadAllText(Path.Combine(root, "docs", "security.md"));
        string sources = string.Concat(Directory.EnumerateFiles(Path.Combine(root, "tests"), "*.cs", SearchOption.AllDirectories).Where(file => !file.Contains("/obj/", StringComparison.Ordinal)).Select(File.ReadAllText));
        (string Class, string Method)[] named = [.. NamedTest().Matches(page).Select(found => (found.Groups[1].Value, found.Groups[2].Value))];

        Assert.True(named.Length >= 25, $"only {named.Length} tests are named");
        Assert.All(named, each =>
        {
            Assert.Contains($"class {each.Class}", sources, StringComparison.Ordinal);
            Assert.Contains($" {each.Method}(", sources, StringComparison.Ordinal);
        });

        // Each row of the table names one.
        string[] rows = [.. page.Split('\n').Where(line => line.StartsWith("| T", StringComparison.Ordinal) && char.IsAsciiDigit(line[3]))];
        Assert.True(rows.Length >= 25);
        Assert.All(rows, row => Assert.Matches(NamedTest(), row));
    }

    /// <summary>Whatever changes something over HTTP asks for the page's token, a secret of its own or the same site's cookie.</summary>
    [Fact]
    public async Task EveryEndpointThatChanges_WithoutToken_ChangesNothing()
    {
        RouteEndpoint[] changing =
        [
            .. bench.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
                .Where(each => each.Metadata.GetMetadata<IHttpMethodMetadata>() is { } methods && methods.HttpMethods.Any(method => method is "POST" or "PUT" or "PATCH" or "DELETE"))

                // The live connection's own, which begins with a token of SignalR and dispatches nothing before it; pages are posted to by no form.
                .Where(each => each.RoutePattern.RawText?.StartsWith("/_blazor", StringComparison.Ordinal) != true && each.Metadata.GetMetadata<Microsoft.AspNetCore.Components.Endpoints.ComponentTypeMetadata>() is null),
        ];
        Assert.True(changing.Length >= 8, $"only {changing.Length} were found");
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        IRecordStore records = bench.Services.GetRequiredService<IRecordStore>();
        int before = await records.CountAsync();
        foreach (RouteEndpoint each in changing)
        {
            string path = "/" + string.Join('/', each.RoutePattern.PathSegments.Select(segment => string.Concat(segment.Parts.Select(part => part switch
            {
                RoutePatternLiteralPart literal => literal.Content,
                RoutePatternParameterPart parameter => parameter.ParameterPolicies.Any(policy => policy.Content == "int") ? "1" : Guid.NewGuid().ToString(),
                _ => "x",
            }))));
            string method = each.Metadata.GetMetadata<IHttpMethodMetadata>()!.HttpMethods.First(name => name is not "GET" and not "HEAD");
            using var request = new HttpRequestMessage(new HttpMethod(method), path) { Content = new ByteArrayContent(new byte[64]) };
            using HttpResponseMessage answer = await bench.Client.SendAsync(request);

            // Leaving a round takes the visitor's own cookie away and nothing else.
            Assert.True((int)answer.StatusCode >= 400 || path == "/rounds/leave", $"{method} {path} answered {(int)answer.StatusCode}");
        }

        Assert.Equal(before, await records.CountAsync());
        Assert.NotNull(cases);
    }

    [Theory]
    [InlineData("/../records.db")]
    [InlineData("/..%2frecords.db")]
    [InlineData("/%2e%2e/%2e%2e/etc/passwd")]
    [InlineData("/_content/../../records.db")]
    [InlineData("/_framework/..%5c..%5crecords.db")]
    [InlineData("/shared/..%2f..%2frecords.db")]
    [InlineData("/shared/%2e%2e")]
    [InlineData("/records/mappings/..%2f..%2fprivacy.key")]
    [InlineData("/practice/images/..%2f..%2fprivacy.key/pixels")]
    [InlineData("//etc/passwd")]
    [InlineData("/help/..%2f..%2fappsettings.json")]
    [InlineData("/cases/00000000-0000-0000-0000-000000000000/walk-through/voices/..%2f..%2f..%2fprivacy.key")]
    public async Task Paths_ThatLeadOut_GiveNoFile(string path)
    {
        (int status, string body) = await RawAsync($"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{bench.Address.Port}\r\nConnection: close\r\n\r\n");

        Assert.DoesNotContain("root:", body, StringComparison.Ordinal);
        Assert.DoesNotContain("SQLite format 3", body, StringComparison.Ordinal);
        Assert.True(status >= 400 || body.Contains("hotlight-token", StringComparison.Ordinal), $"{path} answered {status}");
    }

    [Fact]
    public async Task Request_ThatIsTwoAtOnce_IsRefused()
    {
        // Length and chunks at once: what one reader takes for the body another takes for the next request (RFC 9112, 6.1).
        (int status, _) = await RawAsync($"POST /cases HTTP/1.1\r\nHost: 127.0.0.1:{bench.Address.Port}\r\nContent-Length: 6\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\nGET /clinic/settings.json HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
        Assert.InRange(status, 400, 499);
    }

    [Fact]
    public async Task Request_LargerThanAllowed_IsCutOffWithoutBeingRead()
    {
        (int status, _) = await RawAsync($"PUT /records/batches/{Guid.NewGuid()}/files HTTP/1.1\r\nHost: 127.0.0.1:{bench.Address.Port}\r\nContent-Length: 99999999999\r\nConnection: close\r\n\r\n");
        Assert.InRange(status, 400, 499);
    }

    [Fact]
    public async Task EveryAnswer_PagesFilesAndErrors_CarriesTheHeaders()
    {
        foreach (string path in new[] { "/", "/ready", "/health", "/bench.css", "/nothing", "/cases/x/pixels", "/clinic/settings.json", "/rounds/join" })
        {
            using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri(path, UriKind.Relative));

            Assert.Contains("default-src 'none'", string.Join(' ', answer.Headers.GetValues("Content-Security-Policy")), StringComparison.Ordinal);
            Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
            Assert.Equal("same-origin", answer.Headers.GetValues("Referrer-Policy").Single());
            Assert.Equal("same-origin", answer.Headers.GetValues("Cross-Origin-Opener-Policy").Single());
            Assert.Equal("same-origin", answer.Headers.GetValues("Cross-Origin-Resource-Policy").Single());
            Assert.Contains("camera=()", answer.Headers.GetValues("Permissions-Policy").Single(), StringComparison.Ordinal);
            Assert.False(answer.Headers.Contains("Server"));
            Assert.False(answer.Headers.Contains("X-Powered-By"));
        }
    }

    [Fact]
    public async Task Cookies_OfThePage_AreOutOfReachOfScriptsAndOtherSites()
    {
        using var handler = new SocketsHttpHandler { UseCookies = false };
        using var client = new HttpClient(handler) { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync(new Uri("/", UriKind.Relative));

        string[] cookies = [.. answer.Headers.GetValues("Set-Cookie")];
        Assert.NotEmpty(cookies);
        Assert.All(cookies, cookie =>
        {
            Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
            Assert.Contains("samesite=strict", cookie, StringComparison.OrdinalIgnoreCase);
        });
    }

    [Fact]
    public async Task Errors_OfTheBench_TellNothingOfItsInside()
    {
        foreach (string path in new[] { "/cases/x/pixels", $"/cases/{Guid.NewGuid()}/pixels?scale=abc", $"/cases/{Guid.NewGuid()}/handout.pdf?language=%00", "/shared/x", "/error" })
        {
            using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri(path, UriKind.Relative));
            string text = await answer.Content.ReadAsStringAsync();
            Assert.DoesNotMatch(@"   at \w+\.|Exception|\.cs:line|/work/|StackTrace", text);
            Assert.DoesNotContain(bench.DataFolder, text, StringComparison.Ordinal);
        }
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Page_NamesThatAreScript_AreShownAsTextAndRunNothing()
    {
        const string Planted = "<img src=x onerror=\"document.title='run'\"><script>document.title='run'</script>";
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(200, 160, 77), folder["limb.dcm"]);
        CaseRecord record;
        await using (FileStream content = File.OpenRead(folder["limb.dcm"]))
        {
            CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
            record = (await cases.BringInInventedAsync("limb.dcm", content, Planted, "wrist-pa", CaseOrigin.Lab)).Record;
        }

        await using SystemChromium browser = (await SystemChromium.LaunchAsync())!;
        IPage page = await browser.NewPageAsync();
        List<string> complaints = SystemChromium.Complaints(page);
        foreach (string path in new[] { "/", $"/cases/{record.Id}", $"/cases/{record.Id}/handout", $"/cases/{record.Id}/walk-through", "/rounds", "/collections", $"/?q={Uri.EscapeDataString(Planted)}" })
        {
            await page.GotoAsync(new Uri(bench.Address, path).ToString());
            await page.WaitForSelectorAsync("main h1, .bench h1");
            await page.WaitForLoadStateAsync(LoadState.NetworkIdle);

            Assert.NotEqual("run", await page.TitleAsync());
            Assert.Equal(0, await page.Locator("img[src=x]").CountAsync());
        }

        Assert.Empty(complaints);
    }

    private async Task<(int Status, string Body)> RawAsync(string request)
    {
        using var client = new TcpClient();
        await client.ConnectAsync(IPAddress.Loopback, bench.Address.Port);
        await using NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request));
        using var answer = new MemoryStream();
        try
        {
            await stream.CopyToAsync(answer).WaitAsync(TimeSpan.FromSeconds(60));
        }
        catch (IOException)
        {
            // The bench hung up after its answer.
        }

        string text = Encoding.Latin1.GetString(answer.ToArray());
        return (int.Parse(text.Split(' ')[1], System.Globalization.CultureInfo.InvariantCulture), text);
    }

    [GeneratedRegex(@"`(\w+Tests?|\w+Suite)\.(\w+)`")]
    private static partial Regex NamedTest();
}
