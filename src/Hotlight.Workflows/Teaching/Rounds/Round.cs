using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>How far a round is.</summary>
public enum RoundState
{
    /// <summary>Readers read, each without seeing another.</summary>
    Open,

    /// <summary>The answers stand side by side and are talked over.</summary>
    Shown,

    /// <summary>The consensus is recorded, with its dissent.</summary>
    Agreed,

    /// <summary>It is over: no link opens it any more.</summary>
    Closed,
}

/// <summary>How readers of a round are called.</summary>
public enum RoundNaming
{
    /// <summary>By pseudonyms that the round gives.</summary>
    Pseudonyms,

    /// <summary>By what they are called among the clinic's people.</summary>
    People,
}

/// <summary>Why the answers of a round were shown.</summary>
public enum RoundShownBy
{
    /// <summary>Everybody who was invited had finished.</summary>
    AllFinished,

    /// <summary>The teacher ended the reading.</summary>
    Teacher,
}

/// <summary>Cases that a group reads blind and then talks over. Immutable; a change gives a new record with a higher version.</summary>
public sealed record Round
{
    /// <summary>The lesson it is kept as.</summary>
    public required Lesson Lesson { get; init; }

    /// <summary>What it holds.</summary>
    public required RoundBody Body { get; init; }

    /// <summary>Identifies it.</summary>
    public Guid Id => Lesson.Id;

    /// <summary>Its title.</summary>
    public string Title => Lesson.Title;

    /// <summary>What the teacher is called; "the teacher" where nobody was chosen.</summary>
    public string TeacherName => Lesson.OwnerPseudonym.Length > 0 ? Lesson.OwnerPseudonym : "the teacher";

    /// <summary>Reads a round that is kept.</summary>
    /// <param name="lesson">The lesson.</param>
    /// <exception cref="RoundRefusedException">It is no round, or a later version of Hotlight kept it.</exception>
    public static Round Of(Lesson lesson)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        try
        {
            return lesson.Kind == LessonKind.Round && RoundBody.Read(lesson.BodyJson) is { } body ? new Round { Lesson = lesson, Body = body } : throw new RoundRefusedException("There is no such round.");
        }
        catch (JsonException)
        {
            throw new RoundRefusedException("A later version of Hotlight kept this round in a form that this one cannot read.");
        }
    }

    /// <summary>Whether answers may be shown.</summary>
    /// <param name="now">Now.</param>
    public bool IsShownAt(DateTimeOffset now) => Lesson.Ended is not null || Body.Shown is not null || now >= Body.ReadUntil;

    /// <summary>How far it is.</summary>
    /// <param name="now">Now.</param>
    public RoundState StateAt(DateTimeOffset now)
        => Lesson.Ended is not null ? RoundState.Closed
            : Body.Agreed is not null ? RoundState.Agreed
            : IsShownAt(now) ? RoundState.Shown
            : RoundState.Open;

    /// <summary>Whether a guest of it is let in.</summary>
    /// <param name="now">Now.</param>
    public bool IsOpenToGuestsAt(DateTimeOffset now) => Lesson.Ended is null && now < Body.OpenUntil;

    /// <summary>What a case of the round is called until the answers are shown: its title may tell what is to be seen.</summary>
    /// <param name="caseId">The case.</param>
    public string NumberOf(Guid caseId) => string.Create(System.Globalization.CultureInfo.InvariantCulture, $"Case {Body.CaseIds.ToList().IndexOf(caseId) + 1}");

    /// <summary>The reading of a reader and case; null: none was begun.</summary>
    /// <param name="readerId">The reader.</param>
    /// <param name="caseId">The case.</param>
    public RoundReading? ReadingOf(Guid readerId, Guid caseId) => Body.Readings.FirstOrDefault(each => each.ReaderId == readerId && each.CaseId == caseId);

    /// <summary>The lesson to keep.</summary>
    internal Lesson ToLesson() => Lesson with { BodyJson = Body.Write() };
}

