namespace Hotlight.Audit;

/// <summary>Something that was done, as whoever noticed it tells it. No member holds a patient's data: subjects are named by identifiers of the bench.</summary>
public sealed record AuditEvent
{
    /// <summary>Most letters of <see cref="SubjectId"/>.</summary>
    public const int SubjectIdMaxLength = 100;

    /// <summary>Most letters of <see cref="Detail"/>.</summary>
    public const int DetailMaxLength = 200;

    /// <summary>Creates the event.</summary>
    /// <param name="act">What was done.</param>
    /// <param name="subject">What it is about.</param>
    /// <param name="subjectId">Which: an identifier of the bench, at most 100 letters, without control characters; empty where there is only one.</param>
    /// <param name="detail">What more there is to say, at most 200 letters, without control characters and without anything typed by a person or read from a file.</param>
    public AuditEvent(AuditAct act, AuditSubject subject, string subjectId = "", string detail = "")
    {
        Act = act;
        Subject = subject;
        SubjectId = AuditText.Of(subjectId, SubjectIdMaxLength);
        Detail = AuditText.Of(detail, DetailMaxLength);
    }

    /// <summary>What was done.</summary>
    public AuditAct Act { get; }

    /// <summary>What it is about.</summary>
    public AuditSubject Subject { get; }

    /// <summary>Which one; empty where there is only one.</summary>
    public string SubjectId { get; }

    /// <summary>What more there is to say; empty: nothing.</summary>
    public string Detail { get; }

    /// <summary>Whether it was tried and did not come about.</summary>
    public bool IsFailure { get; init; }

    /// <summary>Who did it; null: who <see cref="AuditActor.Current"/> names.</summary>
    public AuditActor? By { get; init; }
}

/// <summary>Who does what is done now, as the trail names it. Rooms above add what the actor may do; who acts is said in one place all the same.</summary>
/// <param name="Name">A pseudonym, "one reader" where the bench has no accounts and nobody was chosen, or "the bench".</param>
/// <param name="Id">The person of the clinic or the guest; null: not known.</param>
/// <param name="Role">The role of the account, in small letters; empty: no accounts.</param>
/// <param name="Address">The address of the network it came from; empty: this program.</param>
public record AuditActor(string Name, Guid? Id = null, string Role = "", string Address = "")
{
    /// <summary>Most letters of <see cref="Name"/>, <see cref="Role"/> and <see cref="Address"/>.</summary>
    public const int MaxLength = 100;

    /// <summary>The bench itself, such as a worker of the measuring queue.</summary>
    public static readonly AuditActor Bench = new("the bench");

    private static readonly AsyncLocal<AuditActor?> Acting = new();

    /// <summary>Who acts in this flow of calls; <see cref="Bench"/> where nobody was named.</summary>
    public static AuditActor Current => Acting.Value ?? Bench;

    /// <summary>Names who acts in this flow of calls from now on. To be called from a method that is not async, as a value set in an async one ends with it.</summary>
    /// <param name="actor">Who; null: the bench itself.</param>
    public static void Take(AuditActor? actor) => Acting.Value = actor;
}

/// <summary>An event in the trail.</summary>
public sealed record AuditEntry
{
    /// <summary>Its place in the trail: 1 is the first there ever was, and none is left out.</summary>
    public required long Number { get; init; }

    /// <summary>When, to the millisecond.</summary>
    public required DateTimeOffset At { get; init; }

    /// <summary>Who.</summary>
    public required AuditActor By { get; init; }

    /// <summary>What was done.</summary>
    public required AuditAct Act { get; init; }

    /// <summary>What it is about.</summary>
    public required AuditSubject Subject { get; init; }

    /// <summary>Which one.</summary>
    public required string SubjectId { get; init; }

    /// <summary>What more there is to say.</summary>
    public required string Detail { get; init; }

    /// <summary>Whether it did not come about.</summary>
    public required bool IsFailure { get; init; }

    /// <summary>The seal of the entry before: 64 hexadecimal digits; of the first one zeros.</summary>
    public required string Previous { get; init; }

    /// <summary>The seal of this entry: 64 hexadecimal digits, see <see cref="AuditSeal"/>.</summary>
    public required string Seal { get; init; }
}

/// <summary>Where acts are told.</summary>
public interface IAuditTrail
{
    /// <summary>Keeps an event; when this returns it is kept.</summary>
    /// <param name="told">The event.</param>
    /// <param name="cancellation">Stops the waiting; the event is kept all the same.</param>
    /// <exception cref="AuditRefusedException">It cannot be kept.</exception>
    Task TellAsync(AuditEvent told, CancellationToken cancellation = default);
}

/// <summary>The trail cannot be written or read. The message is one sentence.</summary>
public sealed class AuditRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence.</param>
    /// <param name="inner">The cause.</param>
    public AuditRefusedException(string reason, Exception? inner = null)
        : base(reason, inner)
    {
    }
}

/// <summary>Texts as the trail keeps them.</summary>
internal static class AuditText
{
    /// <summary>A text without control characters, cut to a length.</summary>
    /// <param name="text">The text.</param>
    /// <param name="most">Most letters.</param>
    public static string Of(string text, int most)
    {
        ArgumentNullException.ThrowIfNull(text);
        string clean = text.Any(char.IsControl) ? string.Concat(text.Select(letter => char.IsControl(letter) ? ' ' : letter)) : text;
        if (clean.Length <= most)
        {
            return clean;
        }

        // A letter of two halves stays whole.
        return clean[..(char.IsHighSurrogate(clean[most - 1]) ? most - 1 : most)];
    }
}
