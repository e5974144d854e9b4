using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Identity;

namespace Hotlight.Web.People;

/// <summary>Time-based codes of an app (RFC 6238, 6 digits, 30 s), each taken once: who looks over a shoulder cannot use it again.</summary>
internal sealed class OnceCodes : AuthenticatorTokenProvider<Account>
{
    /// <summary>Name by which Identity asks for it.</summary>
    public const string Name = "hotlight.codes";

    /// <summary>A code as it is typed, without what stands between its digits.</summary>
    /// <param name="typed">What was typed.</param>
    public static string Clean(string? typed) => new([.. (typed ?? string.Empty).Where(char.IsAsciiDigit).Take(10)]);

    /// <inheritdoc/>
    public override async Task<bool> ValidateAsync(string purpose, string token, UserManager<Account> manager, Account user)
    {
        ArgumentNullException.ThrowIfNull(manager);
        ArgumentNullException.ThrowIfNull(user);
        string hash = AccountUserStore.HashOf(token);
        if (user.LastCode == hash || !await base.ValidateAsync(purpose, token, manager, user))
        {
            return false;
        }

        // Of two who give the same code at once, one keeps it and the other's version is old.
        user.LastCode = hash;
        return (await manager.UpdateAsync(user)).Succeeded;
    }
}

/// <summary>Who may sign in: an account that is not locked out, of a person of the clinic.</summary>
internal sealed class AccountStands(AccountWorkflow accounts) : IUserConfirmation<Account>
{
    /// <inheritdoc/>
    public async Task<bool> IsConfirmedAsync(UserManager<Account> manager, Account user)
    {
        ArgumentNullException.ThrowIfNull(user);
        return !user.IsDisabled && await accounts.IsOfClinicAsync(user.PersonId);
    }
}

/// <summary>Refuses passwords that hold the name they belong to, or little more than one sign again and again.</summary>
internal sealed class PasswordRule : IPasswordValidator<Account>
{
    /// <summary>Least characters.</summary>
    public const int Least = 12;

    /// <summary>Most characters: a longer one would only keep the bench busy.</summary>
    public const int Most = 128;

    private const int LeastDifferent = 5;

    /// <summary>What a password needs, for the page that asks for one.</summary>
    public static string Sentence { get; } = $"At least {Least} characters, not your name; several words are easier to keep than signs.";

    /// <inheritdoc/>
    public Task<IdentityResult> ValidateAsync(UserManager<Account> manager, Account user, string? password)
    {
        ArgumentNullException.ThrowIfNull(user);
        string given = password ?? string.Empty;
        string? fault = given.Length < Least ? $"The password has {given.Length} characters; it needs at least {Least}."
            : given.Length > Most ? $"The password has more than {Most} characters."
            : given.Contains(user.Name, StringComparison.OrdinalIgnoreCase) ? "The password holds the sign-in name; choose another."
            : given.Distinct().Count() < LeastDifferent ? "The password repeats few signs; choose another."
            : null;
        return Task.FromResult(fault is null ? IdentityResult.Success : IdentityResult.Failed(new IdentityError { Code = "password", Description = fault }));
    }
}
