using System.Net;
using Hotlight.Audit;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests.People;

/// <summary>Sessions: what ends them, and what cannot be sent without the page.</summary>
public sealed class SessionTests
{
    [Fact]
    public async Task Session_IdleOrWholeTimeOver_Ends()
    {
        var clock = new PutForwardClock();
        await using DepartmentBench bench = await DepartmentBench.StartAsync(options => options with { SessionIdle = TimeSpan.FromMinutes(30), SessionWhole = TimeSpan.FromHours(2) }, clock);
        using HttpClient client = await bench.SignInAsync(await bench.AddAsync("rowan", PersonRole.Administrator));

        // Kept alive by opening pages, not by what a page fetches by itself.
        clock.Advance(TimeSpan.FromMinutes(20));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/account"));
        clock.Advance(TimeSpan.FromMinutes(20));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/account"));
        clock.Advance(TimeSpan.FromMinutes(20));
        client.DefaultRequestHeaders.Accept.Clear();
        Assert.Equal(HttpStatusCode.NotFound, await StatusAsync(client, $"/cases/{Guid.NewGuid()}/pixels"));
        clock.Advance(TimeSpan.FromMinutes(20));
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, $"/cases/{Guid.NewGuid()}/pixels"));
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, $"/cases/{Guid.NewGuid()}/pixels"));
        Assert.Equal(("rowan", "administrator", "nobody did anything for a while"), await EndedAsync(bench, 1));

        // Never longer than the whole time, however busy somebody is.
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Learner);
        using HttpClient busy = await bench.SignInAsync(dunlin);
        for (int step = 0; step < 7; step++)
        {
            clock.Advance(TimeSpan.FromMinutes(16));
            Assert.Equal(HttpStatusCode.OK, await StatusAsync(busy, "/account"));
        }

        clock.Advance(TimeSpan.FromMinutes(16));
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(busy, "/account"));
        Assert.Equal(("dunlin", "learner", "the session's time was up"), await EndedAsync(bench, 2));
    }

    // Whose session ended last, in which role and why, as the trail tells it: each once.
    private static async Task<(string Name, string Role, string Why)> EndedAsync(DepartmentBench bench, int count)
    {
        List<AuditEntry> ended = await bench.Services.GetRequiredService<AuditTrail>().ReadAsync(new AuditQuery { Acts = [AuditAct.SignedOut] }).ToListAsync();
        Assert.Equal(count, ended.Count);
        return (ended[^1].By.Name, ended[^1].By.Role, ended[^1].Detail);
    }

    [Theory]
    [InlineData("lock")]
    [InlineData("role")]
    [InlineData("end-sessions")]
    public async Task Administrator_LocksDemotesOrEnds_TheSessionIsOverAtOnce(string act)
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Supervisor);
        using HttpClient administrator = await bench.SignInAsync(rowan);
        using HttpClient client = await bench.SignInAsync(dunlin);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/account"));
        using HttpResponseMessage done = await DepartmentBench.PostAsync(administrator, "/people", $"/people/{dunlin.AccountId}/{act}", ("role", "Learner"));
        Assert.Equal(HttpStatusCode.OK, done.StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(client, "/account"));
        if (act == "lock")
        {
            using HttpClient again = bench.NewClient();
            using HttpResponseMessage refused = await DepartmentBench.PostAsync(again, "/sign-in", "/sign-in", ("name", dunlin.Name), ("password", dunlin.Password));
            Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
        }
        else
        {
            using HttpClient again = await bench.SignInAsync(dunlin);
            Assert.Equal(act == "role" ? HttpStatusCode.Forbidden : HttpStatusCode.OK, await StatusAsync(again, "/rounds"));

            // The person of the clinic has the account's role.
            string settings = await administrator.GetStringAsync(new Uri("/clinic/settings.json", UriKind.Relative));
            Assert.Contains(act == "role" ? "learner" : "supervisor", settings, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task SignOut_HereOrEverywhere_EndsTheSessionsAndNotOnlyTheCookie()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient first = await bench.SignInAsync(rowan);
        using HttpClient second = await bench.SignInAsync(rowan);
        using HttpClient third = await bench.SignInAsync(rowan);
        Account account = await bench.Accounts.GetAsync(rowan.AccountId);
        Assert.Equal(3, (await bench.Accounts.SessionsAsync(account, TimeSpan.FromHours(1), TimeSpan.FromHours(1))).Count);
        using HttpResponseMessage left = await DepartmentBench.PostAsync(first, "/account", "/sign-out");
        Assert.Equal("/sign-in?said=out", left.Headers.Location?.ToString());
        Assert.Equal(2, (await bench.Accounts.SessionsAsync(account, TimeSpan.FromHours(1), TimeSpan.FromHours(1))).Count);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(second, "/account"));
        using HttpResponseMessage everywhere = await DepartmentBench.PostAsync(second, "/account", "/account/sign-out-everywhere");
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(third, "/account"));
    }

    [Fact]
    public async Task Password_Changed_EndsTheOtherSessionsAndKeepsThisOne()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient here = await bench.SignInAsync(rowan);
        using HttpClient there = await bench.SignInAsync(rowan);
        using HttpResponseMessage wrong = await DepartmentBench.PostAsync(here, "/account", "/account/password", ("old", "not this one at all"), ("password", "ten plovers on the sand"), ("again", "ten plovers on the sand"));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, wrong.StatusCode);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(there, "/account"));
        using HttpResponseMessage changed = await DepartmentBench.PostAsync(here, "/account", "/account/password", ("old", rowan.Password), ("password", "ten plovers on the sand"), ("again", "ten plovers on the sand"));
        Assert.Equal("/account?said=password", changed.Headers.Location?.ToString());
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(here, "/account"));
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(there, "/account"));
    }

    [Fact]
    public async Task SecondFactor_LongAfterSigningIn_IsNotChanged()
    {
        var clock = new PutForwardClock();
        await using DepartmentBench bench = await DepartmentBench.StartAsync(clock: clock);
        using HttpClient client = await bench.SignInAsync(await bench.AddAsync("rowan", PersonRole.Administrator));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/account/second-factor"));
        clock.Advance(TimeSpan.FromMinutes(16));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, await StatusAsync(client, "/account/second-factor"));
        using HttpResponseMessage codes = await DepartmentBench.PostAsync(client, "/account", "/account/recovery-codes");
        Assert.Equal(HttpStatusCode.UnprocessableEntity, codes.StatusCode);
    }

    [Fact]
    public async Task Change_WithoutThePagesToken_IsRefused()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = await bench.SignInAsync(rowan);
        foreach (string path in new[] { "/account/password", "/account/recovery-codes", "/account/sign-out-everywhere", "/account/sessions/end", "/account/passkeys/remove", "/account/active", "/account/second-factor", "/account/passkeys", "/account/passkeys/options", "/people/invite", $"/people/{rowan.AccountId}/lock", $"/people/{rowan.AccountId}/role", $"/people/{rowan.AccountId}/invite", $"/people/{rowan.AccountId}/end-sessions", "/sign-out", "/sign-in/passkey/options" })
        {
            using var form = new FormUrlEncodedContent([new("role", "Learner"), new("name", "x"), new("session", Guid.NewGuid().ToString()), new("passkey", "AA==")]);
            using HttpResponseMessage answer = await client.PostAsync(new Uri(path, UriKind.Relative), form);
            Assert.True(answer.StatusCode is HttpStatusCode.BadRequest or HttpStatusCode.NotFound, $"{path} answered {answer.StatusCode}.");
        }

        // From a page of another site not even with one.
        string token = DepartmentBench.TokenOf(await client.GetStringAsync(new Uri("/account", UriKind.Relative)));
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri("/account/sign-out-everywhere", UriKind.Relative)) { Content = new FormUrlEncodedContent([new("__RequestVerificationToken", token)]) };
        request.Headers.Add("Origin", "https://elsewhere.example");
        using HttpResponseMessage foreign = await client.SendAsync(request);
        Assert.Equal(HttpStatusCode.Forbidden, foreign.StatusCode);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/account"));
    }

    [Fact]
    public async Task Cookie_Forged_IsNoSession()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = bench.NewClient();
        using HttpResponseMessage password = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));
        using HttpResponseMessage code = await DepartmentBench.PostAsync(client, "/sign-in/second-factor", "/sign-in/second-factor", ("code", rowan.NextCode()));
        string cookie = Assert.Single(code.Headers.GetValues("Set-Cookie"), each => each.StartsWith("hotlight.session=", StringComparison.Ordinal));
        Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("samesite=lax", cookie, StringComparison.OrdinalIgnoreCase);
        string value = cookie[..cookie.IndexOf(';', StringComparison.Ordinal)];
        foreach ((string given, HttpStatusCode expected) in new[] { (value, HttpStatusCode.OK), (value[..60] + (value[60] == 'A' ? 'B' : 'A') + value[61..], HttpStatusCode.Redirect), ("hotlight.session=1", HttpStatusCode.Redirect) })
        {
            using var other = new HttpClient(new SocketsHttpHandler { UseCookies = false, AllowAutoRedirect = false }) { BaseAddress = bench.Address };
            other.DefaultRequestHeaders.Accept.ParseAdd("text/html");
            other.DefaultRequestHeaders.Add("Cookie", given);
            Assert.Equal(expected, await StatusAsync(other, "/account"));
        }
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient client, string path)
    {
        using HttpResponseMessage answer = await client.GetAsync(new Uri(path, UriKind.Relative));
        return answer.StatusCode;
    }
}
