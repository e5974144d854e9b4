namespace Hotlight.Workflows.Teaching;

/// <summary>Where lessons are kept. A call that returned has been written to disk.</summary>
public interface ILessonStore
{
    /// <summary>Keeps a new lesson.</summary>
    /// <param name="lesson">The lesson, with a fresh identifier and version 1.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">Another of its kind has its key, or its case is gone.</exception>
    Task<Lesson> AddAsync(Lesson lesson, CancellationToken cancellation = default);

    /// <summary>A lesson, or null when it is not kept.</summary>
    /// <param name="id">The lesson.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Lesson?> FindAsync(Guid id, CancellationToken cancellation = default);

    /// <summary>The lesson of a kind that has a key, or null.</summary>
    /// <param name="kind">Its kind.</param>
    /// <param name="key">Its key.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<Lesson?> FindAsync(LessonKind kind, string key, CancellationToken cancellation = default);

    /// <summary>The lessons that a query picks, the last changed first.</summary>
    /// <param name="query">What is picked.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<Lesson>> ListAsync(LessonQuery query, CancellationToken cancellation = default);

    /// <summary>Changes title, key, body and end of a lesson; the rest stays as it was kept.</summary>
    /// <param name="lesson">The lesson as it shall be; its version is the one that the change began from.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>The lesson as it is kept, one version on.</returns>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    /// <exception cref="LessonRefusedException">It is gone, or another of its kind has its key.</exception>
    Task<Lesson> KeepAsync(Lesson lesson, CancellationToken cancellation = default);

    /// <summary>Removes a lesson.</summary>
    /// <param name="id">The lesson.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when it was not kept.</returns>
    Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default);
}

/// <summary>Which lessons are picked. Everything left empty picks all.</summary>
public sealed record LessonQuery
{
    /// <summary>The kind; null: any.</summary>
    public LessonKind? Kind { get; init; }

    /// <summary>The case; null: any.</summary>
    public Guid? CaseId { get; init; }

    /// <summary>Who made it; null: anybody.</summary>
    public Guid? OwnerId { get; init; }

    /// <summary>Only closed ones (true) or only open ones (false); null: both.</summary>
    public bool? IsEnded { get; init; }
}

/// <summary>Something cannot be done with a lesson as it stands. The message is one sentence for the reader; nothing was changed.</summary>
public sealed class LessonRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence for the reader.</param>
    public LessonRefusedException(string reason)
        : base(reason)
    {
    }
}

/// <summary>A lesson was changed by somebody else since it was read; nothing was changed.</summary>
public sealed class LessonChangedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="current">The lesson as it is kept now.</param>
    public LessonChangedException(Lesson current)
        : base("Somebody else changed this meanwhile; your change was not kept. Look at it as it is now, and change it again where it still needs it.")
    {
        ArgumentNullException.ThrowIfNull(current);
        Current = current;
    }

    /// <summary>The lesson as it is kept now.</summary>
    public Lesson Current { get; }
}
