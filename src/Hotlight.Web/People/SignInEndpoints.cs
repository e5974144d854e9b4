using System.Globalization;
using System.Security.Claims;
using System.Threading.RateLimiting;
using Hotlight.Audit;
using Hotlight.Web.Components.People;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.RateLimiting;

namespace Hotlight.Web.People;

/// <summary>Signing in and out, and what an invitation leads to. Pages made without a live connection: whoever is not let in gets none.</summary>
internal static class SignInEndpoints
{
    /// <summary>The page to sign in on.</summary>
    public const string Path = "/sign-in";

    /// <summary>Most attempts a minute from one address.</summary>
    public const int AttemptsPerMinute = 20;

    /// <summary>What is said where name, password or code do not fit: the same for a name that is not known and one that is locked for a while.</summary>
    public const string Wrong = "That did not fit. After five wrong attempts a name is locked for ten minutes.";

    /// <summary>Name of the limit.</summary>
    internal const string Attempts = "sign-in-attempts";

    private const string SecondPath = "/sign-in/second-factor";
    private const string SetUpPath = "/invitation/account";
    private const string InvitedItem = "hotlight.invited";

    // Hashed where a name is not known, so that this takes as long.
    private static readonly Account Unknown = new() { Id = Guid.NewGuid(), Name = "nobody", PersonId = Guid.Empty, Role = default, Created = DateTimeOffset.UnixEpoch };
    private static readonly Lazy<string> UnknownHash = new(() => new PasswordHasher<Account>(Microsoft.Extensions.Options.Options.Create(new PasswordHasherOptions { IterationCount = 210_000 })).HashPassword(Unknown, Guid.NewGuid().ToString()));

    /// <summary>Limits the attempts.</summary>
    /// <param name="services">The services.</param>
    public static void AddSignInAttempts(this IServiceCollection services)
        => services.AddRateLimiter(limiter => limiter.AddPolicy(Attempts, context => RateLimitPartition.GetFixedWindowLimiter(
            context.Connection.RemoteIpAddress?.ToString() ?? string.Empty,
            _ => new FixedWindowRateLimiterOptions { PermitLimit = AttemptsPerMinute, Window = TimeSpan.FromMinutes(1), QueueLimit = 0 })));

    /// <summary>Maps the routes.</summary>
    /// <param name="routes">Where to.</param>
    public static void MapSignIn(this IEndpointRouteBuilder routes)
    {
        RouteGroupBuilder open = routes.MapGroup(string.Empty);
        open.WithMetadata(new OpenToAttribute(OpenScope.Anyone));
        open.MapGet(Path, SignInPage);
        open.MapPost(Path, SignInAsync).RequireRateLimiting(Attempts);
        open.MapGet(SecondPath, SecondAsync);
        open.MapPost(SecondPath, GiveCodeAsync).RequireRateLimiting(Attempts);
        open.MapPost("/sign-in/passkey/options", async (SignInManager<Account> signIn) => TypedResults.Text(await signIn.MakePasskeyRequestOptionsAsync(null), "application/json")).AddEndpointFilter(FromThePageAsync).RequireRateLimiting(Attempts);
        open.MapPost("/sign-in/passkey", GivePasskeyAsync).AddEndpointFilter(FromThePageAsync).RequireRateLimiting(Attempts);
        open.MapPost("/sign-out", SignOutAsync);
        open.MapGet("/sign-in/hospital", (string? to, HttpContext context, BenchOptions options) => AskHospital(context, options, Local(to), isInvited: false)).RequireRateLimiting(Attempts);
        open.MapGet("/sign-in/hospital/done", HospitalDoneAsync);
        open.MapGet(IssuedInvitation.Path, () => new RazorComponentResult<InvitationDoor>());
        open.MapPost(IssuedInvitation.Path, OpenInvitationAsync).RequireRateLimiting(Attempts);
        open.MapGet(SetUpPath, async (HttpContext context, InvitationCookie cookie, AccountWorkflow accounts, BenchOptions options) => await SetUpPageAsync(context, cookie, accounts, options, null));
        open.MapPost(SetUpPath, SetUpAsync).RequireRateLimiting(Attempts);
        open.MapGet("/invitation/hospital", (HttpContext context, BenchOptions options) => AskHospital(context, options, SetUpPath, isInvited: true)).RequireRateLimiting(Attempts);
    }

