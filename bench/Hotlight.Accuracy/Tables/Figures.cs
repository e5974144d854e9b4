using System.Globalization;

namespace Hotlight.Accuracy.Tables;

/// <summary>Order statistics and how they are written.</summary>
internal static class Figures
{
    /// <summary>Stands where there is nothing.</summary>
    public const string Nothing = "–";

    /// <summary>The value below which a share of the values lies, by straight lines between them; null without values.</summary>
    public static double? Quantile(IEnumerable<double> values, double share)
    {
        double[] sorted = [.. values.Order()];
        if (sorted.Length == 0)
        {
            return null;
        }

        double at = share * (sorted.Length - 1);
        int below = (int)at;
        int above = Math.Min(below + 1, sorted.Length - 1);

        // Two infinities have no difference.
        return sorted[below] == sorted[above] ? sorted[below] : sorted[below] + ((at - below) * (sorted[above] - sorted[below]));
    }

    /// <summary>The middle value; null without values.</summary>
    public static double? Median(IEnumerable<double> values) => Quantile(values, 0.5);

    /// <summary>A number, or a dash.</summary>
    public static string Text(double? value, string format) => value?.ToString(format, CultureInfo.InvariantCulture) ?? Nothing;

    /// <summary>A share in percent with its count, or a dash.</summary>
    public static string Share(int part, int whole) => whole == 0 ? Nothing : $"{Text(100.0 * part / whole, "0.0")} % of {whole}";

    /// <summary>Median and the value farthest from 0.</summary>
    public static string MedianAndWorst(IEnumerable<double> values, string format)
    {
        double[] all = [.. values];
        return all.Length == 0 ? Nothing : $"{Text(Median(all), format)} / {Text(all.MaxBy(Math.Abs), format)}";
    }

    /// <summary>Median and ninth decile of sizes.</summary>
    public static string MedianAndDecile(IEnumerable<double> values, string format)
    {
        double[] all = [.. values.Select(Math.Abs)];
        return all.Length == 0 ? Nothing : $"{Text(Median(all), format)} / {Text(Quantile(all, 0.9), format)}";
    }

    /// <summary>A row of a table.</summary>
    public static string Row(params IEnumerable<string> cells) => $"| {string.Join(" | ", cells)} |";

    /// <summary>Head of a table.</summary>
    public static string Head(params string[] cells) => Row(cells) + "\n" + Row(cells.Select(_ => "---"));
}
