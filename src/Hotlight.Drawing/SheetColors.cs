using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>Colours of what surrounds a radiograph.</summary>
/// <param name="Sheet">The sheet.</param>
/// <param name="Text">Text on the sheet.</param>
/// <param name="Quiet">Less important text on the sheet.</param>
/// <param name="Rule">Thin lines on the sheet.</param>
internal sealed record SheetColors(string Sheet, string Text, string Quiet, string Rule)
{
    /// <summary>The frame around a radiograph: neither black nor white, so that the image's own border is seen against it.</summary>
    public const string Frame = "#3B3F45";

    /// <summary>Text on the frame.</summary>
    public const string FrameText = "#F4F6F8";

    /// <summary>The plate under a key's sample.</summary>
    public const string KeyPlate = "#4A4F56";

    /// <summary>The colours of a surround.</summary>
    public static SheetColors Of(PictureSurround surround) => surround switch
    {
        PictureSurround.Paper => new SheetColors("#FFFFFF", "#14181D", "#4A525B", "#C9CED4"),
        PictureSurround.Dim => new SheetColors("#16191D", "#E9ECEF", "#AEB6BF", "#444A52"),
        _ => throw new ArgumentOutOfRangeException(nameof(surround), surround, "Not a surround."),
    };

    /// <summary>A colour of a table as Skia wants it.</summary>
    public static SKColor Parse(string color, double opacity = 1) => SKColor.Parse(color).WithAlpha((byte)Math.Round(255 * opacity));
}
