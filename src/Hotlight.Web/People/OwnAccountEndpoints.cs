using System.Security.Cryptography;
using Hotlight.Audit;
using Hotlight.Web.Components.People;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;

namespace Hotlight.Web.People;

/// <summary>What somebody does with the own account: password, second factor, passkeys, sessions.</summary>
internal static class OwnAccountEndpoints
{
    /// <summary>The page of the own account.</summary>
    public const string Path = "/account";

    /// <summary>The page to set the second factor up on.</summary>
    public const string SecondFactorPath = "/account/second-factor";

    private const int RecoveryCodes = 10;

    // What lets somebody in for good is changed only soon after signing in: not by whoever finds a bench left open.
    private static readonly TimeSpan Fresh = TimeSpan.FromMinutes(15);
    private static readonly TimeSpan KeyHolds = TimeSpan.FromMinutes(30);

    private const string SignInAgain = "Sign out and in again to change this: it is asked for a quarter of an hour after signing in.";

    /// <summary>Maps the routes.</summary>
    /// <param name="routes">Where to.</param>
    public static void MapOwnAccount(this IEndpointRouteBuilder routes)
    {
        RouteGroupBuilder first = routes.MapGroup(string.Empty);
        first.WithMetadata(new OpenToAttribute(OpenScope.FirstFactor));
        first.AddEndpointFilter(SignInEndpoints.FromThePageAsync);
        first.MapGet(SecondFactorPath, async (HttpContext context, UserManager<Account> people, TimeProvider clock, IDataProtectionProvider protection) => await CodesPageAsync(context, people, clock, protection, null, null));
        first.MapPost(SecondFactorPath, UseCodesAsync).RequireRateLimiting(SignInEndpoints.Attempts);
        first.MapPost("/account/passkeys/options", PasskeyOptionsAsync);
        first.MapPost("/account/passkeys", AddPasskeyAsync);

        RouteGroupBuilder own = routes.MapGroup(string.Empty);
        own.WithMetadata(new NeedsAttribute(Operation.KeepOwnAccount));
        own.AddEndpointFilter(SignInEndpoints.FromThePageAsync);
        own.MapGet(Path, async (HttpContext context, string? said, UserManager<Account> people) => await PageAsync(context, people, Said(said), isFault: false));
        own.MapPost("/account/password", ChangePasswordAsync).RequireRateLimiting(SignInEndpoints.Attempts);
        own.MapPost("/account/recovery-codes", NewRecoveryCodesAsync);
        own.MapPost("/account/passkeys/remove", RemovePasskeyAsync);
        own.MapPost("/account/sessions/end", async (HttpContext context, [FromForm] Guid session, AccountWorkflow accounts) =>
        {
            await accounts.EndAsync(session, AccountGate.SessionOf(context)!.Session.AccountId);
            return TypedResults.Redirect($"{Path}?said=ended");
        });
        own.MapPost("/account/sign-out-everywhere", async (HttpContext context, AccountWorkflow accounts, SignInManager<Account> signIn) =>
        {
            await accounts.SignOutEverywhereAsync(AccountGate.SessionOf(context)!.Session.AccountId);
            await signIn.SignOutAsync();
            return TypedResults.Redirect($"{SignInEndpoints.Path}?said=out");
        });

        // The page tells that somebody moves the pointer or types, so that the session does not end under the hands.
        own.MapPost("/account/active", () => TypedResults.NoContent());
    }

    private static string? Said(string? said) => said switch
    {
        "password" => "The password is changed; all other sessions are ended.",
        "passkey" => "The passkey is kept.",
        "removed" => "The passkey is removed.",
        "ended" => "The session is ended.",
        _ => null,
    };

    private static async Task<Account> AccountOfAsync(HttpContext context, UserManager<Account> people)
        => await people.FindByIdAsync(AccountGate.SessionOf(context)!.Session.AccountId.ToString()) ?? throw new AccountRefusedException("There is no such account any more.");

    // Who gave only a password may set up a second factor where there is none, and no other.
    private static bool MayChange(HttpContext context, Account account)
    {
        AccountSession session = AccountGate.SessionOf(context)!.Session;
        return session.IsFull ? context.RequestServices.GetRequiredService<TimeProvider>().GetUtcNow() - session.Began < Fresh : !account.HasSecondFactor;
    }

    private static async Task<IResult> PageAsync(HttpContext context, UserManager<Account> people, string? sentence, bool isFault)
    {
        context.Response.Headers.CacheControl = "no-store";
        BenchOptions options = context.RequestServices.GetRequiredService<BenchOptions>();
        Account account = await AccountOfAsync(context, people);
        IReadOnlyList<AccountSession> sessions = await context.RequestServices.GetRequiredService<AccountWorkflow>().SessionsAsync(account, options.SessionIdle, options.SessionWhole, context.RequestAborted);
        Person? person = context.RequestServices.GetRequiredService<ClinicWorkflow>().Current.Settings.People.FirstOrDefault(each => each.Id == account.PersonId);
        return new RazorComponentResult<AccountPage>(new { Account = account, Person = person, Sessions = sessions, Current = AccountGate.SessionOf(context)!.Session.Id, Sentence = sentence, IsFault = isFault, MayChange = MayChange(context, account), CanPasskeys = CanPasskeys(context) }) { StatusCode = isFault ? StatusCodes.Status422UnprocessableEntity : StatusCodes.Status200OK };
    }

