using System.Security.Claims;
using Hotlight.Audit;
using Hotlight.Web.People;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Components.Authorization;

namespace Hotlight.Web.Audit;

/// <summary>Who is named in the audit trail for what a request or a live connection does.</summary>
internal static class AuditIdentity
{
    /// <summary>What whoever works at a bench without accounts is called where nobody was chosen.</summary>
    public const string OneReader = "one reader";

    /// <summary>Cookie that carries the choice of the masthead, so that images and whatever else a page fetches by an address of its own know it too. Nothing is allowed by it.</summary>
    public const string ChosenCookie = "hotlight.reader";

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

    /// <summary>Who makes a request.</summary>
    /// <param name="context">The request.</param>
    /// <param name="clinic">The people that can be chosen; null: people sign in here, and what a cookie says of a choice counts for nothing.</param>
    public static AuditActor Of(HttpContext context, ClinicWorkflow? clinic)
    {
        ArgumentNullException.ThrowIfNull(context);
        Person? chosen = Guid.TryParse(context.Request.Cookies[ChosenCookie], out Guid id) ? clinic?.Current.Settings.People.FirstOrDefault(each => each.Id == id && each.IsActive) : null;
        return Of(context.User, AddressOf(context), chosen is null ? null : (chosen.Pseudonym, chosen.Id));
    }
}

/// <summary>Who acts on a live connection.</summary>
internal sealed class CircuitActor(AuthenticationStateProvider authentication, CircuitAccount account, CurrentReader reader, IHttpContextAccessor request)
{
    // Known while the connection begins, and not any more after it.
    private readonly string? address = AuditIdentity.AddressOf(request.HttpContext);

    /// <summary>Who acts now: what the account may, and how the trail names it.</summary>
    public async Task<Actor> NowAsync()
        => account.Actor.NamedAs(AuditIdentity.Of((await authentication.GetAuthenticationStateAsync()).User, address, reader.Person is { } person ? (person.Pseudonym, person.Id) : null));
}
