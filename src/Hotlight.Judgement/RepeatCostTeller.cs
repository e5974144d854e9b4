using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Technique.Dose;

namespace Hotlight.Judgement;

/// <summary>What a repeat costs and gives, from the header's own dose quantity, or in relation to this exposure. It never invents a dose.</summary>
internal static class RepeatCostTeller
{
    public static RepeatCost Tell(ExposureRecord exposure, MeasurementDocument document, IReadOnlyList<ChecklistLine> lines, Verdict verdict, IReadOnlyList<Change> changes, ExaminationContext context)
    {
        // Kerma-area product goes with mAs and with the field's area; a field that must be opened has no known size.
        double mas = changes.FirstOrDefault(change => change.MasFactor is not null)?.MasFactor ?? 1;
        bool opens = lines.Any(line => line is { Section: ChecklistSection.RequiredAnatomy, State: ChecklistState.NotMet });
        bool tightens = changes.Any(change => change is { LineId: "collimation.size", Kind: ChangeKind.Collimation, Proposed: null }) && document.Collimation.IsMeasured && !opens;
        double area = tightens ? 1 - (document.Collimation.Value!.AreaReductionPercent / 100) : 1;
        double? relative = opens ? null : mas * area;
        double? product = exposure.KermaAreaProductDgyCm2 is { } known && double.IsFinite(known) && known > 0 ? known : null;
        double? entrance = exposure.EntranceDoseMgy is { } dose && double.IsFinite(dose) && dose > 0 ? dose : null;

        string changed = (mas != 1, tightens) switch
        {
            (true, true) => Texts.Get("cost.changed.both"),
            (true, false) => Texts.Get("cost.changed.mas"),
            (false, true) => Texts.Get("cost.changed.field"),
            _ => string.Empty,
        };
        string Times(double times) => Texts.Get("cost.times", Wording.Number(times, 1));
        string about = relative is { } times && Math.Abs(times - 1) >= 0.05 ? Times(times) : Texts.Get("cost.same");
        RepeatDose? planned = product is { } recorded
            ? RepeatDose.Of(DoseTeller.Tell(new DoseInput { KermaAreaProductDgyCm2 = recorded }), new DoseChange { MasFactor = mas, FieldAreaFactor = opens ? null : area })
            : null;
        KermaAreaProduct? next = planned?.Repeat.KermaAreaProduct.Value;
        string sentence;
        CostBasis basis;
        if (product is { } given)
        {
            basis = CostBasis.KermaAreaProduct;
            sentence = relative is { } factor
                ? Texts.Get("cost.product", Wording.Significant(given), Product(given * factor, next?.UncertaintyDgyCm2), changed, tightens ? Texts.Get("cost.field-as-it-is", Wording.Significant(given * mas)) : string.Empty)
                : Texts.Get("cost.product.opened", Wording.Significant(given), Wording.Significant(given * mas));
        }
        else if (entrance is { } mgy)
        {
            basis = CostBasis.EntranceDose;
            sentence = Texts.Get("cost.entrance", Wording.Significant(mgy), Wording.Significant(mgy * mas), mas != 1 ? Texts.Get("cost.changed.mas") : string.Empty);
        }
        else
        {
            basis = CostBasis.Relative;
            sentence = relative is null
                ? Texts.Get("cost.relative.opened", mas == 1 ? Texts.Get("cost.same") : Times(mas))
                : Texts.Get("cost.relative", about, changed);
        }

        if (context.RepeatsAlready is > 0 and var before)
        {
            sentence += " " + (product is { } each && relative is { } more
                ? Texts.Get("cost.repeated.total", Wording.Times(before), Wording.Significant((each * (1 + before)) + (each * more)))
                : Texts.Get("cost.repeated", Wording.Times(before)));
        }

        return new RepeatCost
        {
            Basis = basis,
            ThisExposureDgyCm2 = product,
            RepeatDgyCm2 = product * relative is { } repeat ? Math.Round(repeat, 6) : null,
            RepeatDgyCm2Uncertainty = next is null ? null : Math.Round(next.UncertaintyDgyCm2, 6),
            TotalDgyCm2 = product is { } one && relative is { } again ? Math.Round((one * (1 + (context.RepeatsAlready ?? 0))) + (one * again), 6) : null,
            RepeatWithUnchangedFieldDgyCm2 = tightens && product is { } wide ? Math.Round(wide * mas, 6) : null,
            RelativeToThisExposure = relative is { } share ? Math.Round(share, 6) : null,
            Sentence = sentence,
            Gain = Gain(lines, verdict),
        };
    }

    // Two digits of the uncertainty are enough.
    private static string Product(double dgyCm2, double? uncertainty)
        => uncertainty is { } sigma and > 0
            ? FigureText.Write(dgyCm2, sigma, " dGy·cm²", Math.Clamp(1 - (int)Math.Floor(Math.Log10(sigma)), 0, 6))
            : $"{Wording.Significant(dgyCm2)} dGy·cm²";

    private static string Gain(IReadOnlyList<ChecklistLine> lines, Verdict verdict)
    {
        string[] gains =
        [
            .. lines.Where(line => line is { State: ChecklistState.NotMet, Weight: Weight.Repeat or Weight.Consult, Gain: not null }
                    && (verdict.Kind != VerdictKind.Repeat || line.Weight == Weight.Repeat))
                .Select(line => line.Gain!).Distinct(),
        ];
        return verdict.Kind switch
        {
            VerdictKind.Repeat when gains.Length > 0 => Texts.Get("cost.gain.repeat", Wording.Join(gains)),
            VerdictKind.Repeat => Texts.Get("cost.gain.unknown"),
            VerdictKind.Undetermined => Texts.Get("cost.gain.undetermined"),
            VerdictKind.AcceptWithRemark when gains.Length > 0 => Texts.Get("cost.gain.if-asked", Wording.Join(gains)),
            _ => Texts.Get("cost.gain.none"),
        };
    }
}
