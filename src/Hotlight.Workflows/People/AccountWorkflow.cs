using System.Security.Cryptography;
using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching.Rounds;

namespace Hotlight.Workflows.People;

/// <summary>What is done with the accounts of a department, apart from signing in: invite, change a role, lock out, begin and end sessions.</summary>
public sealed class AccountWorkflow
{
    /// <summary>How long an invitation holds.</summary>
    public static readonly TimeSpan InvitationHolds = TimeSpan.FromDays(3);

    /// <summary>What whoever opens a link that lets nobody in is told.</summary>
    public const string WrongLink = "This link lets nobody in: it was used, has ended, or was replaced by a newer one. Ask an administrator of the department for another.";

    private const int StampBytes = 20;
    private const int BrowserMaxLength = 80;
    private readonly IAccountStore accounts;
    private readonly ClinicWorkflow clinic;
    private readonly TimeProvider clock;
    private readonly IAuditTrail? trail;

    /// <summary>Creates the workflow.</summary>
    /// <param name="accounts">Where accounts are kept.</param>
    /// <param name="clinic">The clinic, whose people the accounts belong to.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="trail">Told of every change of an account before it is made; null: nobody is.</param>
    public AccountWorkflow(IAccountStore accounts, ClinicWorkflow clinic, TimeProvider clock, IAuditTrail? trail = null)
    {
        ArgumentNullException.ThrowIfNull(accounts);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(clock);
        this.accounts = accounts;
        this.clinic = clinic;
        this.clock = clock;
        this.trail = trail;
    }

    /// <summary>Raised when sessions may have ended, on the thread that ended them.</summary>
    public event Action? SessionsEnded;

    /// <summary>Whether there is any account.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<bool> AnyAsync(CancellationToken cancellation = default) => accounts.AnyAsync(cancellation);

    /// <summary>All accounts by name.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlyList<Account>> ListAsync(CancellationToken cancellation = default) => accounts.ListAsync(cancellation);

    /// <summary>Invitations that were not used, of all accounts.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlyList<AccountInvitation>> InvitationsAsync(CancellationToken cancellation = default) => accounts.InvitationsAsync(cancellation);

    /// <summary>Makes an account for somebody and an invitation to set it up.</summary>
    /// <param name="name">Sign-in name.</param>
    /// <param name="role">The role.</param>
    /// <param name="personId">The person of the clinic; null: a new one.</param>
    /// <param name="pseudonym">Pseudonym of a new person.</param>
    /// <param name="by">Who invites; null: whoever has the machine.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="AccountRefusedException">Name, pseudonym or person will not do.</exception>
    public async Task<IssuedInvitation> InviteAsync(string name, PersonRole role, Guid? personId, string? pseudonym, Guid? by, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(name);
        Acting.Demand(Operation.KeepPeople);
        string clean = name.Trim();
        if (clean.Length is 0 or > Account.NameMaxLength || !clean.All(IsOfName))
        {
            throw new AccountRefusedException($"A sign-in name has 1 to {Account.NameMaxLength} letters, digits, dots, hyphens, underscores or @, without spaces.");
        }

        if (!Enum.IsDefined(role))
        {
            throw new AccountRefusedException("Choose one of the four roles.");
        }

        IReadOnlyList<Account> all = await accounts.ListAsync(cancellation);
        if (all.Any(each => string.Equals(each.Name, clean, StringComparison.OrdinalIgnoreCase)))
        {
            throw new AccountRefusedException($"There is an account with the name “{clean}” already.");
        }

        if (personId is { } taken && all.Any(each => each.PersonId == taken))
        {
            throw new AccountRefusedException("This person has an account already.");
        }

        Person person = await PersonAsync(personId, pseudonym, role, by, cancellation);
        var account = new Account { Id = Guid.NewGuid(), Name = clean, PersonId = person.Id, Role = role, Created = clock.GetUtcNow(), SecurityStamp = NewStamp() };
        await TellAsync(account.Id, $"made as {RoleTable.Word(role)} and invited", cancellation);
        await accounts.AddAsync(account, cancellation);
        return await IssueAsync(account, cancellation);
    }

