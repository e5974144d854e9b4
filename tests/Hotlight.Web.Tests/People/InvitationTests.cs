using System.Net;
using System.Net.Http.Json;
using System.Text.RegularExpressions;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;

namespace Hotlight.Web.Tests.People;

/// <summary>Links that set an account up: once, for a while, and nobody else's.</summary>
public sealed partial class InvitationTests
{
    private const string Password = "nine otters in the reeds";

    [Fact]
    public async Task FirstStart_PrintsALink_ThatMakesTheFirstAdministrator()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        string secret = Link().Match(bench.Said).Groups[1].Value;
        Assert.Equal(43, secret.Length);
        using HttpClient client = bench.NewClient();
        await OpenAsync(client, secret);
        string page = await client.GetStringAsync(new Uri("/invitation/account", UriKind.Relative));
        Assert.Contains("administrator", page, StringComparison.Ordinal);

        // Weak and unlike passwords use nothing up.
        foreach ((string one, string two) in new[] { ("short", "short"), (Password, Password + "x"), ("administrator of all", "administrator of all"), ("aaaaaaaaaaaaaaa", "aaaaaaaaaaaaaaa") })
        {
            using HttpResponseMessage weak = await DepartmentBench.PostAsync(client, "/invitation/account", "/invitation/account", ("password", one), ("again", two));
            Assert.Equal(HttpStatusCode.UnprocessableEntity, weak.StatusCode);
        }

        using HttpResponseMessage set = await DepartmentBench.PostAsync(client, "/invitation/account", "/invitation/account", ("password", Password), ("again", Password));
        Assert.Equal("/account/second-factor", set.Headers.Location?.ToString());
        using HttpResponseMessage done = await SetUpCodesAsync(client);
        Assert.Contains("Your recovery codes", await done.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        using HttpResponseMessage people = await client.GetAsync(new Uri("/people", UriKind.Relative));
        Assert.Equal(HttpStatusCode.OK, people.StatusCode);

        // Used, it lets nobody else in.
        using HttpClient late = bench.NewClient();
        using HttpResponseMessage again = await late.PostAsJsonAsync(new Uri("/invitation", UriKind.Relative), new { secret });
        Assert.Equal(HttpStatusCode.Forbidden, again.StatusCode);
        Assert.Contains("lets nobody in", await again.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Invitation_UsedBySomebodyElseMeanwhile_OneIsLetIn()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Acting.As(Actor.Program);
        IssuedInvitation issued = await bench.Accounts.InviteAsync("dunlin", PersonRole.Learner, null, "Dunlin", null);
        Task<bool>[] tries = [.. Enumerable.Range(0, 8).Select(_ => Task.Run(async () =>
        {
            try
            {
                await bench.Accounts.AcceptAsync(issued.Secret);
                return true;
            }
            catch (AccountRefusedException)
            {
                return false;
            }
        }))];
        Assert.Single(await Task.WhenAll(tries), each => each);
    }

    [Fact]
    public async Task Invitation_EndedReplacedGuessedOrLockedOut_LetsNobodyIn()
    {
        var clock = new PutForwardClock();
        await using DepartmentBench bench = await DepartmentBench.StartAsync(clock: clock);
        Acting.As(Actor.Program);
        IssuedInvitation first = await bench.Accounts.InviteAsync("dunlin", PersonRole.Learner, null, "Dunlin", null);
        IssuedInvitation second = await bench.Accounts.InviteAgainAsync(first.Account.Id);
        Assert.Null(await bench.Accounts.InvitedAsync(first.Secret));
        Assert.NotNull(await bench.Accounts.InvitedAsync(second.Secret));
        Assert.Null(await bench.Accounts.InvitedAsync(second.Secret[..^1] + (second.Secret[^1] == 'A' ? 'B' : 'A')));
        await bench.Accounts.SetDisabledAsync(first.Account.Id, true);
        Assert.Null(await bench.Accounts.InvitedAsync(second.Secret));
        await bench.Accounts.SetDisabledAsync(first.Account.Id, false);
        clock.Advance(AccountWorkflow.InvitationHolds - TimeSpan.FromMinutes(1));
        Assert.NotNull(await bench.Accounts.InvitedAsync(second.Secret));
        clock.Advance(TimeSpan.FromMinutes(2));
        Assert.Null(await bench.Accounts.InvitedAsync(second.Secret));
        await Assert.ThrowsAsync<AccountRefusedException>(() => bench.Accounts.AcceptAsync(second.Secret));
    }

    [Fact]
    public async Task NewLink_Used_TakesEveryFormerWayInAway()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        await bench.AddAsync("rowan", PersonRole.Administrator);
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Learner);
        using HttpClient signedIn = await bench.SignInAsync(dunlin);
        Acting.As(Actor.Program);
        IssuedInvitation issued = await bench.Accounts.InviteAgainAsync(dunlin.AccountId);

