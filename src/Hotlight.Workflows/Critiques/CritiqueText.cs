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
}
