using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Positioning;

namespace Hotlight.Judgement;

/// <summary>Lays out the checklist and decides the lines that measurement and header can decide; the reader's answers come later.</summary>
internal sealed partial class ChecklistBuilder(ExposureRecord exposure, MeasurementDocument document, Projection projection, JudgementRules rules, IReadOnlyList<RelationFinding>? positions = null)
{
    /// <summary>Whether the file has a header that could hold the records at all.</summary>
    private bool HasHeader { get; } = document.Image is { IsMeasured: true, Value.Source: ImageSource.Dicom };

    /// <summary>Whether the projection itself asks for the skin; then its line stands and the general one does not.</summary>
    private bool NamesSkin { get; } = projection.RequiredAnatomy.Any(item => item.Id == "skin");

    /// <summary>All lines in teaching order; the same identifiers for every image of a projection.</summary>
    public IReadOnlyList<ChecklistLine> Build()
    {
        IReadOnlyList<FieldSide> surplus = SurplusExits();
        return
        [
            .. projection.RequiredAnatomy.Select(item => AnatomyLine(item, surplus)),
            .. NamesSkin ? Array.Empty<ChecklistLine>() : [SkinLine(surplus)],
            .. projection.Relations.Select(RelationLine),
            DeviationIndexLine(),
            MottleLine(),
            SaturationLine(),
            SkinEdgeLine(),
            TubeVoltageLine(),
            HeaderFiguresLine(),
            TissueLine(),
            SharpnessLine(),
            ArtifactLine(),
            CollimatorEdgesLine(),
            FieldSizeLine(surplus),
            CentreLine(),
            MarkerLine(),
            ShieldingLine(),
            ProjectionRecordLine(),
            SideRecordLine(),
            TechniqueRecordLine(),
            DistanceRecordLine(),
            IndexRecordLine(),
            DoseRecordLine(),
            TimeRecordLine(),
            IntentLine(),
            CompleteLine(),
        ];
    }

    private static ChecklistLine Line(string id, ChecklistSection section, string question, Weight weight, bool required, params string[] basis) => new()
    {
        Id = id,
        Section = section,
        Question = question,
        State = ChecklistState.CannotTell,
        DecidedBy = DecidedBy.Nobody,
        Weight = weight,
        Required = required,
        Basis = basis,
    };

    private ChecklistLine AnatomyLine(RequiredAnatomy item, IReadOnlyList<FieldSide> surplus)
        => Line("anatomy." + item.Id, ChecklistSection.RequiredAnatomy, item.Question, HeaviestOf(item.Misses), true, item.Basis) with
        {
            Hint = surplus.Count == 0 ? null : $"The body also leaves the field at the {Wording.Join(surplus.Select(Wording.Side))} of the image: look there first.",
            Evidence = CutSides(surplus),
            Misses = item.Misses,
            Gain = item.Gain,
        };

    private ChecklistLine SkinLine(IReadOnlyList<FieldSide> surplus)
    {
        ChecklistLine line = Line(
            "anatomy.skin",
            ChecklistSection.RequiredAnatomy,
            projection.BodyExit?.Arrangement switch
            {
                ExitArrangement.Opposite => Texts.Get("line.skin.opposite"),
                ExitArrangement.Any => Texts.Get("line.skin.any"),
                _ => Texts.Get("line.skin.where"),
            },
            Weight.Remark,
            false,
            projection.BodyExit?.Basis ?? "common-practice") with
        {
            Misses = SkinMisses,
            Gain = Texts.Get("gain.skin"),
        };
        if (projection.BodyExit is not { } exit)
        {
            return line with { State = ChecklistState.NotApplicable, DecidedBy = DecidedBy.Nobody, Explanation = "The trunk may leave the field by every side." };
        }

        if (!document.Anatomy.IsMeasured)
        {
            return line with { Explanation = document.Anatomy.Why };
        }

        Evidence[] evidence = document.Anatomy.Value.Outlines.Count == 0
            ? []
            : [new Evidence { Kind = EvidenceKind.Anatomy, Outlines = document.Anatomy.Value.Outlines, Closed = true }];
        if (surplus.Count == 0)
        {
            return line with
            {
                State = ChecklistState.Met,
                DecidedBy = DecidedBy.Measurement,
                Figure = document.Anatomy.Value.Leaves.Count == 0 ? Texts.Get("figure.leaves.nowhere") : Texts.Get("figure.leaves", Wording.Join(document.Anatomy.Value.Leaves.Select(Wording.Side))),
                Explanation = exit.Explanation,
                Evidence = evidence,
            };
        }

        return line with
        {
            DecidedBy = DecidedBy.Nobody,
            Figure = Texts.Get("figure.leaves", Wording.Join(document.Anatomy.Value.Leaves.Select(Wording.Side))),
            Explanation = "The body leaves the field by more sides than it should, or by sides beside each other; whether anything needed is cut is for the reader.",
            Hint = exit.Explanation,
            Evidence = [.. evidence, .. CutSides(surplus)],
        };
    }

