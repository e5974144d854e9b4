using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <content>Lines on the field, and the outlines drawn as evidence.</content>
internal sealed partial class ChecklistBuilder
{
    private static Evidence[] Outlines(EvidenceKind kind, IReadOnlyList<IReadOnlyList<PixelPoint>> outlines, bool closed)
        => outlines.Count == 0 ? [] : [new Evidence { Kind = kind, Outlines = outlines, Closed = closed }];

    private static Evidence[] MottlePlaces(MottleMeasurement measured)
    {
        if (measured.PlaceSidePixels is not { } side || measured.Places.Count == 0)
        {
            return [];
        }

        double half = side / 2.0;
        return Outlines(
            EvidenceKind.MottlePlace,
            [.. measured.Places.Select(IReadOnlyList<PixelPoint> (place) =>
            [
                new PixelPoint(X: place.X - half, Y: place.Y - half),
                new PixelPoint(X: place.X + half, Y: place.Y - half),
                new PixelPoint(X: place.X + half, Y: place.Y + half),
                new PixelPoint(X: place.X - half, Y: place.Y + half),
            ])],
            closed: true);
    }

    /// <summary>Sides by which the body leaves the field though the projection does not ask for it; empty where it cannot be told.</summary>
    private IReadOnlyList<FieldSide> SurplusExits()
    {
        if (projection.BodyExit is not { } exit || !document.Anatomy.IsMeasured)
        {
            return [];
        }

        FieldSide[] leaves = [.. document.Anatomy.Value.Leaves.Distinct().Order()];
        if (exit.Arrangement == ExitArrangement.Any || leaves.Length < 2)
        {
            return leaves.Length <= exit.Sides ? [] : leaves;
        }

        bool upright = leaves.Contains(FieldSide.Top) && leaves.Contains(FieldSide.Bottom);
        bool lying = leaves.Contains(FieldSide.Left) && leaves.Contains(FieldSide.Right);
        return (upright, lying) switch
        {
            (true, false) => [.. leaves.Where(side => side is FieldSide.Left or FieldSide.Right)],
            (false, true) => [.. leaves.Where(side => side is FieldSide.Top or FieldSide.Bottom)],
            _ => leaves,
        };
    }

    private IReadOnlyList<Evidence> CutSides(IReadOnlyList<FieldSide> sides)
    {
        if (sides.Count == 0 || !document.Field.IsMeasured || document.Field.Value.Outline.Count != 4)
        {
            return [];
        }

        IReadOnlyList<PixelPoint> corners = document.Field.Value.Outline;
        return Outlines(EvidenceKind.CutSide, [.. sides.Select(IReadOnlyList<PixelPoint> (side) => [corners[(int)side], corners[((int)side + 1) % 4]])], closed: false);
    }

    private ChecklistLine CollimatorEdgesLine()
    {
        ChecklistLine line = Line("collimation.edges", ChecklistSection.Collimation, Texts.Get("line.edges", Wording.Number(rules.CollimatorEdges, 0)), Weight.Remark, false, "common-practice") with { Misses = EdgeMisses };
        if (!document.Field.IsMeasured)
        {
            return line with { Explanation = document.Field.Why };
        }

        FieldMeasurement field = document.Field.Value;
        int beam = field.Sides.Count(side => side.Edge == FieldEdge.Beam);
        int mask = field.Sides.Count(side => side.Edge == FieldEdge.Mask);
        line = line with
        {
            Figure = Texts.Get("figure.edges", Wording.Number(beam, 0), Wording.Number(field.Sides.Count, 0)),
            Evidence = Outlines(EvidenceKind.Field, [field.Outline], closed: true),
        };
        if (beam >= rules.CollimatorEdges)
        {
            return line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Measurement, Explanation = beam == 4 ? "The collimator's shadow is seen on all four sides." : "Four are better: they show that nothing was exposed beyond them." };
        }

        if (mask > 0)
        {
            return line with { Explanation = "A mask was put over the image afterwards and hides how far the beam reached; cropping does not take dose away." };
        }

        return HasHeader
            ? line with { State = ChecklistState.NotMet, DecidedBy = DecidedBy.Measurement, Explanation = "The exposed field runs to the edge of the image, so it cannot be shown that the beam was collimated to the part." }
            : line with { Explanation = "The exposed field runs to the edge of the picture, which may have been cropped before it was saved." };
    }

    private ChecklistLine FieldSizeLine(IReadOnlyList<FieldSide> surplus)
    {
        ChecklistLine line = Line("collimation.size", ChecklistSection.Collimation, Texts.Get("line.field-size"), Weight.Remark, false, "hotlight-rule", projection.Collimation.SkinMarginMm.Basis) with
        {
            Tolerance = projection.Collimation.Extent,
            Misses = SizeMisses,
        };
        if (!document.Collimation.IsMeasured)
        {
            return line with { Explanation = document.Collimation.Why };
        }

        CollimationMeasurement measured = document.Collimation.Value;
        bool wide = measured.AreaReductionPercent >= rules.FieldReductionPercent;
        string margin = measured.SkinMarginMm is { } mm
            ? $"a margin of {Wording.Number(mm, 0)} mm around the skin"
            : "the part and a margin";
        string masked = document.Field.IsMeasured && document.Field.Value.Sides.Any(side => side.Edge == FieldEdge.Mask)
            ? " A mask hides how far the beam reached, so the exposed field may have been wider still."
            : string.Empty;
        string figure = Texts.Get("figure.empty", FigureText.Write(measured.EmptyPercentOfField, measured.EmptyPercentOfFieldUncertainty, " %", 0, mostDecimals: 0));

        // The tighter field holds all that was taken for body. Where that reaches sides it should not, a field found "as tight as can be" says nothing, unless hardly any of it is empty.
        if (!wide && surplus.Count > 0 && measured.EmptyPercentOfField >= rules.FieldReductionPercent)
        {
            return line with
            {
                Figure = figure,
                Explanation = $"What was taken for the body leaves the field at the {Wording.Join(surplus.Select(Wording.Side))} too, so no tighter field can be drawn; see whether the empty part could have been left out." + masked,
                Evidence = document.Field.IsMeasured ? Outlines(EvidenceKind.Field, [document.Field.Value.Outline], closed: true) : [],
            };
        }

        return line with
        {
            State = wide ? ChecklistState.NotMet : ChecklistState.Met,
            DecidedBy = DecidedBy.Measurement,
            Figure = figure,
            Explanation = (wide
                ? $"A field {Wording.Number(measured.AreaReductionPercent, 0)} % smaller would hold {margin}."
                : measured.AreaReductionPercent < 1
                    ? "The field is as tight as the margin asks."
                    : $"A tighter field would save only {Wording.Number(measured.AreaReductionPercent, 0)} % of its area.") + masked,
            Evidence =
            [
                .. document.Field.IsMeasured ? Outlines(EvidenceKind.Field, [document.Field.Value.Outline], closed: true) : [],
                .. Outlines(EvidenceKind.TighterField, [measured.TighterField], closed: true),
            ],
        };
    }

    private ChecklistLine CentreLine()
        => Line("collimation.centre", ChecklistSection.Collimation, Texts.Get("line.centre", projection.CentralRay.EntryPoint), Weight.Remark, false, projection.CentralRay.Basis) with
        {
            Misses = [OffCentre(projection.CentralRay.EntryPoint)],
            Hint = document.Field.IsMeasured ? "Compare the middle of the drawn field with that point; a cropped image has another middle than the beam." : null,
            Evidence = document.Field.IsMeasured ? Outlines(EvidenceKind.Field, [document.Field.Value.Outline], closed: true) : [],
        };
}
