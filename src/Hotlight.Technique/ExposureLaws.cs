using Hotlight.Core;

namespace Hotlight.Technique;

/// <summary>How exposure goes with the deviation index.</summary>
public static class DeviationIndexLaw
{
    /// <summary>mAs that reaches the target over mAs used, 10^(−DI/10), at unchanged voltage, filtration and distance. [iec-62494-1]</summary>
    /// <param name="deviationIndex">The deviation index, −50 to 50.</param>
    public static double MasFactor(double deviationIndex) => Math.Pow(10, -Preconditions.Within(deviationIndex, -50, 50) / 10);

    /// <summary>Deviation index that a factor of exposure adds, 10 · log10(factor).</summary>
    /// <param name="exposureFactor">Exposure of the receptor over exposure before, above 0.</param>
    public static double ShiftOf(double exposureFactor) => 10 * Math.Log10(Preconditions.AboveZero(exposureFactor));
}

/// <summary>The two laws of distance, which are each other's reciprocal.</summary>
public static class DistanceLaw
{
    /// <summary>Inverse square law: intensity at the new distance over intensity at the old, (old/new)², at unchanged mAs. [square-law]</summary>
    /// <remarks>Not: the factor for the mAs, which is <see cref="MasFactor"/>.</remarks>
    /// <param name="oldDistanceMm">Distance from the source before, in mm, above 0.</param>
    /// <param name="newDistanceMm">Distance from the source after, in mm, above 0.</param>
    public static double IntensityFactor(double oldDistanceMm, double newDistanceMm)
    {
        double ratio = Preconditions.AboveZero(oldDistanceMm) / Preconditions.AboveZero(newDistanceMm);
        return ratio * ratio;
    }

    /// <summary>Exposure maintenance (square law): mAs at the new distance over mAs at the old, (new/old)², for the same exposure of the receptor. [square-law]</summary>
    /// <param name="oldDistanceMm">Distance from the source before, in mm, above 0.</param>
    /// <param name="newDistanceMm">Distance from the source after, in mm, above 0.</param>
    public static double MasFactor(double oldDistanceMm, double newDistanceMm) => IntensityFactor(newDistanceMm, oldDistanceMm);
}

/// <summary>Which form of the voltage rule is used.</summary>
public enum VoltageRule
{
    /// <summary>15 % more voltage, half the mAs; in between continuous: 2^(−ln(new/old)/ln 1.15).</summary>
    FifteenPercent,

    /// <summary>Exposure of the receptor goes with the fifth power of the voltage: (old/new)^5.</summary>
    FifthPower,
}

/// <summary>How mAs goes with the tube voltage for the same exposure of the receptor.</summary>
public static class VoltageLaw
{
    // The rule's downward half, 15 % less and double, is another power than its upward half: ln 2 / −ln 0.85 = 4.265 against ln 2 / ln 1.15 = 4.960.
    private static readonly double DownwardExponent = Math.Log(2) / -Math.Log(0.85);

    /// <summary>The power of the voltage that the exposure of the receptor goes with.</summary>
    /// <param name="rule">The form of the rule.</param>
    public static double ExponentOf(VoltageRule rule) => rule == VoltageRule.FifthPower ? 5 : Math.Log(2) / Math.Log(1.15);

    /// <summary>mAs at the new voltage over mAs at the old, for about the same exposure of the receptor. [voltage-rule] [al-balool-1998]</summary>
    /// <remarks>Holds from about 50 to 100 kV and up to 15 cm of tissue [al-balool-1998].</remarks>
    /// <param name="oldKvp">Voltage before, in kVp, above 0.</param>
    /// <param name="newKvp">Voltage after, in kVp, above 0.</param>
    /// <param name="rule">The form of the rule.</param>
    public static double MasFactor(double oldKvp, double newKvp, VoltageRule rule = VoltageRule.FifteenPercent)
        => Math.Pow(Preconditions.AboveZero(oldKvp) / Preconditions.AboveZero(newKvp), ExponentOf(rule));

    /// <summary>One standard deviation of <see cref="MasFactor"/>.</summary>
    /// <remarks>
    /// The rule disagrees with itself: its two halves and the fifth power are the powers 4.27, 4.96 and 5. The true power is taken as lying anywhere between 4.27 and the one used, so its standard deviation is the difference over √3.
    /// That is a lower bound: it does not hold the departures outside the rule's range.
    /// </remarks>
    /// <param name="oldKvp">Voltage before, in kVp, above 0.</param>
    /// <param name="newKvp">Voltage after, in kVp, above 0.</param>
    /// <param name="rule">The form of the rule.</param>
    public static double MasFactorUncertainty(double oldKvp, double newKvp, VoltageRule rule = VoltageRule.FifteenPercent)
        => MasFactor(oldKvp, newKvp, rule) * Math.Abs(Math.Log(newKvp / oldKvp)) * (ExponentOf(rule) - DownwardExponent) / Math.Sqrt(3);
}

/// <summary>How the beam is weakened by a layer.</summary>
public static class HalfValueLayerLaw
{
    /// <summary>Share that a layer lets through, 2^(−thickness/layer), narrow beam.</summary>
    /// <param name="thicknessMm">Thickness, in mm; negative: taken away.</param>
    /// <param name="halfValueLayerMm">Half-value layer of the same material and beam, in mm, above 0.</param>
    public static double TransmittedFraction(double thicknessMm, double halfValueLayerMm)
        => Math.Pow(2, -Preconditions.Within(thicknessMm, -2000, 2000) / Preconditions.AboveZero(halfValueLayerMm));

    /// <summary>mAs for the new thickness over mAs for the old: what the change of thickness lets through, inverted.</summary>
    /// <param name="oldThicknessMm">Thickness before, in mm.</param>
    /// <param name="newThicknessMm">Thickness after, in mm.</param>
    /// <param name="halfValueLayerMm">Thickness of tissue that halves the beam, in mm, above 0.</param>
    public static double MasFactor(double oldThicknessMm, double newThicknessMm, double halfValueLayerMm)
        => 1 / TransmittedFraction(newThicknessMm - oldThicknessMm, halfValueLayerMm);
}
