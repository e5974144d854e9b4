using Hotlight.Core;

namespace Hotlight.Measure.Exposure;

/// <summary>The older exposure indicators, by the form of their scale.</summary>
public enum IndicatorFamily
{
    /// <summary>S = 200 / E, E in mR: halves when the exposure doubles.</summary>
    InverseSensitivity,

    /// <summary>1000 · log10(E) + 2000, E in mR: rises by 301 when the exposure doubles.</summary>
    LogarithmicIndex,

    /// <summary>1.96 at 2.5 µGy and speed class 400, one more for ten times the exposure: rises by 0.301 when it doubles.</summary>
    LogMedian,

    /// <summary>log2 of the exposure over the wanted one: rises by 1 when the exposure doubles.</summary>
    Log2Deviation,
}

/// <summary>An indicator of an older scale, as the reader names it.</summary>
/// <param name="Family">Which scale it is on; no header says so.</param>
/// <param name="Value">The figure from the console; null: the header's Sensitivity (0018,6000) or Relative X-Ray Exposure (0018,1405).</param>
public sealed record ExposureIndicator(IndicatorFamily Family, double? Value = null);

/// <summary>Turns older indicators into receptor air kerma by their published relation.</summary>
/// <remarks>
/// <para>1 mR is 8.76 µGy of air kerma. Source of the formulas: AAPM Report 116 (2009), table of indicators in its appendix (from memory).</para>
/// <para>Each scale has a calibration beam of its own. A receptor's signal for one µGy differs between beams, so the kerma is that of the scale's beam; as an exposure index of IEC 62494-1 it is right only as far as the beams are alike, which the uncertainty says.</para>
/// </remarks>
public static class IndicatorScale
{
    /// <summary>Air kerma of 1 mR, in µGy: 2.58e-4 C/kg · 33.97 J/C = 8.764 mGy per R, in the three digits the relations are given with.</summary>
    public const double MicrograyPerMilliroentgen = 8.76;

    private const double LogMedianAtReference = 1.96;
    private const double LogMedianReferenceMicrogray = 2.5;

    /// <summary>The scale's name for the reader.</summary>
    /// <param name="family">The scale.</param>
    public static string NameOf(IndicatorFamily family) => family switch
    {
        IndicatorFamily.InverseSensitivity => "inverse sensitivity number",
        IndicatorFamily.LogarithmicIndex => "logarithmic index",
        IndicatorFamily.LogMedian => "log-median number",
        _ => "log2 deviation number",
    };

    /// <summary>The relation in words, with its beam.</summary>
    /// <param name="family">The scale.</param>
    public static string FormulaOf(IndicatorFamily family) => family switch
    {
        IndicatorFamily.InverseSensitivity => "K = 1752 µGy / S, for 80 kVp without added filtration",
        IndicatorFamily.LogarithmicIndex => "K = 8.76 µGy · 10^((index − 2000) / 1000), for 80 kVp with 0.5 mm copper and 1 mm aluminium",
        IndicatorFamily.LogMedian => "K = 2.5 µGy · 10^(number − 1.96), at speed class 400",
        _ => "K = target · 2^number",
    };

    /// <summary>Air kerma at the receptor in the scale's own beam, in µGy.</summary>
    /// <param name="family">The scale.</param>
    /// <param name="value">The indicator; above 0 for the inverse sensitivity number.</param>
    /// <param name="targetMicrogray">Wanted kerma, in µGy; needed by the log2 deviation number alone.</param>
    /// <exception cref="ArgumentOutOfRangeException">The value or the target is not what the scale needs.</exception>
    public static double KermaMicrogray(IndicatorFamily family, double value, double? targetMicrogray = null)
    {
        if (!double.IsFinite(value))
        {
            throw new ArgumentOutOfRangeException(nameof(value), value, "An indicator is a finite number.");
        }

        return family switch
        {
            IndicatorFamily.InverseSensitivity => 200 * MicrograyPerMilliroentgen / Preconditions.AboveZero(value),
            IndicatorFamily.LogarithmicIndex => MicrograyPerMilliroentgen * Math.Pow(10, (value - 2000) / 1000),
            IndicatorFamily.LogMedian => LogMedianReferenceMicrogray * Math.Pow(10, value - LogMedianAtReference),
            IndicatorFamily.Log2Deviation => Preconditions.AboveZero(targetMicrogray ?? 0, nameof(targetMicrogray)) * Math.Pow(2, value),
            _ => throw new ArgumentOutOfRangeException(nameof(family), family, "Not an indicator family."),
        };
    }

    /// <summary>What the beam of the scale leaves open when its kerma is read as an exposure index, one standard deviation, in percent; the spread between systems comes on top.</summary>
    /// <param name="family">The scale.</param>
    /// <remarks>
    /// Computed with the phantom lab's receptors (docs/methods/receptor.md): at 80 kVp without added filtration a storage phosphor gives 0.56 and caesium iodide 0.52 of the signal per µGy that they give in RQA5,
    /// so the index may be up to 1.9 times too high, a range of 0.48 of it: over √3, 28 %. With 0.5 mm copper and 1 mm aluminium they give 1.00 and 1.04.
    /// The log-median number's beam is not stated with its formula: 15 %, a judgement. The log2 deviation number takes its target's beam.
    /// </remarks>
    public static double BeamPercent(IndicatorFamily family) => family switch
    {
        IndicatorFamily.InverseSensitivity => 28,
        IndicatorFamily.LogarithmicIndex => 4,
        IndicatorFamily.LogMedian => 15,
        _ => 0,
    };
}
