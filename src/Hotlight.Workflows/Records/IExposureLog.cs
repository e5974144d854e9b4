using Hotlight.Records;

namespace Hotlight.Workflows.Records;

/// <summary>Where a department's exposures are kept and counted. A call that returned has been written to disk; counts are those of the entries at that moment.</summary>
public interface IExposureLog
{
    /// <summary>Keeps what one bringing-in found, all or nothing. An entry whose key the site has already is left as it is kept, unless the new one knows more: what was not told is filled, what was told stays.</summary>
    /// <param name="import">The bringing-in.</param>
    /// <param name="entries">The entries; keys that come twice count once, the first stays.</param>
    /// <param name="progress">Told how many are through; null: nobody is.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task<LogImport> AddAsync(LogImport import, IEnumerable<ExposureEntry> entries, IProgress<long>? progress = null, CancellationToken cancellation = default);

    /// <summary>Changes one entry: its reason, use, projection, room or another of its facts. The key, the site and the source stay.</summary>
    /// <param name="entry">The entry as it is to be.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>False: no such entry.</returns>
    Task<bool> ChangeAsync(ExposureEntry entry, CancellationToken cancellation = default);

    /// <summary>The bench's own exposures, kept or renewed by their case; see <see cref="ExposureEntry.CaseId"/>.</summary>
    /// <param name="entries">The entries, each with a case.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    Task KeepCasesAsync(IReadOnlyList<ExposureEntry> entries, CancellationToken cancellation = default);

    /// <summary>Takes the entries of a bringing-in back out.</summary>
    /// <param name="importId">The bringing-in.</param>
    /// <param name="cancellation">Stops before anything is taken out.</param>
    /// <returns>How many were taken out.</returns>
    Task<long> TakeBackAsync(Guid importId, CancellationToken cancellation = default);

    /// <summary>The bringings-in of a site, the newest first.</summary>
    /// <param name="site">The site.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<LogImport>> ImportsAsync(string site, CancellationToken cancellation = default);

    /// <summary>The sites there are entries of, with the first and the last day of each.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<LogExtent>> ExtentsAsync(CancellationToken cancellation = default);

    /// <summary>Names a dimension takes among a site's entries, in order; for choosing. Null among them: some entries do not tell.</summary>
    /// <param name="site">The site.</param>
    /// <param name="dimension">Projection, room, receptor or performer.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<string?>> NamesAsync(string site, LogDimension dimension, CancellationToken cancellation = default);

    /// <summary>Counts by dimensions, in the order of their keys; keys without an entry are not there.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="by">None (one count of all), one or two dimensions, each once.</param>
    /// <param name="cancellation">Stops the counting.</param>
    /// <exception cref="ArgumentException">More than two dimensions, one twice, or two periods.</exception>
    Task<IReadOnlyList<LogCount>> CountAsync(LogQuery query, IReadOnlyList<LogDimension> by, CancellationToken cancellation = default);

    /// <summary>Spread of the deviation index by a dimension, in the order of the keys.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="by">The dimension; null: one spread of all.</param>
    /// <param name="cancellation">Stops the counting.</param>
    Task<IReadOnlyList<IndexSpread>> IndexAsync(LogQuery query, LogDimension? by, CancellationToken cancellation = default);

    /// <summary>Which target exposure indices were used for which projection on which receptor, and when; looks at the entries themselves, so a long time of a large store takes seconds.</summary>
    /// <param name="query">What is picked; of the uses only patients' exposures count.</param>
    /// <param name="cancellation">Stops the counting.</param>
    /// <returns>By receptor, projection and first day.</returns>
    Task<IReadOnlyList<TargetUse>> TargetsAsync(LogQuery query, CancellationToken cancellation = default);

    /// <summary>Spread of the deviation index of every month by a dimension, in the order of the keys.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="by">The dimension, no period.</param>
    /// <param name="cancellation">Stops the counting.</param>
    /// <exception cref="ArgumentException">The dimension is a period.</exception>
    Task<IReadOnlyList<IndexMonths>> IndexByMonthAsync(LogQuery query, LogDimension by, CancellationToken cancellation = default);

    /// <summary>Single entries that a query picks, the newest first.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="skip">How many to pass over, 0 or more.</param>
    /// <param name="take">How many to give at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<ExposureEntry>> ListAsync(LogQuery query, int skip, int take, CancellationToken cancellation = default);

    /// <summary>How many entries a query picks.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the counting.</param>
    Task<long> CountEntriesAsync(LogQuery query, CancellationToken cancellation = default);

    /// <summary>All entries that a query picks, the oldest first, read while they are taken: for exports.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the reading.</param>
    IAsyncEnumerable<ExposureEntry> ReadAsync(LogQuery query, CancellationToken cancellation = default);
}

/// <summary>A bringing-in of exposures.</summary>
public sealed record LogImport
{
    /// <summary>Identifies it.</summary>
    public required Guid Id { get; init; }

    /// <summary>The site its entries belong to.</summary>
    public string Site { get; init; } = string.Empty;

    /// <summary>What was brought in, for the reader: a file's or folder's name without its path.</summary>
    public required string Title { get; init; }

    /// <summary>How.</summary>
    public EntrySource Source { get; init; }

    /// <summary>When; filled by the log.</summary>
    public DateTimeOffset At { get; init; }

    /// <summary>Who brought it in; null: not known.</summary>
    public Guid? By { get; init; }

    /// <summary>Entries that were new; filled by the log.</summary>
    public long Added { get; init; }

    /// <summary>Entries that were there and now know more; filled by the log.</summary>
    public long Completed { get; init; }

    /// <summary>Entries that were there already; filled by the log.</summary>
    public long Known { get; init; }

    /// <summary>Whether it was taken back.</summary>
    public bool IsTakenBack { get; init; }
}

/// <summary>How far a site's records reach.</summary>
/// <param name="Site">The site; empty for the clinic's own.</param>
/// <param name="First">Day of the first entry.</param>
/// <param name="Last">Day of the last.</param>
/// <param name="Entries">How many entries.</param>
public sealed record LogExtent(string Site, DateOnly First, DateOnly Last, long Entries);
