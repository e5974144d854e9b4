using System.Globalization;
using System.Security.Cryptography;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.DataProtection;

namespace Hotlight.Web.Rounds;

/// <summary>The cookie that makes a browser the guest of a round: signed and encrypted with the bench's own keys, not readable by scripts, not sent by other sites.</summary>
internal sealed class RoundCookie
{
    /// <summary>Its name.</summary>
    public const string Name = "hotlight.round";

    // The cookie outlives its round: a browser that was a guest stays one, and is shown nothing, until it leaves.
    private static readonly TimeSpan Lasts = TimeSpan.FromDays(400);
    private readonly IDataProtector protector;

    /// <summary>Creates it.</summary>
    /// <param name="protection">The bench's keys.</param>
    public RoundCookie(IDataProtectionProvider protection)
    {
        ArgumentNullException.ThrowIfNull(protection);
        protector = protection.CreateProtector("hotlight.round.guest/1");
    }

    /// <summary>Whether a request comes from a browser that is or was a guest.</summary>
    /// <param name="request">The request.</param>
    public static bool IsCarried(HttpRequest request) => request.Cookies.ContainsKey(Name);

    /// <summary>The pass that a request carries; null: none, or not one of this bench's.</summary>
    /// <param name="request">The request.</param>
    public RoundPass? Read(HttpRequest request)
    {
        if (request.Cookies[Name] is not { Length: > 0 and < 2000 } value)
        {
            return null;
        }

        try
        {
            string[] parts = protector.Unprotect(value).Split(' ');
            return parts.Length == 3 && Guid.TryParse(parts[0], out Guid round) && Guid.TryParse(parts[1], out Guid reader) && int.TryParse(parts[2], NumberStyles.None, CultureInfo.InvariantCulture, out int session)
                ? new RoundPass(round, reader, session)
                : null;
        }
        catch (Exception error) when (error is CryptographicException or FormatException)
        {
            return null;
        }
    }

    /// <summary>Gives a browser a pass.</summary>
    /// <param name="context">The request that is answered.</param>
    /// <param name="pass">The pass.</param>
    public void Give(HttpContext context, RoundPass pass)
        => context.Response.Cookies.Append(Name, protector.Protect(string.Create(CultureInfo.InvariantCulture, $"{pass.RoundId} {pass.ReaderId} {pass.Session}")), Options(context, Lasts));

    /// <summary>Takes it back: the browser is no guest any more.</summary>
    /// <param name="context">The request that is answered.</param>
    public static void Take(HttpContext context) => context.Response.Cookies.Delete(Name, Options(context, null));

    private static CookieOptions Options(HttpContext context, TimeSpan? lasts) => new()
    {
        HttpOnly = true,
        SameSite = SameSiteMode.Strict,
        Secure = context.Request.IsHttps,
        IsEssential = true,
        Path = "/",
        MaxAge = lasts,
    };
}
