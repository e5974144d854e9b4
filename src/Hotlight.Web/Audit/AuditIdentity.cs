using System.Security.Claims;
using Hotlight.Audit;
using Hotlight.Web.Rounds;
using Microsoft.AspNetCore.Components.Authorization;
using Microsoft.AspNetCore.Components.Server.Circuits;

namespace Hotlight.Web.Audit;

/// <summary>Who is named in the audit trail for what a request or a live connection does.</summary>
internal static class AuditIdentity
{
    /// <summary>What whoever works at a bench without accounts is called where nobody was chosen.</summary>
    public const string OneReader = "one reader";

    /// <summary>Where a request came from: an IPv4 address as such also where it comes in IPv6's clothes, an IPv6 address as it is; null: not known.</summary>
    /// <param name="context">The request; null: there is none.</param>
    public static string? AddressOf(HttpContext? context)
        => context?.Connection.RemoteIpAddress is { } address ? (address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address).ToString() : null;

    /// <summary>Who acts.</summary>
    /// <param name="user">Who the request or the connection began with.</param>
    /// <param name="address">Where it came from; null: not known.</param>
    /// <param name="chosen">Who was chosen to read, by pseudonym and identifier, where there are no accounts.</param>
    public static AuditActor Of(ClaimsPrincipal user, string? address, (string Name, Guid? Id)? chosen = null)
    {
        ArgumentNullException.ThrowIfNull(user);
        if (GuestAccess.PassOf(user) is { } pass)
        {
            return new AuditActor("guest of a round", pass.ReaderId, "guest", address ?? string.Empty);
        }

        if (user.Identity is { IsAuthenticated: true } identity)
        {
            Guid? id = Guid.TryParse(user.FindFirst(ClaimTypes.NameIdentifier)?.Value, out Guid known) ? known : null;
            return new AuditActor(identity.Name ?? "an account", id, user.FindFirst(ClaimTypes.Role)?.Value.ToLowerInvariant() ?? string.Empty, address ?? string.Empty);
        }

        return chosen is { } person
            ? new AuditActor(person.Name, person.Id, Address: address ?? string.Empty)
            : new AuditActor(OneReader, Address: address ?? string.Empty);
    }
}

/// <summary>Names who acts for the length of a request.</summary>
internal sealed class AuditNaming(RequestDelegate next)
{
    /// <summary>Guards one request. Not async, so that what is set here holds for all that follows.</summary>
    public Task InvokeAsync(HttpContext context)
    {
        AuditActor.Take(AuditIdentity.Of(context.User, AuditIdentity.AddressOf(context)));
        return next(context);
    }
}

/// <summary>Names who acts for everything that comes over a live connection.</summary>
internal sealed class AuditCircuit(AuthenticationStateProvider authentication, CurrentReader reader, IHttpContextAccessor request) : CircuitHandler
{
    // Known while the connection begins, and not any more after it.
    private readonly string? address = AuditIdentity.AddressOf(request.HttpContext);

    /// <summary>Who acts on this connection now.</summary>
    public async Task<AuditActor> ActorAsync()
        => AuditIdentity.Of((await authentication.GetAuthenticationStateAsync()).User, address, reader.Person is { } person ? (person.Pseudonym, person.Id) : null);

    /// <inheritdoc/>
    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(Func<CircuitInboundActivityContext, Task> next)
        => async context =>
        {
            AuditActor.Take(await ActorAsync());
            await next(context);
        };
}
