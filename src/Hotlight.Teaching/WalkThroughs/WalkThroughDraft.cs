using System.Text.Json;
using System.Text.Json.Nodes;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A walk-through in work: as it stands, and every earlier state that can be taken back. Immutable.</summary>
/// <remarks>States share their unchanged steps, so that a step with a long recording is kept once however often others change.</remarks>
public sealed class WalkThroughDraft
{
    /// <summary>Most changes that can be taken back.</summary>
    public const int MostChanges = 100;

    private readonly IReadOnlyList<State> before;
    private readonly IReadOnlyList<State> after;
    private readonly State now;

    private WalkThroughDraft(State now, IReadOnlyList<State> before, IReadOnlyList<State> after)
    {
        this.now = now;
        this.before = before;
        this.after = after;
    }

    /// <summary>As it stands.</summary>
    public WalkThrough Now => now.Walk;

    /// <summary>What taking back would take back; null: nothing.</summary>
    public string? UndoLabel => before.Count == 0 ? null : now.Label;

    /// <summary>What giving again would give; null: nothing.</summary>
    public string? RedoLabel => after.Count == 0 ? null : after[^1].Label;

    /// <summary>Hashes of every voice of this and of the states that can be reached by taking back or giving again.</summary>
    public IReadOnlySet<string> Voices => new[] { now }.Concat(before).Concat(after)
        .SelectMany(state => state.Walk.Steps).Select(step => step.Recording?.Voice?.Sha256).OfType<string>().ToHashSet(StringComparer.Ordinal);

    /// <summary>Begins with a walk-through.</summary>
    /// <param name="walk">The walk-through.</param>
    public static WalkThroughDraft Of(WalkThrough walk) => new(new State(walk, string.Empty), [], []);

    /// <summary>Takes the last change back.</summary>
    public WalkThroughDraft Undo() => before.Count == 0 ? this : new WalkThroughDraft(before[^1], [.. before.SkipLast(1)], [.. after, now]);

    /// <summary>Gives the change again that was last taken back.</summary>
    public WalkThroughDraft Redo() => after.Count == 0 ? this : new WalkThroughDraft(after[^1], [.. before, now], [.. after.SkipLast(1)]);

    /// <summary>Calls it otherwise.</summary>
    /// <param name="title">The title; an empty one changes nothing.</param>
    public WalkThroughDraft Retitle(string title)
    {
        string clean = Clean(title, WalkThrough.TitleMaxLength);
        return clean.Length == 0 || clean == Now.Title ? this : With(Now with { Title = clean }, "title");
    }

    /// <summary>Types a step's caption anew; its time follows the reading speed unless a recording gives it or a person set it otherwise.</summary>
    /// <param name="id">The step.</param>
    /// <param name="caption">The caption.</param>
    public WalkThroughDraft Retype(string id, string caption)
    {
        WalkStep step = Find(id);
        string clean = Clean(caption, WalkStep.CaptionMaxLength);
        if (clean == step.Caption)
        {
            return this;
        }

        bool followsReading = step.Recording is null && step.Seconds == CaptionCues.SecondsFor(step.Caption);
        return Replace(step with { Caption = clean, Seconds = followsReading ? CaptionCues.SecondsFor(clean) : step.Seconds }, "caption");
    }

    /// <summary>Gives a step another heading.</summary>
    /// <param name="id">The step.</param>
    /// <param name="heading">The heading; an empty one changes nothing.</param>
    public WalkThroughDraft Rename(string id, string heading)
    {
        WalkStep step = Find(id);
        string clean = Clean(heading, WalkThrough.TitleMaxLength);
        return clean.Length == 0 || clean == step.Heading ? this : Replace(step with { Heading = clean }, "heading");
    }

    /// <summary>Gives a step another time; a recorded one is never cut short.</summary>
    /// <param name="id">The step.</param>
    /// <param name="seconds">The time, in seconds; held inside <see cref="WalkStep.LeastSeconds"/> and <see cref="WalkStep.MostSeconds"/>.</param>
    public WalkThroughDraft Time(string id, double seconds)
    {
        WalkStep step = Find(id);
        if (!double.IsFinite(seconds))
        {
            return this;
        }

        double least = Math.Max(WalkStep.LeastSeconds, step.Recording?.Seconds ?? 0);
        double held = Math.Round(Math.Clamp(seconds, least, WalkStep.MostSeconds), 2);
        return held == step.Seconds ? this : Replace(step with { Seconds = held }, "time");
    }

    /// <summary>Cuts a step out; the last one stays.</summary>
    /// <param name="id">The step.</param>
    public WalkThroughDraft Cut(string id)
    {
        WalkStep step = Find(id);
        return Now.Steps.Count == 1 ? this : With(Now with { Steps = [.. Now.Steps.Where(each => each.Id != id)] }, $"cut: {step.Heading}");
    }

    /// <summary>Moves a step.</summary>
    /// <param name="id">The step.</param>
    /// <param name="by">By how many places, down above 0; held inside the walk-through.</param>
    public WalkThroughDraft Move(string id, int by)
    {
        WalkStep step = Find(id);
        var steps = Now.Steps.ToList();
        int from = steps.IndexOf(step);
        int to = Math.Clamp(from + by, 0, steps.Count - 1);
        if (to == from)
        {
            return this;
        }

        steps.RemoveAt(from);
        steps.Insert(to, step);
        return With(Now with { Steps = steps }, $"moved: {step.Heading}");
    }

