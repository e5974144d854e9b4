namespace Hotlight.Workflows.Teaching;

/// <summary>What a teacher or a learner made to learn from, as it is kept. What the body holds is known to the workflow of its kind alone.</summary>
public sealed record Lesson
{
    /// <summary>Longest title, in characters.</summary>
    public const int TitleMaxLength = 200;

    /// <summary>Longest key, in characters.</summary>
    public const int KeyMaxLength = 128;

    /// <summary>Identifies it.</summary>
    public required Guid Id { get; init; }

    /// <summary>What it is.</summary>
    public required LessonKind Kind { get; init; }

    /// <summary>The case it is made of; null: of none, or of several that the body names. It goes when the case goes.</summary>
    public Guid? CaseId { get; init; }

    /// <summary>Who made it: a person of the clinic's settings; null: nobody in particular.</summary>
    public Guid? OwnerId { get; init; }

    /// <summary>The owner's pseudonym then; empty without an owner.</summary>
    public string OwnerPseudonym { get; init; } = "";

    /// <summary>Whether it is made for the demo.</summary>
    public bool IsInvented { get; init; }

    /// <summary>Its title.</summary>
    public required string Title { get; init; }

    /// <summary>What it is found by beside its identifier, such as the hash of an invitation; unique among its kind; null: nothing.</summary>
    public string? Key { get; init; }

    /// <summary>What it holds, as JSON.</summary>
    public required string BodyJson { get; init; }

    /// <summary>Goes up by one with every change, from 1.</summary>
    public int Version { get; init; } = 1;

    /// <summary>When it was begun.</summary>
    public required DateTimeOffset Begun { get; init; }

    /// <summary>When it last changed.</summary>
    public required DateTimeOffset Changed { get; init; }

    /// <summary>When it was closed, such as a round or a practice session that is over; null: it is open.</summary>
    public DateTimeOffset? Ended { get; init; }
}

/// <summary>What a lesson is. The numbers are kept in the store: none changes its meaning.</summary>
public enum LessonKind
{
    /// <summary>The edits of a page that is given to learners.</summary>
    Handout = 1,

    /// <summary>A critique told step by step.</summary>
    WalkThrough = 2,

    /// <summary>Cases that a group reads blind and then discusses.</summary>
    Round = 3,

    /// <summary>One learner's exercises.</summary>
    Practice = 4,

    /// <summary>Cases in an order, to be passed on.</summary>
    Collection = 5,
}
