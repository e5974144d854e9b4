using Hotlight.Catalogue;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>From lines to a verdict, by the ordered rules of docs/methods/judgement.md.</summary>
internal static class VerdictMaker
{
    /// <summary>Weighs a low deviation index together with what mottle does to the image: the index alone orders nothing.</summary>
    public static void WeighExposure(ChecklistLine[] lines, MeasurementDocument document, JudgementRules rules)
    {
        if (document.Exposure is not { IsMeasured: true, Value.DeviationIndex: { } deviationIndex })
        {
            return;
        }

        int index = Array.FindIndex(lines, line => line.Id == "exposure.deviation-index");
        ChecklistLine mottle = lines.Single(line => line.Id == "exposure.mottle");
        if (lines[index].State != ChecklistState.NotMet || lines[index].DecidedBy == DecidedBy.Reader)
        {
            return;
        }

        bool detailLost = mottle is { State: ChecklistState.NotMet, Weight: Weight.Repeat, MissId: not null };
        lines[index] = rules.DeviationBands.BandOf(deviationIndex) switch
        {
            DeviationBand.SeverelyUnderexposed or DeviationBand.Underexposed when detailLost => lines[index] with { Weight = Weight.Repeat, Explanation = lines[index].Explanation + " The reader sees mottle that hides needed detail." },
            DeviationBand.SeverelyUnderexposed or DeviationBand.Underexposed => lines[index] with { Weight = Weight.Consult },
            _ => lines[index] with { Weight = Weight.Remark },
        };
    }

    public static Verdict Decide(IReadOnlyList<ChecklistLine> lines)
    {
        ChecklistLine[] missed = [.. lines.Where(line => line.State == ChecklistState.NotMet)];
        ChecklistLine[] unclear = [.. missed.Where(NamesNoWay)];
        ChecklistLine[] repeats = [.. missed.Where(line => line.Weight == Weight.Repeat && !NamesNoWay(line))];
        ChecklistLine[] undecided = [.. lines.Where(line => line.State == ChecklistState.CannotTell && line.Required)];
        ChecklistLine[] consults = [.. missed.Where(line => line.Weight == Weight.Consult && !NamesNoWay(line))];
        ChecklistLine[] remarks = [.. missed.Where(line => line.Weight == Weight.Remark && !NamesNoWay(line))];
        Reason[] reasons =
        [
            .. repeats.Select(ReasonOf),
            .. consults.Select(ReasonOf),
            .. remarks.Select(ReasonOf),
        ];
        Reason[] open =
        [
            .. lines.Where(line => undecided.Contains(line) || unclear.Contains(line)).Select(line => new Reason(
                line.Id,
                unclear.Contains(line)
                    ? $"Say which way this is missed: {Wording.Small(line.Question)}"
                    : line.Question)),
        ];
        (VerdictKind kind, string sentence) = (repeats.Length, open.Length, consults.Length, remarks.Length) switch
        {
            ( > 0, _, _, _) => (VerdictKind.Repeat, $"Weigh a repeat against its dose: {Count(repeats.Length, "line")} that the image cannot do without {(repeats.Length == 1 ? "is" : "are")} not met."),
            (_, > 0, _, _) => (VerdictKind.Undetermined, $"Not decided yet: {Count(open.Length, "line")} must still be answered."),
            (_, _, > 0, _) => (VerdictKind.AcceptWithRemark, Consult(consults)),
            (_, _, _, > 0) => (VerdictKind.AcceptWithRemark, "Keep the image, with a remark for the next exposure."),
            _ => (VerdictKind.Accept, "Keep the image."),
        };
        int unanswered = lines.Count(line => line is { State: ChecklistState.CannotTell, Required: false, Misses.Count: > 0 });
        if (kind is VerdictKind.Accept or VerdictKind.AcceptWithRemark && unanswered > 0)
        {
            sentence += $" {Count(unanswered, "line")} {(unanswered == 1 ? "was" : "were")} left unanswered.";
        }

        return new Verdict { Kind = kind, Sentence = sentence, Reasons = reasons, Open = open };
    }

    /// <summary>A wrong side or a mirrored image is settled before it is sent; everything else is for the person who reports.</summary>
    private static string Consult(ChecklistLine[] consults)
    {
        const string Ask = "ask the person who reports whether it answers the question";
        const string Settle = "settle which side it shows before it is sent";
        bool settle = consults.Any(line => line is { Id: "marker.side", MissId: "wrong-side" } or { Id: "processing.complete", MissId: "wrong-way-round" });
        bool ask = consults.Any(line => line is not ({ Id: "marker.side", MissId: "wrong-side" } or { Id: "processing.complete", MissId: "wrong-way-round" }));
        return (settle, ask) switch
        {
            (true, true) => $"Keep the image, but {Settle}, and {Ask}.",
            (true, false) => $"Keep the image, but {Settle}.",
            _ => $"Keep the image, and {Ask}.",
        };
    }

    /// <summary>Whether a reader said no without saying how, where that decides what follows.</summary>
    private static bool NamesNoWay(ChecklistLine line)
        => line is { State: ChecklistState.NotMet, DecidedBy: DecidedBy.Reader, MissId: null }
            && line.Misses.Select(miss => miss.Weight).Distinct().Skip(1).Any();

    private static Reason ReasonOf(ChecklistLine line)
    {
        string sentence = line switch
        {
            { Miss: { } miss } => $"{Wording.Capital(miss.Looks)}. {miss.Means}",
            { DecidedBy: DecidedBy.Reader } => $"The reader says no to: {line.Question}",
            { Figure: { } figure, Explanation: { } explanation } => $"{Wording.Capital(figure)}. {explanation}",
            _ => line.Explanation ?? line.Question,
        };
        return new Reason(line.Id, sentence);
    }

    private static string Count(int number, string noun) => number == 1 ? $"1 {noun}" : $"{number} {noun}s";
}
