using Hotlight.Judgement;
using Hotlight.Teaching.Practice;
using Hotlight.Web.Components.Parts;

namespace Hotlight.Web;

/// <summary>Where a learner is among the lines of an image, and what an answer or a key makes of the answers.</summary>
internal sealed class PracticeSheet
{
    /// <summary>Stands in the place of a line for the verdict.</summary>
    public const string VerdictLine = "verdict";

    /// <summary>The lines that are asked.</summary>
    public IReadOnlyList<ChecklistLine> Lines { get; private set; } = [];

    /// <summary>The line being judged, or the verdict.</summary>
    public string Current { get; private set; } = VerdictLine;

    /// <summary>Whether the verdict is being given.</summary>
    public bool IsAtVerdict => Current == VerdictLine;

    /// <summary>Identifier of the element of the line being judged.</summary>
    public string ElementId => IsAtVerdict ? "verdict-heading" : Checklist.ElementId(Current);

    /// <summary>Begins with other lines, at the first.</summary>
    /// <param name="lines">The lines.</param>
    public void Open(IReadOnlyList<ChecklistLine> lines) => (Lines, Current) = (lines, lines.Count > 0 ? lines[0].Id : VerdictLine);

    /// <summary>Goes to a line.</summary>
    /// <param name="lineId">The line, or <see cref="VerdictLine"/>.</param>
    public void GoTo(string lineId) => Current = lineId;

    /// <summary>Goes where a key leads.</summary>
    /// <param name="act">What the key does.</param>
    /// <param name="answers">The answers as they stand.</param>
    /// <returns>Whether the key leads anywhere.</returns>
    public bool Goes(string act, PracticeAnswers answers)
    {
        ArgumentNullException.ThrowIfNull(answers);
        List<string> order = [.. Lines.Select(line => line.Id), VerdictLine];
        string? to = act switch
        {
            "next" => order[Math.Min(order.IndexOf(Current) + 1, order.Count - 1)],
            "previous" => order[Math.Max(order.IndexOf(Current) - 1, 0)],
            "next-open" => order.FirstOrDefault(id => id != Current && !answers.Lines.ContainsKey(id)),
            "verdict" => VerdictLine,
            _ => null,
        };
        Current = to ?? Current;
        return to is not null;
    }

    /// <summary>The answers after a key at the line being judged; null where the key answers nothing.</summary>
    /// <param name="act">What the key does.</param>
    /// <param name="answers">The answers as they stand.</param>
    public PracticeAnswers? Answered(string act, PracticeAnswers answers)
    {
        ArgumentNullException.ThrowIfNull(answers);
        return act switch
        {
            "met" or "not-met" or "cannot-tell" when IsAtVerdict => answers with { Verdict = act switch { "met" => VerdictKind.Accept, "not-met" => VerdictKind.Repeat, _ => VerdictKind.AcceptWithRemark } },
            "met" or "not-met" or "cannot-tell" => Answered(answers, Current, act switch { "met" => ChecklistState.Met, "not-met" => ChecklistState.NotMet, _ => ChecklistState.CannotTell }),
            "certainty-0" or "certainty-1" or "certainty-2" => Sure(answers, Current, PracticeRules.Default.Certainty[Math.Min(act[^1] - '0', PracticeRules.Default.Certainty.Count - 1)].Id),
            _ => null,
        };
    }

    /// <summary>The answers with a line answered; how sure one was stays, but of what cannot be told.</summary>
    /// <param name="answers">The answers as they stand.</param>
    /// <param name="lineId">The line.</param>
    /// <param name="state">The answer.</param>
    public static PracticeAnswers Answered(PracticeAnswers answers, string lineId, ChecklistState state)
    {
        PracticeAnswer? before = answers.Lines.GetValueOrDefault(lineId);
        return answers.With(lineId, new PracticeAnswer(state, state == ChecklistState.NotMet ? before?.Miss : null, state == ChecklistState.CannotTell ? null : before?.Certainty));
    }

    /// <summary>The answers with the way a line is missed.</summary>
    /// <param name="answers">The answers as they stand.</param>
    /// <param name="lineId">The line.</param>
    /// <param name="miss">The way.</param>
    public static PracticeAnswers Missed(PracticeAnswers answers, string lineId, string miss)
        => answers.Lines.GetValueOrDefault(lineId) is { } before ? answers.With(lineId, before with { Miss = miss }) : answers;

    /// <summary>The answers with how sure one of them is; the same where there is nothing to be sure of.</summary>
    /// <param name="answers">The answers as they stand.</param>
    /// <param name="lineId">The line, or <see cref="VerdictLine"/>.</param>
    /// <param name="certainty">Identifier of the certainty.</param>
    public static PracticeAnswers Sure(PracticeAnswers answers, string lineId, string certainty)
        => lineId == VerdictLine
            ? answers.Verdict is null ? answers : answers with { VerdictCertainty = certainty }
            : answers.Lines.GetValueOrDefault(lineId) is { State: not ChecklistState.CannotTell } before ? answers.With(lineId, before with { Certainty = certainty }) : answers;

    /// <summary>What is still open, as half a sentence; empty: nothing.</summary>
    /// <param name="answers">The answers as they stand.</param>
    public string Missing(PracticeAnswers answers)
    {
        ArgumentNullException.ThrowIfNull(answers);
        int open = Lines.Count(line => !answers.Lines.ContainsKey(line.Id));
        return open == 0 ? answers.Verdict is null ? "the verdict is open" : "" : $"{open} of {Lines.Count} lines are open{(answers.Verdict is null ? ", and the verdict" : "")}; open ones get no credit";
    }
}
