using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Measure.Document;

namespace Hotlight.Teaching.Handouts;

/// <summary>Findings as clauses and sentences.</summary>
internal static partial class HandoutWording
{
    // Nouns begin with a capital there, so a clause keeps its first letter.
    private static bool KeepsCapitals => CultureInfo.CurrentUICulture.TwoLetterISOLanguageName == "de";

    /// <summary>The first letter as a capital, one full stop at the end.</summary>
    public static string Sentence(string text)
    {
        string trimmed = string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        return trimmed.Length == 0 ? trimmed : Capital(trimmed[^1] is '.' or '!' or '?' or '…' or '»' or '“' or '”' ? trimmed : trimmed + ".");
    }

    /// <summary>Figures kept together with their uncertainty and unit: no line ends between them.</summary>
    public static string Bound(string text) => Figure().Replace(text, match => match.Value.Replace(' ', '\u00A0'));

    /// <summary>A text of the critique with the language's decimal mark in its figures.</summary>
    public static string InLanguage(string text) => Texts.Get("number.decimal-mark") is var mark && mark == "." ? text : DecimalPoint().Replace(text, mark);

    /// <summary>The first letter as a capital.</summary>
    public static string Capital(string text) => text.Length == 0 ? text : char.ToUpper(text[0], CultureInfo.InvariantCulture) + text[1..];

    /// <summary>A sentence as a clause: without its full stop, its first letter small where the language and the word allow it.</summary>
    public static string Clause(string text)
    {
        string bare = text.Trim().TrimEnd('.');
        return KeepsCapitals || bare.Length < 2 || char.IsUpper(bare[1]) || (bare[1] == ' ' && bare[0] != 'A') || char.IsDigit(bare[1]) ? bare : char.ToLower(bare[0], CultureInfo.InvariantCulture) + bare[1..];
    }

    /// <summary>Clauses as one.</summary>
    public static string Joined(IReadOnlyList<string> clauses) => clauses.Count switch
    {
        0 => string.Empty,
        1 => clauses[0],
        _ => Texts.Get("handout.clause.join", string.Join("; ", clauses.Take(clauses.Count - 1)), clauses[^1]),
    };

    /// <summary>A line that is not met, as a clause: what is seen or measured.</summary>
    public static string Finding(ChecklistLine line, Critique critique)
    {
        if (line.Miss is { } miss)
        {
            return Clause(miss.Looks);
        }

        MeasurementDocument document = critique.Measurements;
        return line.Id switch
        {
            "exposure.deviation-index" when document.Exposure.Value?.DeviationIndex is { } index => index < 0
                ? Texts.Get("handout.clause.deviation.low", Texts.Number(100 * Math.Pow(10, index / 10), "F0"))
                : Texts.Get("handout.clause.deviation.high", Texts.Number(Math.Pow(10, index / 10), "F1")),
            "exposure.skin-line" when document.Clipping.Value?.SkinLineLostPercent is { } lost => Texts.Get("handout.clause.skin-line", Texts.Number(lost, "F0")),
            "exposure.tube-voltage" when line.Figure is { } voltage => Texts.Get("handout.clause.tube-voltage", InLanguage(voltage)),
            "exposure.header-figures" => Texts.Get("handout.clause.header-figures"),
            "collimation.size" when document.Collimation.Value is { } field => Texts.Get("handout.clause.field-size", Texts.Number(field.EmptyPercentOfField, "F0")),
            "collimation.edges" when document.Field.Value is { } edges => Texts.Get("handout.clause.edges", Texts.Number(edges.Sides.Count(side => side.Edge == FieldEdge.Beam), "F0")),
            "records.distance" when line.Figure is { } distance => Texts.Get("handout.clause.distance", distance),
            "processing.intent" => Texts.Get("handout.clause.intent"),
            _ when line is { Section: ChecklistSection.ShieldingAndRecords, DecidedBy: DecidedBy.Header } => Texts.Get("handout.clause.record", line.Question),
            _ => Texts.Get("handout.clause.no", line.Question),
        };
    }

