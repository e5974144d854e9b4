using System.Globalization;
using System.Text.RegularExpressions;

namespace Hotlight.Privacy.Publishing;

/// <summary>The ways a date is written.</summary>
internal static partial class WrittenDates
{
    private static readonly string[] Formats =
    [
        "yyyyMMdd", "yyyy-MM-dd", "dd-MM-yyyy", "d-M-yyyy", "MM-dd-yyyy", "M-d-yyyy", "ddMMyyyy", "dd-MM-yy",
        "d MMMM yyyy", "d MMM yyyy", "MMMM d yyyy", "MMM d yyyy",
    ];

    private static readonly CultureInfo[] Languages = [CultureInfo.InvariantCulture, CultureInfo.GetCultureInfo("de-DE"), CultureInfo.GetCultureInfo("es-ES")];

    /// <summary>A date as it is written with figures and with the month's name in English, German and Spanish.</summary>
    /// <param name="date">The date.</param>
    public static IEnumerable<string> Of(DateOnly date)
        => Languages.SelectMany(language => Formats.Select(format => date.ToString(format, language)))
            .Append(date.ToString("d 'de' MMMM 'de' yyyy", Languages[2]))
            .SelectMany(written => new[] { written, written.Replace('-', '.'), written.Replace('-', '/') })
            .Distinct(StringComparer.Ordinal);

    /// <summary>A whole date with figures: day, month and year in any order with a separator between, or eight figures that are a date.</summary>
    [GeneratedRegex(@"(?<![\w.,])(?:(?:0?[1-9]|[12]\d|3[01])[./-](?:0?[1-9]|1[0-2])[./-](?:19|20)\d\d|(?:0?[1-9]|1[0-2])[./-](?:0?[1-9]|[12]\d|3[01])[./-](?:19|20)\d\d|(?:19|20)\d\d[./-](?:0?[1-9]|1[0-2])[./-](?:0?[1-9]|[12]\d|3[01])|(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01]))(?!\w)", RegexOptions.CultureInvariant)]
    public static partial Regex Whole();
}