    /// <summary>Whether browsers do passkeys at this address: over TLS, or on localhost; never where the address is a number.</summary>
    internal static bool CanPasskeys(HttpContext context)
        => Uri.CheckHostName(context.Request.Host.Host) == UriHostNameType.Dns && (context.Request.IsHttps || context.Request.Host.Host == "localhost");

    private static async Task<IResult> CodesPageAsync(HttpContext context, UserManager<Account> people, TimeProvider clock, IDataProtectionProvider protection, string? pending, string? sentence)
    {
        context.Response.Headers.CacheControl = "no-store";
        Account account = await AccountOfAsync(context, people);
        if (!MayChange(context, account))
        {
            return AccountGate.SessionOf(context)!.Session.IsFull
                ? await PageAsync(context, people, SignInAgain, isFault: true)
                : new RazorComponentResult<RefusedPage>(new { Heading = "Not without your second factor", Sentence = "This account has a second factor: sign in with it." }) { StatusCode = StatusCodes.Status403Forbidden };
        }

        string kept = pending ?? ProtectorOf(protection, account).Protect(people.GenerateNewAuthenticatorKey(), KeyHolds);
        string key = ProtectorOf(protection, account).Unprotect(kept);
        return new RazorComponentResult<CodesPage>(new { Account = account, Key = key, Pending = kept, Sentence = sentence, IsFull = AccountGate.SessionOf(context)!.Session.IsFull, CanPasskeys = CanPasskeys(context) }) { StatusCode = sentence is null ? StatusCodes.Status200OK : StatusCodes.Status422UnprocessableEntity };
    }

    private static async Task<IResult> UseCodesAsync(HttpContext context, [FromForm] string? pending, [FromForm] string? code, UserManager<Account> people, SignInManager<Account> signIn, TimeProvider clock, IDataProtectionProvider protection, IUserStore<Account> store)
    {
        Account account = await AccountOfAsync(context, people);
        string key;
        try
        {
            key = ProtectorOf(protection, account).Unprotect(pending ?? string.Empty);
        }
        catch (CryptographicException)
        {
            return await CodesPageAsync(context, people, clock, protection, null, "That took too long; scan the new code.");
        }

        if (!MayChange(context, account))
        {
            return await CodesPageAsync(context, people, clock, protection, pending, null);
        }

        // Tried on the account in memory: only a code that fits keeps it.
        await ((IUserAuthenticatorKeyStore<Account>)store).SetAuthenticatorKeyAsync(account, key, context.RequestAborted);
        account.LastCode = null;
        if (!await people.VerifyTwoFactorTokenAsync(account, OnceCodes.Name, OnceCodes.Clean(code)))
        {
            return await CodesPageAsync(context, people, clock, protection, pending, "The code does not fit. Codes change every 30 seconds, and the clock of the phone must be right.");
        }

        await AccountTelling.TellAsync(context, AuditAct.AccountChanged, account, "codes of an app set up");
        await people.SetTwoFactorEnabledAsync(account, true);
        return await WithNewCodesAsync(context, people, signIn, account);
    }

    private static async Task<IResult> NewRecoveryCodesAsync(HttpContext context, UserManager<Account> people, SignInManager<Account> signIn)
    {
        Account account = await AccountOfAsync(context, people);
        return MayChange(context, account) && account.UsesCodes ? await WithNewCodesAsync(context, people, signIn, account) : await PageAsync(context, people, SignInAgain, isFault: true);
    }

    private static async Task<IResult> WithNewCodesAsync(HttpContext context, UserManager<Account> people, SignInManager<Account> signIn, Account account)
    {
        await AccountTelling.TellAsync(context, AuditAct.AccountChanged, account, "new recovery codes");
        IEnumerable<string>? codes = await people.GenerateNewTwoFactorRecoveryCodesAsync(account, RecoveryCodes);
        context.RequestServices.GetRequiredService<AccountWorkflow>().TellEnded();
        await DepartmentServices.SignInFullyAsync(context, signIn, account);
        return new RazorComponentResult<RecoveryPage>(new { Codes = (IReadOnlyList<string>)[.. codes ?? []] });
    }

