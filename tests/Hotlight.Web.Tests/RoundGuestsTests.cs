using System.Net;
using System.Net.Http.Json;
using System.Reflection;
using Hotlight.Privacy.Publishing;
using Hotlight.Testing;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.AspNetCore.StaticAssets;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

/// <summary>What a guest of a round gets by requests: the own round, and nothing else.</summary>
public sealed class RoundGuestsTests : IAsyncLifetime, IDisposable
{
    // All that is open, by route; what is not named here must not be there. A new endpoint is closed until it stands here too.
    private static readonly string[] OpenToAll = ["GET /rounds/join", "POST /rounds/join", "POST /rounds/leave", "GET /ready"];
    private static readonly string[] OpenToGuests = ["/missing", "/rounds/{Id:guid}", "/rounds/{Id:guid}/cases/{CaseId:guid}", "/rounds/{Id:guid}/summary", "/cases/{Id:guid}", "/cases/{id:guid}/pixels", "/cases/{id:guid}/table", "/cases/{id:guid}/modality", "/cases/{id:guid}/signal"];

    private readonly ScratchFolder folder = new();
    private WebApplication bench = null!;
    private RoundWorkflow rounds = null!;
    private CaseWorkflow cases = null!;

    public async Task InitializeAsync()
    {
        bench = await Bench.StartAsync(new BenchOptions { Port = 0, RoundsPort = 0, DataFolder = folder["data"], WithDemoCases = false, WebToken = "a-token-of-the-tests" }, TextWriter.Null);
        rounds = bench.Services.GetRequiredService<RoundWorkflow>();
        cases = bench.Services.GetRequiredService<CaseWorkflow>();
    }

