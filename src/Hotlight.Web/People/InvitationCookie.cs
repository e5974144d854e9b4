using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;

namespace Hotlight.Web.People;

/// <summary>Carries an invitation's secret from the link to the page that sets the account up: encrypted, for half an hour.</summary>
internal sealed class InvitationCookie
{
    private const string Name = "hotlight.invitation";
    private static readonly TimeSpan Lasts = TimeSpan.FromMinutes(30);
    private readonly ITimeLimitedDataProtector protector;

    /// <summary>Creates it.</summary>
    /// <param name="protection">The bench's keys.</param>
    public InvitationCookie(IDataProtectionProvider protection)
    {
        ArgumentNullException.ThrowIfNull(protection);
        protector = protection.CreateProtector("hotlight.people.invitation/1").ToTimeLimitedDataProtector();
    }

    /// <summary>The secret that a request carries; null: none.</summary>
    /// <param name="request">The request.</param>
    public string? Read(HttpRequest request)
    {
        if (request.Cookies[Name] is not { Length: > 0 and < 2000 } value)
        {
            return null;
        }

        try
        {
            return protector.Unprotect(value);
        }
        catch (CryptographicException)
        {
            return null;
        }
    }

    /// <summary>Gives a browser a secret to carry.</summary>
    /// <param name="context">The request that is answered.</param>
    /// <param name="secret">The secret.</param>
    public void Give(HttpContext context, string secret) => context.Response.Cookies.Append(Name, protector.Protect(secret, Lasts), Options(context));

    /// <summary>Takes it back.</summary>
    /// <param name="context">The request that is answered.</param>
    public static void Take(HttpContext context) => context.Response.Cookies.Delete(Name, Options(context));

    // Lax: who comes back from the hospital's sign-in still carries it.
    private static CookieOptions Options(HttpContext context) => new() { HttpOnly = true, SameSite = SameSiteMode.Lax, Secure = context.Request.IsHttps, IsEssential = true, Path = "/", MaxAge = Lasts };
}
