using Hotlight.Web.People;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Clinic;
using Microsoft.JSInterop;

namespace Hotlight.Web;

/// <summary>Who reads in this window: one of the clinic's people, chosen in the masthead and kept in the browser. Not a sign-in: nobody is kept from choosing another. In a department it is whoever is signed in, and a guest of a round is the guest alone.</summary>
public sealed class CurrentReader(ClinicWorkflow clinic, IJSRuntime js, CircuitGuest guest, CircuitAccount account) : IAsyncDisposable
{
    private DotNetObjectReference<CurrentReader>? self;
    private IJSObjectReference? module;
    private IJSObjectReference? watching;
    private Task? loading;
    private Guid? chosen;
    private bool isLeft;

    /// <summary>Raised when another person reads, or the person's pseudonym changed; not always on the page's own thread.</summary>
    public event Action? Changed;

    /// <summary>The person; null where nobody was chosen: a single reader.</summary>
    public Guid? Id => Person?.Id;

    /// <summary>The person's pseudonym, or "you" where nobody was chosen.</summary>
    public string Pseudonym => Person?.Pseudonym ?? "you";

    /// <summary>The person; null where nobody was chosen or who was is no longer of the clinic.</summary>
    public Person? Person => guest.IsGuest ? guest.Person : account.IsDepartment ? account.Person : People.FirstOrDefault(person => person.Id == chosen);

    /// <summary>The people that can be chosen.</summary>
    public IReadOnlyList<Person> People => guest.IsGuest ? [] : [.. clinic.Current.Settings.People.Where(person => person.IsActive).OrderBy(person => person.Pseudonym, StringComparer.CurrentCultureIgnoreCase)];

    /// <summary>Whether the choice that the browser keeps has been read.</summary>
    public bool IsLoaded { get; private set; }

    /// <summary>Pseudonym of a person of the clinic, of one who left too.</summary>
    /// <param name="id">The person; null: not known.</param>
    /// <returns>Null where no such person is known.</returns>
    public string? NameOf(Guid? id) => guest.IsGuest ? null : id is { } known ? clinic.Current.Settings.People.FirstOrDefault(person => person.Id == known)?.Pseudonym : null;

    /// <summary>Reads the choice that the browser keeps, once, and follows what other windows of it choose; when this returns it is known.</summary>
    public Task LoadAsync() => loading ??= LoadOnceAsync();

    private async Task LoadOnceAsync()
    {
        await guest.LoadAsync();
        await account.StandsAsync();
        if (guest.IsGuest || account.IsDepartment)
        {
            // Who is signed in reads here, and nobody else can be chosen.
            clinic.Changed += OnClinicChanged;
            IsLoaded = true;
            Changed?.Invoke();
            return;
        }

        self = DotNetObjectReference.Create(this);
        clinic.Changed += OnClinicChanged;
        IJSObjectReference arrived = await js.InvokeAsync<IJSObjectReference>("import", "./reader.js");
        if (isLeft)
        {
            await arrived.DisposeAsync();
            return;
        }

        module = arrived;
        watching = await module.InvokeAsync<IJSObjectReference>("start", self);
        Take(await module.InvokeAsync<string?>("read"));
        IsLoaded = true;
        Changed?.Invoke();
    }

    /// <summary>Chooses who reads here.</summary>
    /// <param name="id">The person; null: nobody, a single reader.</param>
    public async Task ChooseAsync(Guid? id)
    {
        if (guest.IsGuest || account.IsDepartment)
        {
            return;
        }

        chosen = id;
        if (module is not null)
        {
            await module.InvokeVoidAsync("keep", id?.ToString());
        }

        Changed?.Invoke();
    }

    /// <summary>Another window of this browser chose.</summary>
    /// <param name="id">Identifier of the person, or null.</param>
    [JSInvokable]
    public void Follow(string? id)
    {
        Take(id);
        Changed?.Invoke();
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        isLeft = true;
        clinic.Changed -= OnClinicChanged;
        try
        {
            if (watching is not null)
            {
                await watching.InvokeVoidAsync("stop");
                await watching.DisposeAsync();
            }

            if (module is not null)
            {
                await module.DisposeAsync();
            }
        }
        catch (JSDisconnectedException)
        {
            // The window is gone, and with it what was to be stopped.
        }

        self?.Dispose();
    }

    private void OnClinicChanged() => Changed?.Invoke();

    private void Take(string? id) => chosen = Guid.TryParse(id, out Guid person) ? person : null;
}
