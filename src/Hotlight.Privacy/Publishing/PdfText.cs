using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace Hotlight.Privacy.Publishing;

/// <summary>The text of a PDF's pages, from its inflated streams: strings of glyph numbers are read with the tables from glyph to letter that the file carries for its fonts.</summary>
/// <remarks>Not a reader of PDF: it does not know which font a string is set in, so each string is read with each table. For the search that is enough, and misses nothing that one of the tables tells.</remarks>
internal static partial class PdfText
{
    /// <summary>The texts, one a table and stream.</summary>
    /// <param name="streams">The inflated streams.</param>
    public static IEnumerable<string> Of(IReadOnlyList<byte[]> streams)
    {
        List<Dictionary<int, string>> tables = [];
        List<string> pages = [];
        foreach (byte[] stream in streams)
        {
            string text = Encoding.Latin1.GetString(stream);
            if (text.Contains("beginbfchar", StringComparison.Ordinal) || text.Contains("beginbfrange", StringComparison.Ordinal))
            {
                tables.Add(Table(text));
            }
            else if (text.Contains("Tj", StringComparison.Ordinal) || text.Contains("TJ", StringComparison.Ordinal))
            {
                pages.Add(text);
            }
        }

        foreach (string page in pages)
        {
            string[] strings = [.. HexString().Matches(page).Select(match => match.Groups[1].Value)];
            foreach (Dictionary<int, string> table in tables)
            {
                StringBuilder read = new();
                foreach (string glyphs in strings)
                {
                    for (int at = 0; at + 4 <= glyphs.Length; at += 4)
                    {
                        if (int.TryParse(glyphs.AsSpan(at, 4), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int glyph))
                        {
                            read.Append(table.GetValueOrDefault(glyph, string.Empty));
                        }
                    }

                    read.Append(' ');
                }

                yield return read.ToString();
            }
        }
    }

    private static Dictionary<int, string> Table(string text)
    {
        Dictionary<int, string> table = [];
        foreach (Match block in Block().Matches(text))
        {
            bool isRange = block.Groups[1].Value == "range";
            foreach (Match line in Line().Matches(block.Groups[2].Value))
            {
                int from = Number(line.Groups[1].Value);
                if (isRange && line.Groups[3].Success)
                {
                    int to = Number(line.Groups[2].Value);
                    int letter = Number(line.Groups[3].Value);
                    for (int glyph = from; glyph <= to && glyph - from < 65536; glyph++)
                    {
                        table[glyph] = char.ConvertFromUtf32(Math.Min(letter + glyph - from, 0xD7FF));
                    }
                }
                else if (!isRange)
                {
                    table[from] = Letters(line.Groups[2].Value);
                }
            }
        }

        return table;
    }

    private static int Number(string hex) => int.Parse(hex.AsSpan(0, Math.Min(hex.Length, 4)), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture);

    private static string Letters(string hex)
    {
        StringBuilder letters = new();
        for (int at = 0; at + 4 <= hex.Length; at += 4)
        {
            letters.Append((char)Number(hex.Substring(at, 4)));
        }

        return letters.ToString();
    }

    [GeneratedRegex(@"<([0-9A-Fa-f]{4,})>", RegexOptions.CultureInvariant)]
    private static partial Regex HexString();

    [GeneratedRegex(@"beginbf(char|range)(.*?)endbf", RegexOptions.CultureInvariant | RegexOptions.Singleline)]
    private static partial Regex Block();

    [GeneratedRegex(@"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>(?:[ \t]*<([0-9A-Fa-f]+)>)?", RegexOptions.CultureInvariant)]
    private static partial Regex Line();
}
