namespace Hotlight.Judgement;

/// <summary>A reader's edit of the plan for the next exposure: a proposed change worded otherwise, one struck out, or one of the reader's own.</summary>
public sealed record PlanEdit
{
    /// <summary>Longest instruction, in characters.</summary>
    public const int InstructionMaxLength = 500;

    /// <summary>Most edits of one plan.</summary>
    public const int MostEdits = 60;

    /// <summary>The line whose proposed change is meant; null: a change of the reader's own.</summary>
    public string? LineId { get; init; }

    /// <summary>The step of the proposed change, where a line has several, or of the reader's own change, where it is needed.</summary>
    public TableStep? Step { get; init; }

    /// <summary>What to do in the reader's words, 1 to <see cref="InstructionMaxLength"/> characters; null: the proposed change is struck out.</summary>
    public string? Instruction { get; init; }

    /// <summary>What is wrong with the edit, one sentence; null where nothing is.</summary>
    public string? Fault()
    {
        if (LineId is null && (Step is null || string.IsNullOrWhiteSpace(Instruction)))
        {
            return "a change of the reader's own has a step and an instruction.";
        }

        return Instruction is { } text && (string.IsNullOrWhiteSpace(text) || text.Length > InstructionMaxLength)
            ? $"an instruction has 1 to {InstructionMaxLength} characters."
            : null;
    }

    /// <summary>Whether both are about the same proposed change; a change of the reader's own is like no other.</summary>
    /// <param name="other">The other edit.</param>
    public bool IsAboutTheSameAs(PlanEdit other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return LineId is not null && LineId == other.LineId && (Step is null || other.Step is null || Step == other.Step);
    }

    internal bool IsAbout(Change change) => LineId == change.LineId && (Step is null || Step == change.Step);
}

/// <summary>Puts a reader's edits on the plan that was proposed.</summary>
internal static class EditedPlan
{
    /// <summary>The plan as the reader left it, and what was struck out of it.</summary>
    /// <param name="proposed">The changes as they were proposed, in the order of the table.</param>
    /// <param name="edits">The edits; one about a change that is not proposed any more is passed over.</param>
    /// <exception cref="ArgumentException">An edit has a fault.</exception>
    public static (IReadOnlyList<Change> Plan, IReadOnlyList<Change> Struck) Of(IReadOnlyList<Change> proposed, IReadOnlyList<PlanEdit> edits)
    {
        foreach (PlanEdit edit in edits)
        {
            if (edit.Fault() is { } fault)
            {
                throw new ArgumentException($"In the plan, {fault}", nameof(edits));
            }
        }

        var plan = new List<Change>();
        var struck = new List<Change>();
        foreach (Change change in proposed)
        {
            PlanEdit? edit = edits.LastOrDefault(each => each.LineId is not null && each.IsAbout(change));
            if (edit is null)
            {
                plan.Add(change);
            }
            else if (edit.Instruction is not { } words)
            {
                struck.Add(change);
            }
            else
            {
                // The sizes belonged to the words that were replaced: what a reader writes is not read for figures.
                plan.Add(change with
                {
                    Instruction = words.Trim(),
                    Proposed = change.Instruction,
                    Direction = null,
                    MasFactor = null,
                    MasFactorUncertainty = null,
                    GeneratorMas = null,
                    Trims = [],
                });
            }
        }

        plan.AddRange(edits.Where(edit => edit.LineId is null).Select(edit => new Change
        {
            LineId = Change.OwnLineId,
            Kind = KindOf(edit.Step!.Value),
            Step = edit.Step,
            Instruction = edit.Instruction!.Trim(),
            Why = "The reader's own.",
        }));
        return ([.. plan.OrderBy(change => change.Step)], struck);
    }

    private static ChangeKind KindOf(TableStep step) => step switch
    {
        TableStep.Patient or TableStep.Part => ChangeKind.Position,
        TableStep.Tube => ChangeKind.Centring,
        TableStep.Receptor => ChangeKind.Artifact,
        TableStep.Collimation => ChangeKind.Collimation,
        TableStep.Marker => ChangeKind.Marker,
        TableStep.Technique => ChangeKind.Exposure,
        TableStep.Instructions => ChangeKind.Stillness,
        _ => ChangeKind.Display,
    };
}
