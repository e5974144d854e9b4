using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>Who looks at a round.</summary>
/// <param name="ReaderId">The reader of the round; null: none of its readers.</param>
/// <param name="IsTeacher">Whether the round is managed from here.</param>
/// <param name="Name">What whoever looks is called in the round.</param>
public sealed record RoundViewer(Guid? ReaderId, bool IsTeacher, string Name)
{
    /// <summary>Who speaks: the reader, or nobody in particular for the teacher.</summary>
    public Guid AuthorId { get; init; } = ReaderId ?? Guid.Empty;

    /// <summary>The reading of whoever looks; null: none was begun, or whoever looks does not read.</summary>
    /// <param name="round">The round.</param>
    /// <param name="caseId">The case.</param>
    internal Guid? ReadingOf(Round round, Guid caseId) => ReaderId is { } known ? round.ReadingOf(known, caseId)?.ReadingId : null;
}

/// <summary>What somebody who looks at a round is given, and nothing else: before the answers are shown a reader is given nothing of the others, not even who they are.</summary>
public sealed record RoundView
{
    /// <summary>The round.</summary>
    public required Guid Id { get; init; }

    /// <summary>Its title.</summary>
    public required string Title { get; init; }

    /// <summary>What the teacher says to the readers.</summary>
    public required string Words { get; init; }

    /// <summary>What the teacher is called.</summary>
    public required string Teacher { get; init; }

    /// <summary>How far it is.</summary>
    public required RoundState State { get; init; }

    /// <summary>When reading ends.</summary>
    public required DateTimeOffset ReadUntil { get; init; }

    /// <summary>When the links end.</summary>
    public required DateTimeOffset OpenUntil { get; init; }

    /// <summary>Who looks.</summary>
    public required RoundViewer Viewer { get; init; }

    /// <summary>The cases, with how far the reading of whoever looks is.</summary>
    public required IReadOnlyList<RoundCase> Cases { get; init; }

    /// <summary>How far everybody is: for the teacher, and for all once the answers are shown; else empty.</summary>
    public IReadOnlyList<RoundProgress> Progress { get; init; } = [];

    /// <summary>Whether a link for the group stands; only told to the teacher.</summary>
    public bool HasGroupLink { get; init; }

    /// <summary>How readers are called.</summary>
    public required RoundNaming Naming { get; init; }

    /// <summary>When and why the answers were shown; null: not yet, or because the day came.</summary>
    public RoundShown? Shown { get; init; }

    /// <summary>The finished readings; empty before the answers are shown.</summary>
    public IReadOnlyList<OwnReading> Readings { get; init; } = [];

    /// <summary>How far the readers agree; null before the answers are shown.</summary>
    public AgreementReport? Report { get; init; }

    /// <summary>The discussion; empty before the answers are shown.</summary>
    public IReadOnlyList<RoundThread> Threads { get; init; } = [];

    /// <summary>Every record of the consensus; empty before the answers are shown.</summary>
    public IReadOnlyList<RoundConsensus> Consensus { get; init; } = [];

    /// <summary>When the consensus was made a reference; null: it is none.</summary>
    public DateTimeOffset? MadeReference { get; init; }

    /// <summary>Whether the answers are shown.</summary>
    public bool IsShown => State != RoundState.Open;

    /// <summary>Whether the discussion goes on.</summary>
    public bool MayTalk => State is RoundState.Shown or RoundState.Agreed;

    /// <summary>The record of a question that stands; null: it was not talked over.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="lineId">The line; null: the verdict.</param>
    public RoundConsensus? StandsOn(Guid caseId, string? lineId) => Consensus.LastOrDefault(each => each.CaseId == caseId && each.LineId == lineId);

    /// <summary>Who answered what on a case: the readers in the report's order, with the term of the answer; null: none.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="question">The question.</param>
    public IReadOnlyList<RoundAnswer> AnswersTo(Guid caseId, QuestionAgreement question)
    {
        ArgumentNullException.ThrowIfNull(question);
        int place = question.CaseIds.ToList().IndexOf(caseId);
        return Report is null || place < 0 ? [] : [.. Report.Readers.Select((reader, column) => new RoundAnswer(reader, question.Table.Cases[place].Categories[column] is { } category ? question.Table.Scale.Names[category] : null))];
    }

    /// <summary>The questions of a case on which readers differ, the verdict first.</summary>
    /// <param name="caseId">The case.</param>
    public IReadOnlyList<QuestionAgreement> DividedOn(Guid caseId)
        => Report is null ? [] : [.. Report.Lines.Prepend(Report.Verdict).Where(question => question.Divided.Any(each => each.CaseId == caseId && each.Case.PairwiseDisagreement > 0))];
}

/// <summary>What a reader answered.</summary>
/// <param name="Reader">Who.</param>
/// <param name="Term">Term of the answer; null: none was given.</param>
public sealed record RoundAnswer(CaseReader Reader, string? Term);

/// <summary>A case of a round.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Title">What it is called; for a reader its number until the answers are shown, since a title may tell what is to be seen.</param>
/// <param name="ProjectionId">Its projection.</param>
/// <param name="OwnReadingId">The reading of whoever looks; null: not begun, or whoever looks does not read.</param>
/// <param name="IsOwnFinished">Whether that reading is finished.</param>
/// <param name="IsGone">Whether the case was deleted meanwhile.</param>
public sealed record RoundCase(Guid CaseId, string Title, string ProjectionId, Guid? OwnReadingId, bool IsOwnFinished, bool IsGone);

/// <summary>How far a reader is, without any answer.</summary>
/// <param name="ReaderId">The reader.</param>
/// <param name="Name">What the reader is called.</param>
/// <param name="Joined">When the place was taken; null: free.</param>
/// <param name="Begun">How many cases the reader has begun.</param>
/// <param name="Finished">How many of them are finished.</param>
/// <param name="HasLink">Whether a link of the reader's own stands.</param>
public sealed record RoundProgress(Guid ReaderId, string Name, DateTimeOffset? Joined, int Begun, int Finished, bool HasLink);

/// <summary>A round on the list of rounds.</summary>
/// <param name="Id">The round.</param>
/// <param name="Title">Its title.</param>
/// <param name="Teacher">What the teacher is called.</param>
/// <param name="State">How far it is.</param>
/// <param name="Cases">How many cases it has.</param>
/// <param name="Readers">How many are invited.</param>
/// <param name="Published">When it was published.</param>
/// <param name="ReadUntil">When reading ends.</param>
public sealed record RoundSummary(Guid Id, string Title, string Teacher, RoundState State, int Cases, int Readers, DateTimeOffset Published, DateTimeOffset ReadUntil);
