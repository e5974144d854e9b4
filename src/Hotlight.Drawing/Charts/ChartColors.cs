using SkiaSharp;

namespace Hotlight.Drawing.Charts;

/// <summary>What a chart is drawn for.</summary>
public enum ChartSurround
{
    /// <summary>The bench beside an image: dark.</summary>
    Dark,

    /// <summary>The bench in the office: light.</summary>
    Light,

    /// <summary>Paper, also in grey.</summary>
    Paper,
}

/// <summary>Colours of a chart.</summary>
internal sealed record ChartColors(string Ground, string Ink, string Soft, string Rule, string Main, string Second, string Look)
{
    /// <summary>The colours of a surround: those of the bench's own style sheet, and for paper ones that stay apart in grey.</summary>
    public static ChartColors Of(ChartSurround surround) => surround switch
    {
        ChartSurround.Dark => new ChartColors("#16191C", "#EBE8E1", "#B3B7BD", "#343A41", "#FFB65C", "#B9CBF2", "#FFA29B"),
        ChartSurround.Light => new ChartColors("#FFFEFB", "#1B1C1E", "#4D5054", "#CFCCC4", "#8A4A00", "#24458F", "#A4161A"),
        ChartSurround.Paper => new ChartColors("#FFFFFF", "#101214", "#3C4046", "#C4C8CD", "#1D3557", "#6B7078", "#9B1B1B"),
        _ => throw new ArgumentOutOfRangeException(nameof(surround), surround, "Not a surround."),
    };

    /// <summary>Names of the bench's own variables for the colours of <see cref="ChartSurround.Dark"/>, so that a chart on a page follows the page's theme.</summary>
    public static IReadOnlyDictionary<string, string> Variables { get; } = Pairs();

    /// <summary>A colour as the plotting library wants it.</summary>
    public static ScottPlot.Color Plot(string color) => ScottPlot.Color.FromHex(color);

    /// <summary>A colour as Skia wants it.</summary>
    public static SKColor Skia(string color) => SKColor.Parse(color);

    private static Dictionary<string, string> Pairs()
    {
        ChartColors dark = Of(ChartSurround.Dark);
        return new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase)
        {
            [dark.Ground] = "var(--plate)",
            [dark.Ink] = "var(--ink)",
            [dark.Soft] = "var(--soft)",
            [dark.Rule] = "var(--edge)",
            [dark.Main] = "var(--lamp)",
            [dark.Second] = "var(--cannot)",
            [dark.Look] = "var(--not-met)",
        };
    }
}
