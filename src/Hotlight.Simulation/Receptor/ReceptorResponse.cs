using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Receptor;

/// <summary>How a receptor answers to each energy of a beam.</summary>
internal sealed class ReceptorResponse
{
    private readonly ImageReceptor receptor;
    private readonly BeamEnergies beam;

    /// <summary>Computes the weights.</summary>
    public ReceptorResponse(ImageReceptor receptor, BeamEnergies beam)
    {
        this.receptor = receptor;
        this.beam = beam;
        double unit = KevPerMm2PerMicrogray(receptor);
        SignalMicrograyPerPhoton = [.. beam.EnergiesKev.Select(energy => receptor.AbsorbedKevAt(energy) / unit)];
    }

    /// <summary>Signal of one photon per mm² of each energy, in µGy·mm² of the calibration beam.</summary>
    public IReadOnlyList<double> SignalMicrograyPerPhoton { get; }

    /// <summary>Signal of each energy at 1 m, in µGy of the calibration beam per mAs: the weights with which a projection adds up its energies.</summary>
    public double[] SignalMicrograyPerMas()
        => [.. beam.PhotonsPerMm2PerMas.Select((photons, k) => photons * SignalMicrograyPerPhoton[k])];

    /// <summary>Quanta of an element that carry its noise, for one µGy of signal.</summary>
    /// <param name="waterMm">Water between beam and receptor, in mm: the beam that arrives is harder behind it.</param>
    /// <remarks>The square of mean over standard deviation of the summed signal: (Σ n·c·w)²/Σ n·c·w² · Swank factor, with n photons, c the caught share and w the energy left by a caught one.</remarks>
    public double QuantaPerMicrogray(double waterMm = 0)
    {
        double mean = 0;
        double square = 0;
        double signal = 0;
        for (int k = 0; k < beam.EnergiesKev.Count; k++)
        {
            double energy = beam.EnergiesKev[k];
            double photons = beam.PhotonsPerMm2PerMas[k] * Math.Exp(-Material.Water.LinearAttenuationPerMm(energy) * waterMm);
            double caught = photons * receptor.CaughtShareAt(energy);
            double left = energy * receptor.DepositedShareAt(energy);
            mean += caught * left;
            square += caught * left * left;
            signal += photons * SignalMicrograyPerPhoton[k];
        }

        return mean * mean / square * receptor.SwankFactor / signal * receptor.SpacingMm * receptor.SpacingMm;
    }

    /// <summary>Energy left in 1 mm² of a receptor by 1 µGy of the calibration beam, in keV.</summary>
    private static double KevPerMm2PerMicrogray(ImageReceptor receptor)
    {
        BeamEnergies calibration = CalibrationBeam.Energies;
        double[] photons = calibration.PhotonsPerMm2PerMicrogray();
        return calibration.EnergiesKev.Select((energy, k) => photons[k] * receptor.AbsorbedKevAt(energy)).Sum();
    }
}
