using System.Globalization;

namespace Hotlight.Core;

/// <summary>Writes figures for people: rounded to what their uncertainty carries, always with a decimal point, a true minus sign and the unit.</summary>
public static class FigureText
{
    /// <summary>A figure with one standard deviation, such as "61.0 ± 0.4 %"; without one, to the decimals given.</summary>
    /// <remarks>Never more than <paramref name="mostDecimals"/>: a deviation too small to be seen there is written as "± &lt;0.1", not as 0.</remarks>
    /// <param name="value">The figure.</param>
    /// <param name="uncertainty">One standard deviation; null or 0 where none is stated.</param>
    /// <param name="unit">Unit with its leading space, or empty.</param>
    /// <param name="decimals">Decimals where no uncertainty sets them.</param>
    /// <param name="signed">Whether a positive figure carries its sign.</param>
    /// <param name="mostDecimals">Most decimals a reader has use for.</param>
    public static string Write(double value, double? uncertainty, string unit, int decimals, bool signed = false, int mostDecimals = 2)
    {
        if (uncertainty is not { } sigma || sigma <= 0 || !double.IsFinite(sigma))
        {
            return Number(value, decimals, signed) + unit;
        }

        // Two digits where the first is a 1, otherwise one: 0.14, 0.3, 12, 400.
        int magnitude = (int)Math.Floor(Math.Log10(sigma));
        double leading = sigma / Math.Pow(10, magnitude);
        int kept = Math.Clamp(leading < 1.95 ? 1 - magnitude : -magnitude, -6, 4);
        if (sigma < 0.5 * Math.Pow(10, -mostDecimals))
        {
            return string.Concat(Number(value, mostDecimals, signed), " ± <", Number(Math.Pow(10, -mostDecimals), mostDecimals), unit);
        }

        kept = Math.Min(kept, mostDecimals);
        double step = Math.Pow(10, -kept);
        int shown = Math.Max(0, kept);
        return string.Concat(
            Number(kept < 0 ? Math.Round(value / step) * step : value, shown, signed),
            " ± ",
            Number(kept < 0 ? Math.Round(sigma / step) * step : sigma, shown, signed: false),
            unit);
    }

    /// <summary>A whole or decimal number with thousands set apart by a comma and a true minus sign, the same under every culture.</summary>
    /// <param name="value">The number.</param>
    /// <param name="decimals">Decimals.</param>
    /// <param name="signed">Whether a positive number carries its sign.</param>
    public static string Number(double value, int decimals, bool signed = false)
    {
        double rounded = Math.Round(value, decimals);
        string digits = Math.Abs(rounded).ToString("N" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        return rounded < 0 ? "−" + digits : signed && rounded > 0 ? "+" + digits : digits;
    }
}
