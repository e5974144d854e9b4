using System.Text.Json;

namespace Hotlight.Workflows.Teaching.Collections;

/// <summary>A collection as it lies on the bench: cases in an order, with the teacher's words.</summary>
public sealed record CaseCollection
{
    /// <summary>Longest words, in characters.</summary>
    public const int WordsMaxLength = 4000;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>The kept lesson it is read from.</summary>
    public required Lesson Lesson { get; init; }

    /// <summary>The teacher's words to the whole.</summary>
    public string Words { get; init; } = string.Empty;

    /// <summary>The cases in their order.</summary>
    public IReadOnlyList<CollectedCase> Cases { get; init; } = [];

    /// <summary>Whether the answers go along when it is shared.</summary>
    public bool WithAnswers { get; init; } = true;

    /// <summary>Whether a slide of each case goes along.</summary>
    public bool WithSlides { get; init; }

    /// <summary>Reads a kept collection.</summary>
    /// <param name="lesson">The lesson.</param>
    internal static CaseCollection Of(Lesson lesson)
    {
        Body body = JsonSerializer.Deserialize<Body>(lesson.BodyJson, Json) ?? new Body([]);
        return new CaseCollection { Lesson = lesson, Words = body.Words, Cases = body.Cases, WithAnswers = body.WithAnswers, WithSlides = body.WithSlides };
    }

    /// <summary>The lesson to be kept.</summary>
    internal Lesson ToLesson() => Lesson with { BodyJson = JsonSerializer.Serialize(new Body(Cases, Words, WithAnswers, WithSlides), Json) };

    private sealed record Body(IReadOnlyList<CollectedCase> Cases, string Words = "", bool WithAnswers = true, bool WithSlides = false);
}

/// <summary>A case in a collection.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Words">The teacher's words to it; empty: none.</param>
public sealed record CollectedCase(Guid CaseId, string Words = "");

/// <summary>How far sharing or opening is.</summary>
/// <param name="Done">Cases done.</param>
/// <param name="Total">All cases.</param>
/// <param name="Now">What is being done, in a few words.</param>
public sealed record CollectionProgress(int Done, int Total, string Now);

/// <summary>What came of opening a collection's file.</summary>
/// <param name="Collection">The collection as it lies on the bench now.</param>
/// <param name="Added">Cases that were brought in.</param>
/// <param name="Known">Cases that were there already.</param>
/// <param name="Notes">What a person must know, one sentence each.</param>
public sealed record OpenedCollection(CaseCollection Collection, int Added, int Known, IReadOnlyList<string> Notes);