    public async Task DisposeAsync()
    {
        await bench.StopAsync();
        await bench.DisposeAsync();
        Dispose();
    }

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public async Task EveryEndpoint_AsAGuest_IsNotThereUnlessItIsTheGuestsOwn()
    {
        (PublishedRound published, Guid caseId, Guid otherCaseId) = await PublishAsync();
        Guid id = published.Round.Id;
        using HttpClient guest = await JoinAsync(published, 0);
        OwnReading own = await rounds.BeginAsync(id, published.Invitations[0].ReaderId!.Value, caseId);
        OwnReading others = await rounds.BeginAsync(id, published.Invitations[1].ReaderId!.Value, caseId);
        (PublishedRound second, _, _) = await PublishAsync();
        var asked = new List<string>();
        foreach (RouteEndpoint endpoint in bench.Services.GetServices<EndpointDataSource>().SelectMany(source => source.Endpoints).OfType<RouteEndpoint>())
        {
            string pattern = "/" + endpoint.RoutePattern.RawText!.TrimStart('/');
            if (endpoint.Metadata.GetMetadata<StaticAssetDescriptor>() is not null || pattern.StartsWith("/_blazor", StringComparison.Ordinal) || pattern.StartsWith("/_framework/", StringComparison.Ordinal))
            {
                continue;
            }

            foreach (string method in endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["GET"])
            {
                if (OpenToAll.Contains($"{method} {pattern}", StringComparer.OrdinalIgnoreCase))
                {
                    continue;
                }

                asked.Add($"{method} {pattern}");

                // Whatever stands in the route: another round, a case that is not of the round, somebody else's reading, the case itself as a page.
                Guid[] foreign = pattern.Contains("/pixels", StringComparison.Ordinal) || pattern.Contains("/table", StringComparison.Ordinal) || pattern.Contains("/modality", StringComparison.Ordinal) || pattern.Contains("/signal", StringComparison.Ordinal)
                    ? [otherCaseId, others.Id, second.Round.Id]
                    : pattern == "/missing" ? [] : [otherCaseId, others.Id, second.Round.Id, caseId];
                foreach (Guid each in foreign)
                {
                    using HttpResponseMessage answer = await SendAsync(guest, method, Fill(endpoint.RoutePattern, each));
                    Assert.True(answer.StatusCode == HttpStatusCode.NotFound, $"{method} {pattern} with a foreign value answered {answer.StatusCode}.");
                    if (method != "HEAD")
                    {
                        Assert.Contains("There is nothing at this address", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
                    }
                }
            }
        }

        // The list was walked, not passed over: pages, cases, uploads, records, DICOMweb.
        Assert.True(asked.Count > 25, string.Join(Environment.NewLine, asked));
        Assert.All(OpenToGuests, pattern => Assert.Contains($"GET {pattern}", asked, StringComparer.OrdinalIgnoreCase));
        Assert.Contains("POST /cases", asked);
        Assert.Contains(asked, each => each.Contains("dicomweb", StringComparison.OrdinalIgnoreCase));

        // The guest's own is there; the page of a case side by side only once the answers are shown.
        foreach ((string path, HttpStatusCode status) in new[]
        {
            ($"/rounds/{id}", HttpStatusCode.OK),
            ($"/cases/{own.Id}", HttpStatusCode.OK),
            ($"/cases/{own.Id}/pixels?scale=4", HttpStatusCode.OK),
            ($"/cases/{caseId}/table", HttpStatusCode.OK),
            ($"/rounds/{id}/cases/{caseId}", HttpStatusCode.NotFound),
            ($"/rounds/{id}/summary", HttpStatusCode.NotFound),
            ("/bench.css", HttpStatusCode.OK),
            ("/no/such/thing", HttpStatusCode.NotFound),
            ("/records.db", HttpStatusCode.NotFound),
        })
        {
            using HttpResponseMessage answer = await guest.GetAsync(new Uri(path, UriKind.Relative));
            Assert.True(status == answer.StatusCode, $"{path} answered {answer.StatusCode}.");
        }

        await rounds.ShowAsync(id);
        Assert.Equal(HttpStatusCode.OK, (await guest.GetAsync(new Uri($"/rounds/{id}/cases/{caseId}", UriKind.Relative))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await guest.GetAsync(new Uri($"/rounds/{id}/cases/{otherCaseId}", UriKind.Relative))).StatusCode);
    }

    [Fact]
    public async Task Pixels_OfAGuest_AreBlackWhereAPersonCoveredThem()
    {
        (PublishedRound published, Guid caseId, _) = await PublishAsync();
        using HttpClient guest = await JoinAsync(published, 0);
        using HttpClient own = ClientOf(Bench.AddressOf(bench));
        OwnReading reading = await rounds.BeginAsync(published.Round.Id, published.Invitations[0].ReaderId!.Value, caseId);
        ushort[] before = await PixelsAsync(guest, caseId), kept = await PixelsAsync(own, caseId);
        Assert.Equal(kept, before);

        // Two places, one of them over the edge of the image; the same round, decided anew while it is read.
        await rounds.ReviewPixelsAsync(caseId, new PixelReview([new PixelBox(20, 30, 40, 10), new PixelBox(240, 290, 40, 40)], [], true));
        Imaging.Radiograph radiograph = await cases.RadiographAsync(await cases.GetAsync(caseId));
        ushort black = (ushort)(radiograph.HighIsShownDark ? radiograph.PixelMaximum : 0);
        foreach (Guid asked in new[] { caseId, reading.Id })
        {
            ushort[] sent = await PixelsAsync(guest, asked);
            for (int row = 0; row < radiograph.Rows; row++)
            {
                for (int column = 0; column < radiograph.Columns; column++)
                {
                    bool isCovered = (column is >= 20 and < 60 && row is >= 30 and < 40) || (column >= 240 && row >= 290);
                    Assert.Equal(isCovered ? black : kept[(row * radiograph.Columns) + column], sent[(row * radiograph.Columns) + column]);
                }
            }
        }

        Assert.Equal(kept, await PixelsAsync(own, caseId));
    }

    private static async Task<ushort[]> PixelsAsync(HttpClient client, Guid id)
    {
        byte[] sent = await client.GetByteArrayAsync($"/cases/{id}/pixels");
        return System.Runtime.InteropServices.MemoryMarshal.Cast<byte, ushort>(sent).ToArray();
    }

    [Fact]
    public async Task EveryPage_OverALiveConnection_IsClosedUnlessItBearsAnAttribute()
    {
        (PublishedRound published, Guid caseId, Guid otherCaseId) = await PublishAsync();
        Guid id = published.Round.Id;
        RoundPass pass = await rounds.JoinAsync(id, published.Invitations[0].Secret);
        OwnReading own = await rounds.BeginAsync(id, pass.ReaderId, caseId);
        Round round = await rounds.GetAsync(id);
        Type[] pages = [.. typeof(Bench).Assembly.GetTypes().Where(type => type.GetCustomAttributes<RouteAttribute>().Any())];
        Assert.True(pages.Length > 10);
        foreach (Type page in pages)
        {
            GuestScope? scope = page.GetCustomAttribute<GuestMayAttribute>()?.Scope;
            bool mayAtAll = page.GetCustomAttributes<RouteAttribute>().Any(route => OpenToGuests.Contains(route.Template, StringComparer.OrdinalIgnoreCase));
            Assert.True(mayAtAll == scope is not null, $"{page.Name} is {(scope is null ? "closed" : "open")} to guests.");
            foreach (Guid value in new[] { otherCaseId, Guid.NewGuid(), caseId })
            {
                Assert.Equal(scope is GuestScope.Guest, GuestAccess.Allows(scope, new Dictionary<string, object?> { ["Id"] = value, ["CaseId"] = caseId }, pass, round, DateTimeOffset.UtcNow));
            }
        }

        Assert.True(GuestAccess.Allows(GuestScope.OwnReading, new Dictionary<string, object?> { ["Id"] = own.Id }, pass, round, DateTimeOffset.UtcNow));
        Assert.False(GuestAccess.Allows(GuestScope.OwnReading, new Dictionary<string, object?> { ["Id"] = own.Id }, pass with { ReaderId = published.Invitations[1].ReaderId!.Value }, round, DateTimeOffset.UtcNow));
        Assert.False(GuestAccess.Allows(null, new Dictionary<string, object?> { ["Id"] = id }, pass, round, DateTimeOffset.UtcNow));
        Assert.False(GuestAccess.Allows(GuestScope.Guest, new Dictionary<string, object?>(), null, null, DateTimeOffset.UtcNow));
    }

    [Fact]
    public async Task Door_WithoutASession_ShowsTheWayInAndNothingElse()
    {
        (PublishedRound published, Guid caseId, _) = await PublishAsync();
        Uri door = Bench.DoorOf(bench)!;
        Assert.NotEqual(Bench.AddressOf(bench).Port, door.Port);
        using HttpClient outside = ClientOf(door);
        foreach (string path in new[] { "/", "/rounds", $"/rounds/{published.Round.Id}", $"/cases/{caseId}", $"/cases/{caseId}/pixels", "/clinic", "/help", "/missing", "/_blazor/negotiate?negotiateVersion=1", "/_blazor" })
        {
            using HttpResponseMessage answer = await outside.GetAsync(new Uri(path, UriKind.Relative));
            Assert.True(answer.StatusCode == HttpStatusCode.NotFound, $"{path} answered {answer.StatusCode}.");
        }

        using HttpResponseMessage negotiated = await outside.PostAsync(new Uri("/_blazor/negotiate?negotiateVersion=1", UriKind.Relative), null);
        Assert.Equal(HttpStatusCode.NotFound, negotiated.StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await outside.GetAsync(new Uri("/rounds/join", UriKind.Relative))).StatusCode);

        // The bench's own address goes on as ever.
        using HttpClient own = ClientOf(Bench.AddressOf(bench));
        Assert.Equal(HttpStatusCode.OK, (await own.GetAsync(new Uri("/clinic", UriKind.Relative))).StatusCode);
    }

