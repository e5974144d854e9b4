using System.Collections.Concurrent;
using Hotlight.Web.Audit;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Components.Authorization;
using Microsoft.AspNetCore.Components.Server.Circuits;
using RouteData = Microsoft.AspNetCore.Components.RouteData;

namespace Hotlight.Web.People;

/// <summary>Whose live connection this is, and what it may show. A page is reached over the connection without a request, so each is asked for here too. A single reader without accounts may everything.</summary>
public sealed class CircuitAccount : IDisposable
{
    private readonly AuthenticationStateProvider authentication;
    private readonly CircuitGuest guest;
    private readonly AccountWorkflow accounts;
    private readonly ClinicWorkflow clinic;
    private readonly BenchOptions options;
    private readonly TimeProvider clock;
    private readonly LiveAccounts live;
    private KnownSession? session;
    private Guid? sessionId;
    private bool isLoaded;
    private long looked;

    /// <summary>Creates it.</summary>
    /// <param name="authentication">Who the connection began with.</param>
    /// <param name="guest">Whether it is a guest's.</param>
    /// <param name="accounts">The accounts.</param>
    /// <param name="clinic">The people.</param>
    /// <param name="options">How the bench was started.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="live">The connections that are open.</param>
    public CircuitAccount(AuthenticationStateProvider authentication, CircuitGuest guest, AccountWorkflow accounts, ClinicWorkflow clinic, BenchOptions options, TimeProvider clock, LiveAccounts live)
    {
        ArgumentNullException.ThrowIfNull(live);
        this.authentication = authentication;
        this.guest = guest;
        this.accounts = accounts;
        this.clinic = clinic;
        this.options = options;
        this.clock = clock;
        this.live = live;
    }

    /// <summary>Raised when the session has ended. Not always on the page's own thread.</summary>
    public event Action? Ended;

    /// <summary>Whether people sign in here.</summary>
    public bool IsDepartment => options.IsDepartment;

    /// <summary>Whether the session has ended: nothing is shown any more.</summary>
    public bool IsOver { get; private set; }

    /// <summary>The person of the clinic who is signed in, with the role of the account; null: nobody is, a single reader or a guest.</summary>
    public Person? Person => session is { } known && clinic.Current.Settings.People.FirstOrDefault(each => each.Id == known.PersonId) is { } person ? person with { Role = known.Role } : null;

    /// <summary>Sign-in name; null: nobody is signed in.</summary>
    public string? Name => session?.AccountName;

    /// <summary>Who acts over this connection.</summary>
    internal Actor Actor => !IsDepartment ? Actor.Program
        : guest.Pass is { } pass ? Actor.Guest(pass.ReaderId, pass.RoundId)
        : session is { } known && !IsOver ? Actor.Person(known.PersonId, known.Role)
        : Actor.Nobody;

    /// <summary>Whether something may be done over this connection.</summary>
    /// <param name="operation">What.</param>
    public bool May(Operation operation) => Actor.May(operation);

    /// <summary>Whether a page may be shown on this connection; guests are asked about elsewhere.</summary>
    /// <param name="found">The page.</param>
    public bool Allows(RouteData found)
    {
        ArgumentNullException.ThrowIfNull(found);
        return !IsDepartment || guest.IsGuest || (!IsOver && AccountAccess.Allows(AccountAccess.OfPage(found.PageType), session, isOfThisMachine: false));
    }

    /// <summary>What is said where a page may not be shown.</summary>
    /// <param name="found">The page.</param>
    public string WhyNot(RouteData found)
    {
        ArgumentNullException.ThrowIfNull(found);
        return AccountAccess.OfPage(found.PageType) is NeedsAttribute needs ? new NotAllowedException(needs.Operation, Actor).Message : "This page is open to nobody.";
    }

    /// <summary>What of a page that may not be shown is noted in the audit trail.</summary>
    /// <param name="found">The page.</param>
    internal static string Refused(RouteData found)
    {
        ArgumentNullException.ThrowIfNull(found);
        return AccountAccess.OfPage(found.PageType) is NeedsAttribute needs ? RoleTable.Words(needs.Operation) : "open to nobody";
    }

