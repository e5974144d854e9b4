using Hotlight.Judgement;

namespace Hotlight.Web.Help;

/// <summary>Which page of the help tells how a line or a figure came about.</summary>
public static class MethodPages
{
    /// <summary>The page of a line of the checklist.</summary>
    /// <param name="line">The line.</param>
    public static string Of(ChecklistLine line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return line.Id switch
        {
            "exposure.mottle" => "mottle",
            "exposure.saturation" or "exposure.skin-line" => "clipping",
            _ => line.Section switch
            {
                ChecklistSection.RequiredAnatomy => "anatomy",
                ChecklistSection.Positioning => "positioning",
                ChecklistSection.Exposure => "exposure",
                ChecklistSection.BrightnessAndContrast => "display",
                ChecklistSection.Sharpness => "sharpness",
                ChecklistSection.Artifacts => "artifacts",
                ChecklistSection.Collimation => "collimation",
                ChecklistSection.SideMarker => "markers",
                ChecklistSection.Processing => "processing",
                _ => "judgement",
            },
        };
    }

    /// <summary>The page of a section of the measurement document.</summary>
    /// <param name="section">The section, as in the document, such as "mottle".</param>
    public static string OfSection(string section)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(section);
        return section == "image" ? "reading" : section;
    }
}
