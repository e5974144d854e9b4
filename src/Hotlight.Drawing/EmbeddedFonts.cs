using System.Text;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>Weight of drawn text.</summary>
internal enum TextWeight
{
    /// <summary>Running text.</summary>
    Regular,

    /// <summary>Titles and figures.</summary>
    SemiBold,
}

/// <summary>The fonts that travel with the project, so that text is drawn on a machine without any.</summary>
internal static class EmbeddedFonts
{
    private static readonly SKTypeface Regular = Load("Inter-Regular.otf");
    private static readonly SKTypeface SemiBold = Load("Inter-SemiBold.otf");

    /// <summary>A font of a weight and size; the caller disposes it.</summary>
    public static SKFont Create(TextWeight weight, double sizePixels) => new(weight == TextWeight.SemiBold ? SemiBold : Regular, (float)sizePixels)
    {
        Edging = SKFontEdging.Antialias,
        Hinting = SKFontHinting.None,
        Subpixel = true,
    };

    /// <summary>The typeface of a weight; shared, not to be disposed.</summary>
    public static SKTypeface TypefaceOf(TextWeight weight) => weight == TextWeight.SemiBold ? SemiBold : Regular;

    /// <summary>Text with what the font cannot draw replaced by a question mark, and control characters by a space: a missing letter is seen, never left out.</summary>
    public static string Printable(string text)
    {
        using SKFont font = Create(TextWeight.Regular, 20);
        var printable = new StringBuilder(text.Length);
        foreach (Rune rune in text.EnumerateRunes())
        {
            if (Rune.IsControl(rune) || Rune.IsWhiteSpace(rune))
            {
                printable.Append(' ');
            }
            else
            {
                printable.Append(font.ContainsGlyph(rune.Value) ? rune.ToString() : "?");
            }
        }

        return printable.ToString();
    }

    private static SKTypeface Load(string resource)
    {
        using Stream stream = typeof(EmbeddedFonts).Assembly.GetManifestResourceStream(resource)
            ?? throw new InvalidOperationException($"The font {resource} is not in the assembly.");
        using SKData data = SKData.Create(stream);
        return SKTypeface.FromData(data) ?? throw new InvalidOperationException($"The font {resource} cannot be read.");
    }
}
