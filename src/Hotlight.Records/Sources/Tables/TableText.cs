using System.Globalization;
using System.Text;
using CsvHelper;
using CsvHelper.Configuration;

namespace Hotlight.Records.Sources.Tables;

/// <summary>A table's bytes as rows of fields.</summary>
internal static class TableText
{
    /// <summary>Longest field, in characters; a quote that is never closed would take the whole file.</summary>
    public const int FieldMaxLength = 20_000;

    /// <summary>Names of the codings that are known.</summary>
    public static IReadOnlyList<string> Encodings { get; } = ["utf-8", "utf-16", "windows-1252"];

    /// <summary>A coding by its name; null where it is not known.</summary>
    /// <param name="name">The name.</param>
    public static Encoding? EncodingOf(string name) => name switch
    {
        "utf-8" => new UTF8Encoding(encoderShouldEmitUTF8Identifier: false),
        "utf-16" => Encoding.Unicode,
        "windows-1252" => CodePagesEncodingProvider.Instance.GetEncoding(1252),
        _ => null,
    };

    /// <summary>The rows of a table with the line each begins on, from 1; blank lines are passed over.</summary>
    /// <param name="text">The text; stays open.</param>
    /// <param name="delimiter">The sign between fields.</param>
    /// <param name="quote">The sign around fields.</param>
    /// <exception cref="FormatException">A field is too long: a quote is not closed.</exception>
    public static IEnumerable<(long Line, string[] Fields)> Rows(TextReader text, char delimiter, char quote)
    {
        using var parser = new CsvParser(text, new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            Delimiter = delimiter.ToString(),
            Quote = quote,
            BadDataFound = null,
            MaxFieldSize = FieldMaxLength,
        }, leaveOpen: true);
        while (true)
        {
            long before = parser.RawRow;
            try
            {
                if (!parser.Read())
                {
                    yield break;
                }
            }
            catch (CsvHelperException error)
            {
                throw new FormatException($"Line {before + 1}: a field does not end; a quote ({quote}) that is opened must be closed.", error);
            }

            string[] fields = parser.Record!;
            yield return (parser.RawRow - LineEndsIn(fields), fields);
        }
    }

    // The parser says the line a row ends on.
    private static int LineEndsIn(string[] fields)
    {
        int lines = 0;
        foreach (string field in fields)
        {
            lines += field.AsSpan().Count('\n');
        }

        return lines;
    }
}
