using System.Globalization;

namespace Hotlight.Core;

/// <summary>Cells of comma-separated values for people, who open them in a spreadsheet (RFC 4180). What a spreadsheet would take for a formula stands there as text.</summary>
public static class CsvCell
{
    /// <summary>A cell as it is written.</summary>
    /// <param name="text">What stands in it. A number stays a number, also a negative one; any other text that begins like a formula (=, +, -, @, a tab or a return) gets an apostrophe in front.</param>
    public static string Of(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        bool isFormula = text.Length > 0 && (text[0] is '=' or '+' or '-' or '@' or '\t' or '\r') && !double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out _);
        string safe = isFormula ? "'" + text : text;
        return safe.AsSpan().IndexOfAny("\",\r\n") >= 0 ? $"\"{safe.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : safe;
    }
}
