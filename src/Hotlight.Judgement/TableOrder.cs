using Hotlight.Core;
using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>Puts changes into the order in which they are made at the table, once each and none against another.</summary>
/// <remarks>Rules and their order: docs/methods/judgement.md.</remarks>
internal sealed class TableOrder(Projection projection, IReadOnlyList<ChecklistLine> lines)
{
    // Read off a correction's own words, since the catalogue does not say at which step it is made; the first list that has a word of it wins.
    private static readonly (TableStep Step, string[] Words)[] StepWords =
    [
        (TableStep.Instructions, ["breath", "breaths", "breathe", "breathing", "swallow"]),
        (TableStep.Tube, ["tube", "beam", "ray"]),
        (TableStep.Collimation, ["field", "collimator"]),
        (TableStep.Receptor, ["receptor's", "grid"]),
        (TableStep.Patient, ["patient", "shoulder", "shoulders", "chest", "hip", "hips", "trunk", "body", "pelvis", "seat", "stand", "sit", "chin"]),
    ];

    // Words that end the name of what is moved, as in "Rotate the leg internally until".
    private static readonly HashSet<string> EndsName = new(StringComparer.Ordinal)
    {
        "internally", "externally", "toward", "until", "a", "an", "by", "in", "from", "to", "further", "down", "up", "back", "forward", "at", "of", "with", "on",
        "and", "or", "over", "so", "level", "outward", "inward", "out", "flat", "away", "more", "less", "straight", "the",
    };

    // Opposites of the trade beside those that the projection's own misses name.
    private static readonly (string One, string Other)[] Opposites =
    [
        ("internally", "externally"), ("pronate", "supinate"), ("raise", "lower"), ("flex", "extend"), ("increase", "reduce"), ("abduct", "adduct"),
    ];

    /// <summary>The step at which a change is made.</summary>
    /// <param name="line">The line it follows from.</param>
    /// <param name="instruction">What is to be done.</param>
    public static TableStep StepOf(ChecklistLine line, string instruction) => line.Section switch
    {
        _ when line.MissId == "window" => TableStep.AfterExposure,
        ChecklistSection.RequiredAnatomy => FirstWord(instruction) is "open" or "close" ? TableStep.Collimation : TableStep.Tube,
        ChecklistSection.Positioning => WordsStep(instruction),
        ChecklistSection.Exposure or ChecklistSection.BrightnessAndContrast => TableStep.Technique,
        ChecklistSection.Sharpness => line.MissId == "soft" ? TableStep.Part : TableStep.Instructions,
        ChecklistSection.Artifacts => line.MissId?.StartsWith("receptor", StringComparison.Ordinal) == true ? TableStep.Receptor : TableStep.Patient,
        ChecklistSection.Collimation => line.Id == "collimation.centre" ? TableStep.Tube : TableStep.Collimation,
        ChecklistSection.SideMarker => TableStep.Marker,
        ChecklistSection.ShieldingAndRecords => line.Id == "records.shielding" ? TableStep.Patient : TableStep.AfterExposure,
        _ => TableStep.AfterExposure,
    };

    /// <summary>Whether a position is put right by moving the patient or the part, as against tube, field or breath.</summary>
    /// <param name="line">The line; where the way of missing it is not named, any way counts.</param>
    public static bool AsksToMove(ChecklistLine line)
        => line.Section == ChecklistSection.Positioning
            && (line.Miss is { } miss ? [miss] : line.Misses).Any(each => WordsStep(each.Correction) is TableStep.Patient or TableStep.Part);

    /// <summary>Merged, settled and ordered; a change stays where it came among those of its step.</summary>
    /// <param name="changes">The changes in teaching order.</param>
    public IReadOnlyList<Change> Of(IReadOnlyList<Change> changes)
        => [.. Exposure(Field(Position(Same(changes)))).OrderBy(change => change.Step)];

    private static string[] WordsOf(string text)
        => text.ToLowerInvariant().Split([' ', ',', ';', ':', '.', '(', ')'], StringSplitOptions.RemoveEmptyEntries);

    private static string FirstWord(string text) => WordsOf(text).FirstOrDefault(string.Empty);

    private static TableStep WordsStep(string instruction)
    {
        string[] words = WordsOf(instruction.Split([':', '.'])[0]);
        foreach ((TableStep step, string[] known) in StepWords)
        {
            if (words.Any(known.Contains))
            {
                return step;
            }
        }

        return TableStep.Part;
    }

    /// <summary>What an instruction moves: the words after its first "the", such as "shoulder end"; empty where it names nothing.</summary>
    private static string Moved(string instruction)
        => string.Join(' ', WordsOf(instruction.Split([':', '.'])[0]).SkipWhile(word => word != "the").Skip(1).TakeWhile(word => !EndsName.Contains(word)).Take(3));

    private static Change Joined(Change kept, Change other)
        => kept with { AlsoFor = [.. (kept.AlsoFor ?? []).Append(other.LineId).Concat(other.AlsoFor ?? []).Distinct(StringComparer.Ordinal)] };

    private Weight WeightOf(Change change) => lines.Single(line => line.Id == change.LineId).Weight;

