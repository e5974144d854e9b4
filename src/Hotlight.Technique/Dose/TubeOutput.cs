using Hotlight.Core;

namespace Hotlight.Technique.Dose;

/// <summary>Air kerma that the tube gives for each mAs at 1 m, in free air, without backscatter.</summary>
public sealed record TubeOutput
{
    // A public page of a physics service: mean of about forty radiographic units, µGy/mAs at 40 inches = 0.008373 · kV^1.983. [tube-output]
    private const double MeanAt40InchesMicrogray = 0.008373;
    private const double MeanDistanceMm = 1016;

    /// <summary>Power of the voltage that the output goes with. [tube-output]</summary>
    public const double VoltageExponent = 1.983;

    /// <summary>One standard deviation of that power: an even spread over 1.7 to 2.4, what tubes with other filtration give. [hotlight-rule]</summary>
    public const double VoltageExponentUncertainty = 0.7 / 3.4641016151377544;

    /// <summary>Output, in mGy/mAs at 1 m.</summary>
    public required double MilligrayPerMas { get; init; }

    /// <summary>Voltage it was measured at, in kVp.</summary>
    public required double TubeVoltageKvp { get; init; }

    /// <summary>One relative standard deviation, in percent.</summary>
    public required double UncertaintyPercent { get; init; }

    /// <summary>Key of the source, or "reader" where a person gave it.</summary>
    public required string Basis { get; init; }

    /// <summary>Output that the reader measured or was given.</summary>
    /// <param name="milligrayPerMas">Output, in mGy/mAs at 1 m, above 0.</param>
    /// <param name="tubeVoltageKvp">Voltage it was measured at, in kVp, above 0.</param>
    /// <param name="uncertaintyPercent">One relative standard deviation, in percent, 0 or more.</param>
    public static TubeOutput Given(double milligrayPerMas, double tubeVoltageKvp, double uncertaintyPercent) => new()
    {
        MilligrayPerMas = Preconditions.AboveZero(milligrayPerMas),
        TubeVoltageKvp = Preconditions.AboveZero(tubeVoltageKvp),
        UncertaintyPercent = Preconditions.Within(uncertaintyPercent, 0, 100),
        Basis = "reader",
    };

    /// <summary>Output of an ordinary tube, the mean of about forty units. [tube-output]</summary>
    /// <remarks>Real tubes differ by filtration and age. The output of one is taken as lying anywhere between half and twice the mean, which also holds a course table that lies above it: 40 % as one standard deviation (ln 2/√3). [hotlight-rule]</remarks>
    /// <param name="tubeVoltageKvp">Voltage, in kVp.</param>
    /// <returns>Cannot tell outside 50 to 120 kVp.</returns>
    public static Figure<TubeOutput> Typical(double tubeVoltageKvp)
        => Preconditions.AboveZero(tubeVoltageKvp) is >= 50 and <= 120
            ? Figure<TubeOutput>.Measured(new TubeOutput
            {
                MilligrayPerMas = MeanAt40InchesMicrogray * Math.Pow(tubeVoltageKvp, VoltageExponent) / 1000 * DistanceLaw.IntensityFactor(MeanDistanceMm, 1000),
                TubeVoltageKvp = tubeVoltageKvp,
                UncertaintyPercent = 40,
                Basis = "tube-output",
            })
            : Figure<TubeOutput>.CannotTell($"An ordinary tube's output is known from 50 to 120 kVp, not at {Wording.Significant(tubeVoltageKvp)} kVp; give the output of your own tube.");

    /// <summary>The output at another voltage; the doubt about the power of the voltage is added.</summary>
    /// <param name="tubeVoltageKvp">Voltage, in kVp, above 0.</param>
    public TubeOutput At(double tubeVoltageKvp)
    {
        double ratio = Preconditions.AboveZero(tubeVoltageKvp) / TubeVoltageKvp;
        return this with
        {
            MilligrayPerMas = MilligrayPerMas * Math.Pow(ratio, VoltageExponent),
            TubeVoltageKvp = tubeVoltageKvp,
            UncertaintyPercent = DoseArithmetic.Combine(UncertaintyPercent, 100 * Math.Abs(Math.Log(ratio)) * VoltageExponentUncertainty),
        };
    }
}

/// <summary>Sums that dose figures share.</summary>
internal static class DoseArithmetic
{
    /// <summary>Standard deviations that are independent, combined.</summary>
    public static double Combine(params double[] deviations) => Math.Sqrt(deviations.Sum(each => each * each));
}
