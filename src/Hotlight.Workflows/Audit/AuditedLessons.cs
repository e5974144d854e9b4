using Hotlight.Audit;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Workflows.Audit;

/// <summary>Tells the trail of every change of a lesson before it is made.</summary>
/// <param name="inner">Where the lessons lie.</param>
/// <param name="trail">The trail.</param>
public sealed class AuditedLessons(ILessonStore inner, IAuditTrail trail) : ILessonStore
{
    /// <inheritdoc/>
    public Task<Lesson> AddAsync(Lesson lesson, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        return trail.AroundAsync(Event(AuditAct.Made, lesson), () => inner.AddAsync(lesson, cancellation));
    }

    /// <inheritdoc/>
    public Task<Lesson?> FindAsync(Guid id, CancellationToken cancellation = default) => inner.FindAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<Lesson?> FindAsync(LessonKind kind, string key, CancellationToken cancellation = default) => inner.FindAsync(kind, key, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<Lesson>> ListAsync(LessonQuery query, CancellationToken cancellation = default) => inner.ListAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<Lesson> KeepAsync(Lesson lesson, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        return trail.AroundAsync(Event(AuditAct.Changed, lesson), () => inner.KeepAsync(lesson, cancellation));
    }

    /// <inheritdoc/>
    public Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
        => trail.AroundAsync(new AuditEvent(AuditAct.Erased, AuditSubject.Lesson, id.ToString()), () => inner.RemoveAsync(id, cancellation));

    private static AuditEvent Event(AuditAct act, Lesson lesson) => new(act, AuditSubject.Lesson, lesson.Id.ToString(), lesson.Kind.ToString());
}
