using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Identity;

namespace Hotlight.Web.People;

/// <summary>Gives ASP.NET Core Identity the accounts of the house: it works on an <see cref="Account"/> in memory and keeps it whole.</summary>
internal sealed class AccountUserStore :
    IUserPasswordStore<Account>, IUserSecurityStampStore<Account>, IUserLockoutStore<Account>, IUserTwoFactorStore<Account>,
    IUserAuthenticatorKeyStore<Account>, IUserTwoFactorRecoveryCodeStore<Account>, IUserPasskeyStore<Account>, IUserLoginStore<Account>
{
    private readonly IAccountStore accounts;
    private readonly IDataProtector protector;
    private readonly IdentityErrorDescriber errors;

    /// <summary>Creates the store.</summary>
    /// <param name="accounts">Where accounts are kept.</param>
    /// <param name="protection">The bench's keys: the key of codes is kept encrypted.</param>
    /// <param name="errors">Words of errors.</param>
    public AccountUserStore(IAccountStore accounts, IDataProtectionProvider protection, IdentityErrorDescriber errors)
    {
        this.accounts = accounts;
        protector = protection.CreateProtector("hotlight.people.code-key/1");
        this.errors = errors;
    }

    /// <inheritdoc/>
    public Task<string> GetUserIdAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.Id.ToString());

    /// <inheritdoc/>
    public Task<string?> GetUserNameAsync(Account user, CancellationToken cancellationToken) => Task.FromResult<string?>(user.Name);

    /// <inheritdoc/>
    public Task SetUserNameAsync(Account user, string? userName, CancellationToken cancellationToken) => Done(() => user.Name = userName ?? throw new ArgumentNullException(nameof(userName)));

    /// <inheritdoc/>
    public Task<string?> GetNormalizedUserNameAsync(Account user, CancellationToken cancellationToken) => Task.FromResult<string?>(user.Name.ToUpperInvariant());

    /// <inheritdoc/>
    public Task SetNormalizedUserNameAsync(Account user, string? normalizedName, CancellationToken cancellationToken) => Task.CompletedTask;

    /// <inheritdoc/>
    public async Task<IdentityResult> CreateAsync(Account user, CancellationToken cancellationToken)
    {
        await accounts.AddAsync(user, cancellationToken);
        return IdentityResult.Success;
    }

    /// <inheritdoc/>
    public async Task<IdentityResult> UpdateAsync(Account user, CancellationToken cancellationToken)
        => await accounts.ChangeAsync(user, cancellationToken) ? IdentityResult.Success : IdentityResult.Failed(errors.ConcurrencyFailure());

    /// <inheritdoc/>
    public Task<IdentityResult> DeleteAsync(Account user, CancellationToken cancellationToken) => throw new NotSupportedException("An account is locked out, not deleted: what its person did stays theirs.");

    /// <inheritdoc/>
    public Task<Account?> FindByIdAsync(string userId, CancellationToken cancellationToken) => Guid.TryParse(userId, out Guid id) ? accounts.FindAsync(id, cancellationToken) : Task.FromResult<Account?>(null);

    /// <inheritdoc/>
    public Task<Account?> FindByNameAsync(string normalizedUserName, CancellationToken cancellationToken) => accounts.FindByNameAsync(normalizedUserName, cancellationToken);

    /// <inheritdoc/>
    public Task SetPasswordHashAsync(Account user, string? passwordHash, CancellationToken cancellationToken) => Done(() => user.PasswordHash = passwordHash);

    /// <inheritdoc/>
    public Task<string?> GetPasswordHashAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.PasswordHash);

    /// <inheritdoc/>
    public Task<bool> HasPasswordAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.PasswordHash is not null);

    /// <inheritdoc/>
    public Task SetSecurityStampAsync(Account user, string stamp, CancellationToken cancellationToken) => Done(() => user.SecurityStamp = stamp);

    /// <inheritdoc/>
    public Task<string?> GetSecurityStampAsync(Account user, CancellationToken cancellationToken) => Task.FromResult<string?>(user.SecurityStamp);

    /// <inheritdoc/>
    public Task<DateTimeOffset?> GetLockoutEndDateAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.LockedUntil);

    /// <inheritdoc/>
    public Task SetLockoutEndDateAsync(Account user, DateTimeOffset? lockoutEnd, CancellationToken cancellationToken) => Done(() => user.LockedUntil = lockoutEnd);

    /// <inheritdoc/>
    public Task<int> IncrementAccessFailedCountAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(++user.FailedAttempts);

    /// <inheritdoc/>
    public Task ResetAccessFailedCountAsync(Account user, CancellationToken cancellationToken) => Done(() => user.FailedAttempts = 0);

    /// <inheritdoc/>
    public Task<int> GetAccessFailedCountAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.FailedAttempts);

    /// <inheritdoc/>
    public Task<bool> GetLockoutEnabledAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(true);

    /// <inheritdoc/>
    public Task SetLockoutEnabledAsync(Account user, bool enabled, CancellationToken cancellationToken) => Task.CompletedTask;

    /// <inheritdoc/>
    public Task SetTwoFactorEnabledAsync(Account user, bool enabled, CancellationToken cancellationToken) => Done(() => user.UsesCodes = enabled);

    /// <inheritdoc/>
    public Task<bool> GetTwoFactorEnabledAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.UsesCodes);

    /// <inheritdoc/>
    public Task SetAuthenticatorKeyAsync(Account user, string key, CancellationToken cancellationToken) => Done(() => user.CodeKey = protector.Protect(key));

    /// <inheritdoc/>
    public Task<string?> GetAuthenticatorKeyAsync(Account user, CancellationToken cancellationToken)
    {
        try
        {
            return Task.FromResult(user.CodeKey is { } kept ? protector.Unprotect(kept) : null);
        }
        catch (CryptographicException)
        {
            // The keys of the bench were lost: codes cannot be told any more, and an administrator invites again.
            return Task.FromResult<string?>(null);
        }
    }

    /// <inheritdoc/>
    public Task ReplaceCodesAsync(Account user, IEnumerable<string> recoveryCodes, CancellationToken cancellationToken) => Done(() => user.RecoveryCodes = [.. recoveryCodes.Select(HashOf)]);

    /// <inheritdoc/>
    public Task<bool> RedeemCodeAsync(Account user, string code, CancellationToken cancellationToken)
    {
        string hash = HashOf(code);
        if (!user.RecoveryCodes.Contains(hash))
        {
            return Task.FromResult(false);
        }

        user.RecoveryCodes = [.. user.RecoveryCodes.Where(each => each != hash)];
        return Task.FromResult(true);
    }

    /// <inheritdoc/>
    public Task<int> CountCodesAsync(Account user, CancellationToken cancellationToken) => Task.FromResult(user.RecoveryCodes.Count);

    /// <inheritdoc/>
    public Task AddOrUpdatePasskeyAsync(Account user, UserPasskeyInfo passkey, CancellationToken cancellationToken)
    {
        var kept = new AccountPasskey(passkey.CredentialId, NameOf(passkey.Name), passkey.CreatedAt, JsonSerializer.Serialize(PasskeyData.Of(passkey)));
        user.Passkeys = [.. user.Passkeys.Where(each => !each.CredentialId.AsSpan().SequenceEqual(kept.CredentialId)), kept];
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task<IList<UserPasskeyInfo>> GetPasskeysAsync(Account user, CancellationToken cancellationToken) => Task.FromResult<IList<UserPasskeyInfo>>([.. user.Passkeys.Select(ToInfo)]);

    /// <inheritdoc/>
    public Task<Account?> FindByPasskeyIdAsync(byte[] credentialId, CancellationToken cancellationToken) => accounts.FindByPasskeyAsync(credentialId, cancellationToken);

    /// <inheritdoc/>
    public Task<UserPasskeyInfo?> FindPasskeyAsync(Account user, byte[] credentialId, CancellationToken cancellationToken)
        => Task.FromResult(user.Passkeys.FirstOrDefault(each => each.CredentialId.AsSpan().SequenceEqual(credentialId)) is { } kept ? ToInfo(kept) : null);

    /// <inheritdoc/>
    public Task RemovePasskeyAsync(Account user, byte[] credentialId, CancellationToken cancellationToken) => Done(() => user.Passkeys = [.. user.Passkeys.Where(each => !each.CredentialId.AsSpan().SequenceEqual(credentialId))]);

    /// <inheritdoc/>
    public Task AddLoginAsync(Account user, UserLoginInfo login, CancellationToken cancellationToken) => Done(() => user.Identities = [.. user.Identities, new HospitalIdentity(login.LoginProvider, login.ProviderKey)]);

    /// <inheritdoc/>
    public Task RemoveLoginAsync(Account user, string loginProvider, string providerKey, CancellationToken cancellationToken) => Done(() => user.Identities = [.. user.Identities.Where(each => each != new HospitalIdentity(loginProvider, providerKey))]);

    /// <inheritdoc/>
    public Task<IList<UserLoginInfo>> GetLoginsAsync(Account user, CancellationToken cancellationToken) => Task.FromResult<IList<UserLoginInfo>>([.. user.Identities.Select(each => new UserLoginInfo(each.Issuer, each.Subject, null))]);

    /// <inheritdoc/>
    public Task<Account?> FindByLoginAsync(string loginProvider, string providerKey, CancellationToken cancellationToken) => accounts.FindByIdentityAsync(new HospitalIdentity(loginProvider, providerKey), cancellationToken);

    /// <inheritdoc/>
    public void Dispose()
    {
        // Every call opens and closes what it needs.
    }

    /// <summary>A name of a passkey as it is kept.</summary>
    /// <param name="name">As it was given.</param>
    internal static string NameOf(string? name)
    {
        string clean = (name ?? string.Empty).Trim();
        return clean.Length == 0 ? "passkey" : clean.Length <= AccountPasskey.NameMaxLength ? clean : clean[..AccountPasskey.NameMaxLength];
    }

    /// <summary>SHA-256 of a code; recovery codes are random enough not to be guessed from it.</summary>
    /// <param name="code">The code.</param>
    internal static string HashOf(string code) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(code.Trim().ToUpperInvariant())));

    private static UserPasskeyInfo ToInfo(AccountPasskey kept)
    {
        PasskeyData data = JsonSerializer.Deserialize<PasskeyData>(kept.DataJson) ?? throw new JsonException("A passkey holds nothing.");
        return new UserPasskeyInfo(kept.CredentialId, data.PublicKey, kept.Created, data.SignCount, data.Transports, data.IsUserVerified, data.IsBackupEligible, data.IsBackedUp, data.AttestationObject, data.ClientDataJson) { Name = kept.Name };
    }

    private static Task Done(Action change)
    {
        change();
        return Task.CompletedTask;
    }

    private sealed record PasskeyData(byte[] PublicKey, uint SignCount, string[]? Transports, bool IsUserVerified, bool IsBackupEligible, bool IsBackedUp, byte[] AttestationObject, byte[] ClientDataJson)
    {
        public static PasskeyData Of(UserPasskeyInfo passkey) => new(passkey.PublicKey, passkey.SignCount, passkey.Transports, passkey.IsUserVerified, passkey.IsBackupEligible, passkey.IsBackedUp, passkey.AttestationObject, passkey.ClientDataJson);
    }
}
