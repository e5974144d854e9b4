using System.Security.Claims;
using Hotlight.Audit;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authentication.OpenIdConnect;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.AspNetCore.Identity;

namespace Hotlight.Web.People;

/// <summary>Puts the sign-in of a department together.</summary>
internal static class DepartmentServices
{
    /// <summary>Scheme of the hospital's own sign-in.</summary>
    public const string HospitalScheme = "hotlight.hospital";

    /// <summary>Path that the hospital's sign-in comes back to.</summary>
    public const string HospitalReturnPath = "/sign-in/hospital/back";

    private const int MostFailures = 5;
    private const int HashIterations = 210_000;
    private static readonly TimeSpan LockedFor = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan SecondFactorWithin = TimeSpan.FromMinutes(5);
    private static readonly object FullKey = new();

    /// <summary>Adds the services.</summary>
    /// <param name="services">Where to.</param>
    /// <param name="options">How the bench is started.</param>
    /// <param name="accounts">Where accounts are kept.</param>
    public static void AddPeople(this IServiceCollection services, BenchOptions options, IAccountStore accounts)
    {
        services.AddSingleton(accounts);
        services.AddSingleton<AccountWorkflow>();
        services.AddSingleton<LiveAccounts>();
        services.AddScoped<CircuitAccount>();
        services.AddScoped<CircuitHandler, AccountCircuit>();
        services.AddSignInAttempts();
        if (!options.IsDepartment)
        {
            return;
        }

        services.AddHostedService<SessionKeeper>();
        services.AddSingleton<InvitationCookie>();
        services.AddHttpContextAccessor();
        services.AddIdentityCore<Account>(identity =>
            {
                identity.Password = new PasswordOptions { RequiredLength = PasswordRule.Least, RequireDigit = false, RequireLowercase = false, RequireNonAlphanumeric = false, RequireUppercase = false, RequiredUniqueChars = 1 };
                identity.Lockout.MaxFailedAccessAttempts = MostFailures;
                identity.Lockout.DefaultLockoutTimeSpan = LockedFor;
                identity.SignIn.RequireConfirmedAccount = true;
                identity.Tokens.AuthenticatorTokenProvider = OnceCodes.Name;
                identity.User.AllowedUserNameCharacters = string.Empty;
            })
            .AddUserStore<AccountUserStore>()
            .AddSignInManager()
            .AddTokenProvider<OnceCodes>(OnceCodes.Name)
            .AddPasswordValidator<PasswordRule>();
        services.AddScoped<IUserConfirmation<Account>, AccountStands>();
        services.Configure<PasswordHasherOptions>(hasher => hasher.IterationCount = HashIterations);
        services.Configure<IdentityPasskeyOptions>(passkeys =>
        {
            // A passkey stands for both factors: the device must have made sure who holds it.
            passkeys.UserVerificationRequirement = "required";
            passkeys.ResidentKeyRequirement = "required";
        });
        AuthenticationBuilder authentication = services.AddAuthentication(IdentityConstants.ApplicationScheme);
        authentication.AddCookie(IdentityConstants.ApplicationScheme, cookie =>
        {
            // Whether a session stands is the store's to say; the cookie outlives it, so that its end is found and noted.
            Harden(cookie, options, "hotlight.session", options.SessionWhole + options.SessionIdle);
            cookie.Events = new CookieAuthenticationEvents { OnSigningIn = BeginSessionAsync, OnValidatePrincipal = CheckSessionAsync, OnRedirectToLogin = AnswerUnchanged, OnRedirectToAccessDenied = AnswerUnchanged };
        });
        authentication.AddCookie(IdentityConstants.TwoFactorUserIdScheme, cookie => Harden(cookie, options, "hotlight.second-factor", SecondFactorWithin));
        authentication.AddCookie(IdentityConstants.ExternalScheme, cookie => Harden(cookie, options, "hotlight.hospital", SecondFactorWithin));
        if (options.Hospital is { Issuer: { } issuer } hospital)
        {
            authentication.AddOpenIdConnect(HospitalScheme, "the hospital's sign-in", connect =>
            {
                connect.Authority = issuer.ToString();
                connect.RequireHttpsMetadata = issuer.Scheme == Uri.UriSchemeHttps;
                connect.ClientId = hospital.ClientId;
                connect.ClientSecret = hospital.ClientSecret;
                connect.ResponseType = "code";

                // By a link back: a form sent from the provider's page would come from another site, which the bench refuses.
                connect.ResponseMode = "query";
                connect.UsePkce = true;
                connect.CallbackPath = HospitalReturnPath;
                connect.SignInScheme = IdentityConstants.ExternalScheme;
                connect.MapInboundClaims = false;
                connect.SaveTokens = false;
                connect.GetClaimsFromUserInfoEndpoint = false;
                connect.Scope.Clear();
                connect.Scope.Add("openid");
                connect.TokenValidationParameters.NameClaimType = "sub";
                connect.CorrelationCookie.SameSite = SameSiteMode.Lax;
                connect.CorrelationCookie.SecurePolicy = CookieSecurePolicy.SameAsRequest;
                connect.NonceCookie.SameSite = SameSiteMode.Lax;
                connect.NonceCookie.SecurePolicy = CookieSecurePolicy.SameAsRequest;
                connect.Events.OnTokenValidated = context =>
                {
                    // Identity finds who comes by this claim.
                    if (context.Principal?.FindFirst("sub")?.Value is { Length: > 0 } subject && context.Principal.FindFirst("iss")?.Value is { Length: > 0 } from)
                    {
                        context.Principal = new ClaimsPrincipal(new ClaimsIdentity([new Claim(ClaimTypes.NameIdentifier, subject, ClaimValueTypes.String, from)], HospitalScheme));
                    }
                    else
                    {
                        context.Fail("The provider named nobody.");
                    }

                    return Task.CompletedTask;
                };
                connect.Events.OnRemoteFailure = context =>
                {
                    context.HandleResponse();
                    context.Response.Redirect($"{SignInEndpoints.Path}?said=hospital");
                    return Task.CompletedTask;
                };
            });
        }
    }

