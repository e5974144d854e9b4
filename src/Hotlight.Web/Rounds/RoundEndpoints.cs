using System.Threading.RateLimiting;
using Hotlight.Web.Components.Rounds;
using Hotlight.Web.People;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.RateLimiting;

namespace Hotlight.Web.Rounds;

/// <summary>How a guest comes into a round and leaves it. The secret stands behind the # of a link: a browser sends that to nobody, and the page sends it on in a request's body.</summary>
internal static class RoundEndpoints
{
    /// <summary>Page that a link leads to.</summary>
    public const string JoinPath = "/rounds/join";

    /// <summary>Most attempts a minute from one address: a group comes in at once, and 256 bits are not guessed.</summary>
    public const int AttemptsPerMinute = 20;

    private const string Attempts = "round-attempts";

    /// <summary>Limits the attempts.</summary>
    /// <param name="services">The services.</param>
    public static void AddRoundAttempts(this IServiceCollection services)
        => services.AddRateLimiter(limiter =>
        {
            limiter.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
            limiter.OnRejected = async (rejected, cancellation) =>
            {
                rejected.HttpContext.Response.ContentType = "text/plain; charset=utf-8";
                await rejected.HttpContext.Response.WriteAsync("Too many attempts: wait a minute, then try again.", cancellation);
            };
            limiter.AddPolicy(Attempts, context => RateLimitPartition.GetFixedWindowLimiter(
                context.Connection.RemoteIpAddress?.ToString() ?? string.Empty,
                _ => new FixedWindowRateLimiterOptions { PermitLimit = AttemptsPerMinute, Window = TimeSpan.FromMinutes(1), QueueLimit = 0 }));
        });

    /// <summary>Maps the routes.</summary>
    /// <param name="routes">Where to.</param>
    public static void MapRounds(this IEndpointRouteBuilder routes)
    {
        routes.MapGet(JoinPath, () => new RazorComponentResult<RoundJoin>()).WithMetadata(new GuestMayAttribute(GuestScope.Anyone), new OpenToAttribute(OpenScope.Anyone));
        routes.MapPost(JoinPath, JoinAsync).WithMetadata(new GuestMayAttribute(GuestScope.Anyone), new OpenToAttribute(OpenScope.Anyone)).RequireRateLimiting(Attempts);
        routes.MapPost("/rounds/leave", (HttpContext context) =>
        {
            RoundCookie.Take(context);
            return TypedResults.Redirect(JoinPath);
        }).WithMetadata(new GuestMayAttribute(GuestScope.Anyone), new OpenToAttribute(OpenScope.Anyone));
    }

    private static async Task<Results<Ok<LetIn>, ProblemHttpResult>> JoinAsync(HttpContext context, Invitation invitation, RoundWorkflow rounds, RoundCookie cookie)
    {
        if (!Guid.TryParse(invitation.Round, out Guid id) || invitation.Secret is not { Length: > 0 and < 200 } secret)
        {
            return Refused(RoundWorkflow.WrongLink);
        }

        try
        {
            // A browser that sits in the round already keeps its place.
            RoundPass? known = cookie.Read(context.Request);
            bool isIn = known is not null && known.RoundId == id && await rounds.CheckAsync(known, context.RequestAborted) is not null && await rounds.IsLinkOfAsync(id, secret, known.ReaderId, context.RequestAborted);
            RoundPass pass = isIn ? known! : await rounds.JoinAsync(id, secret, context.RequestAborted);
            cookie.Give(context, pass);
            return TypedResults.Ok(new LetIn($"/rounds/{id}"));
        }
        catch (RoundRefusedException error)
        {
            return Refused(error.Message);
        }
    }

    private static ProblemHttpResult Refused(string sentence) => TypedResults.Problem(statusCode: StatusCodes.Status403Forbidden, detail: sentence);

    /// <summary>What a link holds.</summary>
    /// <param name="Round">The round.</param>
    /// <param name="Secret">Its secret.</param>
    internal sealed record Invitation(string? Round, string? Secret);

    /// <summary>Where whoever was let in goes.</summary>
    /// <param name="Address">The address.</param>
    internal sealed record LetIn(string Address);
}
