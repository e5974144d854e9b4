namespace Hotlight.Drawing;

/// <summary>What a mark on a radiograph stands for.</summary>
public enum MarkKind
{
    /// <summary>A side of the field that a collimator's shadow ends.</summary>
    FieldBeamEdge,

    /// <summary>A side of the field that a mask put over the image ends.</summary>
    FieldMaskEdge,

    /// <summary>A side of the field that reaches the edge of the stored image.</summary>
    FieldReceptorEdge,

    /// <summary>The skin outline inside the field.</summary>
    SkinOutline,

    /// <summary>The smaller field that would have kept the anatomy with its skin margin.</summary>
    TighterField,

    /// <summary>A piece of skin outline along which soft tissue is clipped away.</summary>
    LostSkin,

    /// <summary>A square over soft tissue where mottle was measured.</summary>
    MottlePlace,

    /// <summary>An edge at which blur was measured.</summary>
    SharpEdge,

    /// <summary>A side marker, lead or drawn.</summary>
    SideMarker,

    /// <summary>Something that does not belong in the image.</summary>
    Artifact,
}

/// <summary>How a mark is drawn besides its colour and dashes.</summary>
public enum MarkShape
{
    /// <summary>A line and nothing else.</summary>
    Line,

    /// <summary>A line with heavy corner pieces.</summary>
    Corners,

    /// <summary>A line with short teeth across it.</summary>
    Comb,

    /// <summary>A small square around a place.</summary>
    Square,
}

/// <summary>How one kind of mark is drawn, the same in every picture and on every page.</summary>
/// <remarks>
/// <para>No two kinds differ by colour alone: dashes or shape differ too, so a grey print and every reader tell them apart.</para>
/// <para>Each line is drawn twice: first <see cref="MarkStyles.CasingColor"/>, wider by <see cref="MarkStyles.CasingPixels"/> on both sides, then the colour; so it stands out on bright and on dark parts.</para>
/// <para>Lengths are pixels of a picture whose image is 1600 pixels on its long side.</para>
/// </remarks>
/// <param name="Kind">What the mark stands for.</param>
/// <param name="Label">Words for it in a legend, such as "Field, beam edge".</param>
/// <param name="Color">Colour as #RRGGBB, sRGB.</param>
/// <param name="WidthPixels">Width of the coloured line.</param>
/// <param name="DashPixels">Lengths drawn and left out in turn; empty for an unbroken line.</param>
/// <param name="Shape">What the mark has besides its line.</param>
public sealed record MarkStyle(MarkKind Kind, string Label, string Color, double WidthPixels, IReadOnlyList<double> DashPixels, MarkShape Shape)
{
    /// <summary>Dashes of the casing: each is longer than the coloured one by <see cref="MarkStyles.CasingPixels"/> at both ends, so the pattern starts that much earlier.</summary>
    public IReadOnlyList<double> CasingDashPixels { get; } =
        [.. DashPixels.Select((length, place) => place % 2 == 0 ? length + (2 * MarkStyles.CasingPixels) : length - (2 * MarkStyles.CasingPixels))];
}

/// <summary>The one table of mark styles: pictures, contact sheets, vector overlays and pages draw from it.</summary>
/// <remarks>Colours were searched so that the least CIE 1976 difference between two of them is large for normal vision and under simulated protanopia, deuteranopia and tritanopia; see docs/methods/picture.md#colours.</remarks>
public static class MarkStyles
{
    /// <summary>Colour of the casing under every line, as #RRGGBB.</summary>
    public const string CasingColor = "#0B0D10";

    /// <summary>Opacity of the casing, 0 to 1.</summary>
    public const double CasingOpacity = 0.85;

    /// <summary>How far the casing reaches beyond the coloured line on each side, in pixels of a 1600-pixel picture.</summary>
    public const double CasingPixels = 1.6;

    /// <summary>Length of a tooth of <see cref="MarkShape.Comb"/>, in pixels of a 1600-pixel picture.</summary>
    public const double ToothPixels = 13;

    /// <summary>Distance between teeth of <see cref="MarkShape.Comb"/>, in pixels of a 1600-pixel picture.</summary>
    public const double ToothSpacingPixels = 11;

    /// <summary>Length of each arm of a corner piece of <see cref="MarkShape.Corners"/>, in pixels of a 1600-pixel picture.</summary>
    public const double CornerArmPixels = 34;

    /// <summary>Every style, in the order of a legend.</summary>
    public static IReadOnlyList<MarkStyle> All { get; } =
    [
        new(MarkKind.FieldBeamEdge, "Field, beam edge", "#FFF04D", 3.4, [], MarkShape.Line),
        new(MarkKind.FieldMaskEdge, "Field, mask edge", "#FFF04D", 3.4, [24, 12], MarkShape.Line),
        new(MarkKind.FieldReceptorEdge, "Field, receptor edge", "#FFF04D", 4.2, [4.2, 9], MarkShape.Line),
        new(MarkKind.SkinOutline, "Skin outline", "#7CF4FF", 2.4, [20, 6, 3.5, 6], MarkShape.Line),
        new(MarkKind.TighterField, "Tighter field", "#6FB300", 2.6, [9, 7], MarkShape.Corners),
        new(MarkKind.LostSkin, "Skin line lost", "#FF6A85", 3.4, [], MarkShape.Comb),
        new(MarkKind.MottlePlace, "Mottle measured here", "#CF82FF", 2.2, [], MarkShape.Square),
        new(MarkKind.SharpEdge, "Edge blur measured here", "#CF82FF", 2.6, [5, 4], MarkShape.Line),
        new(MarkKind.SideMarker, "Side marker", "#BBFF99", 2.8, [], MarkShape.Corners),
        new(MarkKind.Artifact, "Artifact", "#FF6A85", 2.8, [12, 5, 2.8, 5, 2.8, 5], MarkShape.Line),
    ];

    /// <summary>The style of evidence that is none of the kinds, such as a side of the field by which the body leaves; its kind says nothing.</summary>
    public static MarkStyle Evidence { get; } = new(MarkKind.Artifact, "Evidence", "#FFFFFF", 3.4, [14, 5], MarkShape.Line);

    /// <summary>The style of a simulated phantom's outlines: nothing of the patient's, so it is none of the kinds; its kind says nothing.</summary>
    public static MarkStyle Phantom { get; } = new(MarkKind.Artifact, "Outline of a simulated phantom", "#FFB65C", 2.2, [6, 4], MarkShape.Line);

    /// <summary>The style of a kind of mark.</summary>
    /// <param name="kind">The kind.</param>
    public static MarkStyle Of(MarkKind kind) => All[(int)kind];
}
