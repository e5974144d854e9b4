using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Judgement;

/// <content>Lines that the header decides.</content>
internal sealed partial class ChecklistBuilder
{
    // Terms that name a limb or nothing, and so contradict no part of it.
    private static readonly HashSet<string> GeneralParts = new(StringComparer.Ordinal) { "EXTREMITY", "ARM", "LEG", "UPPEREXTREMITY", "LOWEREXTREMITY", "OTHER", "UNKNOWN" };

    private ChecklistLine ProjectionRecordLine()
    {
        ChecklistLine line = Line("records.projection", ChecklistSection.ShieldingAndRecords, Texts.Get("line.records.projection", projection.Name), Weight.Remark, false, projection.Codes.Basis) with { Misses = RecordMisses("projection", "Choose the projection that was made, or have the header corrected.") };
        string? part = Term(exposure.BodyPart);
        string? view = Term(exposure.ViewPosition);
        string? code = Term(exposure.ViewCode);
        if (!HasHeader || (part is null && view is null && code is null))
        {
            return line with { Explanation = NotInHeader("body part or view") };
        }

        bool? partAgrees = part is null || GeneralParts.Contains(part) ? null : projection.Codes.BodyParts.Contains(part);
        bool? viewAgrees = code is not null && ProjectionCatalogue.BuiltIn.Projections.SelectMany(other => other.Codes.Views).Any(known => known.Value == code)
            ? projection.Codes.Views.Any(known => known.Value == code)
            : view is null ? null : projection.Codes.ViewPositions.Contains(view);
        string named = string.Join(' ', new[] { part, view ?? code }.Where(word => word is not null));
        line = line with { Figure = named };
        return (partAgrees, viewAgrees) switch
        {
            (true, true) => line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Header, Explanation = $"The header names {named}." },
            (false, _) or (_, false) => line with { State = ChecklistState.NotMet, DecidedBy = DecidedBy.Header, Explanation = $"The header names {named}, which is not {projection.Name}: choose the projection that was made, or have the header corrected." },
            _ => line with { Explanation = $"The header names only {named}; that neither confirms nor contradicts {projection.Name}." },
        };
    }

    private ChecklistLine SideRecordLine()
    {
        ChecklistLine line = Line("records.side", ChecklistSection.ShieldingAndRecords, Texts.Get("line.records.side"), Weight.Remark, false, "common-practice") with { Misses = RecordMisses("side", "Record the side that was examined.") };
        if (!projection.HasSide)
        {
            return line with { State = ChecklistState.NotApplicable, DecidedBy = DecidedBy.Nobody, Explanation = "This part has no side." };
        }

        if (!HasHeader)
        {
            return line with { Explanation = NotInHeader("the side") };
        }

        return Side() is { } side
            ? line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Header, Figure = side, Explanation = side == "R" ? "The header records the right side." : "The header records the left side." }
            : line with { State = ChecklistState.NotMet, DecidedBy = DecidedBy.Header, Explanation = Term(exposure.Laterality) is { } other ? $"The header records the side as {other}, which does not tell right from left." : NotInHeader("the side") };
    }

    private ChecklistLine TechniqueRecordLine()
    {
        double? mas = Recorded(exposure.ExposureMas);
        double? voltage = Recorded(exposure.TubeVoltageKvp);
        double? time = Recorded(exposure.ExposureTimeMs);
        string[] known =
        [
            .. voltage is { } kvp ? [$"{Wording.Significant(kvp)} kVp"] : Array.Empty<string>(),
            .. mas is { } product ? [$"{Wording.Significant(product)} mAs"] : Array.Empty<string>(),
            .. time is { } ms ? [$"{Wording.Significant(ms)} ms"] : Array.Empty<string>(),
        ];
        string[] missing =
        [
            .. voltage is null ? ["the tube voltage"] : Array.Empty<string>(),
            .. mas is null ? ["the mAs"] : Array.Empty<string>(),
        ];
        return RecordLine("records.technique", Texts.Get("line.records.technique"), known, missing);
    }

    private ChecklistLine DistanceRecordLine()
    {
        double usual = projection.SourceImageDistanceMm.Value;
        string question = Texts.Get("line.records.distance", Wording.Number(usual / 10, 0));
        if (Recorded(exposure.SourceImageDistanceMm) is not { } distance)
        {
            return RecordLine("records.distance", question, [], ["the distance from source to receptor"]);
        }

        bool near = Math.Abs(distance - usual) * 100 <= rules.DistanceTolerancePercent * usual;
        ChecklistLine line = Line("records.distance", ChecklistSection.ShieldingAndRecords, question, Weight.Note, false, projection.SourceImageDistanceMm.Basis, "hotlight-rule", "square-law");
        return line with
        {
            State = near ? ChecklistState.Met : ChecklistState.NotMet,
            DecidedBy = DecidedBy.Header,
            Figure = $"{Wording.Number(distance / 10, 0)} cm",
            Explanation = near
                ? $"Within {Wording.Number(rules.DistanceTolerancePercent, 0)} % of the usual distance."
                : $"Back at {Wording.Number(usual / 10, 0)} cm, {Wording.Number(Math.Pow(usual / distance, 2), 2)} times the mAs gives the receptor the same exposure.",
        };
    }

    private ChecklistLine IndexRecordLine()
    {
        string[] known =
        [
            .. exposure.ExposureIndex is { } index ? [$"EI {Wording.Significant(index)}"] : Array.Empty<string>(),
            .. exposure.TargetExposureIndex is { } target ? [Texts.Get("figure.target", Wording.Significant(target))] : Array.Empty<string>(),
            .. exposure.DeviationIndex is { } deviation ? [$"DI {Wording.Signed(deviation, 1)}"] : Array.Empty<string>(),
        ];
        string[] missing =
        [
            .. exposure.ExposureIndex is null ? ["the exposure index"] : Array.Empty<string>(),
            .. exposure.TargetExposureIndex is null ? ["the target exposure index"] : Array.Empty<string>(),
            .. exposure.DeviationIndex is null ? ["the deviation index"] : Array.Empty<string>(),
        ];
        return RecordLine("records.exposure-index", Texts.Get("line.records.exposure-index"), known, missing);
    }

    private ChecklistLine DoseRecordLine()
        => Recorded(exposure.KermaAreaProductDgyCm2) is { } product
            ? RecordLine("records.dose", Texts.Get("line.records.dose"), [$"{Wording.Significant(product)} dGy·cm²"], [])
            : RecordLine("records.dose", Texts.Get("line.records.dose"), [], ["the kerma-area product"]);

    private ChecklistLine TimeRecordLine()
        => RecordLine("records.time", Texts.Get("line.records.time"), [], exposure.HasAcquisitionTime ? [] : ["date and time"]);

    private ChecklistLine RecordLine(string id, string question, string[] known, string[] missing)
    {
        ChecklistLine line = Line(id, ChecklistSection.ShieldingAndRecords, question, Weight.Note, false, "common-practice") with
        {
            Figure = known.Length == 0 ? null : string.Join(", ", known),
        };
        if (missing.Length == 0)
        {
            return line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Header, Explanation = "The header records it." };
        }

        return HasHeader
            ? line with { State = ChecklistState.NotMet, DecidedBy = DecidedBy.Header, Explanation = NotInHeader(Wording.Join(missing)) }
            : line with { Explanation = NotInHeader(Wording.Join(missing)) };
    }

    private static Miss[] RecordMisses(string what, string correction)
        => [Way("wrong", $"the header's {what} is wrong or missing", "The record does not say what was done.", correction, Weight.Remark)];

    private static string? Term(string? value) => string.IsNullOrWhiteSpace(value) ? null : value.Trim().ToUpperInvariant();
}
