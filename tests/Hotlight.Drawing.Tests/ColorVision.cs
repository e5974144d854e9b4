namespace Hotlight.Drawing.Tests;

/// <summary>Colours as the eye compares them, for the tests of the palette.</summary>
internal static class ColorVision
{
    /// <summary>
    /// Simulation of dichromacy in linear sRGB. G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of
    /// Color Vision Deficiency", IEEE Trans. Vis. Comput. Graph. 15(6), 2009, doi:10.1109/TVCG.2009.113: the authors' table of matrices, severity 1.0.
    /// </summary>
    public static IReadOnlyDictionary<string, double[,]> Simulations { get; } = new Dictionary<string, double[,]>
    {
        ["normal"] = new double[,] { { 1, 0, 0 }, { 0, 1, 0 }, { 0, 0, 1 } },
        ["protanopia"] = new[,] { { 0.152286, 1.052583, -0.204868 }, { 0.114503, 0.786281, 0.099216 }, { -0.003882, -0.048116, 1.051998 } },
        ["deuteranopia"] = new[,] { { 0.367322, 0.860646, -0.227968 }, { 0.280085, 0.672501, 0.047413 }, { -0.011820, 0.042940, 0.968881 } },
        ["tritanopia"] = new[,] { { 1.255528, -0.076749, -0.178779 }, { -0.078411, 0.930809, 0.147602 }, { 0.004733, 0.691367, 0.303900 } },
    };

    /// <summary>Linear sRGB of #RRGGBB, IEC 61966-2-1.</summary>
    public static double[] Linear(string color)
        => [.. new[] { 1, 3, 5 }.Select(start => Convert.ToInt32(color.Substring(start, 2), 16) / 255.0).Select(part => part <= 0.04045 ? part / 12.92 : Math.Pow((part + 0.055) / 1.055, 2.4))];

    /// <summary>A linear colour as it is seen, held inside the gamut.</summary>
    public static double[] Seen(double[] linear, double[,] simulation)
        => [.. Enumerable.Range(0, 3).Select(row => Math.Clamp((simulation[row, 0] * linear[0]) + (simulation[row, 1] * linear[1]) + (simulation[row, 2] * linear[2]), 0, 1))];

    /// <summary>CIE 1976 L*a*b* of a linear sRGB colour, white D65.</summary>
    public static double[] Lab(double[] linear)
    {
        double x = ((0.4124564 * linear[0]) + (0.3575761 * linear[1]) + (0.1804375 * linear[2])) / 0.95047;
        double y = (0.2126729 * linear[0]) + (0.7151522 * linear[1]) + (0.0721750 * linear[2]);
        double z = ((0.0193339 * linear[0]) + (0.1191920 * linear[1]) + (0.9503041 * linear[2])) / 1.08883;
        return [(116 * Root(y)) - 16, 500 * (Root(x) - Root(y)), 200 * (Root(y) - Root(z))];

        static double Root(double share) => share > 216.0 / 24389 ? Math.Cbrt(share) : ((24389.0 / 27 * share) + 16) / 116;
    }

    /// <summary>CIE 1976 colour difference.</summary>
    public static double Difference(double[] first, double[] second)
        => Math.Sqrt(first.Zip(second, (a, b) => (a - b) * (a - b)).Sum());

    /// <summary>Contrast ratio, WCAG 2.2, 1 to 21.</summary>
    public static double Contrast(string first, string second)
    {
        double[] luminance = [.. new[] { first, second }.Select(Linear).Select(linear => (0.2126 * linear[0]) + (0.7152 * linear[1]) + (0.0722 * linear[2])).OrderDescending()];
        return (luminance[0] + 0.05) / (luminance[1] + 0.05);
    }
}
