using PdfSharp.Fonts;

namespace Hotlight.Printing;

/// <summary>The fonts of reports, from this assembly.</summary>
internal sealed class ReportFonts : IFontResolver
{
    /// <summary>Name of the family.</summary>
    public const string Family = "DejaVu Sans";

    private static readonly Lock Setting = new();

    /// <summary>Makes the fonts known to the printing library, once.</summary>
    public static void Use()
    {
        lock (Setting)
        {
            if (GlobalFontSettings.FontResolver is null)
            {
                GlobalFontSettings.FontResolver = new ReportFonts();
            }
        }
    }

    /// <inheritdoc/>
    public FontResolverInfo? ResolveTypeface(string familyName, bool bold, bool italic) => new(bold ? "DejaVuSans-Bold.ttf" : "DejaVuSans.ttf");

    /// <inheritdoc/>
    public byte[]? GetFont(string faceName)
    {
        using Stream stream = typeof(ReportFonts).Assembly.GetManifestResourceStream(faceName) ?? throw new InvalidOperationException($"The font {faceName} is not in the assembly.");
        byte[] content = new byte[stream.Length];
        stream.ReadExactly(content);
        return content;
    }
}
