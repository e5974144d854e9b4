using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Workflows.Teaching.Handouts;

/// <summary>A teacher's words in a handout, with every step so that each can be taken back. Immutable; kept as the body of a lesson.</summary>
public sealed record HandoutEdits
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.handout-edits/1";

    /// <summary>Longest paragraph, in characters.</summary>
    public const int TextMaxLength = 4000;

    // Beyond it the oldest steps cannot be taken back any more.
    private const int MostSteps = 200;

    private static readonly JsonSerializerOptions Json = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull };

    /// <summary>No edits.</summary>
    public static HandoutEdits None { get; } = new();

    /// <summary>Name and version of the document's form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>The steps, the first one first.</summary>
    public IReadOnlyList<HandoutStep> Steps { get; init; } = [];

    /// <summary>How many of the steps hold; those after it were taken back.</summary>
    public int At { get; init; }

    /// <summary>The teacher's words by identifier of the paragraph, as they stand.</summary>
    [JsonIgnore]
    public IReadOnlyDictionary<string, string> Texts
    {
        get
        {
            var texts = new Dictionary<string, string>(StringComparer.Ordinal);
            foreach (HandoutStep step in Steps.Take(At))
            {
                if (step.After is { } text)
                {
                    texts[step.ParagraphId] = text;
                }
                else
                {
                    texts.Remove(step.ParagraphId);
                }
            }

            return texts;
        }
    }

    /// <summary>Whether a step can be taken back.</summary>
    [JsonIgnore]
    public bool CanUndo => At > 0;

    /// <summary>Whether a step that was taken back can be done again.</summary>
    [JsonIgnore]
    public bool CanRedo => At < Steps.Count;

    /// <summary>With a paragraph in other words.</summary>
    /// <param name="paragraphId">The paragraph.</param>
    /// <param name="text">The words; null or empty brings the bench's own back. Cut to <see cref="TextMaxLength"/>; spaces and line ends become single spaces.</param>
    public HandoutEdits With(string paragraphId, string? text)
    {
        ArgumentException.ThrowIfNullOrEmpty(paragraphId);
        string clean = string.Join(' ', (text ?? string.Empty).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        string? after = clean.Length == 0 ? null : clean[..Math.Min(clean.Length, TextMaxLength)];
        if (Texts.GetValueOrDefault(paragraphId) == after)
        {
            return this;
        }

        HandoutStep[] steps = [.. Steps.Take(At), new HandoutStep(paragraphId, after)];
        if (steps.Length > MostSteps)
        {
            // What the oldest steps left stays, as one step for each paragraph.
            HandoutStep[] settled = [.. steps.Take(steps.Length - MostSteps).GroupBy(step => step.ParagraphId).Select(group => group.Last())];
            steps = [.. settled.Where(step => step.After is not null), .. steps.Skip(steps.Length - MostSteps)];
        }

        return this with { Steps = steps, At = steps.Length };
    }

    /// <summary>With the last step taken back.</summary>
    public HandoutEdits Undo() => CanUndo ? this with { At = At - 1 } : this;

    /// <summary>With the step done again that was taken back.</summary>
    public HandoutEdits Redo() => CanRedo ? this with { At = At + 1 } : this;

    /// <summary>As JSON.</summary>
    public string Write() => JsonSerializer.Serialize(this, Json);

    /// <summary>From JSON; what another version wrote in a way that this one does not read gives no edits.</summary>
    /// <param name="json">The JSON.</param>
    public static HandoutEdits Read(string json)
    {
        try
        {
            return JsonSerializer.Deserialize<HandoutEdits>(json, Json) is { Schema: SchemaName } edits && edits.At >= 0 && edits.At <= edits.Steps.Count ? edits : None;
        }
        catch (JsonException)
        {
            return None;
        }
    }
}

/// <summary>One edit of a paragraph.</summary>
/// <param name="ParagraphId">The paragraph.</param>
/// <param name="After">Its words from here on; null: the bench's own.</param>
public sealed record HandoutStep(string ParagraphId, string? After);
