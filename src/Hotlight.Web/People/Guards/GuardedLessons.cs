using Hotlight.Workflows.People;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Web.People.Guards;

/// <summary>What is made to learn from in a department: handouts, walk-throughs and collections by those who teach, rounds by those who hold them and their guests, practice by whoever practises.</summary>
internal sealed class GuardedLessons(ILessonStore inner) : ILessonStore
{
    /// <inheritdoc/>
    public Task<Lesson> AddAsync(Lesson lesson, CancellationToken cancellation = default)
    {
        Check(lesson, isNew: true);
        return inner.AddAsync(lesson, cancellation);
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
        Check(lesson, isNew: false);
        return inner.KeepAsync(lesson, cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
    {
        await CheckAsync(id, cancellation);
        return await inner.RemoveAsync(id, cancellation);
    }

    private static void Check(Lesson lesson, bool isNew)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        switch (lesson.Kind)
        {
            case LessonKind.Round when !isNew && Acting.Now is { Kind: ActorKind.Guest, RoundId: { } round } && round == lesson.Id:
                // What a guest may say in the round is the round's to decide.
                break;
            case LessonKind.Round:
                Acting.Demand(Operation.HoldRounds);
                break;
            case LessonKind.Practice when lesson.OwnerId is null || lesson.OwnerId == Acting.Now.PersonId:
                Acting.Demand(Operation.Practise);
                break;
            case LessonKind.Practice:
                Acting.Demand(Operation.SeeReadingsOfOthers);
                break;
            default:
                Acting.Demand(Operation.Teach);
                break;
        }
    }

    private async Task CheckAsync(Guid id, CancellationToken cancellation)
    {
        if (await inner.FindAsync(id, cancellation) is { } lesson)
        {
            Check(lesson, isNew: true);
        }
        else
        {
            Acting.Demand(Operation.Practise);
        }
    }
}
