using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;

namespace Hotlight.Store.Tests;

/// <summary>What every store of accounts must do, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    /// <summary>The accounts in the store that was opened.</summary>
    protected abstract IAccountStore Accounts();

    private Account NewAccount(string name) => new() { Id = Guid.NewGuid(), Name = name, PersonId = Guid.NewGuid(), Role = PersonRole.Supervisor, SecurityStamp = "stamp", Created = Clock.GetUtcNow() };

    [StoreFact]
    public async Task Account_AddedAndChanged_IsFoundWholeAfterReopening()
    {
        await OpenAsync();
        Assert.False(await Accounts().AnyAsync());
        Account account = NewAccount("Dunlin");
        await Accounts().AddAsync(account);
        account.PasswordHash = "hash";
        account.CodeKey = "key";
        account.UsesCodes = true;
        account.LastCode = "last";
        account.RecoveryCodes = ["one", "two"];
        account.FailedAttempts = 3;
        account.LockedUntil = Clock.GetUtcNow().AddMinutes(1);
        account.LastSignedIn = Clock.GetUtcNow();
        account.IsDisabled = true;
        account.Role = PersonRole.Administrator;
        account.SecurityStamp = "another";
        account.Passkeys = [new AccountPasskey([1, 2, 3, 255], "key ring", Clock.GetUtcNow(), "{}"), new AccountPasskey([9], "phone", Clock.GetUtcNow().AddDays(1), "{}")];
        account.Identities = [new HospitalIdentity("https://hospital.example/", "Größe")];
        Assert.True(await Accounts().ChangeAsync(account));

        await OpenAsync();
        Account kept = (await Accounts().FindAsync(account.Id))!;
        Assert.Equivalent(account, kept, strict: true);
        Assert.Equal(2, kept.Version);
        Assert.Equal(account.Id, (await Accounts().FindByNameAsync("dUNLIN"))?.Id);
        Assert.Equal(account.Id, (await Accounts().FindByPasskeyAsync([1, 2, 3, 255]))?.Id);
        Assert.Null(await Accounts().FindByPasskeyAsync([1, 2, 3]));
        Assert.Equal(account.Id, (await Accounts().FindByIdentityAsync(new HospitalIdentity("https://hospital.example/", "Größe")))?.Id);
        Assert.Null(await Accounts().FindByIdentityAsync(new HospitalIdentity("https://elsewhere.example/", "Größe")));

        // What is taken away is gone, and the rest stays.
        kept.Passkeys = [kept.Passkeys[1]];
        kept.Identities = [];
        Assert.True(await Accounts().ChangeAsync(kept));
        Assert.Null(await Accounts().FindByPasskeyAsync([1, 2, 3, 255]));
        Assert.Equivalent(kept, await Accounts().FindAsync(account.Id), strict: true);
    }

    [StoreFact]
    public async Task Account_OfATakenNameOrPerson_IsRefused()
    {
        await OpenAsync();
        Account first = NewAccount("Dunlin");
        await Accounts().AddAsync(first);
        await Assert.ThrowsAsync<AccountRefusedException>(() => Accounts().AddAsync(NewAccount("DUNLIN")));
        var same = new Account { Id = Guid.NewGuid(), Name = "other", PersonId = first.PersonId, Role = PersonRole.Reader, SecurityStamp = "s", Created = Clock.GetUtcNow() };
        await Assert.ThrowsAsync<AccountRefusedException>(() => Accounts().AddAsync(same));
        Assert.Single(await Accounts().ListAsync());

        // A passkey is one account's alone.
        first.Passkeys = [new AccountPasskey([7], "one", Clock.GetUtcNow(), "{}")];
        Assert.True(await Accounts().ChangeAsync(first));
        Account second = NewAccount("Knot");
        await Accounts().AddAsync(second);
        second.Passkeys = [new AccountPasskey([7], "two", Clock.GetUtcNow(), "{}")];
        Assert.False(await Accounts().ChangeAsync(second));
        Assert.Equal(first.Id, (await Accounts().FindByPasskeyAsync([7]))?.Id);
    }

    [StoreFact]
    public async Task Account_EightWritersOfOneVersion_OneIsKept()
    {
        await OpenAsync();
        Account account = NewAccount("Dunlin");
        await Accounts().AddAsync(account);
        Account[] copies = await Task.WhenAll(Enumerable.Range(0, 8).Select(async _ => (await Accounts().FindAsync(account.Id))!));
        bool[] kept = await Task.WhenAll(copies.Select(async (copy, number) =>
        {
            copy.LastCode = $"code {number}";
            return await Accounts().ChangeAsync(copy);
        }));
        Assert.Single(kept, each => each);
    }

    [StoreFact]
    public async Task Invitation_EightAtOnce_OneUsesIt_AndANewOneTakesTheOldAway()
    {
        await OpenAsync();
        Account account = NewAccount("Dunlin");
        await Accounts().AddAsync(account);
        DateTimeOffset now = Clock.GetUtcNow();
        var old = new AccountInvitation(Guid.NewGuid(), account.Id, "a", now, now.AddDays(1));
        var invitation = new AccountInvitation(Guid.NewGuid(), account.Id, "b", now, now.AddDays(1));
        await Accounts().AddInvitationAsync(old);
        await Accounts().AddInvitationAsync(invitation);
        Assert.Null(await Accounts().FindInvitationAsync("a"));
        Assert.Equal(invitation, await Accounts().FindInvitationAsync("b"));
        Assert.False(await Accounts().UseInvitationAsync(old.Id, now));
        Assert.False(await Accounts().UseInvitationAsync(invitation.Id, now.AddDays(1)));
        bool[] used = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Accounts().UseInvitationAsync(invitation.Id, now.AddHours(1))));
        Assert.Single(used, each => each);
        Assert.Empty(await Accounts().InvitationsAsync());
        Assert.Equal(now.AddHours(1), (await Accounts().FindInvitationAsync("b"))?.Used);
    }

    [StoreFact]
    public async Task Session_BegunSeenAndEnded_IsFoundWithItsAccount()
    {
        await OpenAsync();
        Account account = NewAccount("Dunlin");
        await Accounts().AddAsync(account);
        DateTimeOffset now = Clock.GetUtcNow();
        var session = new AccountSession(Guid.NewGuid(), account.Id, account.SecurityStamp, true, "a browser", now, now);
        var other = session with { Id = Guid.NewGuid(), Began = now.AddDays(-2), Seen = now.AddDays(-1) };
        await Accounts().AddSessionAsync(session);
        await Accounts().AddSessionAsync(other);
        Assert.Equal(new KnownSession(session, "Dunlin", account.PersonId, account.Role, "stamp", false), await Accounts().FindSessionAsync(session.Id));
        Assert.Equal([session, other], await Accounts().SessionsAsync(account.Id));
        await Accounts().SeeSessionAsync(session.Id, now.AddMinutes(5));
        await Accounts().SeeSessionAsync(session.Id, now.AddMinutes(4));
        Assert.Equal(now.AddMinutes(5), (await Accounts().FindSessionAsync(session.Id))!.Session.Seen);

        // Only whose it is ends it.
        Assert.False(await Accounts().EndSessionAsync(session.Id, Guid.NewGuid()));
        Assert.True(await Accounts().EndSessionAsync(session.Id, account.Id));
        Assert.Null(await Accounts().FindSessionAsync(session.Id));
        await Accounts().RemoveSessionsAsync(now.AddDays(-1));
        Assert.Empty(await Accounts().SessionsAsync(account.Id));
    }
}