    /// <summary>One instruction in the same words stands once.</summary>
    private static List<Change> Same(IReadOnlyList<Change> changes)
    {
        var kept = new List<Change>();
        foreach (Change change in changes)
        {
            int index = kept.FindIndex(other => string.Equals(other.Instruction, change.Instruction, StringComparison.OrdinalIgnoreCase));
            if (index < 0)
            {
                kept.Add(change);
            }
            else if (kept[index].LineId != change.LineId)
            {
                kept[index] = Joined(kept[index], change);
            }
        }

        return kept;
    }

    /// <summary>Two turns of one thing: the same way they are one, opposite ways the heavier line's is followed, of two alike the first in teaching order.</summary>
    private List<Change> Position(List<Change> changes)
    {
        var kept = new List<Change>();
        foreach (Change change in changes)
        {
            string moved = Moved(change.Instruction);
            int index = change.Kind != ChangeKind.Position || change.Direction is null || moved.Length == 0
                ? -1
                : kept.FindIndex(other => other.Kind == ChangeKind.Position && other.Direction is not null && Moved(other.Instruction) == moved && (SameWay(other, change) || Against(other, change)));
            if (index < 0)
            {
                kept.Add(change);
                continue;
            }

            (Change first, Change second) = WeightOf(change) > WeightOf(kept[index]) ? (change, kept[index]) : (kept[index], change);
            kept[index] = SameWay(first, second)
                ? Joined(first, second)
                : first with
                {
                    Settled = $"{second.LineId} asks for the opposite ({second.Direction}); {first.LineId} {(WeightOf(first) > WeightOf(second) ? "weighs more" : "comes first")}, so follow this one and look again.",
                };
        }

        return kept;
    }

    private static bool SameWay(Change one, Change other) => string.Equals(one.Direction, other.Direction, StringComparison.OrdinalIgnoreCase);

    private bool Against(Change one, Change other)
    {
        bool Pair(string first, string second)
            => (Is(one, first) && Is(other, second)) || (Is(one, second) && Is(other, first));

        static bool Is(Change change, string direction) => string.Equals(change.Direction, direction, StringComparison.OrdinalIgnoreCase);

        return Opposites.Any(pair => Pair(pair.One, pair.Other))
            || projection.Relations.SelectMany(relation => relation.Misses, (relation, miss) => (miss, opposite: relation.Misses.FirstOrDefault(other => other.Id == miss.Opposite)))
                .Any(pair => pair is { miss.Direction: { } first, opposite.Direction: { } second } && Pair(first, second));
    }

    /// <summary>Anatomy that is missing goes before a smaller field: nobody is told to open and to close in one breath.</summary>
    private static List<Change> Field(List<Change> changes)
    {
        int opens = changes.FindIndex(change => change.LineId.StartsWith("anatomy.", StringComparison.Ordinal));
        Change[] closes = [.. changes.Where(change => change.LineId is "collimation.size" or "collimation.edges")];
        if (opens < 0 || closes.Length == 0)
        {
            return changes;
        }

        changes[opens] = changes[opens] with
        {
            Settled = $"{Wording.Join(closes.Select(change => change.LineId))} asks for a smaller field; what must be seen goes first, so get it in and then close the sides that hold nothing.",
        };
        return [.. changes.Except(closes)];
    }

    /// <summary>More and less exposure at once: the measured change of mAs goes first, then the heavier line; of two alike the cause is looked for instead.</summary>
    private List<Change> Exposure(List<Change> changes)
    {
        // What each line's correction asks of the receptor's exposure: +1 more, −1 less.
        int Asks(Change change) => change switch
        {
            { MasFactor: { } factor } => factor > 1 ? 1 : -1,
            { LineId: "exposure.mottle" } when IsOwnCorrection(change) => 1,
            { LineId: "exposure.saturation" or "exposure.skin-line", Kind: not ChangeKind.Display } when IsOwnCorrection(change) => -1,
            _ => 0,
        };

        // In the words of its own way of missing, whatever the language: a check that is asked for instead has others.
        bool IsOwnCorrection(Change change) => lines.FirstOrDefault(line => line.Id == change.LineId)?.Misses.Any(miss => miss.Correction == change.Instruction) == true;

        Change[] asking = [.. changes.Where(change => Asks(change) != 0)];
        if (asking.Length < 2)
        {
            return changes;
        }

        Change first = asking.FirstOrDefault(change => change.MasFactor is not null) ?? asking.MaxBy(WeightOf)!;
        Change[] same = [.. asking.Where(change => change != first && Asks(change) == Asks(first))];
        Change[] against = [.. asking.Where(change => Asks(change) != Asks(first))];
        Change settled = same.Aggregate(first, Joined);
        if (against.Length > 0 && first.MasFactor is null && against.Any(change => WeightOf(change) == WeightOf(first)))
        {
            settled = against.Aggregate(settled, Joined) with
            {
                Instruction = Texts.Get("change.exposure-conflict.instruction"),
                Why = Texts.Get("change.exposure-conflict.why"),
                Direction = null,
            };
        }
        else if (against.Length > 0)
        {
            settled = settled with
            {
                Settled = $"{Wording.Join(against.Select(change => change.LineId))} asks for {(Asks(first) > 0 ? "less" : "more")}; {(first.MasFactor is not null ? "the index" : first.LineId)} goes first.",
            };
        }

        return [.. changes.Where(change => change == first || !asking.Contains(change)).Select(change => change == first ? settled : change)];
    }
}
