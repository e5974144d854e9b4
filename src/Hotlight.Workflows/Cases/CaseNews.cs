using Hotlight.Core;

namespace Hotlight.Workflows.Cases;

/// <summary>What happened to a case.</summary>
public enum CaseEvent
{
    /// <summary>It was brought in.</summary>
    Added,

    /// <summary>Something of it changed.</summary>
    Changed,

    /// <summary>It was deleted and can be put back.</summary>
    Deleted,

    /// <summary>It was put back.</summary>
    PutBack,
}

/// <summary>What of the store changed beside the cases.</summary>
public enum StoreTopic
{
    /// <summary>A reading of a case began or ended, a call for blind reading was made or ended, or a remark changed; about the case.</summary>
    Readings,

    /// <summary>A sign-off was made or taken back; about the learner.</summary>
    SignOffs,

    /// <summary>The settings of the clinic; about nothing.</summary>
    Settings,

    /// <summary>The queue of cases to be measured; about nothing.</summary>
    Queue,
}

/// <summary>Tells open pages of this process that something of the store changed, once the change is kept: here, or by another server on the same database.</summary>
/// <remarks>A listener is called on the writer's thread and must only take note; one that throws does not hold up the others or the writer.</remarks>
public sealed class CaseNews
{
    /// <summary>A case changed: which, what happened, and its version now; 0 where the version is not told.</summary>
    public event Action<Guid, CaseEvent, int>? Happened;

    /// <summary>Something beside the cases changed, and what it is about. Of readings, sign-offs and settings only what another server changed: whoever changes them here tells itself. Of the queue also what changed here.</summary>
    public event Action<StoreTopic, Guid>? Beside;

    /// <summary>Tells all listeners that a case changed.</summary>
    /// <param name="id">The case.</param>
    /// <param name="what">What happened.</param>
    /// <param name="version">Its version now; 0 where it is not known.</param>
    public void Tell(Guid id, CaseEvent what, int version = 0) => Listeners.Tell(Happened, listener => listener(id, what, version));

    /// <summary>Tells all listeners that something beside the cases changed.</summary>
    /// <param name="topic">What changed.</param>
    /// <param name="about">What it is about; <see cref="Guid.Empty"/>: nothing.</param>
    public void TellBeside(StoreTopic topic, Guid about = default) => Listeners.Tell(Beside, listener => listener(topic, about));
}