    /// <summary>Finds out who came, once, and then whether the session stands; asked often, it looks once a second.</summary>
    /// <param name="isNow">Whether it looks in any case.</param>
    public async Task<bool> StandsAsync(bool isNow = false)
    {
        if (!IsDepartment || IsOver)
        {
            return !IsOver;
        }

        if (!isLoaded)
        {
            await guest.LoadAsync();
            sessionId = AccountAccess.SessionOf((await authentication.GetAuthenticationStateAsync()).User);
            isLoaded = true;
            isNow = true;
            live.Add(this);
        }

        if (guest.IsGuest || (!isNow && clock.GetElapsedTime(looked) < TimeSpan.FromSeconds(1)))
        {
            return true;
        }

        looked = clock.GetTimestamp();
        KnownSession? known = sessionId is { } id ? await accounts.CheckAsync(id, options.SessionIdle, options.SessionWhole) : null;
        if (known is { Session.IsFull: true })
        {
            session = known;
            return true;
        }

        if (!IsOver)
        {
            IsOver = true;
            Ended?.Invoke();
        }

        return false;
    }

    /// <inheritdoc/>
    public void Dispose() => live.Remove(this);
}

/// <summary>The live connections that are open, so that those whose session ended are ended too, within moments.</summary>
public sealed class LiveAccounts
{
    private readonly ConcurrentDictionary<CircuitAccount, byte> open = new();

    /// <summary>How many are open.</summary>
    public int Count => open.Count;

    /// <summary>Adds one.</summary>
    /// <param name="account">The connection's account.</param>
    public void Add(CircuitAccount account) => open.TryAdd(account, 0);

    /// <summary>Takes one away.</summary>
    /// <param name="account">The connection's account.</param>
    public void Remove(CircuitAccount account) => open.TryRemove(account, out _);

    /// <summary>Looks at all whether their sessions stand.</summary>
    public async Task LookAsync()
    {
        foreach (CircuitAccount each in open.Keys)
        {
            await each.StandsAsync(isNow: true);
        }
    }
}

/// <summary>Drops everything that comes over a live connection once its session has ended, and says who acts.</summary>
internal sealed class AccountCircuit(CircuitAccount account, CircuitActor actor) : CircuitHandler
{
    /// <inheritdoc/>
    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(Func<CircuitInboundActivityContext, Task> next)
        => async context =>
        {
            if (await account.StandsAsync())
            {
                Acting.As(await actor.NowAsync());
                await next(context);
            }
        };
}

/// <summary>Ends live connections whose session is over, and removes sessions that nobody can use any more.</summary>
internal sealed class SessionKeeper(LiveAccounts live, AccountWorkflow accounts, IAccountStore store, BenchOptions options, TimeProvider clock, ILogger<SessionKeeper> log) : BackgroundService
{
    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (!options.IsDepartment)
        {
            return;
        }

        void LookAtOnce() => _ = LookAsync();
        accounts.SessionsEnded += LookAtOnce;
        try
        {
            using var timer = new PeriodicTimer(options.SessionWatch);
            DateTimeOffset tidied = DateTimeOffset.MinValue;
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                await LookAsync();
                DateTimeOffset now = clock.GetUtcNow();
                if (now - tidied > TimeSpan.FromHours(1))
                {
                    tidied = now;
                    await store.RemoveSessionsAsync(now - options.SessionWhole, stoppingToken);
                }
            }
        }
        catch (OperationCanceledException)
        {
            // The bench stops.
        }
        finally
        {
            accounts.SessionsEnded -= LookAtOnce;
        }
    }

    private async Task LookAsync()
    {
        try
        {
            await live.LookAsync();
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            // The store is away for the moment: every request and every act of a connection asks it again.
            log.LogError(error, "Sessions could not be looked at.");
        }
    }
}