    /// <summary>A line that is not met, as a sentence: what is seen and what it means, or with its figure.</summary>
    public static string Reason(ChecklistLine line, Critique critique)
    {
        string found = Capital(Finding(line, critique));
        bool saysItsFigure = line.Id is "exposure.skin-line" or "exposure.tube-voltage" or "collimation.size" or "collimation.edges" or "records.distance";
        return line.Miss is { } miss ? Texts.Get("handout.reason", found, KeepsCapitals ? Sentence(miss.Means) : Clause(miss.Means) + ".")
            : line.Figure is { } figure && !saysItsFigure && line.Id.StartsWith("exposure.", StringComparison.Ordinal) ? Texts.Get("handout.reason.figure", found, InLanguage(figure))
            : Texts.Get("handout.reason.plain", found);
    }

    /// <summary>What to do at the next exposure.</summary>
    public static string Instruction(Change change, Critique critique)
    {
        ArgumentNullException.ThrowIfNull(critique);
        return InLanguage(change.Instruction);
    }

    /// <summary>What would settle a line that nobody could tell, one sentence.</summary>
    public static string Settles(ChecklistLine line, Critique critique) => line.Section switch
    {
        ChecklistSection.RequiredAnatomy => Texts.Get("handout.settles.required-anatomy"),
        ChecklistSection.Positioning => Texts.Get("handout.settles.positioning"),
        ChecklistSection.Exposure when line.Id == "exposure.deviation-index" && line.Figure?.StartsWith("DI", StringComparison.Ordinal) == true => Texts.Get("handout.settles.between-bands"),
        ChecklistSection.Exposure when line.Id is "exposure.deviation-index" => Texts.Get("handout.settles.exposure"),
        ChecklistSection.Exposure when line.Id is "exposure.tube-voltage" or "exposure.header-figures" => Texts.Get("handout.settles.records"),
        ChecklistSection.Exposure => Texts.Get("handout.settles.eye"),
        ChecklistSection.BrightnessAndContrast => Texts.Get("handout.settles.brightness"),
        ChecklistSection.Sharpness => Texts.Get("handout.settles.sharpness"),
        ChecklistSection.Artifacts => critique.Measurements.Artifacts.Value is { Found.Count: > 0 } ? Texts.Get("handout.settles.artifacts") : Texts.Get("handout.settles.eye"),
        ChecklistSection.Collimation => Texts.Get("handout.settles.collimation"),
        ChecklistSection.SideMarker => Texts.Get("handout.settles.side-marker"),
        ChecklistSection.ShieldingAndRecords when line.Id == "records.shielding" => Texts.Get("handout.settles.shielding"),
        ChecklistSection.ShieldingAndRecords => Texts.Get("handout.settles.records"),
        _ => Texts.Get("handout.settles.processing"),
    };

    /// <summary>What a repeat costs, one sentence.</summary>
    public static string Cost(RepeatCost cost) => cost switch
    {
        { ThisExposureDgyCm2: { } product, RepeatDgyCm2: { } repeat } => Texts.Get("handout.cost.product", Significant(product), WithUncertainty(repeat, cost.RepeatDgyCm2Uncertainty)),
        { ThisExposureDgyCm2: { } product } => Texts.Get("handout.cost.product.open", Significant(product)),
        { Basis: CostBasis.EntranceDose } => cost.Sentence,
        { RelativeToThisExposure: { } times } => Texts.Get("handout.cost.relative", Texts.Number(times, "0.#")),
        _ => Texts.Get("handout.cost.relative.open"),
    };

