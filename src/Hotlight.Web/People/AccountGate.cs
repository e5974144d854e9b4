using System.Net;
using Hotlight.Audit;
using Hotlight.Web.Audit;
using Hotlight.Web.Components.People;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Hotlight.Web.People;

/// <summary>Lets the people of a department to what their role may; all else is refused before it begins. Says who acts for everything that follows.</summary>
internal sealed class AccountGate(RequestDelegate next, BenchOptions options, AccountWorkflow accounts, ClinicWorkflow clinic, IAuditTrail trail)
{
    private static readonly object SessionKey = new();

    /// <summary>The session of a request; null: none stands.</summary>
    /// <param name="context">The request.</param>
    public static KnownSession? SessionOf(HttpContext context)
    {
        ArgumentNullException.ThrowIfNull(context);
        return context.Items[SessionKey] as KnownSession;
    }

    /// <summary>Takes note of the session that a request's cookie stands for.</summary>
    /// <param name="context">The request.</param>
    /// <param name="session">The session.</param>
    public static void Note(HttpContext context, KnownSession session)
    {
        ArgumentNullException.ThrowIfNull(context);
        context.Items[SessionKey] = session;
    }

    /// <summary>Guards one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        if (!options.IsDepartment)
        {
            Acting.As(Actor.Program.NamedAs(AuditIdentity.Of(context, clinic)));
            await next(context);
            return;
        }

        AuditActor name = AuditIdentity.Of(context, null);

        // What a guest may was decided before.
        if (GuestAccess.PassOf(context.User) is { } pass)
        {
            Acting.As(Actor.Guest(pass.ReaderId, pass.RoundId).NamedAs(name));
            await next(context);
            return;
        }

        KnownSession? session = SessionOf(context);
        Acting.As((session is { Session.IsFull: true } ? Actor.Person(session.PersonId, session.Role) : Actor.Nobody).NamedAs(name));
        Endpoint? endpoint = context.GetEndpoint();
        Attribute? bears = AccountAccess.OfEndpoint(endpoint);
        if (AccountAccess.Allows(bears, session, IsOfThisMachine(context)))
        {
            if (bears is OpenToAttribute { Scope: OpenScope.LocalProgram })
            {
                Acting.As(Actor.Program.NamedAs(name));
            }
            else if (session is not null && IsAct(context))
            {
                await accounts.SeeAsync(session.Session, context.RequestAborted);
            }

            await next(context);
            return;
        }

        await RefuseAsync(context, session, bears);
    }

    private static bool IsOfThisMachine(HttpContext context) => context.Connection.RemoteIpAddress is { } from && IPAddress.IsLoopback(from);

    // Opening a page or sending something is somebody's doing; what a page fetches by itself is not, and keeps no session alive.
    private static bool IsAct(HttpContext context) => IsForReader(context) || !(HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method) || context.Request.Path.StartsWithSegments("/_blazor"));

    private static bool IsForReader(HttpContext context) => HttpMethods.IsGet(context.Request.Method) && context.Request.Headers.Accept.ToString().Contains("text/html", StringComparison.OrdinalIgnoreCase);

    private async Task RefuseAsync(HttpContext context, KnownSession? session, Attribute? bears)
    {
        context.Response.Headers.CacheControl = "no-store";
        if (session is null)
        {
            if (IsForReader(context))
            {
                string to = context.Request.Path + context.Request.QueryString;
                context.Response.Redirect(to is "/" ? SignInEndpoints.Path : $"{SignInEndpoints.Path}?to={Uri.EscapeDataString(to)}");
                return;
            }

            await TypedResults.Problem("Sign in first; the session is over or there was none.", statusCode: StatusCodes.Status401Unauthorized).ExecuteAsync(context);
            return;
        }

        if (!session.Session.IsFull)
        {
            if (IsForReader(context))
            {
                context.Response.Redirect(OwnAccountEndpoints.SecondFactorPath);
                return;
            }

            await TypedResults.Problem("Set up the second factor first.", statusCode: StatusCodes.Status403Forbidden).ExecuteAsync(context);
            return;
        }

        if (bears is not NeedsAttribute needs)
        {
            // Nothing is at this address, or nothing that is open to anybody: told alike.
            const string Nothing = "There is nothing at this address";
            await (IsForReader(context)
                ? new RazorComponentResult<RefusedPage>(new { Heading = Nothing, Sentence = "The address may be mistyped, or what stood here was removed." }) { StatusCode = StatusCodes.Status404NotFound }.ExecuteAsync(context)
                : TypedResults.Problem($"{Nothing}.", statusCode: StatusCodes.Status404NotFound).ExecuteAsync(context));
            return;
        }

        string sentence = new NotAllowedException(needs.Operation, Actor.Person(session.PersonId, session.Role)).Message;
        await trail.TellAsync(new AuditEvent(AuditAct.Refused, AuditSubject.Page, context.Request.Path, RoleTable.Words(needs.Operation)) { IsFailure = true }, context.RequestAborted);
        await (IsForReader(context)
            ? new RazorComponentResult<RefusedPage>(new { Heading = "Not open to your role", Sentence = sentence }) { StatusCode = StatusCodes.Status403Forbidden }.ExecuteAsync(context)
            : TypedResults.Problem(sentence, statusCode: StatusCodes.Status403Forbidden).ExecuteAsync(context));
    }
}

/// <summary>Answers a change that whoever asked for it may not make with its sentence.</summary>
internal sealed class NotAllowedAnswer(RequestDelegate next)
{
    /// <summary>Guards one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        try
        {
            await next(context);
        }
        catch (NotAllowedException error) when (!context.Response.HasStarted)
        {
            await TypedResults.Problem(error.Message, statusCode: StatusCodes.Status403Forbidden).ExecuteAsync(context);
        }
    }
}
