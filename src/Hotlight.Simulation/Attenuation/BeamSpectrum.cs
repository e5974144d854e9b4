using Hotlight.Core;

namespace Hotlight.Simulation.Attenuation;

/// <summary>A tube's beam as a few energies with the photons at each, per mm² and per µGy of air kerma.</summary>
/// <remarks>
/// Kramers' rule for the fluence, N(E) proportional to (kVp − E)/E, behind aluminium; no characteristic lines, no self-absorption.
/// Energies below 20 keV are left out: the filter and the part remove them. Effective, not a tube model: half-value layers are not claimed.
/// Kerma per photon from NISTIR 5632: E·(μ_en/ρ)_air.
/// </remarks>
internal sealed class BeamSpectrum
{
    private const double PicograyCm2PerMev = 160.218;

    public BeamSpectrum(double tubeVoltageKvp, double filtrationMmAluminium, double binKev = 8)
    {
        TubeVoltageKvp = Preconditions.Within(tubeVoltageKvp, 40, 150);
        int bins = Math.Max(2, (int)Math.Round((tubeVoltageKvp - 20) / binKev));
        double width = (tubeVoltageKvp - 20) / bins;
        EnergiesKev = new double[bins];
        PhotonsPerMm2PerMicrogray = new double[bins];
        double kerma = 0;
        for (int bin = 0; bin < bins; bin++)
        {
            double energy = 20 + ((bin + 0.5) * width);
            double photons = (tubeVoltageKvp - energy) / energy
                * Math.Exp(-Material.Aluminium.LinearAttenuationPerMm(energy) * filtrationMmAluminium);
            EnergiesKev[bin] = energy;
            PhotonsPerMm2PerMicrogray[bin] = photons;
            kerma += photons * KermaMicrograyMm2(energy);
        }

        for (int bin = 0; bin < bins; bin++)
        {
            PhotonsPerMm2PerMicrogray[bin] /= kerma;
        }
    }

    public double TubeVoltageKvp { get; }

    public double[] EnergiesKev { get; }

    public double[] PhotonsPerMm2PerMicrogray { get; }

    /// <summary>Air kerma of one photon per mm², in µGy.</summary>
    public static double KermaMicrograyMm2(double energyKev)
        => PicograyCm2PerMev * (energyKev / 1000) * Material.Air.MassEnergyAbsorptionAt(energyKev) * 1e-6 * 100;

    /// <summary>Energy through 1 mm² of an absorber-free receptor for 1 µGy of this beam, in keV.</summary>
    public double EnergyPerMm2PerMicrogray()
    {
        double sum = 0;
        for (int bin = 0; bin < EnergiesKev.Length; bin++)
        {
            sum += PhotonsPerMm2PerMicrogray[bin] * EnergiesKev[bin];
        }

        return sum;
    }
}