    private ChecklistLine RelationLine(PositionRelation relation)
    {
        ChecklistLine line = Line("position." + relation.Id, ChecklistSection.Positioning, relation.Question, HeaviestOf(relation.Misses), relation.Misses.Any(miss => miss.Weight == Weight.Repeat), relation.Basis, relation.Tolerance.Basis) with
        {
            Tolerance = relation.Tolerance.Text,
            Misses = relation.Misses,
            Gain = relation.Gain,
        };
        if (positions?.FirstOrDefault(finding => finding.Relation.Id == relation.Id) is not { } finding)
        {
            return line;
        }

        if (finding.Result is not { } result)
        {
            return line with { Hint = finding.Why };
        }

        // The sentence begins with the figure, which stands in the line already.
        string figure = RelationText.Figure(result);
        line = line with { Figure = figure, Explanation = Wording.Capital(RelationText.Sentence(finding)[(figure.Length + 2)..]) };
        Miss? miss = relation.Misses.FirstOrDefault(each => each.Id == result.MissId);
        return result.State switch
        {
            RelationState.Holds => line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Measurement },
            RelationState.Missed when miss is not null => line with
            {
                State = ChecklistState.NotMet,
                DecidedBy = DecidedBy.Measurement,
                MissId = miss.Id,
                Weight = miss.Weight,
                Hint = miss.Weight == Weight.Repeat ? $"Marks alone never order a repeat: if you see it too, answer not-met ({miss.Id}), and it weighs one." : null,
            },
            _ => line,
        };
    }

    private ChecklistLine DeviationIndexLine()
    {
        DeviationBands bands = rules.DeviationBands;
        ChecklistLine line = Line(
            "exposure.deviation-index",
            ChecklistSection.Exposure,
            Texts.Get("line.deviation-index", Wording.Signed(bands.TargetLow, 1), Wording.Signed(bands.TargetHigh, 1)),
            Weight.Remark,
            false,
            bands.Basis,
            "iec-62494-1") with
        { Gain = Texts.Get("gain.noise") };
        if (!document.Exposure.IsMeasured)
        {
            return line with { Explanation = document.Exposure.Why };
        }

        ExposureMeasurement measured = document.Exposure.Value;
        if (measured.DeviationIndex is not { } deviationIndex)
        {
            return line with
            {
                Figure = "EI " + Wording.Number(measured.ExposureIndex, 0) + Wording.PlusMinus(measured.ExposureIndexUncertainty, 0),
                Explanation = "The exposure index is known, but no target is: give the clinic's target exposure index for this projection.",
            };
        }

        if (!(Math.Abs(deviationIndex) <= rules.LargestDeviationIndex))
        {
            return line with
            {
                Figure = Wording.DeviationIndex(deviationIndex, measured.DeviationIndexUncertainty),
                Explanation = "So far from target that the record is probably wrong: nothing is drawn from it. Have index and target checked.",
            };
        }

        if (measured.HeaderAgrees == false)
        {
            return line with
            {
                Figure = Wording.DeviationIndex(deviationIndex, measured.DeviationIndexUncertainty),
                Explanation = "The header's exposure index, target and deviation index contradict each other, so nothing is drawn from them.",
            };
        }

        DeviationBand band = bands.BandOf(deviationIndex);
        double share = Math.Pow(10, deviationIndex / 10);
        string times = share >= 1 ? $"{Wording.Number(share, 1)} times the target exposure" : $"{Wording.Number(100 * share, 0)} % of the target exposure";
        string explanation = band switch
        {
            DeviationBand.Target => $"In the target range ({bands.Scheme}).",
            DeviationBand.Unnamed => $"Between two bands: the scheme ({bands.Scheme}) names no action here, so none is drawn.",
            DeviationBand.Overexposed => $"The receptor got {times}. A high index alone never orders a repeat: only needed anatomy that is burned out does ({bands.Scheme}).",
            DeviationBand.ExcessivelyExposed => $"The receptor got {times}: find out why. A high index alone never orders a repeat: only needed anatomy that is burned out does ({bands.Scheme}).",
            DeviationBand.Underexposed => $"The receptor got {times}: ask the person who reports whether the image answers the question ({bands.Scheme}).",
            _ => $"The receptor got {times}: weigh a repeat if mottle hides what must be seen ({bands.Scheme}).",
        };
        if (measured.DeviationIndexUncertainty is { } uncertainty
            && (bands.BandOf(deviationIndex - uncertainty) != band || bands.BandOf(deviationIndex + uncertainty) != band))
        {
            explanation += " Within its uncertainty it may lie in the neighbouring band.";
        }

        return line with
        {
            State = band switch
            {
                DeviationBand.Target => ChecklistState.Met,
                DeviationBand.Unnamed => ChecklistState.CannotTell,
                _ => ChecklistState.NotMet,
            },
            Weight = band is DeviationBand.Underexposed or DeviationBand.SeverelyUnderexposed ? Weight.Consult : Weight.Remark,
            DecidedBy = measured.Basis == ExposureBasis.Header ? DecidedBy.Header : DecidedBy.Measurement,
            Figure = Wording.DeviationIndex(deviationIndex, measured.DeviationIndexUncertainty),
            Explanation = explanation,
        };
    }

    private ChecklistLine MottleLine()
    {
        ChecklistLine line = Line("exposure.mottle", ChecklistSection.Exposure, Texts.Get("line.mottle"), Weight.Repeat, true, "common-practice") with
        {
            Misses = MottleMisses,
            Gain = Texts.Get("gain.mottle"),
        };
        if (!document.Mottle.IsMeasured)
        {
            return line with { Explanation = document.Mottle.Why };
        }

        MottleMeasurement measured = document.Mottle.Value;
        string scale = measured.Scale == "linear signal" ? string.Empty : Texts.Get("figure.noise.of-pixel-values");
        line = line with
        {
            Figure = Texts.Get("figure.noise", FigureText.Write(measured.RelativeNoisePercent, measured.RelativeNoisePercentUncertainty, " %" + scale, 1)),
            Evidence = MottlePlaces(measured),
        };
        return measured.Visible
            ? line with
            {
                Explanation = "Mottle is strong enough to be seen in soft tissue; whether it hides what must be seen is for the reader.",
                Hint = "Look at thin bone and soft tissue at full size.",
            }
            : line with
            {
                State = ChecklistState.Met,
                DecidedBy = DecidedBy.Measurement,
                Explanation = "Mottle in soft tissue is too weak to be seen.",
            };
    }

    private ChecklistLine SaturationLine()
    {
        ChecklistLine line = Line("exposure.saturation", ChecklistSection.Exposure, Texts.Get("line.saturation"), Weight.Repeat, false, "hotlight-rule", rules.DeviationBands.Basis) with
        {
            Misses = SaturationMisses,
            Gain = Texts.Get("gain.saturation"),
        };
        if (!document.Clipping.IsMeasured)
        {
            return line with { Explanation = document.Clipping.Why };
        }

        ClippingMeasurement clipping = document.Clipping.Value;
        double saturated = clipping.SaturatedPercentOfAnatomy;
        line = line with { Figure = clipping.SaturatedIsAtLeast == true ? Texts.Get("figure.saturated.at-least", Wording.Number(saturated, 1)) : Texts.Get("figure.saturated", Wording.Number(saturated, 1)) };
        if (clipping.SaturatedIsAtLeast == true && saturated < rules.SaturatedPercentOfAnatomy)
        {
            // Tissue that is burned out wholly looks like direct exposure, so the share alone settles nothing.
            return line with
            {
                Required = true,
                Explanation = $"Outer tissue is burned out along {Wording.Number(clipping.SkinLineLostPercent ?? 0, 0)} % of the skin line, and what is burned out wholly cannot be counted; whether a needed part is among it is for the reader.",
                Evidence = Outlines(EvidenceKind.LostSkin, clipping.LostSkinLines, closed: false),
            };
        }

        return saturated >= rules.SaturatedPercentOfAnatomy
            ? line with
            {
                Required = true,
                Explanation = "Part of the anatomy is at the upper limit and holds no detail; whether a needed part is among it is for the reader.",
                Evidence = Outlines(EvidenceKind.LostSkin, document.Clipping.Value.LostSkinLines, closed: false),
            }
            : line with
            {
                State = ChecklistState.Met,
                DecidedBy = DecidedBy.Measurement,
                Explanation = $"Less than {Wording.Number(rules.SaturatedPercentOfAnatomy, 1)} % of the anatomy is at the upper limit.",
            };
    }

    private ChecklistLine SkinEdgeLine()
    {
        ChecklistLine line = Line("exposure.skin-line", ChecklistSection.Exposure, Texts.Get("line.skin-line"), Weight.Remark, false, "hotlight-rule") with
        {
            Misses = SkinEdgeMisses,
            Gain = Texts.Get("gain.skin-line"),
        };
        if (!document.Clipping.IsMeasured)
        {
            return line with { Explanation = document.Clipping.Why };
        }

        if (document.Clipping.Value.SkinLineLostPercent is not { } lost)
        {
            return line with { State = ChecklistState.NotApplicable, DecidedBy = DecidedBy.Measurement, Explanation = "No skin line lies in the field." };
        }

        bool isLost = lost >= rules.SkinLineLostPercent;
        return line with
        {
            State = isLost ? ChecklistState.NotMet : ChecklistState.Met,
            DecidedBy = DecidedBy.Measurement,
            Figure = Texts.Get("figure.skin-line", Wording.Number(lost, 0)),
            Explanation = isLost
                ? "The outer soft tissue is clipped along the drawn parts of the skin line."
                : $"Soft tissue is clipped along less than {Wording.Number(rules.SkinLineLostPercent, 0)} % of the skin line.",
            Evidence = Outlines(EvidenceKind.LostSkin, document.Clipping.Value.LostSkinLines, closed: false),
        };
    }

    private ChecklistLine TubeVoltageLine()
    {
        SourcedRange usual = projection.TubeVoltageKvp;
        string range = Texts.Get("figure.voltage-range", Wording.Number(usual.From, 0), Wording.Number(usual.To, 0));
        ChecklistLine line = Line("exposure.tube-voltage", ChecklistSection.Exposure, Texts.Get("line.tube-voltage", range), Weight.Note, false, usual.Basis);
        return Recorded(exposure.TubeVoltageKvp) is not { } voltage
            ? line with { Explanation = NotInHeader("the tube voltage") }
            : line with
            {
                State = usual.Contains(voltage) ? ChecklistState.Met : ChecklistState.NotMet,
                DecidedBy = DecidedBy.Header,
                Figure = $"{Wording.Significant(voltage)} kVp",
                Explanation = usual.Contains(voltage) ? "In the usual range of a digital receptor; the clinic's own chart goes before it." : "Outside the usual range of a digital receptor; the clinic's own chart goes before it.",
            };
    }

    private ChecklistLine HeaderFiguresLine()
    {
        ChecklistLine line = Line("exposure.header-figures", ChecklistSection.Exposure, Texts.Get("line.header-figures"), Weight.Remark, false, "iec-62494-1");
        if (document.Exposure is { IsMeasured: true, Value.HeaderAgrees: { } agrees })
        {
            return line with
            {
                State = agrees ? ChecklistState.Met : ChecklistState.NotMet,
                DecidedBy = DecidedBy.Header,
                Explanation = agrees
                    ? "They agree with DI = 10·log10(EI / target) within 0.1."
                    : "They do not agree with DI = 10·log10(EI / target) within 0.1: the header's figures cannot be relied on; have the system checked.",
            };
        }

        return line with { Explanation = HasHeader ? "The header does not carry all three figures." : NotInHeader("them") };
    }

    private ChecklistLine TissueLine()
    {
        ChecklistLine line = Line("brightness.tissues", ChecklistSection.BrightnessAndContrast, projection.TissueQuestion.Text, Weight.Remark, false, projection.TissueQuestion.Basis) with
        {
            Misses = TissueMisses,
            Gain = Texts.Get("gain.tissues"),
        };
        return document.Display.IsMeasured
            ? line with
            {
                Figure = Texts.Get("figure.display", Wording.Number(document.Display.Value.ContrastPercent, 0), Wording.Number(document.Display.Value.MeanBrightnessPercent, 0)),
                Explanation = "The figures describe how the anatomy is shown by the image's own window; whether that is right is for the reader.",
            }
            : line;
    }

    private ChecklistLine ShieldingLine()
        => Line("records.shielding", ChecklistSection.ShieldingAndRecords, Texts.Get("line.shielding"), Weight.Remark, false, projection.Shielding.Basis) with
        {
            Misses = ShieldingMisses,
            Hint = projection.Shielding.Text,
        };

    private ChecklistLine IntentLine()
    {
        ChecklistLine line = Line("processing.intent", ChecklistSection.Processing, Texts.Get("line.intent"), Weight.Note, false, "dicom-ps3-3");
        return document.Image is { IsMeasured: true } && document.Image.Value.PresentationIntent is not PresentationIntent.Unknown and var intent
            ? line with
            {
                State = intent == PresentationIntent.ForPresentation ? ChecklistState.Met : ChecklistState.NotMet,
                DecidedBy = DecidedBy.Header,
                Explanation = intent == PresentationIntent.ForPresentation ? "The header says: for presentation." : "The header says: for processing. Judge brightness and contrast on the image for presentation.",
            }
            : line with { Explanation = NotInHeader("the presentation intent") };
    }

    private static Weight HeaviestOf(IReadOnlyList<Miss> misses) => misses.Max(miss => miss.Weight);

    // Readers of headers meet zeros where nothing was measured.
    private static double? Recorded(double? value) => value is > 0 && double.IsFinite(value.Value) ? value : null;

    private string? Side() => exposure.Laterality?.Trim().ToUpperInvariant() switch
    {
        "R" => "R",
        "L" => "L",
        _ => null,
    };

    private string NotInHeader(string what) => HasHeader ? $"The header does not record {what}." : $"The file has no header that records {what}.";
}