    /// <summary>Makes a new invitation for an account, such as for somebody who lost phone or password. Once it is used, password, second factor and passkeys are set anew; until then the old ones go on to hold.</summary>
    /// <param name="accountId">The account.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="AccountRefusedException">There is no such account.</exception>
    public async Task<IssuedInvitation> InviteAgainAsync(Guid accountId, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepPeople);
        Account account = await GetAsync(accountId, cancellation);
        await TellAsync(accountId, "invited again", cancellation);
        return await IssueAsync(account, cancellation);
    }

    /// <summary>The account that a secret sets up; null: the link lets nobody in.</summary>
    /// <param name="secret">The secret.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<InvitedAccount?> InvitedAsync(string secret, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(secret);
        AccountInvitation? invitation = await accounts.FindInvitationAsync(RoundSecret.HashOf(secret), cancellation);
        return invitation?.Holds(clock.GetUtcNow()) == true && await accounts.FindAsync(invitation.AccountId, cancellation) is { IsDisabled: false } account ? new InvitedAccount(invitation, account) : null;
    }

    /// <summary>Uses an invitation up, whoever comes first, and takes every earlier way in away from its account.</summary>
    /// <param name="secret">The secret.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>The account, with nothing set up.</returns>
    /// <exception cref="AccountRefusedException">The link lets nobody in.</exception>
    public async Task<Account> AcceptAsync(string secret, CancellationToken cancellation = default)
    {
        InvitedAccount invited = await InvitedAsync(secret, cancellation) ?? throw new AccountRefusedException(WrongLink);

        // Whoever has the secret is that person from here on.
        Acting.As(Acting.Now.NamedAs(new AuditActor(invited.Account.Name, invited.Account.Id, RoleTable.Word(invited.Account.Role), AuditActor.Current.Address)));
        await TellAsync(invited.Account.Id, "an invitation is used: password and second factor are set anew", cancellation);
        if (!await accounts.UseInvitationAsync(invited.Invitation.Id, clock.GetUtcNow(), cancellation))
        {
            throw new AccountRefusedException(WrongLink);
        }

        return await ChangeAsync(
            invited.Account.Id,
            account =>
            {
                account.PasswordHash = null;
                account.CodeKey = null;
                account.UsesCodes = false;
                account.LastCode = null;
                account.RecoveryCodes = [];
                account.Passkeys = [];
                account.Identities = [];
                account.FailedAttempts = 0;
                account.LockedUntil = null;
                account.SecurityStamp = NewStamp();
            },
            cancellation);
    }

    /// <summary>Gives an account another role; its sessions end.</summary>
    /// <param name="accountId">The account.</param>
    /// <param name="role">The role.</param>
    /// <param name="by">Who does it.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="AccountRefusedException">Nobody would be left to keep the people.</exception>
    public async Task SetRoleAsync(Guid accountId, PersonRole role, Guid? by, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepPeople);
        if (!Enum.IsDefined(role))
        {
            throw new AccountRefusedException("Choose one of the four roles.");
        }

        Account before = await GetAsync(accountId, cancellation);
        if (before.Role == role)
        {
            return;
        }

        await KeepAnAdministratorAsync(before, cancellation);
        await TellAsync(accountId, $"role: {RoleTable.Word(before.Role)} to {RoleTable.Word(role)}", cancellation);
        Account after = await ChangeAsync(accountId, account => (account.Role, account.SecurityStamp) = (role, NewStamp()), cancellation);
        await ReplacePersonAsync(after.PersonId, person => person with { Role = role }, RoleTable.Word(role), by, cancellation);
    }

    /// <summary>Locks an account out, or lets it in again; its sessions end.</summary>
    /// <param name="accountId">The account.</param>
    /// <param name="isDisabled">Whether it is locked out.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="AccountRefusedException">Nobody would be left to keep the people.</exception>
    public async Task SetDisabledAsync(Guid accountId, bool isDisabled, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepPeople);
        if (isDisabled)
        {
            await KeepAnAdministratorAsync(await GetAsync(accountId, cancellation), cancellation);
        }

        await TellAsync(accountId, isDisabled ? "locked out" : "let in again", cancellation);
        await ChangeAsync(accountId, account => (account.IsDisabled, account.SecurityStamp, account.FailedAttempts, account.LockedUntil) = (isDisabled, NewStamp(), 0, null), cancellation);
    }

    /// <summary>Ends all sessions of an account.</summary>
    /// <param name="accountId">The account.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="NotAllowedException">It is somebody else's.</exception>
    public async Task SignOutEverywhereAsync(Guid accountId, CancellationToken cancellation = default)
    {
        if ((await GetAsync(accountId, cancellation)).PersonId != Acting.Now.PersonId)
        {
            Acting.Demand(Operation.KeepPeople);
        }

        await TellAsync(accountId, "all sessions ended", cancellation);
        await ChangeAsync(accountId, account => account.SecurityStamp = NewStamp(), cancellation);
    }

    /// <summary>Begins a session.</summary>
    /// <param name="account">The account.</param>
    /// <param name="isFull">Whether the second factor was given.</param>
    /// <param name="browser">What the browser calls itself.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task<AccountSession> BeginAsync(Account account, bool isFull, string browser, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(account);
        ArgumentNullException.ThrowIfNull(browser);
        DateTimeOffset now = clock.GetUtcNow();
        var session = new AccountSession(Guid.NewGuid(), account.Id, account.SecurityStamp, isFull, CaseWorkflow.Clean(browser, BrowserMaxLength), now, now);
        await accounts.AddSessionAsync(session, cancellation);
        return session;
    }

    /// <summary>A session that stands; null: it was ended, the account was locked or changed, or its time is over.</summary>
    /// <param name="id">The session.</param>
    /// <param name="idle">How long nobody may do anything in it.</param>
    /// <param name="whole">How long it may last.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<KnownSession?> CheckAsync(Guid id, TimeSpan idle, TimeSpan whole, CancellationToken cancellation = default)
    {
        if (await accounts.FindSessionAsync(id, cancellation) is not { IsDisabled: false } known || known.Session.SecurityStamp != known.SecurityStamp)
        {
            return null;
        }

        DateTimeOffset now = clock.GetUtcNow();
        bool isIdle = now - known.Session.Seen >= idle;
        if (isIdle || now - known.Session.Began >= whole)
        {
            // Whoever finds it over first ends it for good and has it noted, once.
            if (await accounts.EndSessionAsync(id, known.Session.AccountId, cancellation) && trail is not null)
            {
                await trail.TellAsync(
                    new AuditEvent(AuditAct.SignedOut, AuditSubject.Account, known.Session.AccountId.ToString(), isIdle ? "nobody did anything for a while" : "the session's time was up")
                    {
                        By = new AuditActor(known.AccountName, known.Session.AccountId, RoleTable.Word(known.Role)),
                    },
                    cancellation);
            }

            return null;
        }

        return await IsOfClinicAsync(known.PersonId, cancellation) ? known : null;
    }

    /// <summary>Whether a person stands in the clinic's list and is active.</summary>
    /// <param name="personId">The person.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<bool> IsOfClinicAsync(Guid personId, CancellationToken cancellation = default)
    {
        bool Stands(ClinicState state) => state.Settings.People.Any(each => each.Id == personId && each.IsActive);

        // Another program may have added the person to the same file.
        return Stands(clinic.Current) || Stands(await clinic.LoadAsync(cancellation));
    }

    /// <summary>Notes that somebody did something in a session.</summary>
    /// <param name="session">The session.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task SeeAsync(AccountSession session, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(session);
        DateTimeOffset now = clock.GetUtcNow();

        // Often enough for a limit of minutes, seldom enough not to write with every request.
        if (now - session.Seen >= TimeSpan.FromSeconds(20))
        {
            await accounts.SeeSessionAsync(session.Id, now, cancellation);
        }
    }

    /// <summary>The sessions of an account that stand, the last used first.</summary>
    /// <param name="account">The account.</param>
    /// <param name="idle">How long nobody may do anything in one.</param>
    /// <param name="whole">How long one may last.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<AccountSession>> SessionsAsync(Account account, TimeSpan idle, TimeSpan whole, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(account);
        DateTimeOffset now = clock.GetUtcNow();
        return [.. (await accounts.SessionsAsync(account.Id, cancellation)).Where(each => each.SecurityStamp == account.SecurityStamp && now - each.Seen < idle && now - each.Began < whole)];
    }

    /// <summary>Ends a session of an account.</summary>
    /// <param name="id">The session.</param>
    /// <param name="accountId">Whose it must be.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public async Task EndAsync(Guid id, Guid accountId, CancellationToken cancellation = default)
    {
        await accounts.EndSessionAsync(id, accountId, cancellation);
        Listeners.Tell(SessionsEnded, listener => listener());
    }

    /// <summary>Tells that the sign-in changed an account in a way that ends its sessions.</summary>
    public void TellEnded() => Listeners.Tell(SessionsEnded, listener => listener());

    /// <summary>A stamp that no account has yet.</summary>
    public static string NewStamp() => Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(StampBytes));

    /// <summary>An account.</summary>
    /// <param name="id">The account.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="AccountRefusedException">There is none.</exception>
    public async Task<Account> GetAsync(Guid id, CancellationToken cancellation = default) => await accounts.FindAsync(id, cancellation) ?? throw new AccountRefusedException("There is no such account any more.");

    private static bool IsOfName(char letter) => char.IsLetterOrDigit(letter) || letter is '.' or '-' or '_' or '@';

    private Task TellAsync(Guid accountId, string what, CancellationToken cancellation)
        => trail?.TellAsync(new AuditEvent(AuditAct.AccountChanged, AuditSubject.Account, accountId.ToString(), what), cancellation) ?? Task.CompletedTask;

    private async Task<IssuedInvitation> IssueAsync(Account account, CancellationToken cancellation)
    {
        string secret = RoundSecret.New();
        DateTimeOffset now = clock.GetUtcNow();
        var invitation = new AccountInvitation(Guid.NewGuid(), account.Id, RoundSecret.HashOf(secret), now, now + InvitationHolds);
        await accounts.AddInvitationAsync(invitation, cancellation);
        return new IssuedInvitation(invitation, account, secret);
    }

    private async Task<Account> ChangeAsync(Guid id, Action<Account> change, CancellationToken cancellation)
    {
        const int MostTries = 5;
        for (int tries = 1; ; tries++)
        {
            Account account = await GetAsync(id, cancellation);
            change(account);
            if (await accounts.ChangeAsync(account, cancellation))
            {
                Listeners.Tell(SessionsEnded, listener => listener());
                return account;
            }

            if (tries == MostTries)
            {
                throw new AccountRefusedException("The account is being changed elsewhere; try again.");
            }
        }
    }

    private async Task KeepAnAdministratorAsync(Account account, CancellationToken cancellation)
    {
        if (account is { Role: PersonRole.Administrator, IsDisabled: false }
            && !(await accounts.ListAsync(cancellation)).Any(each => each.Id != account.Id && each is { Role: PersonRole.Administrator, IsDisabled: false, LastSignedIn: not null }))
        {
            throw new AccountRefusedException($"{account.Name} is the only administrator who has signed in; make somebody else administrator first.");
        }
    }

    private async Task<Person> PersonAsync(Guid? id, string? pseudonym, PersonRole role, Guid? by, CancellationToken cancellation)
    {
        ClinicState state = await clinic.LoadAsync(cancellation);
        if (id is { } known)
        {
            if (state.Settings.People.All(each => each.Id != known))
            {
                throw new AccountRefusedException("This person is not of the clinic any more.");
            }

            await ReplacePersonAsync(known, person => person with { Role = role, IsActive = true }, RoleTable.Word(role), by, cancellation);
            return clinic.Current.Settings.People.First(each => each.Id == known);
        }

        var person = new Person { Id = Guid.NewGuid(), Pseudonym = (pseudonym ?? string.Empty).Trim(), Role = role };
        await ChangeClinicAsync(settings => settings with { People = [.. settings.People, person] }, $"{person.Pseudonym} added to the people", by, cancellation);
        return person;
    }

    private Task ReplacePersonAsync(Guid id, Func<Person, Person> change, string what, Guid? by, CancellationToken cancellation)
        => ChangeClinicAsync(
            settings => settings with { People = [.. settings.People.Select(each => each.Id == id ? change(each) : each)] },
            $"{clinic.Current.Settings.People.FirstOrDefault(each => each.Id == id)?.Pseudonym ?? "a person"}: {what}",
            by,
            cancellation);

    private async Task ChangeClinicAsync(Func<ClinicSettings, ClinicSettings> change, string label, Guid? by, CancellationToken cancellation)
    {
        try
        {
            ClinicState state = await clinic.LoadAsync(cancellation);
            await clinic.ChangeAsync(state, change(state.Settings), label, by, cancellation);
        }
        catch (FormatException error)
        {
            throw new AccountRefusedException(error.Message);
        }
        catch (ClinicChangedException)
        {
            throw new AccountRefusedException("The settings of the clinic were changed at the same moment; try again.");
        }
    }
}

/// <summary>An invitation with its secret, which is shown once and kept nowhere.</summary>
/// <param name="Invitation">The invitation.</param>
/// <param name="Account">The account.</param>
/// <param name="Secret">The secret.</param>
public sealed record IssuedInvitation(AccountInvitation Invitation, Account Account, string Secret)
{
    /// <summary>Path of the page that a link leads to.</summary>
    public const string Path = "/invitation";

    /// <summary>The link.</summary>
    /// <param name="bench">Address of the bench.</param>
    public string LinkAt(string bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return $"{bench.TrimEnd('/')}{Path}#{Secret}";
    }
}

/// <summary>What an invitation sets up.</summary>
/// <param name="Invitation">The invitation.</param>
/// <param name="Account">The account.</param>
public sealed record InvitedAccount(AccountInvitation Invitation, Account Account);
