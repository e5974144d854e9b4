using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Judgement;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Readings;

/// <summary>One line of the checklist as it stood when a reading was finished.</summary>
/// <param name="Id">Identifier of the line.</param>
/// <param name="Section">The part of the checklist.</param>
/// <param name="Question">The question as it was asked.</param>
/// <param name="State">How the line stood.</param>
/// <param name="DecidedBy">Who decided it.</param>
/// <param name="IsReaders">Whether the reader answered it so; false: it was left to measurement, header or nobody.</param>
/// <param name="Miss">How it looked, where the reader named a way of missing it; null otherwise.</param>
/// <param name="Remark">The reader's remark; null: none.</param>
/// <param name="Figure">The figure beside it, with unit and uncertainty; null: none.</param>
public sealed record ReadLine(string Id, ChecklistSection Section, string Question, ChecklistState State, DecidedBy DecidedBy, bool IsReaders, string? Miss, string? Remark, string? Figure);

/// <summary>What a reading came to: the judged checklist line by line, the verdict, and the versions it was judged by. It never changes, whatever later versions judge.</summary>
public sealed record ReadingResult
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.reading/1";

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        IgnoreReadOnlyProperties = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    /// <summary>Name and version of the form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Projection it was judged by.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>Name of the projection.</summary>
    public required string ProjectionName { get; init; }

    /// <summary>The checklist in teaching order.</summary>
    public required IReadOnlyList<ReadLine> Lines { get; init; }

    /// <summary>The verdict that followed from answers and measurements.</summary>
    public required VerdictKind Verdict { get; init; }

    /// <summary>That verdict as a sentence.</summary>
    public required string VerdictSentence { get; init; }

    /// <summary>The reader's own verdict beside it; null: none was given.</summary>
    public VerdictKind? OwnVerdict { get; init; }

    /// <summary>Why, in the reader's words; null without an own verdict.</summary>
    public string? OwnReason { get; init; }

    /// <summary>Version of Hotlight that judged.</summary>
    public required string JudgedBy { get; init; }

    /// <summary>Version of Hotlight that measured.</summary>
    public required string MeasuredBy { get; init; }

    /// <summary>Key of the clinic's settings it was measured and judged with; empty: those built in.</summary>
    public required string MeasuredWith { get; init; }

    /// <summary>Name of the scheme of action bands that the deviation index was held against.</summary>
    public required string DeviationScheme { get; init; }

    /// <summary>The verdict that is compared: the reader's own where one was given, else the one that followed.</summary>
    public VerdictKind Stands => OwnVerdict ?? Verdict;

    /// <summary>What a judged case comes to.</summary>
    /// <param name="open">The case, with a projection.</param>
    /// <exception cref="ArgumentException">It has no projection.</exception>
    public static ReadingResult Of(OpenCase open)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (open is not { Critique: { } critique, Answers: { } answers })
        {
            throw new ArgumentException("A case without a projection has no checklist.", nameof(open));
        }

        return new ReadingResult
        {
            ProjectionId = critique.ProjectionId,
            ProjectionName = critique.ProjectionName,
            Lines =
            [
                .. critique.Lines.Select(line => new ReadLine(
                    line.Id,
                    line.Section,
                    line.Question,
                    line.State,
                    line.DecidedBy,
                    line.DecidedBy == DecidedBy.Reader || (answers.Lines.TryGetValue(line.Id, out Answer? given) && given.State == line.State),
                    line.Miss?.Looks,
                    line.Remark,
                    line.Figure)),
            ],
            Verdict = critique.Verdict.Kind,
            VerdictSentence = critique.Verdict.Sentence,
            OwnVerdict = critique.ReaderVerdict?.Kind,
            OwnReason = critique.ReaderVerdict?.Reason,
            JudgedBy = CaseWorkflow.ThisVersion,
            MeasuredBy = open.Record.MeasuredBy,
            MeasuredWith = open.Record.MeasuredWith,
            DeviationScheme = critique.DeviationScheme,
        };
    }

    /// <summary>Writes it as JSON.</summary>
    public string Write() => JsonSerializer.Serialize(this, Form);

    /// <summary>Reads it back.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="JsonException">It is not one of this version.</exception>
    public static ReadingResult Read(string json)
    {
        ReadingResult result = JsonSerializer.Deserialize<ReadingResult>(json, Form) ?? throw new JsonException("The text holds no reading.");
        return result.Schema == SchemaName ? result : throw new JsonException($"The reading says '{result.Schema}'; this version reads '{SchemaName}'.");
    }
}
