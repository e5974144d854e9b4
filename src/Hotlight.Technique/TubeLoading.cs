using Hotlight.Core;

namespace Hotlight.Technique;

/// <summary>What an exposure asks of the tube.</summary>
public static class TubeLoading
{
    /// <summary>Heat of one exposure in heat units: kVp · mA · s · factor of the generator. [heat-units]</summary>
    /// <param name="tubeVoltageKvp">Voltage, in kVp, above 0.</param>
    /// <param name="mas">Tube current times time, in mAs, above 0.</param>
    /// <param name="waveform">How the generator rectifies.</param>
    public static double HeatUnits(double tubeVoltageKvp, double mas, GeneratorWaveform waveform)
        => Preconditions.AboveZero(tubeVoltageKvp) * Preconditions.AboveZero(mas) * FactorOf(waveform);

    /// <summary>Power, in kW: kVp · mA / 1000, as for a voltage that does not pulsate.</summary>
    /// <param name="tubeVoltageKvp">Voltage, in kVp, above 0.</param>
    /// <param name="tubeCurrentMa">Tube current, in mA, above 0.</param>
    public static double PowerKw(double tubeVoltageKvp, double tubeCurrentMa)
        => Preconditions.AboveZero(tubeVoltageKvp) * Preconditions.AboveZero(tubeCurrentMa) / 1000;

    /// <summary>Factor of the generator: 1.00, 1.35, 1.41 or 1.45. [generator-factor]</summary>
    /// <param name="waveform">How the generator rectifies.</param>
    public static double FactorOf(GeneratorWaveform waveform) => waveform switch
    {
        GeneratorWaveform.SinglePhase => 1.00,
        GeneratorWaveform.SixPulse => 1.35,
        GeneratorWaveform.TwelvePulse => 1.41,
        _ => 1.45,
    };

    /// <summary>The greatest current the limits allow at a voltage, in mA; null where none is given.</summary>
    /// <param name="tubeVoltageKvp">Voltage, in kVp; null: not known, so the rating is not used.</param>
    /// <param name="limits">What the tube may do.</param>
    public static double? LargestCurrentMa(double? tubeVoltageKvp, TubeLimits limits)
    {
        ArgumentNullException.ThrowIfNull(limits);
        double? byRating = limits.RatingKw is { } rating && tubeVoltageKvp is { } kvp ? Preconditions.AboveZero(rating) * 1000 / Preconditions.AboveZero(kvp) : null;
        return (limits.LargestCurrentMa, byRating) switch
        {
            ({ } current, { } rated) => Math.Min(current, rated),
            ({ } current, null) => current,
            _ => byRating,
        };
    }
}
