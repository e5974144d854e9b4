using System.Data.Common;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Clinic;

/// <summary>What people do with the settings of the clinic: change, take back, bring in from a file. The newest settings are at hand without waiting.</summary>
public sealed class ClinicWorkflow
{
    private readonly IClinicStore store;
    private readonly Lock guard = new();
    private volatile ClinicState state = ClinicState.Initial;

    /// <summary>Creates the workflow.</summary>
    /// <param name="store">Where the settings are kept.</param>
    /// <param name="news">Tells that another server changed them: they are read again then; null: nobody does.</param>
    public ClinicWorkflow(IClinicStore store, CaseNews? news = null)
    {
        ArgumentNullException.ThrowIfNull(store);
        this.store = store;
        if (news is not null)
        {
            news.Beside += (topic, about) =>
            {
                if (topic == StoreTopic.Settings)
                {
                    _ = Task.Run(FollowAsync);
                }
            };
        }
    }

    /// <summary>Raised after the settings changed, here or by another server, on the thread that changed or read them.</summary>
    public event Action? Changed;

    /// <summary>The newest settings known here.</summary>
    public ClinicState Current => state;

    /// <summary>Reads the newest settings from the store.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FormatException">A later version of Hotlight kept them, and this one cannot read them.</exception>
    public async Task<ClinicState> LoadAsync(CancellationToken cancellation = default)
    {
        ClinicVersion? newest = await store.NewestAsync(cancellation);
        return Follow(newest is null ? ClinicState.Initial : ToState(newest));
    }

    /// <summary>Keeps changed settings.</summary>
    /// <param name="startedFrom">The state they were changed from.</param>
    /// <param name="settings">The settings as they should be.</param>
    /// <param name="label">What changed, for the reader, such as "target of wrist-pa: 400".</param>
    /// <param name="changedBy">Who changed them; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="FormatException">They cannot be; the message is one sentence.</exception>
    /// <exception cref="ClinicChangedException">Another version came meanwhile; nothing was kept.</exception>
    public async Task<ClinicState> ChangeAsync(ClinicState startedFrom, ClinicSettings settings, string label, Guid? changedBy, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(startedFrom);
        ArgumentNullException.ThrowIfNull(settings);
        ArgumentException.ThrowIfNullOrWhiteSpace(label);
        if (settings.Faults() is [{ } fault, ..])
        {
            throw new FormatException(fault);
        }

        try
        {
            string cut = label.Length <= 300 ? label : label[..299] + "…";
            return Follow(ToState(await store.KeepAsync(startedFrom.Number, ClinicSettingsJson.Write(settings, indented: false), settings.People, cut, changedBy, cancellation)));
        }
        catch (ClinicChangedException)
        {
            await LoadAsync(cancellation);
            throw;
        }
    }

    /// <summary>Takes the last change back, as a change of its own: taken back twice it is made again.</summary>
    /// <param name="startedFrom">The state the reader sees.</param>
    /// <param name="changedBy">Who takes it back; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="ClinicChangedException">Another version came meanwhile; nothing was kept.</exception>
    public async Task<ClinicState> TakeBackAsync(ClinicState startedFrom, Guid? changedBy, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(startedFrom);
        if (startedFrom.Last is not { } last)
        {
            return startedFrom;
        }

        ClinicVersion? before = last.Number > 1 ? await store.FindAsync(last.Number - 1, cancellation) : null;
        ClinicSettings settings = before is null ? ClinicSettings.None : ToState(before).Settings;
        return await ChangeAsync(startedFrom, settings, $"taken back: {last.Label}", changedBy, cancellation);
    }

    /// <summary>The last changes, the newest first.</summary>
    /// <param name="take">How many at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlyList<ClinicChange>> HistoryAsync(int take, CancellationToken cancellation = default) => store.HistoryAsync(take, cancellation);

    // Settings that were read before newer ones came, and arrive after them, are not followed.
    private ClinicState Follow(ClinicState next)
    {
        lock (guard)
        {
            if (next.Number <= state.Number)
            {
                return state;
            }

            state = next;
        }

        Listeners.Tell(Changed, listener => listener());
        return next;
    }

    private async Task FollowAsync()
    {
        try
        {
            await LoadAsync();
        }
        catch (Exception error) when (error is DbException or FormatException or InvalidOperationException)
        {
            // The settings known here go on to hold: the store is away, or a later version of Hotlight wrote what this one cannot read.
        }
    }

    private static ClinicState ToState(ClinicVersion version) => new(version.Change, ClinicSettingsJson.Read(version.SettingsJson, "the kept settings"));
}

/// <summary>The clinic's settings as they stood after a change.</summary>
public sealed class ClinicState
{
    private readonly Lazy<string> resultKey;
    private readonly Lazy<JudgementRules> rules;

    /// <summary>Creates the state.</summary>
    /// <param name="last">The change that made it; null before the first.</param>
    /// <param name="settings">The settings.</param>
    public ClinicState(ClinicChange? last, ClinicSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        Last = last;
        Settings = settings;
        resultKey = new Lazy<string>(() => settings.ResultKey);
        rules = new Lazy<JudgementRules>(() => settings.Rules);
    }

    /// <summary>Before the first change.</summary>
    public static ClinicState Initial { get; } = new(null, ClinicSettings.None);

    /// <summary>The change that made it; null before the first.</summary>
    public ClinicChange? Last { get; }

    /// <summary>The settings.</summary>
    public ClinicSettings Settings { get; }

    /// <summary>Number of the version, 0 before the first change.</summary>
    public int Number => Last?.Number ?? 0;

    /// <summary>The settings' <see cref="ClinicSettings.ResultKey"/>, worked out once.</summary>
    public string ResultKey => resultKey.Value;

    /// <summary>The limits a critique is made with, worked out once.</summary>
    public JudgementRules Rules => rules.Value;
}
