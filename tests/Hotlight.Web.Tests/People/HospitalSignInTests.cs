using System.Net;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;

namespace Hotlight.Web.Tests.People;

/// <summary>The hospital's own sign-in, against a provider that the test starts itself.</summary>
public sealed class HospitalSignInTests
{
    [Fact]
    public async Task Invited_SignsInThroughTheHospital_OnceLinkedWithoutTheInvitation()
    {
        await using HospitalProvider hospital = await HospitalProvider.StartAsync();
        await using DepartmentBench bench = await StartAsync(hospital);
        Acting.As(Actor.Program);
        IssuedInvitation issued = await bench.Accounts.InviteAsync("whimbrel", PersonRole.Reader, null, "Whimbrel", null);
        using HttpClient client = bench.NewClient();

        // Nobody here is that person yet: the hospital's word alone lets nobody in.
        Assert.Equal("/sign-in?said=unknown", await GoAsync(client, bench, "/sign-in/hospital"));
        await InvitationTests.OpenAsync(client, issued.Secret);
        Assert.Contains("Use the hospital", await client.GetStringAsync(new Uri("/invitation/account", UriKind.Relative)), StringComparison.Ordinal);
        Assert.Equal("/", await GoAsync(client, bench, "/invitation/hospital"));
        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(new Uri("/account", UriKind.Relative))).StatusCode);

        // It is a reader's session, complete, and without a password.
        Assert.Equal(HttpStatusCode.Forbidden, (await client.GetAsync(new Uri("/clinic", UriKind.Relative))).StatusCode);
        Account account = await bench.Accounts.GetAsync(issued.Account.Id);
        Assert.Null(account.PasswordHash);
        Assert.Equal(new HospitalIdentity(hospital.Address.ToString(), "staff-17"), Assert.Single(account.Identities));
        using HttpClient again = bench.NewClient();
        Assert.Equal("/repeats?x=1", await GoAsync(again, bench, "/sign-in/hospital?to=%2Frepeats%3Fx%3D1"));
        Assert.Equal(HttpStatusCode.OK, (await again.GetAsync(new Uri("/repeats", UriKind.Relative))).StatusCode);

        // Somebody else of the hospital is not that person, and a used link links nobody.
        hospital.Subject = "staff-18";
        using HttpClient other = bench.NewClient();
        Assert.Equal("/sign-in?said=unknown", await GoAsync(other, bench, "/sign-in/hospital"));

        // Locked out here, the hospital's sign-in does not help.
        hospital.Subject = "staff-17";
        Acting.As(Actor.Program);
        await bench.Accounts.SetDisabledAsync(account.Id, true);
        Assert.Equal("/sign-in?said=unknown", await GoAsync(other, bench, "/sign-in/hospital"));
    }

    [Theory]
    [InlineData("state")]
    [InlineData("nonce")]
    [InlineData("issuer")]
    [InlineData("audience")]
    [InlineData("signature")]
    [InlineData("ended")]
    [InlineData("denied")]
    public async Task Answer_ThatIsNotTheProvidersOwn_LetsNobodyIn(string fault)
    {
        await using HospitalProvider hospital = await HospitalProvider.StartAsync();
        await using DepartmentBench bench = await StartAsync(hospital);
        Acting.As(Actor.Program);
        IssuedInvitation issued = await bench.Accounts.InviteAsync("whimbrel", PersonRole.Reader, null, "Whimbrel", null);
        using HttpClient client = bench.NewClient();
        await InvitationTests.OpenAsync(client, issued.Secret);
        hospital.Fault = fault;
        Assert.Equal("/sign-in?said=hospital", await GoAsync(client, bench, "/invitation/hospital"));
        Assert.Equal(HttpStatusCode.Redirect, (await client.GetAsync(new Uri("/account", UriKind.Relative))).StatusCode);

        // The invitation is not used up by it.
        hospital.Fault = "";
        Assert.Equal("/", await GoAsync(client, bench, "/invitation/hospital"));
    }

    [Fact]
    public async Task Answer_SentToAnotherBrowser_LetsNobodyIn()
    {
        await using HospitalProvider hospital = await HospitalProvider.StartAsync();
        await using DepartmentBench bench = await StartAsync(hospital);
        using HttpClient attacker = bench.NewClient();
        using HttpClient victim = bench.NewClient();
        using HttpResponseMessage asked = await attacker.GetAsync(new Uri("/sign-in/hospital", UriKind.Relative));
        using var provider = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false });
        using HttpResponseMessage answered = await provider.GetAsync(asked.Headers.Location);
        using HttpResponseMessage back = await victim.GetAsync(answered.Headers.Location);
        Assert.Equal("/sign-in?said=hospital", back.Headers.Location?.ToString());
        Assert.Equal(0, hospital.TokensAsked);
    }

    private static Task<DepartmentBench> StartAsync(HospitalProvider hospital)
        => DepartmentBench.StartAsync(options => options with { Hospital = new HospitalSignIn(hospital.Address, "hotlight", HospitalProvider.ClientSecret) });

    // Follows the way to the provider and back, as a browser does, to the last address on the bench.
    private static async Task<string?> GoAsync(HttpClient client, DepartmentBench bench, string path)
    {
        var at = new Uri(bench.Address, path);
        for (int steps = 0; steps < 6; steps++)
        {
            using HttpResponseMessage answer = await client.GetAsync(at);
            if (answer.Headers.Location is not { } next)
            {
                return $"{(int)answer.StatusCode} {at.PathAndQuery}";
            }

            at = new Uri(at, next);
            if (steps >= 2 && at.Port == bench.Address.Port && !at.AbsolutePath.StartsWith("/sign-in/hospital", StringComparison.Ordinal))
            {
                return at.PathAndQuery;
            }
        }

        return null;
    }
}
