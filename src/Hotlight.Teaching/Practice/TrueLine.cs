using Hotlight.Catalogue;
using Hotlight.Judgement;

namespace Hotlight.Teaching.Practice;

/// <summary>How a line of the checklist truly stands, known by construction or from a reference.</summary>
/// <param name="LineId">Identifier of the line.</param>
/// <param name="State">Met or not met.</param>
/// <param name="Misses">Ways of missing it of which each is true; empty where it is met, or where the line names none.</param>
/// <param name="Why">Why, one sentence.</param>
public sealed record TrueLine(string LineId, ChecklistState State, IReadOnlyList<string> Misses, string Why)
{
    /// <summary>Whether it is a fault.</summary>
    public bool IsFault => State == ChecklistState.NotMet;
}

/// <summary>Which verdicts follow from true lines.</summary>
public static class TrueVerdict
{
    /// <summary>The verdicts that follow, from the mildest on: several where several ways of missing a line are true.</summary>
    /// <remarks>The rule of the judgement without its context: the heaviest missed line decides; a repeat for what weighs a repeat, a remark for what weighs a question or a remark, else accept. A low deviation index weighs a repeat only with mottle that hides detail, so that alone it is a remark.</remarks>
    /// <param name="lines">The true lines.</param>
    /// <param name="checklist">The projection's checklist, for the weights.</param>
    public static IReadOnlyList<VerdictKind> Of(IReadOnlyList<TrueLine> lines, IReadOnlyList<ChecklistLine> checklist)
    {
        ArgumentNullException.ThrowIfNull(lines);
        ArgumentNullException.ThrowIfNull(checklist);
        Weight mildest = Weight.Note;
        Weight heaviest = Weight.Note;
        foreach (TrueLine fault in lines.Where(line => line.IsFault))
        {
            ChecklistLine? line = checklist.FirstOrDefault(each => each.Id == fault.LineId);
            Weight[] weights = line is null ? [] : [.. line.Misses.Where(miss => fault.Misses.Contains(miss.Id)).Select(miss => miss.Weight)];
            weights = weights.Length > 0 ? weights : [line?.Weight ?? Weight.Remark];
            mildest = Max(mildest, weights.Min());
            heaviest = Max(heaviest, weights.Max());
        }

        return [.. new[] { VerdictKind.Accept, VerdictKind.AcceptWithRemark, VerdictKind.Repeat }.Where(kind => kind >= Kind(mildest) && kind <= Kind(heaviest))];
    }

    private static Weight Max(Weight a, Weight b) => a > b ? a : b;

    private static VerdictKind Kind(Weight weight) => weight switch
    {
        Weight.Repeat => VerdictKind.Repeat,
        Weight.Consult or Weight.Remark => VerdictKind.AcceptWithRemark,
        _ => VerdictKind.Accept,
    };
}
