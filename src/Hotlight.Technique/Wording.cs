using Hotlight.Core;

namespace Hotlight.Technique;

/// <summary>Figures as they are read on a page, the same in every culture.</summary>
public static class Wording
{
    /// <summary>Three significant digits without closing zeros, for values that span decades: 0.315, 13.2, 1,260.</summary>
    /// <param name="value">A finite number.</param>
    public static string Significant(double value)
    {
        if (value == 0)
        {
            return "0";
        }

        int decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(Math.Abs(value))), 0, 8);
        string text = FigureText.Number(value, decimals);
        return text.Contains('.', StringComparison.Ordinal) ? text.TrimEnd('0').TrimEnd('.') : text;
    }

    /// <summary>A figure with one standard deviation, to the digits that carry it.</summary>
    /// <param name="value">A finite number.</param>
    /// <param name="uncertainty">One standard deviation; null where none is stated.</param>
    /// <param name="unit">Unit with its leading space.</param>
    public static string PlusMinus(double value, double? uncertainty, string unit)
        => uncertainty is { } sigma && sigma > 0 ? FigureText.Write(value, sigma, unit, 2, mostDecimals: 4) : Significant(value) + unit;

    /// <summary>A grid in words: "no grid" or "8:1".</summary>
    /// <param name="ratio">Grid ratio; 0: no grid.</param>
    public static string Grid(double ratio) => ratio == 0 ? "no grid" : Significant(ratio) + ":1";

    /// <summary>Sentence of what Hotlight is not, which stands under every technique.</summary>
    public static string NotADevice => "For education and quality improvement. Not a diagnostic device; local protocols, regulations and licensed practitioners decide. A repeat is dose.";
}
