using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.People;

/// <summary>Somebody's way into the bench of a department, tied to one person of the clinic for good. Changed in place by the sign-in, and kept whole.</summary>
public sealed class Account
{
    /// <summary>Longest sign-in name, in characters.</summary>
    public const int NameMaxLength = 64;

    /// <summary>Identifies the account.</summary>
    public required Guid Id { get; init; }

    /// <summary>What is typed to sign in, 1 to <see cref="NameMaxLength"/> characters.</summary>
    public required string Name { get; set; }

    /// <summary>The person of the clinic.</summary>
    public required Guid PersonId { get; init; }

    /// <summary>What the account may do.</summary>
    public required PersonRole Role { get; set; }

    /// <summary>Hash of the password; null: none is set.</summary>
    public string? PasswordHash { get; set; }

    /// <summary>Changes with everything that must end sessions: password, second factor, role, locking out.</summary>
    public string SecurityStamp { get; set; } = "";

    /// <summary>Key of the app that makes codes, encrypted; null: none.</summary>
    public string? CodeKey { get; set; }

    /// <summary>Whether a code is asked for after the password.</summary>
    public bool UsesCodes { get; set; }

    /// <summary>Hash of the last code that was taken: none is taken twice.</summary>
    public string? LastCode { get; set; }

    /// <summary>Hashes of the recovery codes that are left.</summary>
    public IReadOnlyList<string> RecoveryCodes { get; set; } = [];

    /// <summary>Wrong attempts since the last right one.</summary>
    public int FailedAttempts { get; set; }

    /// <summary>Until when no attempt is taken; null: attempts are taken.</summary>
    public DateTimeOffset? LockedUntil { get; set; }

    /// <summary>Whether an administrator locked the account.</summary>
    public bool IsDisabled { get; set; }

    /// <summary>When it was made.</summary>
    public required DateTimeOffset Created { get; init; }

    /// <summary>When somebody last signed in; null: nobody yet.</summary>
    public DateTimeOffset? LastSignedIn { get; set; }

    /// <summary>Goes up by one with every change, from 1.</summary>
    public int Version { get; set; } = 1;

    /// <summary>The passkeys.</summary>
    public IReadOnlyList<AccountPasskey> Passkeys { get; set; } = [];

    /// <summary>The identities at the hospital's own sign-in.</summary>
    public IReadOnlyList<HospitalIdentity> Identities { get; set; } = [];

    /// <summary>Whether something beside a password is set up: codes, a passkey or the hospital's sign-in.</summary>
    public bool HasSecondFactor => UsesCodes || Passkeys.Count > 0 || Identities.Count > 0;
}

/// <summary>A passkey of an account (WebAuthn credential).</summary>
/// <param name="CredentialId">Its identifier, 1 to 1023 bytes.</param>
/// <param name="Name">What its owner calls it.</param>
/// <param name="Created">When it was made.</param>
/// <param name="DataJson">Public key, counter and flags as JSON.</param>
public sealed record AccountPasskey(byte[] CredentialId, string Name, DateTimeOffset Created, string DataJson)
{
    /// <summary>Longest name, in characters.</summary>
    public const int NameMaxLength = 60;
}

/// <summary>Who somebody is at the hospital's own sign-in.</summary>
/// <param name="Issuer">The provider.</param>
/// <param name="Subject">The subject there.</param>
public sealed record HospitalIdentity(string Issuer, string Subject);

/// <summary>A link by which an account is set up, once: password, or the hospital's sign-in. Only a hash of its secret is kept.</summary>
/// <param name="Id">Identifies it.</param>
/// <param name="AccountId">The account.</param>
/// <param name="SecretHash">SHA-256 of the secret, 64 hexadecimal digits.</param>
/// <param name="Made">When it was made.</param>
/// <param name="Ends">Until when it holds.</param>
/// <param name="Used">When it was used; null: it was not.</param>
public sealed record AccountInvitation(Guid Id, Guid AccountId, string SecretHash, DateTimeOffset Made, DateTimeOffset Ends, DateTimeOffset? Used = null)
{
    /// <summary>Whether it still lets somebody in.</summary>
    /// <param name="now">Now.</param>
    public bool Holds(DateTimeOffset now) => Used is null && now < Ends;
}

/// <summary>A browser that is signed in.</summary>
/// <param name="Id">Identifies it; the browser keeps it in an encrypted cookie.</param>
/// <param name="AccountId">The account.</param>
/// <param name="SecurityStamp">The account's stamp when it began: with another the session is over.</param>
/// <param name="IsFull">Whether the second factor was given; without, only that can be set up.</param>
/// <param name="Browser">What the browser calls itself, shortened, for the owner of the account.</param>
/// <param name="Began">When it began.</param>
/// <param name="Seen">When somebody last did something in it.</param>
public sealed record AccountSession(Guid Id, Guid AccountId, string SecurityStamp, bool IsFull, string Browser, DateTimeOffset Began, DateTimeOffset Seen);

/// <summary>A session with what its account is now.</summary>
/// <param name="Session">The session.</param>
/// <param name="AccountName">Sign-in name.</param>
/// <param name="PersonId">The person of the clinic.</param>
/// <param name="Role">The role now.</param>
/// <param name="SecurityStamp">The stamp now.</param>
/// <param name="IsDisabled">Whether an administrator locked the account.</param>
public sealed record KnownSession(AccountSession Session, string AccountName, Guid PersonId, PersonRole Role, string SecurityStamp, bool IsDisabled);
