using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>One rule of the verdict, in the order they are asked.</summary>
/// <param name="Number">Its number in docs/methods/judgement.md.</param>
/// <param name="When">When it holds, as a phrase.</param>
/// <param name="Holds">Whether it held.</param>
/// <param name="Decides">Whether it made the verdict: the first that holds.</param>
/// <param name="LineIds">The lines that make it hold; empty where it does not.</param>
public sealed record VerdictRule(int Number, string When, bool Holds, bool Decides, IReadOnlyList<string> LineIds);

/// <summary>A line that weighs less in this examination than in general.</summary>
/// <param name="LineId">Identifier of the line.</param>
/// <param name="From">What it weighed before.</param>
/// <param name="To">What it weighs now.</param>
/// <param name="Why">Why, one sentence.</param>
public sealed record WeightStep(string LineId, Weight From, Weight To, string Why);

/// <summary>How a line would have to stand.</summary>
/// <param name="LineId">Identifier of the line.</param>
/// <param name="State">Its state.</param>
/// <param name="MissId">The way it would be missed; null where it would be met.</param>
public sealed record LineSetting(string LineId, ChecklistState State, string? MissId);

/// <summary>Another verdict, and the least that would have made it. Found by running the rules again, not written by hand.</summary>
public sealed record OtherVerdict
{
    /// <summary>The verdict it would be.</summary>
    public required VerdictKind Kind { get; init; }

    /// <summary>How lines would have to stand; empty where only the examination's context would differ.</summary>
    public required IReadOnlyList<LineSetting> Lines { get; init; }

    /// <summary>True: all of <see cref="Lines"/> together; false: any one of them alone.</summary>
    public required bool Together { get; init; }

    /// <summary>The same in a sentence.</summary>
    public required string Sentence { get; init; }
}

/// <summary>How a verdict came about.</summary>
public sealed record VerdictTrace
{
    /// <summary>The rules in the order they were asked.</summary>
    public required IReadOnlyList<VerdictRule> Rules { get; init; }

    /// <summary>Lines that are not met and weigh less here than in general, with the reason of each step.</summary>
    public required IReadOnlyList<WeightStep> Weighed { get; init; }

    /// <summary>The lines that decided it, in teaching order; of an image that is kept without remark, the required lines that are met.</summary>
    public required IReadOnlyList<string> DecidedBy { get; init; }

    /// <summary>What would have changed it.</summary>
    public required IReadOnlyList<OtherVerdict> WouldChange { get; init; }

    /// <summary>What is not known: open lines in teaching order, and an examination without a purpose.</summary>
    public required IReadOnlyList<Reason> Unknown { get; init; }
}

/// <summary>The reader's own verdict, beside the tool's.</summary>
/// <param name="Kind">The verdict: keep, keep with a remark, or weigh a repeat.</param>
/// <param name="Reason">Why.</param>
/// <param name="Agrees">Whether it is the tool's verdict too.</param>
public sealed record ReaderVerdict(VerdictKind Kind, string Reason, bool Agrees);
