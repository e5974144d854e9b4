using Hotlight.Web.Components.People;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Mvc;

namespace Hotlight.Web.People;

/// <summary>What an administrator does with the people of the department.</summary>
internal static class PeopleEndpoints
{
    /// <summary>The page.</summary>
    public const string Path = "/people";

    /// <summary>Maps the routes.</summary>
    /// <param name="routes">Where to.</param>
    public static void MapPeople(this IEndpointRouteBuilder routes)
    {
        RouteGroupBuilder people = routes.MapGroup(Path);
        people.WithMetadata(new NeedsAttribute(Operation.KeepPeople));
        people.AddEndpointFilter(SignInEndpoints.FromThePageAsync);
        people.MapGet("/", (HttpContext context, AccountWorkflow accounts, ClinicWorkflow clinic) => PageAsync(context, accounts, clinic, null, null, null));
        people.MapPost("/invite", (HttpContext context, [FromForm] string? name, [FromForm] PersonRole role, [FromForm] string? person, [FromForm] string? pseudonym, AccountWorkflow accounts, ClinicWorkflow clinic)
            => ActAsync(context, accounts, clinic, async () => (null, await accounts.InviteAsync(name ?? string.Empty, role, Guid.TryParse(person, out Guid known) ? known : null, pseudonym, By(context), context.RequestAborted))));
        people.MapPost("/{id:guid}/invite", (HttpContext context, Guid id, AccountWorkflow accounts, ClinicWorkflow clinic)
            => ActAsync(context, accounts, clinic, async () => (null, await accounts.InviteAgainAsync(id, context.RequestAborted))));
        people.MapPost("/{id:guid}/role", (HttpContext context, Guid id, [FromForm] PersonRole role, AccountWorkflow accounts, ClinicWorkflow clinic)
            => ActAsync(context, accounts, clinic, async () =>
            {
                await accounts.SetRoleAsync(id, role, By(context), context.RequestAborted);
                return ($"{(await accounts.GetAsync(id, context.RequestAborted)).Name} is {RoleTable.Word(role)} now; the sessions of the account are ended.", null);
            }));
        people.MapPost("/{id:guid}/lock", (HttpContext context, Guid id, AccountWorkflow accounts, ClinicWorkflow clinic) => LockAsync(context, id, true, accounts, clinic));
        people.MapPost("/{id:guid}/unlock", (HttpContext context, Guid id, AccountWorkflow accounts, ClinicWorkflow clinic) => LockAsync(context, id, false, accounts, clinic));
        people.MapPost("/{id:guid}/end-sessions", (HttpContext context, Guid id, AccountWorkflow accounts, ClinicWorkflow clinic)
            => ActAsync(context, accounts, clinic, async () =>
            {
                await accounts.SignOutEverywhereAsync(id, context.RequestAborted);
                return ($"All sessions of {(await accounts.GetAsync(id, context.RequestAborted)).Name} are ended.", null);
            }));
    }

    private static Guid By(HttpContext context) => AccountGate.SessionOf(context)!.PersonId;

    private static Task<IResult> LockAsync(HttpContext context, Guid id, bool isLocked, AccountWorkflow accounts, ClinicWorkflow clinic)
        => ActAsync(context, accounts, clinic, async () =>
        {
            await accounts.SetDisabledAsync(id, isLocked, context.RequestAborted);
            return ($"{(await accounts.GetAsync(id, context.RequestAborted)).Name} is {(isLocked ? "locked out; all sessions of the account are ended" : "let in again")}.", null);
        });

    private static async Task<IResult> ActAsync(HttpContext context, AccountWorkflow accounts, ClinicWorkflow clinic, Func<Task<(string? Sentence, IssuedInvitation? Issued)>> act)
    {
        try
        {
            (string? sentence, IssuedInvitation? issued) = await act();

            // Whoever changed the own account is signed out by it.
            return AccountGate.SessionOf(context) is { } session && (await accounts.GetAsync(session.Session.AccountId)).SecurityStamp != session.SecurityStamp
                ? TypedResults.Redirect($"{SignInEndpoints.Path}?said=over")
                : await PageAsync(context, accounts, clinic, sentence, null, issued);
        }
        catch (AccountRefusedException error)
        {
            return await PageAsync(context, accounts, clinic, null, error.Message, null);
        }
    }

    private static async Task<IResult> PageAsync(HttpContext context, AccountWorkflow accounts, ClinicWorkflow clinic, string? sentence, string? fault, IssuedInvitation? issued)
    {
        context.Response.Headers.CacheControl = "no-store";
        ClinicState state = await clinic.LoadAsync(context.RequestAborted);
        return new RazorComponentResult<PeoplePage>(new
        {
            Accounts = await accounts.ListAsync(context.RequestAborted),
            Invitations = await accounts.InvitationsAsync(context.RequestAborted),
            state.Settings.People,
            OwnId = AccountGate.SessionOf(context)!.Session.AccountId,
            Sentence = sentence,
            Fault = fault,
            Link = issued?.LinkAt($"{context.Request.Scheme}://{context.Request.Host}"),
            Invited = issued?.Account,
        })
        {
            StatusCode = fault is null ? StatusCodes.Status200OK : StatusCodes.Status422UnprocessableEntity,
        };
    }
}
