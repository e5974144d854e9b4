using System.Net;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Web.People;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Web.Tests.People;

/// <summary>Signing in with password and second factor, and what is refused.</summary>
public sealed partial class SignInTests
{
    [Fact]
    public async Task Password_WrongFiveTimes_LocksTheNameForAWhile()
    {
        var clock = new PutForwardClock();
        await using DepartmentBench bench = await DepartmentBench.StartAsync(clock: clock);
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = bench.NewClient();
        for (int attempt = 0; attempt < 5; attempt++)
        {
            using HttpResponseMessage wrong = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", "not this one at all"));
            Assert.Equal(HttpStatusCode.Unauthorized, wrong.StatusCode);
        }

        // The right one does not help now, and is told as the wrong one is.
        using HttpResponseMessage locked = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));
        Assert.Equal(HttpStatusCode.Unauthorized, locked.StatusCode);
        Assert.Contains(WebUtility.HtmlEncode(SignInEndpoints.Wrong), await locked.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.InRange((await bench.Accounts.GetAsync(rowan.AccountId)).LockedUntil!.Value - DateTimeOffset.UtcNow, TimeSpan.FromMinutes(9), TimeSpan.FromMinutes(10));

        // An administrator's command of the machine, or time, opens it: here the lock is put back.
        Hotlight.Workflows.People.Acting.As(Hotlight.Workflows.People.Actor.Program);
        await bench.Accounts.SetDisabledAsync(rowan.AccountId, false);
        using HttpClient again = await bench.SignInAsync(rowan);
        using HttpResponseMessage account = await again.GetAsync(new Uri("/account", UriKind.Relative));
        Assert.Equal(HttpStatusCode.OK, account.StatusCode);
    }

    [Fact]
    public async Task Code_WrongFiveTimes_LocksTheNameToo()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = bench.NewClient();
        using HttpResponseMessage password = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));
        for (int attempt = 0; attempt < 5; attempt++)
        {
            using HttpResponseMessage wrong = await DepartmentBench.PostAsync(client, "/sign-in/second-factor", "/sign-in/second-factor", attempt % 2 == 0 ? ("code", "000000") : ("recovery", "AAAAA-BBBBB"));
            Assert.Equal(HttpStatusCode.Unauthorized, wrong.StatusCode);
        }

        using HttpResponseMessage locked = await DepartmentBench.PostAsync(client, "/sign-in/second-factor", "/sign-in/second-factor", ("code", rowan.NextCode()));
        Assert.Equal(HttpStatusCode.Unauthorized, locked.StatusCode);
    }

    [Fact]
    public async Task UnknownNameAndWrongPassword_SayTheSame()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = bench.NewClient();
        using HttpResponseMessage wrong = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", "not this one at all"));
        using HttpResponseMessage unknown = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", "nobody"), ("password", "not this one at all"));
        Assert.Equal(wrong.StatusCode, unknown.StatusCode);
        Assert.Equal(WithoutTokens(await wrong.Content.ReadAsStringAsync()), WithoutTokens(await unknown.Content.ReadAsStringAsync()));
    }

    [Fact]
    public async Task Attempts_TooMany_AreRefused()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        using HttpClient client = bench.NewClient();
        HttpStatusCode last = HttpStatusCode.OK;
        for (int attempt = 0; attempt <= SignInEndpoints.AttemptsPerMinute && last != HttpStatusCode.TooManyRequests; attempt++)
        {
            using HttpResponseMessage answer = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", ""), ("password", ""));
            last = answer.StatusCode;
        }

        Assert.Equal(HttpStatusCode.TooManyRequests, last);
    }

    [Fact]
    public async Task Code_GivenTwice_IsTakenOnce()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        string code = rowan.NextCode();
        using HttpClient first = bench.NewClient();
        using HttpResponseMessage one = await DepartmentBench.PostAsync(first, "/sign-in", "/sign-in", ("name", "ROWAN"), ("password", rowan.Password));

        // Blanks between the digits are passed over, as apps show them.
        using HttpResponseMessage taken = await DepartmentBench.PostAsync(first, "/sign-in/second-factor", "/sign-in/second-factor", ("code", code[..3] + " " + code[3..]));
        Assert.Equal(HttpStatusCode.Redirect, taken.StatusCode);
        using HttpClient second = bench.NewClient();
        using HttpResponseMessage two = await DepartmentBench.PostAsync(second, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));
        using HttpResponseMessage refused = await DepartmentBench.PostAsync(second, "/sign-in/second-factor", "/sign-in/second-factor", ("code", code));
        Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
    }

    [Fact]
    public async Task RecoveryCode_LetsInOnce()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = await bench.SignInAsync(rowan);
        using HttpResponseMessage made = await DepartmentBench.PostAsync(client, "/account", "/account/recovery-codes");
        string[] codes = [.. RecoveryCode().Matches(await made.Content.ReadAsStringAsync()).Select(match => match.Groups[1].Value)];
        Assert.Equal(10, codes.Distinct().Count());
        foreach (HttpStatusCode expected in new[] { HttpStatusCode.Redirect, HttpStatusCode.Unauthorized })
        {
            using HttpClient other = bench.NewClient();
            using HttpResponseMessage password = await DepartmentBench.PostAsync(other, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));
            using HttpResponseMessage answer = await DepartmentBench.PostAsync(other, "/sign-in/second-factor", "/sign-in/second-factor", ("recovery", codes[3].ToLowerInvariant()));
            Assert.Equal(expected, answer.StatusCode);
        }

        Assert.Equal(9, (await bench.Accounts.GetAsync(rowan.AccountId)).RecoveryCodes.Count);
    }

    [Fact]
    public async Task PasswordAlone_ReachesNothingButTheSecondFactor()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = bench.NewClient();
        using HttpResponseMessage password = await DepartmentBench.PostAsync(client, "/sign-in", "/sign-in", ("name", rowan.Name), ("password", rowan.Password));

        // With a second factor set up, a password makes no session at all.
        foreach (string path in new[] { "/", "/account", "/people", "/account/second-factor" })
        {
            using HttpResponseMessage answer = await client.GetAsync(new Uri(path, UriKind.Relative));
            Assert.StartsWith("/sign-in", answer.Headers.Location?.ToString(), StringComparison.Ordinal);
        }

        // Without one, it makes a session that reaches the page to set one up, and nothing else.
        using HttpClient invited = bench.NewClient();
        Hotlight.Workflows.People.Acting.As(Hotlight.Workflows.People.Actor.Program);
        Hotlight.Workflows.People.IssuedInvitation issued = await bench.Accounts.InviteAsync("dunlin", PersonRole.Administrator, null, "Dunlin", null);
        await InvitationTests.OpenAsync(invited, issued.Secret);
        using HttpResponseMessage set = await DepartmentBench.PostAsync(invited, "/invitation/account", "/invitation/account", ("password", "nine otters in the reeds"), ("again", "nine otters in the reeds"));
        Assert.Equal("/account/second-factor", set.Headers.Location?.ToString());
        foreach (string path in new[] { "/", "/account", "/people", "/clinic", "/missing" })
        {
            using HttpResponseMessage answer = await invited.GetAsync(new Uri(path, UriKind.Relative));
            Assert.Equal("/account/second-factor", answer.Headers.Location?.ToString());
        }

        using HttpResponseMessage negotiated = await invited.PostAsync(new Uri("/_blazor/negotiate?negotiateVersion=1", UriKind.Relative), null);
        Assert.Equal(HttpStatusCode.Forbidden, negotiated.StatusCode);
        using HttpResponseMessage page = await invited.GetAsync(new Uri("/account/second-factor", UriKind.Relative));
        Assert.Equal(HttpStatusCode.OK, page.StatusCode);
    }

    [Theory]
    [InlineData("https://elsewhere.example/", "/")]
    [InlineData("//elsewhere.example/", "/")]
    [InlineData("/\\elsewhere.example", "/")]
    [InlineData("/sign-in?to=/", "/")]
    [InlineData("javascript:alert(1)", "/")]
    [InlineData("/cases\r\nX: y", "/")]
    [InlineData(null, "/")]
    [InlineData("/cases/1?x=2", "/cases/1?x=2")]
    public void To_AnotherSite_IsNotFollowed(string? to, string gone) => Assert.Equal(gone, SignInEndpoints.Local(to));

    [Fact]
    public async Task Store_HoldsNoSecretInClearText()
    {
        using var folder = new ScratchFolder();
        await using DepartmentBench bench = await DepartmentBench.StartAsync(folder: folder);
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        using HttpClient client = await bench.SignInAsync(rowan);
        using HttpResponseMessage made = await DepartmentBench.PostAsync(client, "/account", "/account/recovery-codes");
        string recovery = RecoveryCode().Match(await made.Content.ReadAsStringAsync()).Groups[1].Value;
        Hotlight.Workflows.People.Acting.As(Hotlight.Workflows.People.Actor.Program);
        Hotlight.Workflows.People.IssuedInvitation issued = await bench.Accounts.InviteAgainAsync(rowan.AccountId);
        using (Microsoft.Data.Sqlite.SqliteConnection connection = new($"Data Source={Path.Combine(bench.DataFolder, "records.db")}"))
        {
            connection.Open();
            using Microsoft.Data.Sqlite.SqliteCommand command = connection.CreateCommand();
            command.CommandText = "PRAGMA wal_checkpoint(TRUNCATE)";
            command.ExecuteNonQuery();
        }

        string bytes = System.Text.Encoding.Latin1.GetString(await ReadWhileOpenAsync(Path.Combine(bench.DataFolder, "records.db")));
        Assert.Contains("rowan", bytes, StringComparison.Ordinal);
        foreach (string secret in new[] { rowan.Password, recovery, issued.Secret, rowan.KeyText })
        {
            Assert.True(secret.Length > 8);
            Assert.DoesNotContain(secret, bytes, StringComparison.OrdinalIgnoreCase);
        }
    }

    private static async Task<byte[]> ReadWhileOpenAsync(string path)
    {
        await using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        byte[] bytes = new byte[file.Length];
        await file.ReadExactlyAsync(bytes);
        return bytes;
    }

    private static string WithoutTokens(string page) => Secret().Replace(page, "");

    [GeneratedRegex("(content|value)=\"CfDJ[^\"]*\"")]
    private static partial Regex Secret();

    [GeneratedRegex("<li><code>([^<]+)</code></li>")]
    private static partial Regex RecoveryCode();
}
