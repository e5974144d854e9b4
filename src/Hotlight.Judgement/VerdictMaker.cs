using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
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

    /// <summary>Sorts the lines by what they do to the verdict.</summary>
    public static SortedLines Sort(IReadOnlyList<ChecklistLine> lines)
    {
        ChecklistLine[] missed = [.. lines.Where(line => line.State == ChecklistState.NotMet)];
        return new SortedLines(
            [.. missed.Where(line => line.Weight == Weight.Repeat && !NamesNoWay(line))],
            [.. lines.Where(line => (line.State == ChecklistState.CannotTell && line.Required) || NamesNoWay(line))],
            [.. missed.Where(line => line.Weight == Weight.Consult && !NamesNoWay(line))],
            [.. missed.Where(line => line.Weight == Weight.Remark && !NamesNoWay(line))]);
    }

    public static Verdict Decide(IReadOnlyList<ChecklistLine> lines)
    {
        SortedLines sorted = Sort(lines);
        Reason[] reasons =
        [
            .. sorted.Repeats.Select(ReasonOf),
            .. sorted.Consults.Select(ReasonOf),
            .. sorted.Remarks.Select(ReasonOf),
        ];
        Reason[] open =
        [
            .. sorted.Open.Select(line => new Reason(line.Id, NamesNoWay(line) ? Texts.Get("verdict.open.which-way", Wording.Small(line.Question)) : line.Question)),
        ];
        (VerdictKind kind, string sentence) = sorted.Rule switch
        {
            1 => (VerdictKind.Repeat, sorted.Repeats.Count == 1 ? Texts.Get("verdict.repeat.one") : Texts.Get("verdict.repeat.several", Plain(sorted.Repeats.Count))),
            2 => (VerdictKind.Undetermined, open.Length == 1 ? Texts.Get("verdict.undetermined.one") : Texts.Get("verdict.undetermined.several", Plain(open.Length))),
            3 => (VerdictKind.AcceptWithRemark, Consult(sorted.Consults)),
            4 => (VerdictKind.AcceptWithRemark, Texts.Get("verdict.remark")),
            _ => (VerdictKind.Accept, Texts.Get("verdict.accept")),
        };
        int unanswered = lines.Count(line => line is { State: ChecklistState.CannotTell, Required: false, Misses.Count: > 0 });
        if (kind is VerdictKind.Accept or VerdictKind.AcceptWithRemark && unanswered > 0)
        {
            sentence += " " + (unanswered == 1 ? Texts.Get("verdict.unanswered.one") : Texts.Get("verdict.unanswered.several", Plain(unanswered)));
        }

        return new Verdict { Kind = kind, Sentence = sentence, Reasons = reasons, Open = open };
    }

    /// <summary>A wrong side or a mirrored image is settled before it is sent; everything else is for the person who reports.</summary>
    private static string Consult(IReadOnlyList<ChecklistLine> consults)
    {
        bool settle = consults.Any(line => line is { Id: "marker.side", MissId: "wrong-side" } or { Id: "processing.complete", MissId: "wrong-way-round" });
        bool ask = consults.Any(line => line is not ({ Id: "marker.side", MissId: "wrong-side" } or { Id: "processing.complete", MissId: "wrong-way-round" }));
        return (settle, ask) switch
        {
            (true, true) => Texts.Get("verdict.consult.settle-and-ask"),
            (true, false) => Texts.Get("verdict.consult.settle"),
            _ => Texts.Get("verdict.consult.ask"),
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
            { Section: ChecklistSection.Positioning, Miss: { } miss, DecidedBy: DecidedBy.Measurement, Figure: { } figure } => Texts.Get("verdict.reason.by-landmarks", Wording.Capital(figure), miss.Looks, miss.Means),
            { Miss: { } miss } => Texts.Get("verdict.reason.miss", Wording.Capital(miss.Looks), miss.Means),
            { DecidedBy: DecidedBy.Reader } => Texts.Get("verdict.reason.reader", line.Question),
            { Figure: { } figure, Explanation: { } explanation } => $"{Wording.Capital(figure)}. {explanation}",
            _ => line.Explanation ?? line.Question,
        };
        return new Reason(line.Id, sentence);
    }

    private static string Plain(int number) => number.ToString(CultureInfo.InvariantCulture);
}

/// <summary>Lines that are not met or open, by what they do to the verdict; each list in teaching order.</summary>
/// <param name="Repeats">Not met, weight repeat.</param>
/// <param name="Open">Required and undecided, or missed in a way that was not named.</param>
/// <param name="Consults">Not met, weight consult.</param>
/// <param name="Remarks">Not met, weight remark.</param>
internal sealed record SortedLines(IReadOnlyList<ChecklistLine> Repeats, IReadOnlyList<ChecklistLine> Open, IReadOnlyList<ChecklistLine> Consults, IReadOnlyList<ChecklistLine> Remarks)
{
    /// <summary>Number of the first rule that holds, 1 to 5, as docs/methods/judgement.md numbers them.</summary>
    public int Rule => (Repeats.Count, Open.Count, Consults.Count, Remarks.Count) switch
    {
        ( > 0, _, _, _) => 1,
        (_, > 0, _, _) => 2,
        (_, _, > 0, _) => 3,
        (_, _, _, > 0) => 4,
        _ => 5,
    };

    /// <summary>The lines that make a rule hold.</summary>
    public IReadOnlyList<ChecklistLine> Of(int rule) => rule switch
    {
        1 => Repeats,
        2 => Open,
        3 => Consults,
        4 => Remarks,
        _ => [],
    };
}