/// <summary>What a round holds beside its title, teacher and times of keeping.</summary>
public sealed record RoundBody
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.round/1";

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        IgnoreReadOnlyProperties = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    /// <summary>Name and version of the form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>What the teacher says to the readers; may be empty.</summary>
    public required string Words { get; init; }

    /// <summary>The cases in their order.</summary>
    public required IReadOnlyList<Guid> CaseIds { get; init; }

    /// <summary>How readers are called.</summary>
    public required RoundNaming Naming { get; init; }

    /// <summary>When reading ends: then the answers are shown whoever has finished.</summary>
    public required DateTimeOffset ReadUntil { get; init; }

    /// <summary>When the links end.</summary>
    public required DateTimeOffset OpenUntil { get; init; }

    /// <summary>The invited, one a place.</summary>
    public required IReadOnlyList<RoundReader> Readers { get; init; }

    /// <summary>SHA-256 of the secret of the link for the group, in hexadecimal; null: none, or withdrawn.</summary>
    public string? GroupLink { get; init; }

    /// <summary>The readings that were begun.</summary>
    public IReadOnlyList<RoundReading> Readings { get; init; } = [];

    /// <summary>When and why the answers were shown; null: not yet, or because the day came.</summary>
    public RoundShown? Shown { get; init; }

    /// <summary>The discussion.</summary>
    public IReadOnlyList<RoundThread> Threads { get; init; } = [];

    /// <summary>What was agreed, every record of it: the last of a question stands.</summary>
    public IReadOnlyList<RoundConsensus> Consensus { get; init; } = [];

    /// <summary>When the teacher said that the consensus is recorded; null: not yet.</summary>
    public DateTimeOffset? Agreed { get; init; }

    /// <summary>When the consensus was made a reference; null: it is none.</summary>
    public DateTimeOffset? MadeReference { get; init; }

    /// <summary>Writes it as JSON.</summary>
    public string Write() => JsonSerializer.Serialize(this, Form);

    /// <summary>Reads it back.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="JsonException">It is not one of this version.</exception>
    public static RoundBody Read(string json)
    {
        RoundBody body = JsonSerializer.Deserialize<RoundBody>(json, Form) ?? throw new JsonException("The text holds no round.");
        return body.Schema == SchemaName ? body : throw new JsonException($"The round says '{body.Schema}'; this version reads '{SchemaName}'.");
    }
}

/// <summary>A place in a round.</summary>
/// <param name="Id">Identifies the reader; the person's own identifier where readers are called by the clinic's names.</param>
/// <param name="Name">What the reader is called in the round.</param>
public sealed record RoundReader(Guid Id, string Name)
{
    /// <summary>SHA-256 of the secret of the reader's own link, in hexadecimal; null: none, or withdrawn.</summary>
    public string? Link { get; init; }

    /// <summary>Goes up whenever whoever sits here is sent away: a session of an earlier number is over.</summary>
    public int Session { get; init; } = 1;

    /// <summary>When the place was taken by a link; null: free.</summary>
    public DateTimeOffset? Joined { get; init; }
}

/// <summary>A reading that belongs to a round.</summary>
/// <param name="ReaderId">The reader.</param>
/// <param name="CaseId">The case.</param>
/// <param name="ReadingId">The reading.</param>
public sealed record RoundReading(Guid ReaderId, Guid CaseId, Guid ReadingId);

/// <summary>That the answers of a round were shown.</summary>
/// <param name="At">When.</param>
/// <param name="By">Why.</param>
public sealed record RoundShown(DateTimeOffset At, RoundShownBy By);

