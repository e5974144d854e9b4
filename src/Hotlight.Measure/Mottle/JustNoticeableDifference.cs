namespace Hotlight.Measure.Mottle;

/// <summary>The Grayscale Standard Display Function: luminance to just-noticeable differences.</summary>
/// <remarks>Source: PS3.14, the inverse polynomial j(L); for 0.05 to 4000 cd/m². Its value differs from the true inverse by up to 0.1.</remarks>
internal static class JustNoticeableDifference
{
    /// <summary>Darkest luminance of a diagnostic display, ambient light included, in cd/m² (common practice, no source).</summary>
    public const double DisplayBlack = 1;

    /// <summary>Brightest luminance of a diagnostic display, in cd/m² (common practice, no source).</summary>
    public const double DisplayWhite = 350;

    private static readonly double[] Coefficients =
    [
        71.498068, 94.593053, 41.912053, 9.8247004, 0.28175407, -1.1878455, -0.18014349, 0.14710899, -0.017046845,
    ];

    /// <summary>Just-noticeable differences between black and white of such a display: a calibrated one spreads the shown range evenly over them.</summary>
    public static double OfFullRange { get; } = IndexOf(DisplayWhite) - IndexOf(DisplayBlack);

    /// <summary>The index j of a luminance.</summary>
    /// <param name="luminance">In cd/m², 0.05 to 4000.</param>
    public static double IndexOf(double luminance)
    {
        double y = Math.Log10(luminance);
        double index = 0;
        for (int power = Coefficients.Length - 1; power >= 0; power--)
        {
            index = (index * y) + Coefficients[power];
        }

        return index;
    }
}
