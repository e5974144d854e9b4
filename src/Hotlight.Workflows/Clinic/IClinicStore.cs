namespace Hotlight.Workflows.Clinic;

/// <summary>Where the settings of the clinic are kept, every version of them. A call that returned has been written to disk.</summary>
public interface IClinicStore
{
    /// <summary>The newest version; null before the first change.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<ClinicVersion?> NewestAsync(CancellationToken cancellation = default);

    /// <summary>A version; null where there is none.</summary>
    /// <param name="number">Its number.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<ClinicVersion?> FindAsync(int number, CancellationToken cancellation = default);

    /// <summary>The last versions without their settings, the newest first.</summary>
    /// <param name="take">How many to give at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<ClinicChange>> HistoryAsync(int take, CancellationToken cancellation = default);

    /// <summary>Keeps settings as the next version.</summary>
    /// <param name="startedFrom">Number of the version they were changed from, 0 for none.</param>
    /// <param name="settingsJson">The settings.</param>
    /// <param name="people">The people in them, so that the worklist can be ordered by pseudonym.</param>
    /// <param name="label">What changed, for the reader.</param>
    /// <param name="changedBy">Who changed them; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="ClinicChangedException">Another version came meanwhile; nothing was kept.</exception>
    Task<ClinicVersion> KeepAsync(int startedFrom, string settingsJson, IReadOnlyList<Person> people, string label, Guid? changedBy, CancellationToken cancellation = default);
}

/// <summary>A change of the clinic's settings.</summary>
/// <param name="Number">Number of the version, from 1.</param>
/// <param name="Label">What changed, for the reader.</param>
/// <param name="Changed">When.</param>
/// <param name="ChangedBy">Who; null: not known.</param>
public sealed record ClinicChange(int Number, string Label, DateTimeOffset Changed, Guid? ChangedBy);

/// <summary>A version of the clinic's settings.</summary>
/// <param name="Change">Which change made it.</param>
/// <param name="SettingsJson">The settings, as JSON.</param>
public sealed record ClinicVersion(ClinicChange Change, string SettingsJson);

/// <summary>The settings were changed in another window since this one read them; nothing was overwritten. The message is one sentence for the reader.</summary>
public sealed class ClinicChangedException : Exception
{
    /// <summary>Creates the error.</summary>
    public ClinicChangedException()
        : base("The settings were changed in another window; nothing was overwritten, and the newer state is shown now.")
    {
    }
}
