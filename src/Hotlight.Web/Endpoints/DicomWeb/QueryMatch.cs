using System.Text;
using System.Text.RegularExpressions;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Web.Endpoints.DicomWeb;

/// <summary>One matching key of a query, PS3.18 10.6.1 and PS3.4 C.2.2.2.</summary>
/// <param name="Tag">The attribute.</param>
/// <param name="Vr">Its value representation.</param>
/// <param name="Value">The value to match; empty matches everything.</param>
internal sealed record QueryMatch(DicomTag Tag, string Vr, string Value)
{
    /// <summary>Whether a data set matches.</summary>
    public bool Fits(DicomDataset dataset) => Value.Length == 0 || Fits(Vr is "US" or "SS" or "UL" or "SL" or "FL" or "FD" ? Numbers(dataset) : dataset.Texts(Tag) ?? []);

    /// <summary>Whether one of several values matches.</summary>
    /// <param name="values">The values; none matches only an empty key.</param>
    public bool Fits(IReadOnlyList<string> values) => Value.Length == 0 || values.Any(Fits);

    private string[] Numbers(DicomDataset dataset)
        => [.. (dataset.Numbers(Tag) ?? []).Select(number => number.ToString("R", System.Globalization.CultureInfo.InvariantCulture))];

    private bool Fits(string value)
    {
        switch (Vr)
        {
            case "UI":
                // A list of UIDs, by comma in a query's address or by backslash.
                return Value.Split(',', '\\').Contains(value, StringComparer.Ordinal);
            case "DA" or "TM" or "DT":
                return InRange(value);
            case "PN":
                return Wild(Value, ignoreCase: true).IsMatch(value);
            case "DS" or "IS" or "US" or "SS" or "UL" or "SL" or "FL" or "FD":
                return value == Value || (double.TryParse(value, System.Globalization.CultureInfo.InvariantCulture, out double held)
                    && double.TryParse(Value, System.Globalization.CultureInfo.InvariantCulture, out double wanted) && held == wanted);
            default:
                return Wild(Value, ignoreCase: false).IsMatch(value);
        }
    }

    // "20260101-20260131", "-20260131", "20260101-", or one value; a shorter value stands for all it begins (a day of 2026-01, an hour).
    private bool InRange(string value)
    {
        static string Plain(string text) => text.Replace(":", string.Empty, StringComparison.Ordinal).Replace(".", string.Empty, StringComparison.Ordinal);
        string held = Plain(value);
        int dash = Value.IndexOf('-');
        if (dash < 0)
        {
            return held.StartsWith(Plain(Value), StringComparison.Ordinal);
        }

        string from = Plain(Value[..dash]);
        string to = Plain(Value[(dash + 1)..]);
        return (from.Length == 0 || string.CompareOrdinal(held.PadRight(from.Length, '0'), from) >= 0)
            && (to.Length == 0 || string.CompareOrdinal(held.Length > to.Length ? held[..to.Length] : held, to) <= 0);
    }

    private static Regex Wild(string pattern, bool ignoreCase)
    {
        StringBuilder expression = new(@"\A");
        foreach (char letter in pattern)
        {
            expression.Append(letter switch { '*' => ".*", '?' => ".", _ => Regex.Escape(letter.ToString()) });
        }

        return new Regex(expression.Append(@"\z").ToString(), RegexOptions.Singleline | RegexOptions.CultureInvariant | RegexOptions.NonBacktracking | (ignoreCase ? RegexOptions.IgnoreCase : RegexOptions.None));
    }
}
