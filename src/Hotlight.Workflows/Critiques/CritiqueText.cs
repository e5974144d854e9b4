using Hotlight.Core;
using Hotlight.Judgement;

namespace Hotlight.Workflows.Critiques;

/// <summary>The judgement's terms in words.</summary>
public static class CritiqueText
{
    /// <summary>A section of the checklist in words, in the teaching order's own terms.</summary>
    /// <param name="section">The section.</param>
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
        ChecklistSection.Processing => Texts.Get("section.processing"),
        _ => section.ToString(),
    };

    /// <summary>A line's state in words.</summary>
    /// <param name="state">The state.</param>
    public static string State(ChecklistState state) => state switch
    {
        ChecklistState.Met => Texts.Get("state.met"),
        ChecklistState.NotMet => Texts.Get("state.not-met"),
        ChecklistState.CannotTell => Texts.Get("state.cannot-tell"),
        _ => Texts.Get("state.not-applicable"),
    };

    /// <summary>Who decided a line, in words.</summary>
    /// <param name="decidedBy">Who.</param>
    public static string DecidedBy(DecidedBy decidedBy) => decidedBy switch
    {
        Judgement.DecidedBy.Measurement => Texts.Get("decided-by.measurement"),
        Judgement.DecidedBy.Header => Texts.Get("decided-by.header"),
        Judgement.DecidedBy.Reader => Texts.Get("decided-by.reader"),
        _ => Texts.Get("decided-by.nobody"),
    };

    /// <summary>A verdict in words.</summary>
    /// <param name="kind">The verdict.</param>
    public static string Verdict(VerdictKind kind) => kind switch
    {
        VerdictKind.Accept => Texts.Get("verdict.kind.accept"),
        VerdictKind.AcceptWithRemark => Texts.Get("verdict.kind.accept-with-remark"),
        VerdictKind.Repeat => Texts.Get("verdict.kind.repeat"),
        _ => Texts.Get("verdict.kind.undetermined"),
    };

    /// <summary>A step at the table in words.</summary>
    /// <param name="step">The step; null reads as none named.</param>
    public static string Step(TableStep? step) => step switch
    {
        TableStep.Patient => Texts.Get("step.patient"),
        TableStep.Part => Texts.Get("step.part"),
        TableStep.Tube => Texts.Get("step.tube"),
        TableStep.Receptor => Texts.Get("step.receptor"),
        TableStep.Collimation => Texts.Get("step.collimation"),
        TableStep.Marker => Texts.Get("step.marker"),
        TableStep.Technique => Texts.Get("step.technique"),
        TableStep.Instructions => Texts.Get("step.instructions"),
        TableStep.AfterExposure => Texts.Get("step.afterwards"),
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