    /// <summary>The scheme of the deviation index; a clinic's own is called as the clinic calls it.</summary>
    public static string Scheme(string scheme)
        => scheme == DeviationBands.Fixed.Scheme ? Texts.Get("deviation.scheme.fixed")
            : scheme == DeviationBands.OwnDistributionScheme ? Texts.Get("deviation.scheme.own-distribution")
            : scheme;

    /// <summary>A state in words.</summary>
    public static string State(ChecklistState state) => state switch
    {
        ChecklistState.Met => Texts.Get("state.met"),
        ChecklistState.NotMet => Texts.Get("state.not-met"),
        ChecklistState.CannotTell => Texts.Get("state.cannot-tell"),
        _ => Texts.Get("state.not-applicable"),
    };

    /// <summary>Who decided, in words.</summary>
    public static string Decided(DecidedBy by) => by switch
    {
        DecidedBy.Measurement => Texts.Get("decided-by.measurement"),
        DecidedBy.Header => Texts.Get("decided-by.header"),
        DecidedBy.Reader => Texts.Get("decided-by.reader"),
        _ => Texts.Get("decided-by.nobody"),
    };

    /// <summary>A verdict in words.</summary>
    public static string Verdict(VerdictKind kind) => kind switch
    {
        VerdictKind.Accept => Texts.Get("verdict.kind.accept"),
        VerdictKind.AcceptWithRemark => Texts.Get("verdict.kind.accept-with-remark"),
        VerdictKind.Repeat => Texts.Get("verdict.kind.repeat"),
        _ => Texts.Get("verdict.kind.undetermined"),
    };

    /// <summary>A section of the checklist in words.</summary>
    public static string Section(ChecklistSection section) => section switch
    {
        ChecklistSection.RequiredAnatomy => Texts.Get("section.required-anatomy"),
        ChecklistSection.Positioning => Texts.Get("section.positioning"),
        ChecklistSection.Exposure => Texts.Get("section.exposure"),
        ChecklistSection.BrightnessAndContrast => Texts.Get("section.brightness-and-contrast"),
        ChecklistSection.Sharpness => Texts.Get("section.sharpness"),
        ChecklistSection.Artifacts => Texts.Get("section.artifacts"),
        ChecklistSection.Collimation => Texts.Get("section.collimation"),
        ChecklistSection.SideMarker => Texts.Get("section.side-marker"),
        ChecklistSection.ShieldingAndRecords => Texts.Get("section.shielding-and-records"),
        _ => Texts.Get("section.processing"),
    };

    [GeneratedRegex(@"[\d<](?: (?:±|%|mm|cm|ms|mAs|kVp|dGy·cm²)(?![\p{L}]))+(?: <?\d[\d.,]*(?: (?:%|mm|cm|dGy·cm²)(?![\p{L}]))?)?|\bDI [+−]?\d", RegexOptions.CultureInvariant)]
    private static partial Regex Figure();

    [GeneratedRegex(@"(?<=\d)\.(?=\d)", RegexOptions.CultureInvariant)]
    private static partial Regex DecimalPoint();

    private static string Significant(double value)
    {
        double magnitude = value == 0 ? 0 : Math.Floor(Math.Log10(Math.Abs(value)));
        return Texts.Number(value, "F" + Math.Clamp(2 - (int)magnitude, 0, 6).ToString(CultureInfo.InvariantCulture)).TrimEnd('0') is var text && text.Length > 0 && !char.IsDigit(text[^1])
            ? text[..^1]
            : Texts.Number(value, "0." + new string('#', Math.Clamp(2 - (int)magnitude, 0, 6)));
    }

    private static string WithUncertainty(double value, double? sigma)
    {
        if (sigma is not { } known || known <= 0)
        {
            return Significant(value);
        }

        string text = FigureText.Write(value, known, string.Empty, Math.Clamp(1 - (int)Math.Floor(Math.Log10(known)), 0, 6), mostDecimals: 4);
        return text.Replace(".", Texts.Get("number.decimal-mark"), StringComparison.Ordinal);
    }
}
