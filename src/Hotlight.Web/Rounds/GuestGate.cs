using Hotlight.Web.Components.Rounds;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Connections.Features;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Server.Kestrel.Core;

namespace Hotlight.Web.Rounds;

/// <summary>Lets guests of a round to what is theirs; all else is not there for them. A guest is whoever carries the cookie of a round, whether it still holds or not, and whoever comes by the door for guests.</summary>
internal sealed class GuestGate(RequestDelegate next, RoundCookie cookie, RoundWorkflow rounds, TimeProvider clock)
{
    private static readonly object DoorMark = new();

    /// <summary>Makes an address the door for guests: whoever comes by it is a guest, with or without a cookie.</summary>
    /// <param name="listen">The address.</param>
    public static void MakeDoor(ListenOptions listen)
        => listen.Use(next => connection =>
        {
            connection.Items[DoorMark] = true;
            return next(connection);
        });

    /// <summary>Guards one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        bool isByDoor = context.Features.Get<IConnectionItemsFeature>()?.Items.ContainsKey(DoorMark) == true;
        bool isCarried = RoundCookie.IsCarried(context.Request);
        if (!isByDoor && !isCarried)
        {
            await next(context);
            return;
        }

        RoundPass? pass = isCarried ? cookie.Read(context.Request) : null;
        Round? round = pass is null ? null : await rounds.CheckAsync(pass, context.RequestAborted);
        if (GuestAccess.Allows(GuestAccess.ScopeOf(context.GetEndpoint()), context.Request.RouteValues, pass, round, clock.GetUtcNow()))
        {
            if (round is not null)
            {
                // The live connection takes who comes from here.
                context.User = GuestAccess.PrincipalOf(pass!);
            }

            await next(context);
            return;
        }

        await new RazorComponentResult<GuestMissing>(new Dictionary<string, object?>
        {
            [nameof(GuestMissing.RoundId)] = round?.Id,
            [nameof(GuestMissing.WasGuest)] = isCarried,
        })
        {
            StatusCode = StatusCodes.Status404NotFound,
        }.ExecuteAsync(context);
    }
}
