using System.Net;
using Hotlight.Audit;
using Hotlight.Judgement;
using Hotlight.Store.Postgres;
using Hotlight.Store.Tests;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests.People;

/// <summary>A department whose records lie in PostgreSQL, with two bench processes on them.</summary>
public sealed class DepartmentOnPostgresTests
{
    [PostgresServerFact]
    public async Task TwoBenches_OnOneDatabase_ShareAccountsSessionsAnswersAndOneTrail()
    {
        using var folder = new ScratchFolder();
        string store = PostgresServer.AddressOf(PostgresServer.Instance.NewDatabase()) + "?timeout=300&command%20timeout=300";
        await using DepartmentBench bench = await DepartmentBench.StartAsync(options => options with { Store = PostgresAddress.Parse(store) }, folder: folder);
        Member rowan = await bench.AddAsync("rowan", PersonRole.Administrator);
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Reader);
        using HttpClient administrator = await bench.SignInAsync(rowan);
        using HttpClient reader = await bench.SignInAsync(dunlin);

        // Roles hold: settings are the administrator's, bringing in a file a reader's too.
        Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(reader, new Uri(bench.Address, "/clinic")));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(administrator, new Uri(bench.Address, "/clinic")));
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100), folder["limb.dcm"]);
        using HttpResponseMessage brought = await SendAsync(reader, await File.ReadAllBytesAsync(folder["limb.dcm"]));
        Assert.Equal(HttpStatusCode.Created, brought.StatusCode);
        var id = Guid.Parse(brought.Headers.Location!.ToString().Split('/')[^1]);

        // An answer in the reader's name is kept; the same by a learner is not.
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        Acting.As(Actor.Person(dunlin.PersonId, PersonRole.Reader).NamedAs(new AuditActor(dunlin.Name, dunlin.AccountId, "reader")));
        OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync(id), "wrist-pa") with { ReaderId = dunlin.PersonId };
        string line = open.Critique!.Verdict.Open[0].LineId;
        open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));
        Acting.As(Actor.Person(Guid.NewGuid(), PersonRole.Learner));
        await Assert.ThrowsAsync<NotAllowedException>(() => cases.AnswerAsync(open, line, new Answer(ChecklistState.NotMet)));
        Acting.As(Actor.Program);
        Assert.Equal(ChecklistState.Met, (await cases.OpenAsync(id)).Answers!.Lines[line].State);

        // A second process on the same database and data folder: whoever is signed in stays so, and its list holds the case.
        using BenchProcess second = await BenchProcess.StartAsync(BenchProcess.FreePort(), bench.DataFolder, store, "--department");
        var there = new Uri($"http://localhost:{second.Address.Port}/");
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(reader, new Uri(there, $"/cases/{id}/table")));

        // What is done there is seen here: an account locked out on one bench has no session on either.
        string people = await administrator.GetStringAsync(new Uri(there, "/people"));
        using var form = new FormUrlEncodedContent([new("__RequestVerificationToken", DepartmentBench.TokenOf(people))]);
        using HttpResponseMessage locked = await administrator.PostAsync(new Uri(there, $"/people/{dunlin.AccountId}/lock"), form);
        Assert.Contains("dunlin is locked out", await locked.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.True((await bench.Accounts.GetAsync(dunlin.AccountId)).IsDisabled);
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(reader, new Uri(bench.Address, "/account")));
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(reader, new Uri(there, "/account")));

        // One trail of both, whole, with the names.
        AuditTrail trail = bench.Services.GetRequiredService<AuditTrail>();
        Assert.Empty((await trail.CheckAsync()).Faults);
        List<AuditEntry> entries = await trail.ReadAsync(new AuditQuery()).ToListAsync();
        Assert.Equal(2, entries.Count(entry => entry.Act == AuditAct.Started));
        Assert.Equal(["rowan", "dunlin"], entries.Where(entry => entry is { Act: AuditAct.SignedIn, Detail: "with all that it takes" }).Select(entry => entry.By.Name));
        Assert.Single(entries, entry => entry is { Act: AuditAct.Refused, SubjectId: "/clinic", By.Name: "dunlin", By.Role: "reader" });
        Assert.Single(entries, entry => entry is { Act: AuditAct.BroughtIn, By.Name: "dunlin" } && entry.SubjectId == id.ToString());
        Assert.Contains(entries, entry => entry is { Act: AuditAct.AccountChanged, By.Name: "rowan", By.Role: "administrator" } && entry.SubjectId == dunlin.AccountId.ToString() && entry.Number > entries.Last(each => each.Act == AuditAct.Started).Number);
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient client, Uri address)
    {
        using HttpResponseMessage answer = await client.GetAsync(address);
        return answer.StatusCode;
    }

    private static async Task<HttpResponseMessage> SendAsync(HttpClient client, byte[] content)
    {
        string token = DepartmentBench.TokenOf(await client.GetStringAsync(new Uri("/", UriKind.Relative)));
        using var body = new ByteArrayContent(content);
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri("/cases?name=limb.dcm", UriKind.Relative)) { Content = body };
        request.Headers.Add("X-Hotlight-Token", token);
        return await client.SendAsync(request);
    }
}

/// <summary>A test that needs PostgreSQL, skipped with a clear word where it is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class PostgresServerFactAttribute : FactAttribute
{
    /// <summary>Looks once whether it is there.</summary>
    public PostgresServerFactAttribute() => Skip = PostgresServer.IsInstalled ? null : PostgresServer.Missing;
}