    /// <summary>Adds a teacher's own step.</summary>
    /// <param name="afterId">The step it follows.</param>
    /// <param name="heading">Its heading.</param>
    /// <param name="newId">Its identifier.</param>
    public WalkThroughDraft Add(string afterId, string heading, out string newId)
    {
        WalkStep after = Find(afterId);
        int number = 1;
        while (Now.Steps.Any(step => step.Id == $"t{number}"))
        {
            number++;
        }

        newId = $"t{number}";
        if (Now.Steps.Count >= WalkThrough.MostSteps)
        {
            newId = afterId;
            return this;
        }

        var steps = Now.Steps.ToList();
        steps.Insert(steps.IndexOf(after) + 1, new WalkStep { Id = newId, Kind = WalkStepKind.Own, Heading = Clean(heading, WalkThrough.TitleMaxLength), Caption = string.Empty, Seconds = CaptionCues.SecondsFor(string.Empty), View = after.View, Window = after.Window });
        return With(Now with { Steps = steps }, "new step");
    }

    /// <summary>Sets what a step shows.</summary>
    /// <param name="id">The step.</param>
    /// <param name="view">What is in sight.</param>
    /// <param name="window">The window; null: as opened.</param>
    public WalkThroughDraft Show(string id, WalkView view, WalkWindow? window)
    {
        WalkStep step = Find(id);
        return step.View == view && step.Window == window ? this : Replace(step with { View = view, Window = window }, "view");
    }

    /// <summary>Puts a recording in a step's place, or takes it away.</summary>
    /// <param name="id">The step.</param>
    /// <param name="recording">The recording; null: none.</param>
    public WalkThroughDraft Record(string id, WalkRecording? recording)
    {
        WalkStep step = Find(id);
        if (recording is null && step.Recording is null)
        {
            return this;
        }

        double seconds = recording is null ? CaptionCues.SecondsFor(step.Caption) : Math.Round(Math.Clamp(recording.Seconds, WalkStep.LeastSeconds, WalkStep.MostSeconds), 2);
        return Replace(step with { Recording = recording, Seconds = seconds }, recording is null ? "recording taken away" : "recording");
    }

    /// <summary>Writes it, with what can be taken back.</summary>
    public string Write()
    {
        var pool = new JsonObject();
        var places = new Dictionary<WalkStep, string>(ReferenceEqualityComparer.Instance);
        JsonObject Written(State state)
        {
            var steps = new JsonArray();
            foreach (WalkStep step in state.Walk.Steps)
            {
                if (!places.TryGetValue(step, out string? place))
                {
                    place = $"p{places.Count + 1}";
                    places.Add(step, place);
                    pool[place] = JsonSerializer.SerializeToNode(step, WalkThroughJson.Compact);
                }

                steps.Add(place);
            }

            return new JsonObject { ["label"] = state.Label, ["title"] = state.Walk.Title, ["steps"] = steps };
        }

        var head = JsonSerializer.SerializeToNode(Now, WalkThroughJson.Compact)!.AsObject();
        head.Remove("steps");
        return new JsonObject
        {
            ["schema"] = "hotlight.walk-through-draft/1",
            ["head"] = head,
            ["now"] = Written(now),
            ["before"] = new JsonArray([.. before.Select(Written)]),
            ["after"] = new JsonArray([.. after.Select(Written)]),
            ["pool"] = pool,
        }.ToJsonString();
    }

    /// <summary>Reads what <see cref="Write"/> wrote.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="UnreadableWalkThroughException">It is none.</exception>
    public static WalkThroughDraft Read(string json)
    {
        try
        {
            JsonObject root = JsonNode.Parse(json)!.AsObject();
            JsonObject head = root["head"]!.AsObject();
            head["steps"] = new JsonArray();
            WalkThrough frame = head.Deserialize<WalkThrough>(WalkThroughJson.Compact)!;
            Dictionary<string, WalkStep> pool = root["pool"]!.AsObject().ToDictionary(entry => entry.Key, entry => entry.Value.Deserialize<WalkStep>(WalkThroughJson.Compact)!, StringComparer.Ordinal);
            State Taken(JsonNode? node) => new(
                frame with { Title = (string)node!["title"]!, Steps = [.. node["steps"]!.AsArray().Select(place => pool[(string)place!])] },
                (string)node["label"]!);
            var draft = new WalkThroughDraft(Taken(root["now"]), [.. root["before"]!.AsArray().Select(Taken)], [.. root["after"]!.AsArray().Select(Taken)]);
            WalkThroughJson.Check(draft.Now);
            return draft;
        }
        catch (Exception error) when (error is JsonException or InvalidOperationException or NullReferenceException or KeyNotFoundException or FormatException)
        {
            throw new UnreadableWalkThroughException("what is kept of it is not in this version's form", error);
        }
    }

    private WalkStep Find(string id) => Now.Steps.FirstOrDefault(step => step.Id == id) ?? throw new ArgumentException($"There is no step '{id}'.", nameof(id));

    private WalkThroughDraft Replace(WalkStep step, string label)
        => With(Now with { Steps = [.. Now.Steps.Select(each => each.Id == step.Id ? step : each)] }, $"{label}: {step.Heading}");

    private WalkThroughDraft With(WalkThrough walk, string label) => new(new State(walk, label), [.. before.Append(now).TakeLast(MostChanges)], []);

    private static string Clean(string text, int longest)
    {
        string clean = new string([.. text.ReplaceLineEndings(" ").Where(letter => !char.IsControl(letter))]).Trim();
        return clean.Length <= longest ? clean : clean[..longest];
    }

    private sealed record State(WalkThrough Walk, string Label);
}
