using Hotlight.Audit;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Audit;

/// <summary>Tells the trail of every change of the clinic's settings before it is made.</summary>
/// <param name="inner">Where the settings lie.</param>
/// <param name="trail">The trail.</param>
public sealed class AuditedClinic(IClinicStore inner, IAuditTrail trail) : IClinicStore
{
    /// <inheritdoc/>
    public Task<ClinicVersion?> NewestAsync(CancellationToken cancellation = default) => inner.NewestAsync(cancellation);

    /// <inheritdoc/>
    public Task<ClinicVersion?> FindAsync(int number, CancellationToken cancellation = default) => inner.FindAsync(number, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<ClinicChange>> HistoryAsync(int take, CancellationToken cancellation = default) => inner.HistoryAsync(take, cancellation);

    /// <inheritdoc/>
    public Task<ClinicVersion> KeepAsync(int startedFrom, string settingsJson, IReadOnlyList<Person> people, string label, Guid? changedBy, CancellationToken cancellation = default)
        => trail.AroundAsync(
            new AuditEvent(AuditAct.Changed, AuditSubject.Clinic, (startedFrom + 1).ToString(System.Globalization.CultureInfo.InvariantCulture), "version of the settings"),
            () => inner.KeepAsync(startedFrom, settingsJson, people, label, changedBy, cancellation));
}
