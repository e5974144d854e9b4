using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>A round before it is published.</summary>
public sealed record RoundDraft
{
    /// <summary>Most cases.</summary>
    public const int MostCases = 20;

    /// <summary>Most readers.</summary>
    public const int MostReaders = 40;

    /// <summary>Longest words, in characters.</summary>
    public const int WordsMaxLength = 2000;

    /// <summary>Its title.</summary>
    public string Title { get; init; } = "";

    /// <summary>What the teacher says to the readers.</summary>
    public string Words { get; init; } = "";

    /// <summary>The cases in their order.</summary>
    public IReadOnlyList<Guid> CaseIds { get; init; } = [];

    /// <summary>When reading ends.</summary>
    public DateTimeOffset ReadUntil { get; init; }

    /// <summary>When the links end.</summary>
    public DateTimeOffset OpenUntil { get; init; }

    /// <summary>How readers are called.</summary>
    public RoundNaming Naming { get; init; }

    /// <summary>The people who are invited, where they are called by the clinic's names.</summary>
    public IReadOnlyList<Person> People { get; init; } = [];

    /// <summary>How many are invited, where the round gives pseudonyms.</summary>
    public int Places { get; init; } = 4;

    /// <summary>Whether one link lets all in, each to the next free place; only with pseudonyms.</summary>
    public bool HasGroupLink { get; init; }

    /// <summary>Places in the pixels that the teacher looked at: they tell nobody who the patient is.</summary>
    public IReadOnlyDictionary<Guid, IReadOnlyList<PixelBox>> Kept { get; init; } = new Dictionary<Guid, IReadOnlyList<PixelBox>>();

    /// <summary>Cases whose whole picture the teacher looked over.</summary>
    public IReadOnlyList<Guid> LookedOver { get; init; } = [];
}

/// <summary>Something identifying stands in what a round would show.</summary>
/// <param name="CaseId">The case; null: the round's own words.</param>
/// <param name="CaseTitle">What the case is called here; empty without one.</param>
/// <param name="Finding">What and where.</param>
public sealed record RoundFinding(Guid? CaseId, string CaseTitle, PublicationFinding Finding)
{
    /// <summary>Whether it stands in the pixels of a case, where it can be covered.</summary>
    public bool IsInPixels => CaseId is not null && (Finding.Box is not null || Finding.Kind == IdentityKind.DrawnText);

    /// <summary>Whether the teacher may look and say that it tells nobody: text in the pixels that is no value known of the patient.</summary>
    public bool CanBeKept => CaseId is not null && Finding.Kind == IdentityKind.DrawnText;
}

/// <summary>A link that was just made. Its secret is kept nowhere and cannot be shown again.</summary>
/// <param name="ReaderId">The reader it lets in; null: the group.</param>
/// <param name="Name">What that reader is called; "the group".</param>
/// <param name="Secret">The secret.</param>
public sealed record RoundInvitation(Guid? ReaderId, string Name, string Secret);

/// <summary>A round that was just published, with the links to it.</summary>
/// <param name="Round">The round.</param>
/// <param name="Invitations">Its links, shown this once.</param>
public sealed record PublishedRound(Round Round, IReadOnlyList<RoundInvitation> Invitations);

/// <summary>What a guest's session stands for.</summary>
/// <param name="RoundId">The round.</param>
/// <param name="ReaderId">The reader.</param>
/// <param name="Session">The number of the reader's session.</param>
public sealed record RoundPass(Guid RoundId, Guid ReaderId, int Session);
