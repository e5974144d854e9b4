using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.RegularExpressions;
using Hotlight.Core;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A walk-through as JSON, without loss; docs/walk-throughs.md has its members.</summary>
public static partial class WalkThroughJson
{
    /// <summary>Largest document, in characters.</summary>
    public const int MostCharacters = 32 * 1024 * 1024;

    internal static readonly JsonSerializerOptions Compact = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    private static readonly JsonSerializerOptions Indented = new(Compact) { WriteIndented = true };

    /// <summary>Writes a walk-through.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="indented">For a person's eye.</param>
    public static string Write(WalkThrough walk, bool indented = false) => JsonSerializer.Serialize(walk, indented ? Indented : Compact);

    /// <summary>Reads a walk-through.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="UnreadableWalkThroughException">It is none, or one of its figures makes no sense.</exception>
    public static WalkThrough Read(string json)
    {
        ArgumentNullException.ThrowIfNull(json);
        if (json.Length > MostCharacters)
        {
            throw new UnreadableWalkThroughException("it is too large");
        }

        WalkThrough walk;
        try
        {
            walk = JsonSerializer.Deserialize<WalkThrough>(json, Compact) ?? throw new UnreadableWalkThroughException("it holds nothing");
        }
        catch (JsonException error)
        {
            throw new UnreadableWalkThroughException($"it is not in the form {WalkThrough.SchemaName} ({error.Path ?? "$"})", error);
        }

        Check(walk);
        return walk;
    }

    /// <summary>Says what makes no sense in a walk-through.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <exception cref="UnreadableWalkThroughException">Something does not.</exception>
    internal static void Check(WalkThrough walk)
    {
        Demand(walk.Schema == WalkThrough.SchemaName, $"its form is '{walk.Schema}', and this version reads {WalkThrough.SchemaName}");
        Demand(walk.Title.Length is > 0 and <= WalkThrough.TitleMaxLength, "its title is empty or too long");
        Demand(walk.Image is { Columns: > 0, Rows: > 0 } && IsAbove(walk.Image.PixelAspect) && IsWindow(walk.Image.Window), "the size of its image makes no sense");
        Demand(walk.Steps.Count is > 0 and <= WalkThrough.MostSteps, $"it has {walk.Steps.Count} steps; 1 to {WalkThrough.MostSteps} can be");
        Demand(walk.Steps.Select(step => step.Id).Distinct(StringComparer.Ordinal).Count() == walk.Steps.Count, "two of its steps have the same identifier");
        foreach (WalkStep step in walk.Steps)
        {
            Check(step);
        }
    }

    private static void Check(WalkStep step)
    {
        string which = $"step '{step.Id}'";
        Demand(step.Heading.Length <= WalkThrough.TitleMaxLength && step.Caption.Length <= WalkStep.CaptionMaxLength, $"heading or caption of {which} is too long");
        Demand(step.Seconds is >= WalkStep.LeastSeconds and <= WalkStep.MostSeconds, $"the time of {which} is not between {WalkStep.LeastSeconds} and {WalkStep.MostSeconds} s");
        Demand(IsView(step.View), $"the view of {which} makes no sense");
        Demand(step.Window is null || IsWindow(step.Window), $"the window of {which} makes no sense");
        Demand(step.Marks.All(mark => mark.Points.Count > 0 && double.IsFinite(mark.FromSeconds)), $"a mark of {which} makes no sense");
        if (step.Recording is not { } recording)
        {
            return;
        }

        Demand(recording.Seconds is > 0 and <= WalkStep.MostSeconds, $"the recording of {which} is too long");
        Demand(recording.Voice is null || (Hash().IsMatch(recording.Voice.Sha256) && recording.Voice.Bytes > 0), $"the voice of {which} is not named by its hash");
        Demand(IsTrack(recording.Views, 5) && recording.Views.All(view => view[3] > 0 && view[4] > 0), $"the recorded view of {which} makes no sense");
        Demand(IsTrack(recording.Windows, 3) && recording.Windows.All(window => window[2] > 0), $"the recorded window of {which} makes no sense");
        Demand(recording.Pointer.All(run => IsTrack(run, 3)) && recording.Strokes.All(run => IsTrack(run, 3)), $"the recorded pointer of {which} makes no sense");
    }

    private static bool IsTrack(IReadOnlyList<double[]> track, int members)
    {
        double last = 0;
        foreach (double[] entry in track)
        {
            if (entry.Length != members || !entry.All(double.IsFinite) || entry[0] < last)
            {
                return false;
            }

            last = entry[0];
        }

        return true;
    }

    private static bool IsView(WalkView view) => double.IsFinite(view.X) && double.IsFinite(view.Y) && IsAbove(view.Width) && IsAbove(view.Height);

    private static bool IsWindow(WalkWindow window) => double.IsFinite(window.Center) && IsAbove(window.Width);

    private static bool IsAbove(double value) => double.IsFinite(value) && value > 0;

    private static void Demand(bool holds, string otherwise)
    {
        if (!holds)
        {
            throw new UnreadableWalkThroughException(otherwise);
        }
    }

    [GeneratedRegex("^[0-9a-f]{64}$")]
    private static partial Regex Hash();
}

/// <summary>A text is no walk-through that can be read. The message is one sentence for the reader.</summary>
public sealed class UnreadableWalkThroughException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">Why, a phrase.</param>
    /// <param name="cause">What was met; null for nothing beneath.</param>
    public UnreadableWalkThroughException(string reason, Exception? cause = null)
        : base(PlainText.Of($"The walk-through cannot be read: {reason}."), cause)
    {
    }
}
