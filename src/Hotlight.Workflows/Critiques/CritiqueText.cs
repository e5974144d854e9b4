using Hotlight.Judgement;

namespace Hotlight.Workflows.Critiques;

/// <summary>The judgement's terms in words.</summary>
public static class CritiqueText
{
    /// <summary>A section of the checklist in words, in the teaching order's own terms.</summary>
    /// <param name="section">The section.</param>
    public static string Section(ChecklistSection section) => section switch
    {
        ChecklistSection.RequiredAnatomy => "Required anatomy",
        ChecklistSection.Positioning => "Positioning",
        ChecklistSection.Exposure => "Exposure",
        ChecklistSection.BrightnessAndContrast => "Brightness and contrast",
        ChecklistSection.Sharpness => "Sharpness",
        ChecklistSection.Artifacts => "Artifacts",
        ChecklistSection.Collimation => "Collimation",
        ChecklistSection.SideMarker => "Side marker",
        ChecklistSection.ShieldingAndRecords => "Shielding and records",
        ChecklistSection.Processing => "Processing",
        _ => section.ToString(),
    };

    /// <summary>A line's state in words.</summary>
    /// <param name="state">The state.</param>
    public static string State(ChecklistState state) => state switch
    {
        ChecklistState.Met => "met",
        ChecklistState.NotMet => "not met",
        ChecklistState.CannotTell => "cannot tell",
        _ => "not applicable",
    };

    /// <summary>Who decided a line, in words.</summary>
    /// <param name="decidedBy">Who.</param>
    public static string DecidedBy(DecidedBy decidedBy) => decidedBy switch
    {
        Judgement.DecidedBy.Measurement => "measured",
        Judgement.DecidedBy.Header => "from the header",
        Judgement.DecidedBy.Reader => "by the reader",
        _ => "open",
    };

    /// <summary>A verdict in words.</summary>
    /// <param name="kind">The verdict.</param>
    public static string Verdict(VerdictKind kind) => kind switch
    {
        VerdictKind.Accept => "Accept",
        VerdictKind.AcceptWithRemark => "Accept with remark",
        VerdictKind.Repeat => "Repeat",
        _ => "Undetermined",
    };

    /// <summary>A step at the table in words.</summary>
    /// <param name="step">The step; null reads as none named.</param>
    public static string Step(TableStep? step) => step switch
    {
        TableStep.Patient => "patient",
        TableStep.Part => "part",
        TableStep.Tube => "tube",
        TableStep.Receptor => "receptor",
        TableStep.Collimation => "collimation",
        TableStep.Marker => "marker",
        TableStep.Technique => "technique",
        TableStep.Instructions => "instructions",
        TableStep.AfterExposure => "afterwards",
        _ => string.Empty,
    };

    /// <summary>How a verdict came about, in plain rows: what each is about, and the sentence.</summary>
    /// <param name="trace">The trace.</param>
    public static IReadOnlyList<(string Label, string Sentence)> Trace(VerdictTrace trace)
    {
        ArgumentNullException.ThrowIfNull(trace);
        var rows = new List<(string, string)>();
        foreach (VerdictRule rule in trace.Rules)
        {
            string lines = rule.LineIds.Count == 0 ? string.Empty : $": {string.Join(", ", rule.LineIds)}";
            rows.Add(($"rule {rule.Number}", $"{(rule.Decides ? "decides" : rule.Holds ? "holds too" : "does not hold")}: {rule.When}{lines}."));
        }

        rows.AddRange(trace.Weighed.Select(step => ("weighed", $"{step.LineId}, {Weight(step.From)} to {Weight(step.To)}. {step.Why}")));
        rows.Add(("decided by", trace.DecidedBy.Count == 0 ? "no line that is missed or open." : string.Join(", ", trace.DecidedBy) + "."));
        rows.AddRange(trace.WouldChange.Select(other => ("otherwise", other.Sentence)));
        rows.AddRange(trace.Unknown.Select(reason => ("not known", reason.LineId == "purpose" ? reason.Sentence : $"{reason.LineId}: {reason.Sentence}")));
        return rows;
    }

    private static string Weight(Catalogue.Weight weight) => weight.ToString().ToLowerInvariant();
}