    /// <summary>Signs an account in with all that it takes.</summary>
    /// <param name="context">The request.</param>
    /// <param name="signIn">The sign-in.</param>
    /// <param name="account">The account.</param>
    public static async Task SignInFullyAsync(HttpContext context, SignInManager<Account> signIn, Account account)
    {
        context.Items[FullKey] = true;
        await signIn.SignInAsync(account, isPersistent: false);
    }

    private static void Harden(CookieAuthenticationOptions cookie, BenchOptions options, string name, TimeSpan lasts)
    {
        // With the prefix a browser takes the cookie over TLS alone, and from this host alone.
        bool isTls = options.CertificateFile is not null;
        cookie.Cookie.Name = isTls ? "__Host-" + name : name;
        cookie.Cookie.HttpOnly = true;
        cookie.Cookie.IsEssential = true;
        cookie.Cookie.Path = "/";
        cookie.Cookie.SecurePolicy = isTls ? CookieSecurePolicy.Always : CookieSecurePolicy.SameAsRequest;

        // Not strict: who comes back from the hospital's sign-in, or by a link in a message, comes from elsewhere. Every change asks for a token beside the cookie.
        cookie.Cookie.SameSite = SameSiteMode.Lax;
        cookie.ExpireTimeSpan = lasts;
        cookie.SlidingExpiration = false;
    }

    private static async Task BeginSessionAsync(CookieSigningInContext context)
    {
        AccountWorkflow accounts = context.HttpContext.RequestServices.GetRequiredService<AccountWorkflow>();
        UserManager<Account> people = context.HttpContext.RequestServices.GetRequiredService<UserManager<Account>>();
        Account account = await people.GetUserAsync(context.Principal!) ?? throw new InvalidOperationException("Somebody signs in who has no account.");
        bool isFull = context.HttpContext.Items.ContainsKey(FullKey) || context.Principal!.HasClaim("amr", "mfa");
        if (AccountGate.SessionOf(context.HttpContext) is { } former)
        {
            await accounts.EndAsync(former.Session.Id, former.Session.AccountId);
        }

        if (isFull)
        {
            account.LastSignedIn = context.HttpContext.RequestServices.GetRequiredService<TimeProvider>().GetUtcNow();
            await people.UpdateAsync(account);
        }

        // Where that cannot be noted, nobody is let in.
        await AccountTelling.TellAsync(context.HttpContext, AuditAct.SignedIn, account, isFull ? "with all that it takes" : "with a password alone");
        AccountSession session = await accounts.BeginAsync(account, isFull, context.HttpContext.Request.Headers.UserAgent.ToString(), context.HttpContext.RequestAborted);
        var identity = (ClaimsIdentity)context.Principal!.Identity!;
        identity.AddClaim(new Claim(AccountAccess.SessionClaim, session.Id.ToString()));

        // For the audit trail: what is allowed is asked of the account as it is now, whose sessions end with its role.
        identity.AddClaim(new Claim(ClaimTypes.Role, RoleTable.Word(account.Role)));
    }

    private static async Task CheckSessionAsync(CookieValidatePrincipalContext context)
    {
        BenchOptions options = context.HttpContext.RequestServices.GetRequiredService<BenchOptions>();
        AccountWorkflow accounts = context.HttpContext.RequestServices.GetRequiredService<AccountWorkflow>();
        if (context.Principal is { } principal && AccountAccess.SessionOf(principal) is { } id && await accounts.CheckAsync(id, options.SessionIdle, options.SessionWhole, context.HttpContext.RequestAborted) is { } known)
        {
            AccountGate.Note(context.HttpContext, known);
            return;
        }

        context.RejectPrincipal();
        await context.HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
    }

    // What an endpoint answers stands; who is let in is decided at the gate.
    private static Task AnswerUnchanged(RedirectContext<CookieAuthenticationOptions> context) => Task.CompletedTask;
}
