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

/// <summary>Tells open pages of this process that a case changed, once the change is kept.</summary>
/// <remarks>A listener is called on the writer's thread and must only take note; one that throws does not hold up the others or the writer.</remarks>
public sealed class CaseNews
{
    /// <summary>A case changed: which, what happened, and its version now; 0 where the version is not told.</summary>
    public event Action<Guid, CaseEvent, int>? Happened;

    /// <summary>Tells all listeners.</summary>
    /// <param name="id">The case.</param>
    /// <param name="what">What happened.</param>
    /// <param name="version">Its version now; 0 where it is not known.</param>
    public void Tell(Guid id, CaseEvent what, int version = 0) => Listeners.Tell(Happened, listener => listener(id, what, version));
}
