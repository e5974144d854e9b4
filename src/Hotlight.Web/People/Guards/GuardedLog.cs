using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Records;

namespace Hotlight.Web.People.Guards;

/// <summary>The exposures of a department: brought in and taken back by those who keep them; what a reader says of a case's own exposure goes with judging it.</summary>
internal sealed class GuardedLog(IExposureLog inner) : IExposureLog
{
    /// <inheritdoc/>
    public Task<LogImport> AddAsync(LogImport import, IEnumerable<ExposureEntry> entries, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepExposures);
        return inner.AddAsync(import, entries, progress, cancellation);
    }

    /// <inheritdoc/>
    public Task<bool> ChangeAsync(ExposureEntry entry, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.Judge);
        return inner.ChangeAsync(entry, cancellation);
    }

    /// <inheritdoc/>
    public Task KeepCasesAsync(IReadOnlyList<ExposureEntry> entries, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.Judge);
        return inner.KeepCasesAsync(entries, cancellation);
    }

    /// <inheritdoc/>
    public Task<long> TakeBackAsync(Guid importId, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.KeepExposures);
        return inner.TakeBackAsync(importId, cancellation);
    }

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
