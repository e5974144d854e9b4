using Hotlight.Core;

namespace Hotlight.Simulation.Receptor;

/// <summary>Exposure index and deviation index of IEC 62494-1, on a signal in µGy of the calibration beam.</summary>
internal static class ExposureIndex
{
    /// <summary>EI: 100 per µGy of the value of interest.</summary>
    /// <param name="valueOfInterestMicrogray">Central tendency of the signal in the relevant region, in µGy of the calibration beam, 0 or more.</param>
    public static double Of(double valueOfInterestMicrogray) => 100 * valueOfInterestMicrogray;

    /// <summary>DI: 10·log10(EI/EI_T).</summary>
    public static double Deviation(double exposureIndex, double targetExposureIndex)
        => 10 * Math.Log10(Preconditions.AboveZero(exposureIndex) / Preconditions.AboveZero(targetExposureIndex));
}
