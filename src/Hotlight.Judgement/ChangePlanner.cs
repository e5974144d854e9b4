using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Positioning;
using Hotlight.Technique;

namespace Hotlight.Judgement;

/// <summary>What to change at the next exposure, in the order of the table, with direction and, where measured, size.</summary>
internal sealed class ChangePlanner(
    ExposureRecord exposure,
    MeasurementDocument document,
    Projection projection,
    JudgementRules rules,
    IReadOnlyList<ChecklistLine> lines,
    ExaminationContext context,
    IReadOnlyList<RelationFinding> positions)
{
    public IReadOnlyList<Change> Plan()
    {
        var changes = new List<Change>();
        Change? technique = MasChange();
        foreach (ChecklistLine line in lines.Where(line => line.State == ChecklistState.NotMet))
        {
            Change? change = line.Id switch
            {
                "exposure.deviation-index" => technique,
                "collimation.size" => FieldChange(line),
                "exposure.mottle" or "exposure.saturation" => Receptor(line, technique),
                "exposure.tube-voltage" or "records.distance" or "processing.intent" => null,
                _ => Named(line),
            };
            if (change is not null)
            {
                changes.Add(change with { Step = TableOrder.StepOf(line, change.Instruction) });
            }
        }

        if (HowWith() is { } how)
        {
            changes.Add(how);
        }

        return new TableOrder(projection, lines).Of(changes);
    }

    private static ChangeKind KindOf(ChecklistLine line) => line.Section switch
    {
        _ when line.MissId == "window" => ChangeKind.Display,
        ChecklistSection.RequiredAnatomy => ChangeKind.Centring,
        ChecklistSection.Positioning => ChangeKind.Position,
        ChecklistSection.Exposure => ChangeKind.Exposure,
        ChecklistSection.BrightnessAndContrast => ChangeKind.Exposure,
        ChecklistSection.Sharpness => ChangeKind.Stillness,
        ChecklistSection.Artifacts => ChangeKind.Artifact,
        ChecklistSection.Collimation => line.Id == "collimation.centre" ? ChangeKind.Centring : ChangeKind.Collimation,
        ChecklistSection.SideMarker => ChangeKind.Marker,
        ChecklistSection.ShieldingAndRecords => ChangeKind.Records,
        _ => ChangeKind.Display,
    };

    /// <summary>The correction of the way of missing that the reader named, or of the only one there is.</summary>
    private Change? Named(ChecklistLine line)
    {
        Miss? miss = line.Miss ?? (line.Misses.Count == 1 ? line.Misses[0] : null);
        if (miss is null)
        {
            return null;
        }

        if (context.RulesOutMoving && TableOrder.AsksToMove(line))
        {
            return new Change
            {
                LineId = line.Id,
                Kind = KindOf(line),
                Instruction = projection.Adaptations.FirstOrDefault(adaptation => adaptation.Situation == context.Situation)?.Text
                    ?? "Leave the part as it lies, and write down why the usual position was not possible.",
                Why = $"{miss.Means} The patient cannot make the movement that would put it right.",
            };
        }

        RelationFinding? finding = positions.FirstOrDefault(each => "position." + each.Relation.Id == line.Id && each.Result?.MissId == miss.Id);
        return new Change
        {
            LineId = line.Id,
            Kind = KindOf(line),
            Instruction = finding is not null && RelationText.Correction(finding) is { } sized ? sized : miss.Correction,
            Why = line.DecidedBy == DecidedBy.Reader || line.Explanation is null || finding is not null ? miss.Means : line.Explanation,
            Direction = miss.Direction,
        };
    }

    /// <summary>How a child or a large body is helped into the position that was missed; null where nothing of the position was, or the catalogue has no word on it.</summary>
    private Change? HowWith()
        => context.Ability is PatientAbility.Child or PatientAbility.LargeBody
            && lines.FirstOrDefault(line => line is { Section: ChecklistSection.Positioning, State: ChecklistState.NotMet }) is { } missed
            && projection.Adaptations.FirstOrDefault(adaptation => adaptation.Situation == context.Situation) is { } adaptation
            ? new Change
            {
                LineId = missed.Id,
                Kind = ChangeKind.Position,
                Step = TableStep.Patient,
                Instruction = adaptation.Text,
                Why = context.Ability == PatientAbility.Child ? "The patient is a child." : "The patient has a large body.",
            }
            : null;

    /// <summary>The correction of mottle or of burned-out anatomy: the measured change of mAs where it goes the same way, never one that contradicts it.</summary>
    private Change? Receptor(ChecklistLine line, Change? technique)
    {
        if (Named(line) is not { } change)
        {
            return null;
        }

        bool wantsMore = line.Id == "exposure.mottle";
        if (technique?.MasFactor is { } factor && factor > 1 == wantsMore)
        {
            return null;
        }

        return document.Exposure is { IsMeasured: true, Value.DeviationIndex: not null }
            ? change with
            {
                Instruction = wantsMore
                    ? "Have processing, target and receptor checked before another exposure: the index is not low, so more exposure is not the answer."
                    : "Check for lead or a wide field that misleads the index before another exposure: the index is not high, so less exposure is not the answer.",
            }
            : change;
    }

    private Change? MasChange()
    {
        if (document.Exposure is not { IsMeasured: true, Value: { DeviationIndex: { } deviationIndex } measured }
            || lines.Single(line => line.Id == "exposure.deviation-index").State != ChecklistState.NotMet
            || Math.Abs(deviationIndex) > Math.Min(rules.LargestDeviationIndex, TechniquePlanner.LargestDeviationIndex)
            || rules.DeviationBands.BandOf(deviationIndex) is DeviationBand.Target or DeviationBand.Unnamed)
        {
            return null;
        }

        // An mAs that no generator makes, before or after, is a wrong record: then the factor alone is told.
        double factorAlone = DeviationIndexLaw.MasFactor(deviationIndex);
        double? recorded = exposure.ExposureMas is { } written and >= 0.001 and <= 10_000 && written * factorAlone is >= 0.001 and <= 10_000 ? written : null;
        TechniquePlan plan = TechniquePlanner.Plan(
            new ExposureTechnique { Mas = recorded },
            new TechniqueRequest { DeviationIndex = deviationIndex, DeviationIndexUncertainty = measured.DeviationIndexUncertainty });
        double factor = plan.MasFactor;
        double? uncertainty = plan.MasFactorUncertainty;
        string size = FigureText.Write(factor, uncertainty, string.Empty, 2);
        bool automatic = string.Equals(exposure.ExposureControlMode?.Trim(), "AUTOMATIC", StringComparison.OrdinalIgnoreCase);
        string from = exposure.ExposureMas is { } mas and > 0
            ? Texts.Get("change.mas.from", Wording.Significant(mas), Wording.Significant(mas * factor))
            : string.Empty;
        string instruction = (automatic, factor > 1) switch
        {
            (true, true) => Texts.Get("change.automatic.raise", size, from),
            (true, false) => Texts.Get("change.automatic.lower", size, from),
            (false, true) => Texts.Get("change.mas.raise", size, from),
            _ => Texts.Get("change.mas.lower", size, from),
        };
        if (plan.Generator is { } step && !automatic)
        {
            instruction += " " + Texts.Get("change.mas.step", step.Series.ToUpperInvariant(), Wording.Significant(step.Mas));
        }

        return new Change
        {
            LineId = "exposure.deviation-index",
            Kind = ChangeKind.Exposure,
            Instruction = instruction,
            Why = $"{Wording.DeviationIndex(deviationIndex, measured.DeviationIndexUncertainty)}: the receptor got {Wording.Number(Math.Pow(10, deviationIndex / 10) * 100, 0)} % of its target exposure.",
            Direction = factor > 1 ? "raise" : "lower",
            MasFactor = Math.Round(factor, 6),
            MasFactorUncertainty = uncertainty is { } known ? Math.Round(known, 6) : null,
            GeneratorMas = automatic ? null : plan.Generator?.Mas,
        };
    }

    private Change? FieldChange(ChecklistLine line)
    {
        if (line.DecidedBy == DecidedBy.Reader || !document.Collimation.IsMeasured)
        {
            return Named(line);
        }

        CollimationMeasurement measured = document.Collimation.Value;
        double margin = measured.SkinMarginMm ?? projection.Collimation.SkinMarginMm.Value;
        FieldTrim[] trims = measured.SkinToEdgeMm is not { Count: 4 } free
            ? []
            : [.. Enum.GetValues<FieldSide>().Select(side => new FieldTrim(side, free[(int)side] - margin)).Where(trim => trim.Mm >= rules.SmallestTrimMm)];
        string sides = Wording.Join(trims.Select(trim => Texts.Get("change.field.trim", Wording.Side(trim.Side), Wording.Number(trim.Mm, 0))));
        return new Change
        {
            LineId = line.Id,
            Kind = ChangeKind.Collimation,
            Instruction = trims.Length == 0
                ? Texts.Get("change.field.smaller", Wording.Number(measured.AreaReductionPercent, 0))
                : Texts.Get("change.field.trims", sides),
            Why = $"{Wording.Number(measured.EmptyPercentOfField, 0)} % of the field holds nothing of the patient; less field is less dose and less scatter. The dose of this exposure is spent, so this alone is no reason for a repeat.",
            Direction = "smaller",
            Trims = trims,
        };
    }
}
