using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Components.Authorization;
using Microsoft.AspNetCore.Components.Server.Circuits;
using RouteData = Microsoft.AspNetCore.Components.RouteData;

namespace Hotlight.Web.Rounds;

/// <summary>Whether this live connection is a guest's, and what it may show. A page is reached over the connection without a request, so each is asked for here too.</summary>
public sealed class CircuitGuest : IDisposable
{
    private readonly AuthenticationStateProvider authentication;
    private readonly RoundWorkflow rounds;
    private readonly TimeProvider clock;
    private Round? round;
    private bool isLoaded;

    /// <summary>Creates it.</summary>
    /// <param name="authentication">Who the connection began with.</param>
    /// <param name="rounds">The rounds.</param>
    /// <param name="clock">Tells the time.</param>
    public CircuitGuest(AuthenticationStateProvider authentication, RoundWorkflow rounds, TimeProvider clock)
    {
        this.authentication = authentication;
        this.rounds = rounds;
        this.clock = clock;
        rounds.Changed += OnChanged;
    }

    /// <summary>Raised when the session has ended. Not always on the page's own thread.</summary>
    public event Action? Ended;

    /// <summary>The guest's pass; null: no guest, but whoever works at the bench.</summary>
    public RoundPass? Pass { get; private set; }

    /// <summary>The guest as a reader; null: no guest.</summary>
    public Person? Person { get; private set; }

    /// <summary>Whether it is a guest's connection.</summary>
    public bool IsGuest => Pass is not null;

    /// <summary>Whether the guest's session has ended: nothing is shown any more.</summary>
    public bool IsOver { get; private set; }

    /// <summary>Finds out who came, once, and then whether the guest is still let in.</summary>
    public Task LoadAsync() => IsLetInAsync();

    /// <summary>Whether whoever came is still let in; always, but for a guest whose session has ended.</summary>
    public async Task<bool> IsLetInAsync()
    {
        if (!isLoaded)
        {
            Pass = GuestAccess.PassOf((await authentication.GetAuthenticationStateAsync()).User);
            isLoaded = true;
        }

        if (Pass is not { } pass)
        {
            return true;
        }

        round = IsOver ? null : await rounds.CheckAsync(pass);
        if (round is null)
        {
            if (!IsOver)
            {
                IsOver = true;
                Ended?.Invoke();
            }

            return false;
        }

        if (Person is null)
        {
            RoundReader reader = round.Body.Readers.First(each => each.Id == pass.ReaderId);
            Person = new Person { Id = reader.Id, Pseudonym = reader.Name, Role = PersonRole.Learner };
        }

        return true;
    }

    /// <summary>Whether a page may be shown on this connection.</summary>
    /// <param name="found">The page and its values.</param>
    public bool Allows(RouteData found)
    {
        ArgumentNullException.ThrowIfNull(found);
        GuestScope? scope = found.PageType.GetCustomAttributes(typeof(GuestMayAttribute), inherit: false).OfType<GuestMayAttribute>().FirstOrDefault()?.Scope;
        return !IsGuest || (!IsOver && GuestAccess.Allows(scope, found.RouteValues, Pass, round, clock.GetUtcNow()));
    }

    /// <inheritdoc/>
    public void Dispose() => rounds.Changed -= OnChanged;

    // Called on the thread of whoever changed the round: only takes note.
    private void OnChanged(Guid id)
    {
        if (Pass?.RoundId == id && !IsOver)
        {
            _ = IsLetInAsync();
        }
    }
}

/// <summary>Drops everything that comes over a guest's connection once the session has ended, whatever page it was meant for.</summary>
internal sealed class GuestCircuit(CircuitGuest guest) : CircuitHandler
{
    /// <inheritdoc/>
    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(Func<CircuitInboundActivityContext, Task> next)
        => async context =>
        {
            if (await guest.IsLetInAsync())
            {
                await next(context);
            }
        };
}