/// <summary>A place on an image: a point, or a box when it has a size. In pixels; 0 is the middle of the first.</summary>
/// <param name="X">Column of the point, or of the box's left edge.</param>
/// <param name="Y">Row of the point, or of the box's upper edge.</param>
/// <param name="Width">Columns of the box; 0 for a point.</param>
/// <param name="Height">Rows of the box; 0 for a point.</param>
public sealed record RoundPlace(double X, double Y, double Width = 0, double Height = 0)
{
    /// <summary>Whether it is a box.</summary>
    public bool IsBox => Width > 0 && Height > 0;

    /// <summary>Whether all of it is a number and not negative in size.</summary>
    public bool IsSound => double.IsFinite(X) && double.IsFinite(Y) && double.IsFinite(Width) && double.IsFinite(Height) && X >= -0.5 && Y >= -0.5 && Width >= 0 && Height >= 0;
}

/// <summary>One thing that is talked over: at a place on the image, at a line, or at the case as a whole.</summary>
public sealed record RoundThread
{
    /// <summary>Identifies it.</summary>
    public required Guid Id { get; init; }

    /// <summary>The case.</summary>
    public required Guid CaseId { get; init; }

    /// <summary>Its number on the case, from 1: it stands on the image too.</summary>
    public required int Number { get; init; }

    /// <summary>The line it is about; null: no line.</summary>
    public string? LineId { get; init; }

    /// <summary>The place it is about; null: no place.</summary>
    public RoundPlace? Place { get; init; }

    /// <summary>What was said, the first first; one or more.</summary>
    public required IReadOnlyList<RoundPost> Posts { get; init; }

    /// <summary>Who said that it is settled; null: it is open.</summary>
    public string? SettledBy { get; init; }
}

/// <summary>Something said in a discussion.</summary>
/// <param name="AuthorId">Who; empty for the teacher where nobody was chosen.</param>
/// <param name="Author">What the author is called in the round.</param>
/// <param name="Text">What.</param>
/// <param name="Written">When.</param>
public sealed record RoundPost(Guid AuthorId, string Author, string Text, DateTimeOffset Written);

/// <summary>A reader by the name in the round.</summary>
/// <param name="ReaderId">Who.</param>
/// <param name="Name">What the reader is called.</param>
public sealed record RoundVoice(Guid ReaderId, string Name);

/// <summary>Who does not share what was agreed, and why.</summary>
/// <param name="ReaderId">Who.</param>
/// <param name="Name">What the reader is called.</param>
/// <param name="Why">Why; not empty.</param>
/// <param name="Written">When it was recorded.</param>
public sealed record RoundDissent(Guid ReaderId, string Name, string Why, DateTimeOffset Written);

/// <summary>What was agreed on one question. It is never changed but by a dissent that is added; a later record of the same question stands in its place, and this one stays to be read.</summary>
public sealed record RoundConsensus
{
    /// <summary>Identifies the record.</summary>
    public required Guid Id { get; init; }

    /// <summary>The case.</summary>
    public required Guid CaseId { get; init; }

    /// <summary>The line; null: the verdict.</summary>
    public string? LineId { get; init; }

    /// <summary>The question as it was asked.</summary>
    public required string Question { get; init; }

    /// <summary>Term of the agreed answer; null: no agreement was reached.</summary>
    public string? Agreed { get; init; }

    /// <summary>Who shares it.</summary>
    public required IReadOnlyList<RoundVoice> AgreedBy { get; init; }

    /// <summary>Who does not, and why.</summary>
    public IReadOnlyList<RoundDissent> Dissent { get; init; } = [];

    /// <summary>What the teacher adds; null: nothing.</summary>
    public string? Note { get; init; }

    /// <summary>Who recorded it.</summary>
    public required string RecordedBy { get; init; }

    /// <summary>When.</summary>
    public required DateTimeOffset Recorded { get; init; }
}

/// <summary>Something cannot be done with a round as it stands. The message is one sentence for the reader; nothing was changed.</summary>
public sealed class RoundRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence.</param>
    public RoundRefusedException(string reason)
        : base(reason)
    {
    }
}
