namespace Hotlight.Web.Rounds;

/// <summary>What of an endpoint or a page is open to a guest of a round.</summary>
public enum GuestScope
{
    /// <summary>To everybody, without a session too: nothing of a case or a round is in it.</summary>
    Anyone,

    /// <summary>To every guest whose session stands, such as the page's live connection, which looks at each page itself.</summary>
    Guest,

    /// <summary>The guest's own round.</summary>
    Round,

    /// <summary>The guest's own round, once its answers are shown.</summary>
    ShownRound,

    /// <summary>The guest's own reading in the round.</summary>
    OwnReading,

    /// <summary>Pixels of a case of the round, also asked for by the guest's own reading.</summary>
    Pixels,
}

/// <summary>Opens an endpoint or a page to the guests of rounds. What does not bear it is not there for them.</summary>
/// <param name="scope">How far.</param>
[AttributeUsage(AttributeTargets.Class)]
public sealed class GuestMayAttribute(GuestScope scope) : Attribute
{
    /// <summary>How far it is open.</summary>
    public GuestScope Scope { get; } = scope;
}
