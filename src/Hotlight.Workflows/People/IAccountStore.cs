namespace Hotlight.Workflows.People;

/// <summary>Keeps the accounts of a department, their invitations and sessions.</summary>
public interface IAccountStore
{
    /// <summary>Whether there is any account.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<bool> AnyAsync(CancellationToken cancellation = default);

    /// <summary>All accounts by name.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<Account>> ListAsync(CancellationToken cancellation = default);

    /// <summary>An account; null: none has this identifier.</summary>
    /// <param name="id">The account.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Account?> FindAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>The account of a sign-in name, without minding capitals; null: none.</summary>
    /// <param name="name">The name.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Account?> FindByNameAsync(string name, CancellationToken cancellation = default);

    /// <summary>The account of a passkey; null: none.</summary>
    /// <param name="credentialId">The passkey.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Account?> FindByPasskeyAsync(byte[] credentialId, CancellationToken cancellation = default);

    /// <summary>The account of somebody at the hospital's sign-in; null: none.</summary>
    /// <param name="identity">Who.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Account?> FindByIdentityAsync(HospitalIdentity identity, CancellationToken cancellation = default);

    /// <summary>Keeps a new account.</summary>
    /// <param name="account">The account.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="AccountRefusedException">Name or person have an account already.</exception>
    Task AddAsync(Account account, CancellationToken cancellation = default);

    /// <summary>Keeps a changed account, and raises its version.</summary>
    /// <param name="account">The account as it is to be, with the version that it was read with.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>False where it moved on meanwhile, or a passkey or identity is another account's; nothing was kept.</returns>
    Task<bool> ChangeAsync(Account account, CancellationToken cancellation = default);

    /// <summary>Keeps a new invitation; earlier ones of the account are taken away.</summary>
    /// <param name="invitation">The invitation.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddInvitationAsync(AccountInvitation invitation, CancellationToken cancellation = default);

    /// <summary>The invitation with a secret of this hash; null: none.</summary>
    /// <param name="secretHash">The hash.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<AccountInvitation?> FindInvitationAsync(string secretHash, CancellationToken cancellation = default);

    /// <summary>All invitations that were not used.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<AccountInvitation>> InvitationsAsync(CancellationToken cancellation = default);

    /// <summary>Marks an invitation as used, whoever comes first.</summary>
    /// <param name="id">The invitation.</param>
    /// <param name="at">When.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>False where it was used or taken away, or has ended.</returns>
    Task<bool> UseInvitationAsync(Guid id, DateTimeOffset at, CancellationToken cancellation = default);

    /// <summary>Keeps a new session.</summary>
    /// <param name="session">The session.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task AddSessionAsync(AccountSession session, CancellationToken cancellation = default);

    /// <summary>A session with its account; null: it is over.</summary>
    /// <param name="id">The session.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<KnownSession?> FindSessionAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>The sessions of an account, the last used first.</summary>
    /// <param name="accountId">The account.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<AccountSession>> SessionsAsync(Guid accountId, CancellationToken cancellation = default);

    /// <summary>Notes that somebody did something in a session.</summary>
    /// <param name="id">The session.</param>
    /// <param name="at">When.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task SeeSessionAsync(Guid id, DateTimeOffset at, CancellationToken cancellation = default);

    /// <summary>Ends a session of an account.</summary>
    /// <param name="id">The session.</param>
    /// <param name="accountId">Whose it must be.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>Whether there was one.</returns>
    Task<bool> EndSessionAsync(Guid id, Guid accountId, CancellationToken cancellation = default);

    /// <summary>Removes sessions that began before a time.</summary>
    /// <param name="began">The time.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    Task RemoveSessionsAsync(DateTimeOffset began, CancellationToken cancellation = default);
}

/// <summary>Something cannot be done with an account as it stands; nothing was changed. The message is one sentence for the reader.</summary>
public sealed class AccountRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence.</param>
    public AccountRefusedException(string reason)
        : base(reason)
    {
    }
}
