using System.Globalization;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>Figures and joined sentences as they are read on a page, the same in every culture of numbers.</summary>
internal static class Wording
{
    /// <summary>A figure with fixed decimals and a true minus sign.</summary>
    public static string Number(double value, int decimals)
    {
        double rounded = Math.Round(value, decimals, MidpointRounding.AwayFromZero);
        return (rounded == 0 ? 0 : rounded).ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture).Replace('-', '−');
    }

    /// <summary>A figure with a sign, plus for 0 and above.</summary>
    public static string Signed(double value, int decimals)
        => (Math.Round(value, decimals, MidpointRounding.AwayFromZero) < 0 ? string.Empty : "+") + Number(value, decimals);

    /// <summary>A figure with three significant digits and no closing zeros, for values that span decades.</summary>
    public static string Significant(double value)
        => value.ToString("G3", CultureInfo.InvariantCulture) is var text && text.Contains('E', StringComparison.Ordinal)
            ? value.ToString("F0", CultureInfo.InvariantCulture)
            : text.Replace('-', '−');

    /// <summary>" ± figure", or nothing where no uncertainty is known.</summary>
    public static string PlusMinus(double? uncertainty, int decimals)
        => uncertainty is { } known ? " ± " + Number(known, decimals) : string.Empty;

    /// <summary>A deviation index with its uncertainty.</summary>
    public static string DeviationIndex(double value, double? uncertainty) => "DI " + Signed(value, 1) + PlusMinus(uncertainty, 1);

    /// <summary>"a", "a and b", "a, b and c".</summary>
    public static string Join(IEnumerable<string> parts)
    {
        string[] all = [.. parts];
        return all.Length switch
        {
            0 => string.Empty,
            1 => all[0],
            _ => Texts.Get("wording.and", string.Join(", ", all[..^1]), all[^1]),
        };
    }

    /// <summary>"once", "twice", "3 times".</summary>
    public static string Times(int number) => number switch
    {
        1 => Texts.Get("wording.times.once"),
        2 => Texts.Get("wording.times.twice"),
        _ => Texts.Get("wording.times.several", number.ToString(CultureInfo.InvariantCulture)),
    };

    /// <summary>The first letter as a capital.</summary>
    public static string Capital(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];

    /// <summary>The first letter small, unless the first word is an abbreviation or a single capital letter.</summary>
    public static string Small(string text)
        => text.Length < 2 || char.IsUpper(text[1]) || (text[1] == ' ' && text[0] != 'A') ? text : char.ToLowerInvariant(text[0]) + text[1..];

    /// <summary>A side of the field in words.</summary>
    public static string Side(FieldSide side) => side switch
    {
        FieldSide.Top => Texts.Get("side.top"),
        FieldSide.Right => Texts.Get("side.right"),
        FieldSide.Bottom => Texts.Get("side.bottom"),
        _ => Texts.Get("side.left"),
    };
}