    /// <summary>Lets requests through that the page itself sent.</summary>
    internal static async ValueTask<object?> FromThePageAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
        => await context.HttpContext.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context.HttpContext)
            ? await next(context)
            : TypedResults.Problem("The page is too old; reload it and try again.", statusCode: StatusCodes.Status400BadRequest);

    /// <summary>An address of this bench alone: a link cannot lead whoever signs in to another site.</summary>
    /// <param name="to">The address as it was given.</param>
    internal static string Local(string? to)
        => to is { Length: > 1 and < 1000 } && to[0] == '/' && to[1] is not ('/' or '\\') && !to.Any(char.IsControl) && !to.StartsWith(Path, StringComparison.OrdinalIgnoreCase) ? to : "/";

    private static RazorComponentResult SignInPage(string? to, string? said, HttpContext context, BenchOptions options)
    {
        string? sentence = said switch
        {
            "hospital" => "The hospital's sign-in let nobody in. Try again, or ask an administrator of the department.",
            "unknown" => "The hospital's sign-in knows you, but no account here is yours: ask an administrator of the department for an invitation.",
            "out" => "You are signed out.",
            "over" => "The session is over. Everything acknowledged is kept.",
            _ => null,
        };
        return Page(context, options, Local(to), sentence, StatusCodes.Status200OK);
    }

    private static RazorComponentResult Page(HttpContext context, BenchOptions options, string to, string? sentence, int status)
    {
        context.Response.Headers.CacheControl = "no-store";
        return new RazorComponentResult<SignInPage>(new { To = to, Sentence = sentence, IsFault = status != StatusCodes.Status200OK, HasHospital = options.Hospital is not null }) { StatusCode = status };
    }

    private static async Task<IResult> SignInAsync(HttpContext context, [FromForm] string? name, [FromForm] string? password, [FromForm] string? to, SignInManager<Account> signIn, UserManager<Account> people, BenchOptions options)
    {
        string where = Local(to);
        if (password is not { Length: > 0 and <= PasswordRule.Most } || name is not { Length: > 0 and <= Account.NameMaxLength })
        {
            return Page(context, options, where, Wrong, StatusCodes.Status401Unauthorized);
        }

        if (await people.FindByNameAsync(name.Trim()) is not { PasswordHash: not null } account)
        {
            people.PasswordHasher.VerifyHashedPassword(Unknown, UnknownHash.Value, password);
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, null, "a name that is not known", isFailure: true);
            return Page(context, options, where, Wrong, StatusCodes.Status401Unauthorized);
        }

        // A passkey is this account's second factor: a password alone must not be able to set up another.
        if (account is { UsesCodes: false, Passkeys.Count: > 0 })
        {
            bool fits = (await signIn.CheckPasswordSignInAsync(account, password, lockoutOnFailure: true)).Succeeded;
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, account, fits ? "password without the passkey" : "wrong password", isFailure: true);
            return Page(context, options, where, fits ? "This account signs in with its passkey: use the button below." : Wrong, StatusCodes.Status401Unauthorized);
        }

        Microsoft.AspNetCore.Identity.SignInResult result = await signIn.PasswordSignInAsync(account, password, isPersistent: false, lockoutOnFailure: true);
        if (!result.Succeeded && !result.RequiresTwoFactor)
        {
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, account, result.IsLockedOut ? "locked for a while" : result.IsNotAllowed ? "locked out" : "wrong password", isFailure: true);
        }

        return result.RequiresTwoFactor ? TypedResults.Redirect(where == "/" ? SecondPath : $"{SecondPath}?to={Uri.EscapeDataString(where)}")
            : result.Succeeded ? TypedResults.Redirect(OwnAccountEndpoints.SecondFactorPath)
            : Page(context, options, where, Wrong, StatusCodes.Status401Unauthorized);
    }

    private static async Task<IResult> SecondAsync(string? to, HttpContext context, SignInManager<Account> signIn)
        => await signIn.GetTwoFactorAuthenticationUserAsync() is null ? TypedResults.Redirect(Path) : SecondPage(context, Local(to), null);

    private static RazorComponentResult SecondPage(HttpContext context, string to, string? sentence)
    {
        context.Response.Headers.CacheControl = "no-store";
        return new RazorComponentResult<CodePage>(new { To = to, Sentence = sentence }) { StatusCode = sentence is null ? StatusCodes.Status200OK : StatusCodes.Status401Unauthorized };
    }

    private static async Task<IResult> GiveCodeAsync(HttpContext context, [FromForm] string? code, [FromForm] string? recovery, [FromForm] string? to, SignInManager<Account> signIn, UserManager<Account> people)
    {
        string where = Local(to);
        if (await signIn.GetTwoFactorAuthenticationUserAsync() is not { } account)
        {
            return TypedResults.Redirect(Path);
        }

        if (await people.IsLockedOutAsync(account) || !await signIn.CanSignInAsync(account))
        {
            return SecondPage(context, where, Wrong);
        }

        Microsoft.AspNetCore.Identity.SignInResult result;
        if (string.IsNullOrWhiteSpace(recovery))
        {
            result = await signIn.TwoFactorAuthenticatorSignInAsync(OnceCodes.Clean(code), isPersistent: false, rememberClient: false);
        }
        else
        {
            result = await signIn.TwoFactorRecoveryCodeSignInAsync(recovery.Trim().ToUpperInvariant());
            if (!result.Succeeded)
            {
                await people.AccessFailedAsync(account);
            }
        }

        if (!result.Succeeded)
        {
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, account, string.IsNullOrWhiteSpace(recovery) ? "wrong code" : "wrong recovery code", isFailure: true);
        }

        return result.Succeeded ? TypedResults.Redirect(where) : SecondPage(context, where, Wrong);
    }

    private static async Task<IResult> GivePasskeyAsync(HttpContext context, PasskeyAnswer answer, SignInManager<Account> signIn, UserManager<Account> people)
    {
        PasskeyAssertionResult<Account> asserted = await signIn.PerformPasskeyAssertionAsync(answer.Credential);
        if (!asserted.Succeeded || await people.IsLockedOutAsync(asserted.User) || !await signIn.CanSignInAsync(asserted.User) || !(await people.AddOrUpdatePasskeyAsync(asserted.User, asserted.Passkey)).Succeeded)
        {
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, asserted.User, "passkey", isFailure: true);
            return TypedResults.Problem("This passkey lets nobody in.", statusCode: StatusCodes.Status401Unauthorized);
        }

        await context.SignOutAsync(IdentityConstants.TwoFactorUserIdScheme);
        await DepartmentServices.SignInFullyAsync(context, signIn, asserted.User);
        return TypedResults.Ok(new LetIn(Local(answer.To)));
    }

    private static async Task<IResult> SignOutAsync(HttpContext context, IAntiforgery forgery, SignInManager<Account> signIn, AccountWorkflow accounts)
    {
        if (AccountGate.SessionOf(context) is { } session)
        {
            // Only the page itself may sign somebody out.
            if (!await forgery.IsRequestValidAsync(context))
            {
                return TypedResults.Problem("The page is too old; reload it and try again.", statusCode: StatusCodes.Status400BadRequest);
            }

            await AccountTelling.TellAsync(context, AuditAct.SignedOut, await accounts.GetAsync(session.Session.AccountId), string.Empty);
            await accounts.EndAsync(session.Session.Id, session.Session.AccountId);
        }

        await signIn.SignOutAsync();
        return TypedResults.Redirect($"{Path}?said=out");
    }

    private static IResult AskHospital(HttpContext context, BenchOptions options, string to, bool isInvited)
    {
        if (options.Hospital is null)
        {
            return TypedResults.NotFound();
        }

        context.Response.Headers.CacheControl = "no-store";
        var properties = new AuthenticationProperties { RedirectUri = $"/sign-in/hospital/done?to={Uri.EscapeDataString(to)}" };
        properties.Items[InvitedItem] = isInvited ? "1" : "0";
        return TypedResults.Challenge(properties, [DepartmentServices.HospitalScheme]);
    }

    private static async Task<IResult> HospitalDoneAsync(string? to, HttpContext context, BenchOptions options, SignInManager<Account> signIn, UserManager<Account> people, IAccountStore store, AccountWorkflow accounts, InvitationCookie cookie)
    {
        AuthenticateResult back = await context.AuthenticateAsync(IdentityConstants.ExternalScheme);
        await context.SignOutAsync(IdentityConstants.ExternalScheme);
        if (options.Hospital?.Issuer is not { } issuer || back.Principal?.FindFirstValue(ClaimTypes.NameIdentifier) is not { Length: > 0 and <= 300 } subject)
        {
            return TypedResults.Redirect($"{Path}?said=hospital");
        }

        var identity = new HospitalIdentity(issuer.ToString(), subject);
        Account? account = await store.FindByIdentityAsync(identity);
        if (back.Properties?.Items.TryGetValue(InvitedItem, out string? invited) == true && invited == "1" && account is null && cookie.Read(context.Request) is { } secret)
        {
            try
            {
                account = await accounts.AcceptAsync(secret);
                InvitationCookie.Take(context);
                if (!(await people.AddLoginAsync(account, new UserLoginInfo(identity.Issuer, identity.Subject, null))).Succeeded)
                {
                    account = null;
                }
            }
            catch (AccountRefusedException)
            {
                account = null;
            }
        }

        if (account is null || await people.IsLockedOutAsync(account) || !await signIn.CanSignInAsync(account))
        {
            await AccountTelling.TellAsync(context, AuditAct.SignedIn, account, "the hospital's sign-in", isFailure: true);
            return TypedResults.Redirect($"{Path}?said=unknown");
        }

        // The second factor is the hospital's to ask for.
        await DepartmentServices.SignInFullyAsync(context, signIn, account);
        string where = Local(to);
        return TypedResults.Redirect(where.StartsWith(IssuedInvitation.Path, StringComparison.OrdinalIgnoreCase) ? "/" : where);
    }

    private static async Task<IResult> OpenInvitationAsync(HttpContext context, InvitationOpened opened, AccountWorkflow accounts, InvitationCookie cookie)
    {
        if (opened.Secret is not { Length: > 0 and < 200 } secret || await accounts.InvitedAsync(secret, context.RequestAborted) is null)
        {
            return TypedResults.Problem(AccountWorkflow.WrongLink, statusCode: StatusCodes.Status403Forbidden);
        }

        cookie.Give(context, secret);
        return TypedResults.Ok(new LetIn(SetUpPath));
    }

    private static async Task<IResult> SetUpPageAsync(HttpContext context, InvitationCookie cookie, AccountWorkflow accounts, BenchOptions options, string? sentence)
    {
        context.Response.Headers.CacheControl = "no-store";
        if (cookie.Read(context.Request) is not { } secret || await accounts.InvitedAsync(secret, context.RequestAborted) is not { } invited)
        {
            return new RazorComponentResult<RefusedPage>(new { Heading = "This link lets nobody in", Sentence = AccountWorkflow.WrongLink }) { StatusCode = StatusCodes.Status403Forbidden };
        }

        return new RazorComponentResult<SetUpPage>(new { invited.Account, Ends = invited.Invitation.Ends, Sentence = sentence, HasHospital = options.Hospital is not null }) { StatusCode = sentence is null ? StatusCodes.Status200OK : StatusCodes.Status422UnprocessableEntity };
    }

    private static async Task<IResult> SetUpAsync(HttpContext context, [FromForm] string? password, [FromForm] string? again, SignInManager<Account> signIn, UserManager<Account> people, AccountWorkflow accounts, InvitationCookie cookie, BenchOptions options)
    {
        if (cookie.Read(context.Request) is not { } secret || await accounts.InvitedAsync(secret, context.RequestAborted) is not { } invited)
        {
            return await SetUpPageAsync(context, cookie, accounts, options, null);
        }

        string? fault = password != again ? "The two passwords are not the same." : await FaultOfAsync(people, invited.Account, password);
        if (fault is not null)
        {
            return await SetUpPageAsync(context, cookie, accounts, options, fault);
        }

        try
        {
            Account account = await accounts.AcceptAsync(secret, context.RequestAborted);
            IdentityResult added = await people.AddPasswordAsync(account, password!);
            if (!added.Succeeded)
            {
                throw new AccountRefusedException(string.Create(CultureInfo.InvariantCulture, $"The password could not be kept: {string.Join(' ', added.Errors.Select(each => each.Description))}"));
            }

            InvitationCookie.Take(context);
            await signIn.SignInAsync(account, isPersistent: false);
            return TypedResults.Redirect(OwnAccountEndpoints.SecondFactorPath);
        }
        catch (AccountRefusedException error)
        {
            return new RazorComponentResult<RefusedPage>(new { Heading = "This link lets nobody in", Sentence = error.Message }) { StatusCode = StatusCodes.Status403Forbidden };
        }
    }

    /// <summary>What is wrong with a password; null: nothing.</summary>
    /// <param name="people">The rules.</param>
    /// <param name="account">Whose it is to be.</param>
    /// <param name="password">The password.</param>
    internal static async Task<string?> FaultOfAsync(UserManager<Account> people, Account account, string? password)
    {
        foreach (IPasswordValidator<Account> rule in people.PasswordValidators.OfType<PasswordRule>())
        {
            IdentityResult result = await rule.ValidateAsync(people, account, password);
            if (!result.Succeeded)
            {
                return result.Errors.First().Description;
            }
        }

        return null;
    }

    /// <summary>What a link holds.</summary>
    /// <param name="Secret">Its secret.</param>
    internal sealed record InvitationOpened(string? Secret);

    /// <summary>What a passkey answered.</summary>
    /// <param name="Credential">The browser's credential as JSON.</param>
    /// <param name="To">Where to go then.</param>
    internal sealed record PasskeyAnswer(string Credential, string? To);

    /// <summary>Where whoever was let in goes.</summary>
    /// <param name="Address">The address.</param>
    internal sealed record LetIn(string Address);
}