        // Until it is used all goes on as before.
        Assert.Equal(HttpStatusCode.OK, (await signedIn.GetAsync(new Uri("/account", UriKind.Relative))).StatusCode);
        using HttpClient fresh = bench.NewClient();
        await OpenAsync(fresh, issued.Secret);
        using HttpResponseMessage set = await DepartmentBench.PostAsync(fresh, "/invitation/account", "/invitation/account", ("password", Password), ("again", Password));
        Assert.Equal("/account/second-factor", set.Headers.Location?.ToString());
        Assert.Equal(HttpStatusCode.Redirect, (await signedIn.GetAsync(new Uri("/account", UriKind.Relative))).StatusCode);
        using HttpClient old = bench.NewClient();
        using HttpResponseMessage refused = await DepartmentBench.PostAsync(old, "/sign-in", "/sign-in", ("name", dunlin.Name), ("password", dunlin.Password));
        Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task InvitePage_SomebodyNewOrAPersonOfTheClinic_GivesALinkOnce(bool isKnown)
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        using HttpClient administrator = await bench.SignInAsync(await bench.AddAsync("rowan", PersonRole.Administrator));
        Acting.As(Actor.Program);
        ClinicWorkflow clinic = Microsoft.Extensions.DependencyInjection.ServiceProviderServiceExtensions.GetRequiredService<ClinicWorkflow>(bench.Services);
        ClinicState state = await clinic.LoadAsync();
        var knot = new Person { Id = Guid.NewGuid(), Pseudonym = "Knot" };
        await clinic.ChangeAsync(state, state.Settings with { People = [.. state.Settings.People, knot] }, "x", null);
        using HttpResponseMessage answer = await DepartmentBench.PostAsync(administrator, "/people", "/people/invite", ("name", "knot"), ("person", isKnown ? knot.Id.ToString() : ""), ("pseudonym", isKnown ? "" : "Dunlin"), ("role", "Supervisor"));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        string secret = Link().Match(WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync()).Replace("<", " ", StringComparison.Ordinal)).Groups[1].Value;
        InvitedAccount invited = (await bench.Accounts.InvitedAsync(secret))!;
        Assert.Equal((PersonRole.Supervisor, "knot"), (invited.Account.Role, invited.Account.Name));
        Assert.Equal(isKnown, invited.Account.PersonId == knot.Id);
        Assert.Equal(PersonRole.Supervisor, clinic.Current.Settings.People.Single(each => each.Id == invited.Account.PersonId).Role);
        Assert.DoesNotContain(secret, await administrator.GetStringAsync(new Uri("/people", UriKind.Relative)), StringComparison.Ordinal);
    }

    [Fact]
    public async Task LastAdministrator_IsNotLockedOutNorDemoted()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        Member other = await bench.AddAsync("dunlin", PersonRole.Administrator);
        using HttpClient signedIn = await bench.SignInAsync(rowan);
        Acting.As(Actor.Program);

        // The other has never signed in: nobody knows whether that account can keep the people.
        Assert.Contains("only administrator", (await Assert.ThrowsAsync<AccountRefusedException>(() => bench.Accounts.SetDisabledAsync(rowan.AccountId, true))).Message, StringComparison.Ordinal);
        await Assert.ThrowsAsync<AccountRefusedException>(() => bench.Accounts.SetRoleAsync(rowan.AccountId, PersonRole.Reader, null));
        using HttpClient second = await bench.SignInAsync(other);
        await bench.Accounts.SetRoleAsync(rowan.AccountId, PersonRole.Reader, null);
        Assert.Equal(PersonRole.Reader, (await bench.Accounts.GetAsync(rowan.AccountId)).Role);
        await Assert.ThrowsAsync<AccountRefusedException>(() => bench.Accounts.SetDisabledAsync(other.AccountId, true));
    }

    [Theory]
    [InlineData("", "Dunlin")]
    [InlineData("two words", "Dunlin")]
    [InlineData("<b>", "Dunlin")]
    [InlineData("rowan", "Dunlin")]
    [InlineData("ROWAN", "Dunlin")]
    [InlineData("dunlin", "")]
    [InlineData("dunlin", "Pseudonym rowan")]
    public async Task Invite_NameOrPseudonymThatWillNotDo_IsRefusedAndNothingKept(string name, string pseudonym)
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        await bench.AddAsync("rowan", PersonRole.Administrator);
        Acting.As(Actor.Program);
        int before = (await bench.Accounts.ListAsync()).Count;
        await Assert.ThrowsAsync<AccountRefusedException>(() => bench.Accounts.InviteAsync(name, PersonRole.Learner, null, pseudonym, null));
        Assert.Equal(before, (await bench.Accounts.ListAsync()).Count);
    }

    /// <summary>Opens a link as its page does.</summary>
    internal static async Task OpenAsync(HttpClient client, string secret)
    {
        using HttpResponseMessage answer = await client.PostAsJsonAsync(new Uri("/invitation", UriKind.Relative), new { secret });
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        string cookie = Assert.Single(answer.Headers.GetValues("Set-Cookie"), each => each.StartsWith("hotlight.invitation", StringComparison.Ordinal));
        Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(secret, cookie, StringComparison.Ordinal);
    }

    /// <summary>Sets codes up on the page that shows the key.</summary>
    internal static async Task<HttpResponseMessage> SetUpCodesAsync(HttpClient client)
    {
        string page = await client.GetStringAsync(new Uri("/account/second-factor", UriKind.Relative));
        string key = Key().Match(page).Groups[1].Value;
        string pending = Pending().Match(page).Groups[1].Value;
        Assert.Contains("<svg", page, StringComparison.Ordinal);
        string code = TimeCodes.At(TimeCodes.KeyOf(key), DateTimeOffset.UtcNow.ToUnixTimeSeconds());
        using HttpResponseMessage wrong = await DepartmentBench.PostAsync(client, "/account/second-factor", "/account/second-factor", ("pending", pending), ("code", code == "111111" ? "222222" : "111111"));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, wrong.StatusCode);
        return await DepartmentBench.PostAsync(client, "/account/second-factor", "/account/second-factor", ("pending", pending), ("code", code));
    }

    [GeneratedRegex("/invitation#(\\S+)")]
    private static partial Regex Link();

    [GeneratedRegex("data-code-key>([A-Z2-7 ]+)<")]
    private static partial Regex Key();

    [GeneratedRegex("name=\"pending\" value=\"([^\"]+)\"")]
    private static partial Regex Pending();
}
