using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>Measures and breaks text; holds one font for each weight and size it was asked for. Not for use by two threads.</summary>
internal sealed class TextSetting : IDisposable
{
    private readonly Dictionary<(TextWeight Weight, double Size), SKFont> fonts = [];

    /// <summary>The font of a weight and size; owned by this setting.</summary>
    public SKFont Font(TextWeight weight, double sizePixels)
    {
        if (!fonts.TryGetValue((weight, sizePixels), out SKFont? font))
        {
            font = EmbeddedFonts.Create(weight, sizePixels);
            fonts.Add((weight, sizePixels), font);
        }

        return font;
    }

    /// <summary>Width of a text, in pixels.</summary>
    public double Width(string text, TextWeight weight, double sizePixels) => Font(weight, sizePixels).MeasureText(text);

    /// <summary>Breaks a text into lines no wider than a width: at spaces, inside a word only where the word alone is too wide.</summary>
    public IReadOnlyList<string> Wrap(string text, TextWeight weight, double sizePixels, double widthPixels)
    {
        var lines = new List<string>();
        string line = string.Empty;
        foreach (string word in EmbeddedFonts.Printable(text).Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            string joined = line.Length == 0 ? word : line + " " + word;
            if (Width(joined, weight, sizePixels) <= widthPixels)
            {
                line = joined;
                continue;
            }

            if (line.Length > 0)
            {
                lines.Add(line);
            }

            line = word;
            while (Width(line, weight, sizePixels) > widthPixels && line.Length > 1)
            {
                int fits = 1;
                while (fits + 1 < line.Length && Width(line[..(fits + 1)], weight, sizePixels) <= widthPixels)
                {
                    fits++;
                }

                if (char.IsHighSurrogate(line[fits - 1]) && fits < line.Length - 1)
                {
                    fits++;
                }

                lines.Add(line[..fits]);
                line = line[fits..];
            }
        }

        if (line.Length > 0)
        {
            lines.Add(line);
        }

        return lines;
    }

    /// <summary>A text shortened in its middle until it fits; a file's name keeps its beginning and its ending.</summary>
    public string Shorten(string text, TextWeight weight, double sizePixels, double widthPixels)
    {
        string printable = EmbeddedFonts.Printable(text);
        if (Width(printable, weight, sizePixels) <= widthPixels)
        {
            return printable;
        }

        for (int kept = printable.Length - 1; kept >= 2; kept--)
        {
            string shortened = string.Concat(printable.AsSpan(0, (kept + 1) / 2), "…", printable.AsSpan(printable.Length - (kept / 2)));
            if (Width(shortened, weight, sizePixels) <= widthPixels)
            {
                return shortened;
            }
        }

        return "…";
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        foreach (SKFont font in fonts.Values)
        {
            font.Dispose();
        }
    }
}
