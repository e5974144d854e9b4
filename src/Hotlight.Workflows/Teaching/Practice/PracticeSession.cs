using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Judgement;
using Hotlight.Teaching.Practice;

namespace Hotlight.Workflows.Teaching.Practice;

/// <summary>Where the exercises of a session come from.</summary>
public enum PracticeSource
{
    /// <summary>The phantom lab; invented, the truth is known.</summary>
    Lab = 0,

    /// <summary>The clinic's de-identified cases with a reference.</summary>
    Cases = 1,

    /// <summary>A phantom that the learner exposes.</summary>
    Expose = 2,
}

/// <summary>What a session is to be made of.</summary>
public sealed record PracticeOrder
{
    /// <summary>Most exercises of a session.</summary>
    public const int MostExercises = 50;

    /// <summary>Where they come from.</summary>
    public PracticeSource Source { get; init; }

    /// <summary>How plain planted faults are.</summary>
    public Difficulty Difficulty { get; init; }

    /// <summary>Number of exercises, 1 to <see cref="MostExercises"/>.</summary>
    public int Count { get; init; } = 5;

    /// <summary>Whether the next is chosen by weakness; else they come mixed.</summary>
    public bool ByWeakness { get; init; } = true;

    /// <summary>Projections to practise; empty: all that can be.</summary>
    public IReadOnlyList<string> ProjectionIds { get; init; } = [];

    /// <summary>Kinds of fault; empty: all that are planted. Images without a fault always come among them.</summary>
    public IReadOnlyList<FaultKind> Kinds { get; init; } = [];

    /// <summary>Cases of the clinic, in order; only for <see cref="PracticeSource.Cases"/>.</summary>
    public IReadOnlyList<Guid> CaseIds { get; init; } = [];

    /// <summary>Seed; the same order and seed give the same exercises where nothing is chosen by weakness.</summary>
    public int Seed { get; init; }

    /// <summary>Pseudonym of the teacher who gave it; null: begun by the learner.</summary>
    public string? GivenBy { get; init; }

    /// <summary>What is wrong with it, one sentence; null: nothing.</summary>
    public string? Fault => Count is < 1 or > MostExercises
        ? $"A session has 1 to {MostExercises} exercises."
        : ProjectionIds.FirstOrDefault(id => PracticeView.Find(id) is null) is { } unknown
            ? $"The projection '{unknown}' cannot be practised in the lab."
            : Kinds.Any(kind => !FaultKinds.Planted.Contains(kind))
                ? "One of the kinds of fault cannot be planted."
                : Source == PracticeSource.Cases && CaseIds.Count == 0 ? "Choose at least one case." : null;
}

/// <summary>One exercise of a session.</summary>
public sealed record PracticeExercise
{
    /// <summary>Its number, from 1.</summary>
    public required int Number { get; init; }

    /// <summary>Identifier of the projection.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>What it is called to the learner; names no fault.</summary>
    public required string Title { get; init; }

    /// <summary>What was planted; null for a case of the clinic.</summary>
    public FaultKind? Kind { get; init; }

    /// <summary>The scene, as JSON; null for a case of the clinic.</summary>
    public string? SceneJson { get; init; }

    /// <summary>The case; null for the lab.</summary>
    public Guid? CaseId { get; init; }

    /// <summary>Whose answers are the reference; null: the scene itself.</summary>
    public string? Reference { get; init; }

    /// <summary>Why it was chosen, told before it is answered; it names no fault.</summary>
    public string? WhyBefore { get; init; }

    /// <summary>Why it was chosen, told afterwards.</summary>
    public string? WhyAfter { get; init; }

    /// <summary>How the lines truly stand; empty until the exposure is made.</summary>
    public IReadOnlyList<TrueLine> Truth { get; init; } = [];

    /// <summary>Verdicts that follow.</summary>
    public IReadOnlyList<VerdictKind> Verdicts { get; init; } = [];

    /// <summary>The answers as they stand.</summary>
    public PracticeAnswers Answers { get; init; } = new();

    /// <summary>Whether the measured figures were looked at before the answers were finished.</summary>
    public bool SawFigures { get; init; }

    /// <summary>When it was finished; null: not yet.</summary>
    public DateTimeOffset? Finished { get; init; }

    /// <summary>The score as it was when finished, 0 to 1; null: not finished, or nothing could be scored.</summary>
    public double? Total { get; init; }

    /// <summary>Whether the verdict was right when finished; null: not finished, or no verdict to hold it against.</summary>
    public bool? VerdictRight { get; init; }
}

/// <summary>A session of practice, as a lesson's body keeps it.</summary>
public sealed record PracticeSession
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.practice/1";

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        IgnoreReadOnlyProperties = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    /// <summary>Name and version of the form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>What it was made of.</summary>
    public required PracticeOrder Order { get; init; }

    /// <summary>The exercises so far: those finished, the one under way, and one made ahead.</summary>
    public IReadOnlyList<PracticeExercise> Exercises { get; init; } = [];

    /// <summary>The task of exposing a phantom; null in other sessions.</summary>
    public ExposeTask? Task { get; init; }

    /// <summary>The first exercise that is not finished; null: all are.</summary>
    [JsonIgnore]
    public PracticeExercise? Current => Exercises.FirstOrDefault(each => each.Finished is null);

    /// <summary>How many are finished.</summary>
    [JsonIgnore]
    public int Done => Exercises.Count(each => each.Finished is not null);

    /// <summary>The same session with an exercise as it is now.</summary>
    /// <param name="exercise">The exercise.</param>
    public PracticeSession With(PracticeExercise exercise)
    {
        ArgumentNullException.ThrowIfNull(exercise);
        return this with { Exercises = [.. Exercises.Select(each => each.Number == exercise.Number ? exercise : each)] };
    }

    /// <summary>Writes it as JSON.</summary>
    public string Write() => JsonSerializer.Serialize(this, Form);

    /// <summary>Reads it back.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="JsonException">It is not one of this version.</exception>
    public static PracticeSession Read(string json)
    {
        PracticeSession session = JsonSerializer.Deserialize<PracticeSession>(json, Form) ?? throw new JsonException("The text holds no session of practice.");
        return session.Schema == SchemaName ? session : throw new JsonException($"The session says '{session.Schema}'; this version reads '{SchemaName}'.");
    }
}

/// <summary>A session with the lesson that keeps it.</summary>
/// <param name="Lesson">The lesson.</param>
/// <param name="Session">What it holds.</param>
public sealed record KeptPractice(Lesson Lesson, PracticeSession Session);
