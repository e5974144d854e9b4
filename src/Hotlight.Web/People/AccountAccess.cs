using System.Security.Claims;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.StaticAssets;

namespace Hotlight.Web.People;

/// <summary>Decides who gets at an endpoint or a page of a department. In one place for requests and for pages of a live connection; what is not said to be open is closed.</summary>
internal static class AccountAccess
{
    /// <summary>Claim that holds the identifier of the session.</summary>
    public const string SessionClaim = "hotlight.session";

    private static readonly OpenToAttribute ToAnyone = new(OpenScope.Anyone);
    private static readonly OpenToAttribute ToSignedIn = new(OpenScope.SignedIn);

    /// <summary>What an endpoint bears: a <see cref="NeedsAttribute"/>, an <see cref="OpenToAttribute"/>, or nothing.</summary>
    /// <param name="endpoint">The endpoint; null: none was found.</param>
    public static Attribute? OfEndpoint(Endpoint? endpoint)
    {
        if (endpoint is null)
        {
            return null;
        }

        if (endpoint.Metadata.GetMetadata<NeedsAttribute>() is { } needs)
        {
            return needs;
        }

        if (endpoint.Metadata.GetMetadata<OpenToAttribute>() is { } open)
        {
            return open;
        }

        // The program's own scripts and styles hold nothing of a case; the live connection asks for each page itself.
        return endpoint.Metadata.GetMetadata<StaticAssetDescriptor>() is not null ? ToAnyone
            : endpoint is RouteEndpoint { RoutePattern.RawText: { } pattern } ? OfConnection(pattern.TrimStart('/'))
            : null;
    }

    /// <summary>What a page bears.</summary>
    /// <param name="page">Type of the page.</param>
    public static Attribute? OfPage(Type page)
    {
        ArgumentNullException.ThrowIfNull(page);
        return (Attribute?)page.GetCustomAttributes(typeof(NeedsAttribute), inherit: false).FirstOrDefault() ?? (Attribute?)page.GetCustomAttributes(typeof(OpenToAttribute), inherit: false).FirstOrDefault();
    }

    /// <summary>Whether somebody gets at something.</summary>
    /// <param name="bears">What it bears; null: nothing.</param>
    /// <param name="session">The session; null: none stands.</param>
    /// <param name="isOfThisMachine">Whether the request comes from this machine.</param>
    public static bool Allows(Attribute? bears, KnownSession? session, bool isOfThisMachine) => bears switch
    {
        OpenToAttribute { Scope: OpenScope.Anyone } => true,
        OpenToAttribute { Scope: OpenScope.LocalProgram } => isOfThisMachine,
        OpenToAttribute { Scope: OpenScope.FirstFactor } => session is not null,
        OpenToAttribute { Scope: OpenScope.SignedIn } => session is { Session.IsFull: true },
        NeedsAttribute needs => session is { Session.IsFull: true } && RoleTable.May(session.Role, needs.Operation),
        _ => false,
    };

    /// <summary>Identifier of the session that somebody came with; null: none.</summary>
    /// <param name="principal">Who came.</param>
    public static Guid? SessionOf(ClaimsPrincipal principal)
    {
        ArgumentNullException.ThrowIfNull(principal);
        return Guid.TryParse(principal.FindFirst(SessionClaim)?.Value, out Guid id) ? id : null;
    }

    private static OpenToAttribute? OfConnection(string path)
        => path == "_blazor" || path.StartsWith("_blazor/", StringComparison.Ordinal) ? ToSignedIn
        : path.StartsWith("_framework/", StringComparison.Ordinal) ? ToAnyone
        : null;
}