    [Fact]
    public async Task Join_WrongForgedWithdrawnAndTooOften_GetsASentenceAndNoSession()
    {
        (PublishedRound published, _, _) = await PublishAsync();
        Guid id = published.Round.Id;
        using HttpClient outside = ClientOf(Bench.DoorOf(bench)!);
        using HttpResponseMessage wrong = await PostAsync(outside, id.ToString("N"), RoundSecret.New());
        Assert.Equal(HttpStatusCode.Forbidden, wrong.StatusCode);
        Assert.Contains(RoundWorkflow.WrongLink, await wrong.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.False(wrong.Headers.Contains("Set-Cookie"));

        // The right one: a cookie that scripts and other sites do not get at.
        using HttpResponseMessage right = await PostAsync(outside, id.ToString("N"), published.Invitations[0].Secret);
        string cookie = Assert.Single(right.Headers.GetValues("Set-Cookie"));
        Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("samesite=strict", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(published.Invitations[0].Secret, cookie, StringComparison.Ordinal);
        string value = cookie[..cookie.IndexOf(';', StringComparison.Ordinal)];

        // Changed by one letter it is no session, and the browser is no bench either.
        foreach (string forged in new[] { value[..60] + (value[60] == 'A' ? 'B' : 'A') + value[61..], value[..^20], "hotlight.round=1" })
        {
            using HttpClient forger = ClientOf(Bench.AddressOf(bench), forged);
            Assert.Equal(HttpStatusCode.NotFound, (await forger.GetAsync(new Uri("/", UriKind.Relative))).StatusCode);
            Assert.Equal(HttpStatusCode.NotFound, (await forger.GetAsync(new Uri($"/rounds/{id}", UriKind.Relative))).StatusCode);
        }

        // Withdrawn, the session is over at once; leaving takes the cookie back.
        using HttpClient guest = ClientOf(Bench.DoorOf(bench)!, value);
        Assert.Equal(HttpStatusCode.OK, (await guest.GetAsync(new Uri($"/rounds/{id}", UriKind.Relative))).StatusCode);
        await rounds.WithdrawAsync(id, published.Invitations[0].ReaderId);
        Assert.Equal(HttpStatusCode.NotFound, (await guest.GetAsync(new Uri($"/rounds/{id}", UriKind.Relative))).StatusCode);
        using HttpResponseMessage left = await guest.PostAsync(new Uri("/rounds/leave", UriKind.Relative), null);
        Assert.Contains("hotlight.round=;", Assert.Single(left.Headers.GetValues("Set-Cookie")), StringComparison.Ordinal);

        HttpStatusCode last = HttpStatusCode.OK;
        for (int attempt = 0; attempt <= RoundEndpoints.AttemptsPerMinute && last != HttpStatusCode.TooManyRequests; attempt++)
        {
            using HttpResponseMessage answer = await PostAsync(outside, id.ToString("N"), RoundSecret.New());
            last = answer.StatusCode;
        }

        Assert.Equal(HttpStatusCode.TooManyRequests, last);
    }

    private static HttpClient ClientOf(Uri address, string? cookie = null)
    {
        var client = new HttpClient(new SocketsHttpHandler { UseCookies = cookie is null, CookieContainer = new CookieContainer(), AllowAutoRedirect = false }) { BaseAddress = address };
        client.DefaultRequestHeaders.Accept.ParseAdd("text/html");
        if (cookie is not null)
        {
            client.DefaultRequestHeaders.Add("Cookie", cookie);
        }

        return client;
    }

    private static Task<HttpResponseMessage> PostAsync(HttpClient client, string round, string secret)
        => client.PostAsJsonAsync(new Uri("/rounds/join", UriKind.Relative), new { round, secret });

    private static string Fill(RoutePattern pattern, Guid value)
        => "/" + string.Join('/', pattern.PathSegments.Select(segment => string.Concat(segment.Parts.Select(part => part switch
        {
            RoutePatternLiteralPart literal => literal.Content,
            RoutePatternSeparatorPart separator => separator.Content,
            RoutePatternParameterPart parameter => parameter.ParameterPolicies.Any(policy => policy.Content is "int" or "long") ? "1" : value.ToString(),
            _ => throw new InvalidOperationException("A part of a route of an unknown kind."),
        }))));

    private static async Task<HttpResponseMessage> SendAsync(HttpClient client, string method, string path)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), path);
        return await client.SendAsync(request);
    }

    private async Task<HttpClient> JoinAsync(PublishedRound published, int place)
    {
        // By the bench's own address: there a guest is held back by the cookie alone.
        HttpClient client = ClientOf(Bench.AddressOf(bench));
        using HttpResponseMessage answer = await PostAsync(client, published.Round.Id.ToString("N"), published.Invitations[place].Secret);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return client;
    }

    private int seed;

    private async Task<(PublishedRound Published, Guid CaseId, Guid OtherCaseId)> PublishAsync()
    {
        Guid caseId = await KeepAsync();
        Guid otherCaseId = await KeepAsync();
        DateTimeOffset now = DateTimeOffset.UtcNow;
        PublishedRound published = await rounds.PublishAsync(new RoundDraft { Title = "Wrists", CaseIds = [caseId], Places = 2, ReadUntil = now.AddDays(1), OpenUntil = now.AddDays(2), LookedOver = [caseId] }, null);
        return (published, caseId, otherCaseId);
    }

    private async Task<Guid> KeepAsync()
    {
        string path = folder[$"{Guid.NewGuid():N}.dcm"];
        InventedExposure.Write(InventedExposure.Limb(300, 250, 500 + ++seed), path);
        await using FileStream content = File.OpenRead(path);
        CaseRecord record = (await cases.BringInAsync("Wrist.dcm", content, long.MaxValue)).Record;
        return (await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa")).Record.Id;
    }
}
