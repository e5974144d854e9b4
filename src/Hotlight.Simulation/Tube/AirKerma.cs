using Hotlight.Core;
using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tube;

/// <summary>Air kerma from photons, from tube output, and over a field.</summary>
internal static class AirKerma
{
    // 1 keV/g in Gy: 1.602 176 634e-16 J in 1e-3 kg; times 1e6 µGy and 1e2 mm² per cm².
    private const double MicrograyMm2PerKevCm2PerGram = 1.602176634e-13 * 1e6 * 1e2;

    /// <summary>Air kerma of one photon per mm², in µGy·mm²: E·(μ_en/ρ) of air.</summary>
    public static double MicrograyMm2PerPhoton(double energyKev)
        => MicrograyMm2PerKevCm2PerGram * energyKev * Material.Air.MassEnergyAbsorptionAt(energyKev);

    /// <summary>Incident air kerma at a distance, in µGy, by the inverse square: output · mAs · (1 m/d)².</summary>
    /// <param name="outputMicrograyPerMas">Output at 1 m, in µGy per mAs.</param>
    /// <param name="currentTimeMas">Current-time product, in mAs.</param>
    /// <param name="distanceMm">Distance from the focal spot, in mm, above 0.</param>
    public static double IncidentMicrogray(double outputMicrograyPerMas, double currentTimeMas, double distanceMm)
    {
        double metres = Preconditions.AboveZero(distanceMm) / 1000;
        return outputMicrograyPerMas * currentTimeMas / (metres * metres);
    }

    /// <summary>Entrance surface air kerma, in µGy: incident air kerma at the skin with what comes back from the patient.</summary>
    /// <param name="incidentMicrogray">Incident air kerma at the skin's distance, in µGy.</param>
    /// <param name="backscatterFactor"><see cref="Backscatter.FactorOf"/>, 1 or more.</param>
    public static double EntranceSurfaceMicrogray(double incidentMicrogray, double backscatterFactor)
        => incidentMicrogray * Preconditions.Within(backscatterFactor, 1, 3);

    /// <summary>Kerma-area product, in dGy·cm²: mean air kerma times area, both in one plane across the beam.</summary>
    /// <param name="meanKermaMicrogray">Mean air kerma in the plane, in µGy.</param>
    /// <param name="areaMm2">Area of the beam in the plane, in mm².</param>
    public static double AreaProductDgyCm2(double meanKermaMicrogray, double areaMm2) => meanKermaMicrogray * areaMm2 * 1e-7;
}