    private static async Task<IResult> PasskeyOptionsAsync(HttpContext context, UserManager<Account> people, SignInManager<Account> signIn)
    {
        Account account = await AccountOfAsync(context, people);
        return MayChange(context, account) && CanPasskeys(context)
            ? TypedResults.Text(await signIn.MakePasskeyCreationOptionsAsync(new PasskeyUserEntity { Id = account.Id.ToString(), Name = account.Name, DisplayName = account.Name }), "application/json")
            : TypedResults.Problem(CanPasskeys(context) ? SignInAgain : "Passkeys need TLS, or the address localhost.", statusCode: StatusCodes.Status403Forbidden);
    }

    private static async Task<IResult> AddPasskeyAsync(HttpContext context, PasskeyMade made, UserManager<Account> people, SignInManager<Account> signIn)
    {
        Account account = await AccountOfAsync(context, people);
        if (!MayChange(context, account))
        {
            return TypedResults.Problem(SignInAgain, statusCode: StatusCodes.Status403Forbidden);
        }

        PasskeyAttestationResult attested = await signIn.PerformPasskeyAttestationAsync(made.Credential);
        if (!attested.Succeeded || attested.UserEntity.Id != account.Id.ToString())
        {
            return TypedResults.Problem("The passkey could not be taken; try again.", statusCode: StatusCodes.Status422UnprocessableEntity);
        }

        await AccountTelling.TellAsync(context, AuditAct.AccountChanged, account, "a passkey added");
        attested.Passkey.Name = AccountUserStore.NameOf(made.Name);
        if (!(await people.AddOrUpdatePasskeyAsync(account, attested.Passkey)).Succeeded)
        {
            return TypedResults.Problem("The passkey is another account's already.", statusCode: StatusCodes.Status409Conflict);
        }

        // What lets somebody in was changed: all other sessions end.
        await people.UpdateSecurityStampAsync(account);
        context.RequestServices.GetRequiredService<AccountWorkflow>().TellEnded();
        await DepartmentServices.SignInFullyAsync(context, signIn, account);
        return TypedResults.Ok(new SignInEndpoints.LetIn($"{Path}?said=passkey"));
    }

    private static async Task<IResult> RemovePasskeyAsync(HttpContext context, [FromForm] string passkey, UserManager<Account> people, SignInManager<Account> signIn)
    {
        Account account = await AccountOfAsync(context, people);
        if (!MayChange(context, account))
        {
            return await PageAsync(context, people, SignInAgain, isFault: true);
        }

        if (!account.UsesCodes && account.Identities.Count == 0 && account.Passkeys.Count <= 1)
        {
            return await PageAsync(context, people, "This is the only second factor: set another up first.", isFault: true);
        }

        byte[] id;
        try
        {
            id = Convert.FromBase64String(passkey);
        }
        catch (FormatException)
        {
            return await PageAsync(context, people, "There is no such passkey.", isFault: true);
        }

        await AccountTelling.TellAsync(context, AuditAct.AccountChanged, account, "a passkey removed");
        await people.RemovePasskeyAsync(account, id);
        await people.UpdateSecurityStampAsync(account);
        context.RequestServices.GetRequiredService<AccountWorkflow>().TellEnded();
        await DepartmentServices.SignInFullyAsync(context, signIn, account);
        return TypedResults.Redirect($"{Path}?said=removed");
    }

    private static async Task<IResult> ChangePasswordAsync(HttpContext context, [FromForm] string? old, [FromForm] string? password, [FromForm] string? again, UserManager<Account> people, SignInManager<Account> signIn)
    {
        Account account = await AccountOfAsync(context, people);
        if (account.PasswordHash is null)
        {
            return await PageAsync(context, people, "This account signs in without a password.", isFault: true);
        }

        string? fault = password != again ? "The two new passwords are not the same." : await SignInEndpoints.FaultOfAsync(people, account, password);
        if (fault is null && (old is not { Length: > 0 and <= PasswordRule.Most } || !(await signIn.CheckPasswordSignInAsync(account, old, lockoutOnFailure: true)).Succeeded))
        {
            fault = "The old password does not fit. After five wrong attempts it is locked for ten minutes.";
        }

        if (fault is null)
        {
            await AccountTelling.TellAsync(context, AuditAct.AccountChanged, account, "password changed");
        }

        if (fault is not null || !(await people.ChangePasswordAsync(account, old!, password!)).Succeeded)
        {
            return await PageAsync(context, people, fault ?? "The password could not be changed; try again.", isFault: true);
        }

        context.RequestServices.GetRequiredService<AccountWorkflow>().TellEnded();
        await DepartmentServices.SignInFullyAsync(context, signIn, account);
        return TypedResults.Redirect($"{Path}?said=password");
    }

    private static ITimeLimitedDataProtector ProtectorOf(IDataProtectionProvider protection, Account account) => protection.CreateProtector("hotlight.people.pending-key/1", account.Id.ToString()).ToTimeLimitedDataProtector();

    /// <summary>What a browser made.</summary>
    /// <param name="Credential">The credential as JSON.</param>
    /// <param name="Name">What its owner calls it.</param>
    internal sealed record PasskeyMade(string Credential, string? Name);
}
