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

    private const string Day = @"(?:0?[1-9]|[12]\d|3[01])";
    private const string Year = @"(?:19|20)\d\d";

    // Names of the months in English, German and Spanish, whole or cut short.
    private const string MonthName = @"(?:jan(?:uary|uar|\.)?|ene(?:ro|\.)?|feb(?:ruary|ruar|rero|\.)?|mar(?:ch|zo|\.)?|märz|mär\.?|apr(?:il|\.)?|abr(?:il|\.)?|may(?:o)?|mai|jun(?:e|i|io|\.)?|jul(?:y|i|io|\.)?|aug(?:ust|\.)?|ago(?:sto|\.)?|sep(?:t(?:ember|iembre|\.)?|\.)?|o[ck]t(?:ober|ubre|\.)?|nov(?:ember|iembre|\.)?|de[cz](?:ember|\.)?|dic(?:iembre|\.)?)";

    /// <summary>A whole date: day, month and year with figures in any order and a separator between, eight figures that are a date, or with the month's name in English, German or Spanish.</summary>
    [GeneratedRegex(@"(?<![\w.,])(?:(?:0?[1-9]|[12]\d|3[01])[./-](?:0?[1-9]|1[0-2])[./-](?:19|20)\d\d|(?:0?[1-9]|1[0-2])[./-](?:0?[1-9]|[12]\d|3[01])[./-](?:19|20)\d\d|(?:19|20)\d\d[./-](?:0?[1-9]|1[0-2])[./-](?:0?[1-9]|[12]\d|3[01])|(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])|" + Day + @"(?:st|nd|rd|th|\.)?(?: of | de | )?" + MonthName + @"(?:,? | de | del )" + Year + "|" + MonthName + " " + Day + @"(?:st|nd|rd|th)?,? " + Year + @")(?!\w)", RegexOptions.CultureInvariant | RegexOptions.IgnoreCase)]
    public static partial Regex Whole();
}
