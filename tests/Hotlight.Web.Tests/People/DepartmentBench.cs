using System.Net;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests.People;

/// <summary>A bench of a department on a free port of this machine, and people who can sign in to it.</summary>
internal sealed partial class DepartmentBench : IAsyncDisposable
{
    private readonly ScratchFolder folder;
    private readonly bool ownsFolder;

    private DepartmentBench(WebApplication bench, ScratchFolder folder, bool ownsFolder, string said)
    {
        Bench = bench;
        this.folder = folder;
        this.ownsFolder = ownsFolder;
        Said = said;
    }

    public WebApplication Bench { get; }

    /// <summary>What the start said on the terminal.</summary>
    public string Said { get; }

    public string DataFolder => folder["data"];

    /// <summary>Where it answers, by the name that passkeys need.</summary>
    public Uri Address => new(Hotlight.Web.Bench.AddressOf(Bench).ToString().Replace("127.0.0.1", "localhost", StringComparison.Ordinal));

    public IServiceProvider Services => Bench.Services;

    public AccountWorkflow Accounts => Services.GetRequiredService<AccountWorkflow>();

    public static async Task<DepartmentBench> StartAsync(Func<BenchOptions, BenchOptions>? with = null, TimeProvider? clock = null, ScratchFolder? folder = null)
    {
        bool owns = folder is null;
        folder ??= new ScratchFolder();
        var options = new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, IsDepartment = true, SessionWatch = TimeSpan.FromMilliseconds(200), WebToken = "a-token-of-the-tests" };
        using var said = new StringWriter();
        WebApplication bench = await Hotlight.Web.Bench.StartAsync(with is null ? options : with(options), said, clock);
        return new DepartmentBench(bench, folder, owns, said.ToString());
    }

    public async ValueTask DisposeAsync()
    {
        await Bench.StopAsync();
        await Bench.DisposeAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (ownsFolder)
        {
            folder.Dispose();
        }
    }

    /// <summary>Somebody with a password and codes.</summary>
    public async Task<Member> AddAsync(string name, PersonRole role)
    {
        Acting.As(Actor.Program);
        IssuedInvitation issued = await Accounts.InviteAsync(name, role, null, $"Pseudonym {name}", null);
        Account account = await Accounts.AcceptAsync(issued.Secret);
        using IServiceScope scope = Services.CreateScope();
        UserManager<Account> people = scope.ServiceProvider.GetRequiredService<UserManager<Account>>();
        const string Password = "seven herons at dusk";
        Assert.True((await people.AddPasswordAsync(account, Password)).Succeeded);
        Assert.True((await people.ResetAuthenticatorKeyAsync(account)).Succeeded);
        Assert.True((await people.SetTwoFactorEnabledAsync(account, true)).Succeeded);
        string key = (await people.GetAuthenticatorKeyAsync(account))!;
        return new Member(account.Id, account.PersonId, account.Name, Password, key, role);
    }

    /// <summary>A browser that nobody is signed in with.</summary>
    public HttpClient NewClient(bool asReader = true)
    {
        var client = new HttpClient(new SocketsHttpHandler { CookieContainer = new CookieContainer(), AllowAutoRedirect = false }) { BaseAddress = Address };
        if (asReader)
        {
            client.DefaultRequestHeaders.Accept.ParseAdd("text/html");
        }

        return client;
    }

    /// <summary>A browser that somebody signed in with, by the pages.</summary>
    public async Task<HttpClient> SignInAsync(Member member)
    {
        HttpClient client = NewClient();
        using HttpResponseMessage password = await PostAsync(client, "/sign-in", "/sign-in", ("name", member.Name), ("password", member.Password));
        Assert.Equal("/sign-in/second-factor", password.Headers.Location?.ToString());
        using HttpResponseMessage code = await PostAsync(client, "/sign-in/second-factor", "/sign-in/second-factor", ("code", member.NextCode()));
        Assert.Equal("/", code.Headers.Location?.ToString());
        return client;
    }

    /// <summary>Sends a form as the page that holds it does.</summary>
    public static async Task<HttpResponseMessage> PostAsync(HttpClient client, string page, string path, params (string Name, string Value)[] fields)
    {
        string token = TokenOf(await client.GetStringAsync(new Uri(page, UriKind.Relative)));
        using var form = new FormUrlEncodedContent([new("__RequestVerificationToken", token), .. fields.Select(each => new KeyValuePair<string, string>(each.Name, each.Value))]);
        return await client.PostAsync(new Uri(path, UriKind.Relative), form);
    }

    public static string TokenOf(string page) => TokenPattern().Match(page) is { Success: true } found ? WebUtility.HtmlDecode(found.Groups[1].Value) : throw new InvalidOperationException("The page carries no token.");

    [GeneratedRegex("name=\"hotlight-token\" content=\"([^\"]+)\"")]
    private static partial Regex TokenPattern();
}

/// <summary>Somebody who can sign in.</summary>
internal sealed class Member(Guid accountId, Guid personId, string name, string password, string key, PersonRole role)
{
    // A code is taken once; neighbours of now are taken too, so that a test need not wait half a minute.
    private static readonly int[] Steps = [0, 1, -1];
    private string last = "";

    public Guid AccountId { get; } = accountId;

    public Guid PersonId { get; } = personId;

    public string Name { get; } = name;

    public string Password { get; } = password;

    public PersonRole Role { get; } = role;

    public string KeyText { get; } = key;

    /// <summary>A code that was not given last.</summary>
    public string NextCode()
    {
        long now = DateTimeOffset.UtcNow.ToUnixTimeSeconds();
        return last = Steps.Select(step => TimeCodes.At(TimeCodes.KeyOf(KeyText), now + (30 * step))).First(code => code != last);
    }
}

/// <summary>A clock that tests put forward; timers go by the machine's.</summary>
internal sealed class PutForwardClock : TimeProvider
{
    private long ahead;

    public void Advance(TimeSpan time) => Interlocked.Add(ref ahead, time.Ticks);

    public override DateTimeOffset GetUtcNow() => base.GetUtcNow().AddTicks(Interlocked.Read(ref ahead));
}
