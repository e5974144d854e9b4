namespace Hotlight.Audit;

/// <summary>Where the entries lie: nothing is ever changed, and only the oldest are removed, by policy.</summary>
public interface IAuditStore
{
    /// <summary>Adds events behind the newest entry, all or none, one writer at a time.</summary>
    /// <param name="key">The key of the seals, 32 bytes.</param>
    /// <param name="told">What was done, in order.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>The newest entry.</returns>
    Task<AuditEntry> AppendAsync(ReadOnlyMemory<byte> key, IReadOnlyList<(AuditEvent Event, AuditActor By, DateTimeOffset At)> told, CancellationToken cancellation = default);

    /// <summary>Reads entries in order of their numbers, as they are at one moment.</summary>
    /// <param name="query">Which.</param>
    /// <param name="cancellation">Stops it.</param>
    IAsyncEnumerable<AuditEntry> ReadAsync(AuditQuery query, CancellationToken cancellation = default);

    /// <summary>Removes all entries before a time and adds one that says so, in one transaction; where there are none nothing is added.</summary>
    /// <param name="key">The key of the seals, 32 bytes.</param>
    /// <param name="before">Entries from then on stay; the newest one always does.</param>
    /// <param name="now">The time.</param>
    /// <param name="cancellation">Stops before anything is removed.</param>
    /// <returns>How many were removed, and the entry that says so.</returns>
    Task<(long Removed, AuditEntry? Entry)> RetainAsync(ReadOnlyMemory<byte> key, DateTimeOffset before, DateTimeOffset now, CancellationToken cancellation = default);
}

/// <summary>Which entries of a trail.</summary>
public sealed record AuditQuery
{
    /// <summary>Only the entry of this number; null: any.</summary>
    public long? Number { get; init; }

    /// <summary>Only entries of a lower number; null: all.</summary>
    public long? Below { get; init; }

    /// <summary>Not before; null: from the oldest.</summary>
    public DateTimeOffset? From { get; init; }

    /// <summary>Before this time; null: to the newest.</summary>
    public DateTimeOffset? Before { get; init; }

    /// <summary>Only about this; null: about anything.</summary>
    public AuditSubject? Subject { get; init; }

    /// <summary>Only about this one; null: any.</summary>
    public string? SubjectId { get; init; }

    /// <summary>Only by this name; null: anybody.</summary>
    public string? By { get; init; }

    /// <summary>Only these acts; null: all.</summary>
    public IReadOnlyList<AuditAct>? Acts { get; init; }

    /// <summary>Only the newest so many of what is asked for, still in order; null: all.</summary>
    public int? Newest { get; init; }
}
