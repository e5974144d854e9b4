using System.Buffers.Text;
using System.Linq.Expressions;
using Hotlight.Workflows.People;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store;

/// <summary>Keeps the accounts of a department in the database of the records; every call opens a context of its own.</summary>
public sealed class AccountStore : IAccountStore
{
    private readonly Func<RecordContext> open;

    /// <summary>Creates the store.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    public AccountStore(Func<RecordContext> open)
    {
        ArgumentNullException.ThrowIfNull(open);
        this.open = open;
    }

    /// <inheritdoc/>
    public async Task<bool> AnyAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<AccountRow>().AnyAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<Account>> ListAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<AccountRow> rows = await Whole(context).OrderBy(each => each.NameKey).ToListAsync(cancellation);
        return [.. rows.Select(ToAccount)];
    }

    /// <inheritdoc/>
    public Task<Account?> FindAsync(Guid id, CancellationToken cancellation = default) => OneAsync(each => each.Id == id, cancellation);

    /// <inheritdoc/>
    public Task<Account?> FindByNameAsync(string name, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(name);
        string key = KeyOf(name);
        return OneAsync(each => each.NameKey == key, cancellation);
    }

    /// <inheritdoc/>
    public Task<Account?> FindByPasskeyAsync(byte[] credentialId, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(credentialId);
        string id = Base64Url.EncodeToString(credentialId);
        return OneAsync(each => each.Passkeys.Any(passkey => passkey.CredentialId == id), cancellation);
    }

    /// <inheritdoc/>
    public Task<Account?> FindByIdentityAsync(HospitalIdentity identity, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(identity);
        return OneAsync(each => each.Identities.Any(known => known.Issuer == identity.Issuer && known.Subject == identity.Subject), cancellation);
    }

    /// <inheritdoc/>
    public async Task AddAsync(Account account, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(account);
        await using RecordContext context = open();
        var row = new AccountRow { Id = account.Id, Name = account.Name, NameKey = KeyOf(account.Name), PersonId = account.PersonId, SecurityStamp = account.SecurityStamp, RecoveryCodes = string.Empty, Created = account.Created, Version = 1 };
        Lay(account, row);
        row.Version = 1;
        context.Add(row);
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateException)
        {
            await using RecordContext fresh = open();
            if (await fresh.Set<AccountRow>().AnyAsync(each => each.NameKey == row.NameKey || each.PersonId == row.PersonId, cancellation))
            {
                throw new AccountRefusedException("This name or this person has an account already.");
            }

            throw;
        }

        account.Version = 1;
    }

    /// <inheritdoc/>
    public async Task<bool> ChangeAsync(Account account, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(account);
        await using RecordContext context = open();
        if (await Whole(context).AsTracking().SingleOrDefaultAsync(each => each.Id == account.Id, cancellation) is not { } row || row.Version != account.Version)
        {
            return false;
        }

        Lay(account, row);
        row.Version = account.Version + 1;
        try
        {
            await context.SaveChangesAsync(cancellation);
        }
        catch (DbUpdateConcurrencyException)
        {
            return false;
        }
        catch (DbUpdateException) when (account.Passkeys.Count + account.Identities.Count > 0)
        {
            // Somebody else's passkey or identity.
            await using RecordContext fresh = open();
            string[] passkeys = [.. account.Passkeys.Select(each => Base64Url.EncodeToString(each.CredentialId))];
            string[] subjects = [.. account.Identities.Select(each => each.Subject)];
            if (await fresh.Set<PasskeyRow>().AnyAsync(each => each.AccountId != account.Id && passkeys.Contains(each.CredentialId), cancellation)
                || await fresh.Set<HospitalIdentityRow>().AnyAsync(each => each.AccountId != account.Id && subjects.Contains(each.Subject), cancellation))
            {
                return false;
            }

            throw;
        }

        account.Version = row.Version;
        return true;
    }

    /// <inheritdoc/>
    public async Task AddInvitationAsync(AccountInvitation invitation, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(invitation);
        await using RecordContext context = open();
        context.RemoveRange(await context.Set<InvitationRow>().Where(each => each.AccountId == invitation.AccountId && each.Used == null).ToListAsync(cancellation));
        context.Add(new InvitationRow { Id = invitation.Id, AccountId = invitation.AccountId, SecretHash = invitation.SecretHash, Made = invitation.Made, Ends = invitation.Ends, Used = invitation.Used });
        await context.SaveChangesAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<AccountInvitation?> FindInvitationAsync(string secretHash, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(secretHash);
        await using RecordContext context = open();
        InvitationRow? row = await context.Set<InvitationRow>().AsNoTracking().SingleOrDefaultAsync(each => each.SecretHash == secretHash, cancellation);
        return row is null ? null : ToInvitation(row);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<AccountInvitation>> InvitationsAsync(CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<InvitationRow> rows = await context.Set<InvitationRow>().AsNoTracking().Where(each => each.Used == null).ToListAsync(cancellation);
        return [.. rows.Select(ToInvitation)];
    }

    /// <inheritdoc/>
    public async Task<bool> UseInvitationAsync(Guid id, DateTimeOffset at, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<InvitationRow>().Where(each => each.Id == id && each.Used == null && each.Ends > at).ExecuteUpdateAsync(update => update.SetProperty(each => each.Used, at), cancellation) == 1;
    }

    /// <inheritdoc/>
    public async Task AddSessionAsync(AccountSession session, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(session);
        await using RecordContext context = open();
        context.Add(new SessionRow { Id = session.Id, AccountId = session.AccountId, SecurityStamp = session.SecurityStamp, IsFull = session.IsFull, Browser = session.Browser, Began = session.Began, Seen = session.Seen });
        await context.SaveChangesAsync(cancellation);
    }

    /// <inheritdoc/>
    public async Task<KnownSession?> FindSessionAsync(Guid id, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        var found = await (from session in context.Set<SessionRow>().AsNoTracking()
                           join account in context.Set<AccountRow>().AsNoTracking() on session.AccountId equals account.Id
                           where session.Id == id
                           select new { session, account.Name, account.PersonId, account.Role, account.SecurityStamp, account.IsDisabled }).SingleOrDefaultAsync(cancellation);
        return found is null ? null : new KnownSession(ToSession(found.session), found.Name, found.PersonId, found.Role, found.SecurityStamp, found.IsDisabled);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<AccountSession>> SessionsAsync(Guid accountId, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        List<SessionRow> rows = await context.Set<SessionRow>().AsNoTracking().Where(each => each.AccountId == accountId).OrderByDescending(each => each.Seen).ToListAsync(cancellation);
        return [.. rows.Select(ToSession)];
    }

    /// <inheritdoc/>
    public async Task SeeSessionAsync(Guid id, DateTimeOffset at, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        await context.Set<SessionRow>().Where(each => each.Id == id && each.Seen < at).ExecuteUpdateAsync(update => update.SetProperty(each => each.Seen, at), cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> EndSessionAsync(Guid id, Guid accountId, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        return await context.Set<SessionRow>().Where(each => each.Id == id && each.AccountId == accountId).ExecuteDeleteAsync(cancellation) == 1;
    }

    /// <inheritdoc/>
    public async Task RemoveSessionsAsync(DateTimeOffset began, CancellationToken cancellation = default)
    {
        await using RecordContext context = open();
        await context.Set<SessionRow>().Where(each => each.Began < began).ExecuteDeleteAsync(cancellation);
    }

    private static string KeyOf(string name) => name.Trim().ToUpperInvariant();

    private static IQueryable<AccountRow> Whole(RecordContext context) => context.Set<AccountRow>().AsNoTracking().Include(each => each.Passkeys).Include(each => each.Identities).AsSplitQuery();

    private static void Lay(Account account, AccountRow row)
    {
        row.Name = account.Name;
        row.NameKey = KeyOf(account.Name);
        row.Role = account.Role;
        row.PasswordHash = account.PasswordHash;
        row.SecurityStamp = account.SecurityStamp;
        row.CodeKey = account.CodeKey;
        row.UsesCodes = account.UsesCodes;
        row.LastCode = account.LastCode;
        row.RecoveryCodes = string.Join(' ', account.RecoveryCodes);
        row.FailedAttempts = account.FailedAttempts;
        row.LockedUntil = account.LockedUntil;
        row.IsDisabled = account.IsDisabled;
        row.LastSignedIn = account.LastSignedIn;
        Dictionary<string, AccountPasskey> wanted = account.Passkeys.ToDictionary(each => Base64Url.EncodeToString(each.CredentialId));
        row.Passkeys.RemoveAll(each => !wanted.ContainsKey(each.CredentialId));
        foreach ((string id, AccountPasskey passkey) in wanted)
        {
            if (row.Passkeys.FirstOrDefault(each => each.CredentialId == id) is { } kept)
            {
                kept.Name = passkey.Name;
                kept.DataJson = passkey.DataJson;
            }
            else
            {
                row.Passkeys.Add(new PasskeyRow { CredentialId = id, AccountId = row.Id, Name = passkey.Name, Created = passkey.Created, DataJson = passkey.DataJson });
            }
        }

        row.Identities.RemoveAll(each => !account.Identities.Contains(new HospitalIdentity(each.Issuer, each.Subject)));
        foreach (HospitalIdentity identity in account.Identities.Where(each => row.Identities.TrueForAll(kept => kept.Issuer != each.Issuer || kept.Subject != each.Subject)).ToArray())
        {
            row.Identities.Add(new HospitalIdentityRow { Issuer = identity.Issuer, Subject = identity.Subject, AccountId = row.Id });
        }
    }

    private static Account ToAccount(AccountRow row) => new()
    {
        Id = row.Id,
        Name = row.Name,
        PersonId = row.PersonId,
        Role = row.Role,
        PasswordHash = row.PasswordHash,
        SecurityStamp = row.SecurityStamp,
        CodeKey = row.CodeKey,
        UsesCodes = row.UsesCodes,
        LastCode = row.LastCode,
        RecoveryCodes = row.RecoveryCodes.Split(' ', StringSplitOptions.RemoveEmptyEntries),
        FailedAttempts = row.FailedAttempts,
        LockedUntil = row.LockedUntil,
        IsDisabled = row.IsDisabled,
        Created = row.Created,
        LastSignedIn = row.LastSignedIn,
        Version = row.Version,
        Passkeys = [.. row.Passkeys.OrderBy(each => each.Created).Select(each => new AccountPasskey(Base64Url.DecodeFromChars(each.CredentialId), each.Name, each.Created, each.DataJson))],
        Identities = [.. row.Identities.Select(each => new HospitalIdentity(each.Issuer, each.Subject))],
    };

    private static AccountInvitation ToInvitation(InvitationRow row) => new(row.Id, row.AccountId, row.SecretHash, row.Made, row.Ends, row.Used);

    private static AccountSession ToSession(SessionRow row) => new(row.Id, row.AccountId, row.SecurityStamp, row.IsFull, row.Browser, row.Began, row.Seen);

    private async Task<Account?> OneAsync(Expression<Func<AccountRow, bool>> which, CancellationToken cancellation)
    {
        await using RecordContext context = open();
        AccountRow? row = await Whole(context).SingleOrDefaultAsync(which, cancellation);
        return row is null ? null : ToAccount(row);
    }
}
