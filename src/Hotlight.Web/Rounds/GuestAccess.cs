using System.Security.Claims;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.StaticAssets;

namespace Hotlight.Web.Rounds;

/// <summary>Decides what a guest of a round may open. In one place for requests and for pages of a live connection; what is not said to be open is closed.</summary>
internal static class GuestAccess
{
    private const string Scheme = "hotlight.round";
    private const string RoundClaim = "round";
    private const string ReaderClaim = "reader";
    private const string SessionClaim = "session";

    /// <summary>How far an endpoint is open to guests; null: not at all.</summary>
    /// <param name="endpoint">The endpoint; null: none was found.</param>
    public static GuestScope? ScopeOf(Endpoint? endpoint)
    {
        if (endpoint?.Metadata.GetMetadata<GuestMayAttribute>() is { } may)
        {
            return may.Scope;
        }

        // The program's own scripts and styles hold nothing of a case; the live connection asks for each page itself.
        return endpoint?.Metadata.GetMetadata<StaticAssetDescriptor>() is not null ? GuestScope.Anyone
            : endpoint is RouteEndpoint { RoutePattern.RawText: { } pattern } && IsOfConnection(pattern) ? GuestScope.Guest
            : null;
    }

    /// <summary>Whether something is open to a guest.</summary>
    /// <param name="scope">How far it is open; null: not at all.</param>
    /// <param name="values">The route's values.</param>
    /// <param name="pass">The guest's pass; null: none stands.</param>
    /// <param name="round">The pass's round; null: none stands.</param>
    /// <param name="now">Now.</param>
    public static bool Allows(GuestScope? scope, IReadOnlyDictionary<string, object?> values, RoundPass? pass, Round? round, DateTimeOffset now)
    {
        ArgumentNullException.ThrowIfNull(values);
        if (scope is null or GuestScope.Anyone)
        {
            return scope is GuestScope.Anyone;
        }

        if (pass is null || round is null || pass.RoundId != round.Id)
        {
            return false;
        }

        Guid? id = IdOf(values, "id");
        bool isOwn = id is { } asked && round.Body.Readings.Any(each => each.ReadingId == asked && each.ReaderId == pass.ReaderId);
        return scope switch
        {
            GuestScope.Guest => true,
            GuestScope.Round => id == round.Id,
            GuestScope.ShownRound => id == round.Id && round.IsShownAt(now) && (!values.Keys.Any(key => IsNamed(key, "caseId")) || (IdOf(values, "caseId") is { } caseId && round.Body.CaseIds.Contains(caseId))),
            GuestScope.OwnReading => isOwn,
            GuestScope.Pixels => isOwn || (id is { } known && round.Body.CaseIds.Contains(known)),
            _ => false,
        };
    }

    /// <summary>The guest as the live connection learns of it.</summary>
    /// <param name="pass">The pass.</param>
    public static ClaimsPrincipal PrincipalOf(RoundPass pass)
    {
        ArgumentNullException.ThrowIfNull(pass);
        Claim[] claims = [new(RoundClaim, pass.RoundId.ToString()), new(ReaderClaim, pass.ReaderId.ToString()), new(SessionClaim, pass.Session.ToString(System.Globalization.CultureInfo.InvariantCulture))];
        return new ClaimsPrincipal(new ClaimsIdentity(claims, Scheme));
    }

    /// <summary>The pass of somebody; null: no guest.</summary>
    /// <param name="principal">Who.</param>
    public static RoundPass? PassOf(ClaimsPrincipal principal)
    {
        ArgumentNullException.ThrowIfNull(principal);
        return principal.Identities.FirstOrDefault(each => each.AuthenticationType == Scheme) is { } identity
            && Guid.TryParse(identity.FindFirst(RoundClaim)?.Value, out Guid round)
            && Guid.TryParse(identity.FindFirst(ReaderClaim)?.Value, out Guid reader)
            && int.TryParse(identity.FindFirst(SessionClaim)?.Value, out int session)
            ? new RoundPass(round, reader, session)
            : null;
    }

    private static bool IsOfConnection(string pattern)
    {
        string path = pattern.TrimStart('/');
        return path == "_blazor" || path.StartsWith("_blazor/", StringComparison.Ordinal) || path.StartsWith("_framework/", StringComparison.Ordinal);
    }

    private static bool IsNamed(string key, string name) => string.Equals(key, name, StringComparison.OrdinalIgnoreCase);

    private static Guid? IdOf(IReadOnlyDictionary<string, object?> values, string name)
        => values.FirstOrDefault(each => IsNamed(each.Key, name)).Value is { } value && Guid.TryParse(value.ToString(), out Guid id) ? id : null;
}
