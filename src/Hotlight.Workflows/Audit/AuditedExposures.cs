using Hotlight.Audit;
using Hotlight.Records;
using Hotlight.Workflows.Records;

namespace Hotlight.Workflows.Audit;

/// <summary>Tells the trail of every change of the exposure records before it is made. Entries that follow from the bench's own cases are not told of: their cases are.</summary>
/// <param name="inner">Where the entries lie.</param>
/// <param name="trail">The trail.</param>
public sealed class AuditedExposures(IExposureLog inner, IAuditTrail trail) : IExposureLog
{
    /// <inheritdoc/>
    public Task<LogImport> AddAsync(LogImport import, IEnumerable<ExposureEntry> entries, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(import);
        return trail.AroundAsync(new AuditEvent(AuditAct.BroughtIn, AuditSubject.Exposures, import.Id.ToString()), () => inner.AddAsync(import, entries, progress, cancellation));
    }

    /// <inheritdoc/>
    public Task<bool> ChangeAsync(ExposureEntry entry, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(entry);
        return trail.AroundAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Exposures, entry.Id.ToString(), "entry"), () => inner.ChangeAsync(entry, cancellation));
    }

    /// <inheritdoc/>
    public Task KeepCasesAsync(IReadOnlyList<ExposureEntry> entries, CancellationToken cancellation = default) => inner.KeepCasesAsync(entries, cancellation);

    /// <inheritdoc/>
    public Task<long> TakeBackAsync(Guid importId, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Erased, AuditSubject.Exposures, importId.ToString(), "a bringing-in taken back"), () => inner.TakeBackAsync(importId, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<LogImport>> ImportsAsync(string site, CancellationToken cancellation = default) => inner.ImportsAsync(site, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<LogExtent>> ExtentsAsync(CancellationToken cancellation = default) => inner.ExtentsAsync(cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<string?>> NamesAsync(string site, LogDimension dimension, CancellationToken cancellation = default) => inner.NamesAsync(site, dimension, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<LogCount>> CountAsync(LogQuery query, IReadOnlyList<LogDimension> by, CancellationToken cancellation = default) => inner.CountAsync(query, by, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<IndexSpread>> IndexAsync(LogQuery query, LogDimension? by, CancellationToken cancellation = default) => inner.IndexAsync(query, by, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<TargetUse>> TargetsAsync(LogQuery query, CancellationToken cancellation = default) => inner.TargetsAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<IndexMonths>> IndexByMonthAsync(LogQuery query, LogDimension by, CancellationToken cancellation = default) => inner.IndexByMonthAsync(query, by, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<ExposureEntry>> ListAsync(LogQuery query, int skip, int take, CancellationToken cancellation = default) => inner.ListAsync(query, skip, take, cancellation);

    /// <inheritdoc/>
    public Task<long> CountEntriesAsync(LogQuery query, CancellationToken cancellation = default) => inner.CountEntriesAsync(query, cancellation);

    /// <inheritdoc/>
    public IAsyncEnumerable<ExposureEntry> ReadAsync(LogQuery query, CancellationToken cancellation = default) => inner.ReadAsync(query, cancellation);
}
