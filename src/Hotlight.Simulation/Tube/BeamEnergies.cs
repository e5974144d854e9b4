namespace Hotlight.Simulation.Tube;

/// <summary>A beam as a few energies, ready for projecting.</summary>
/// <param name="EnergiesKev">Energies, in keV, rising.</param>
/// <param name="PhotonsPerMm2PerMas">Photons at each, per mm² and mAs at 1 m.</param>
internal sealed record BeamEnergies(IReadOnlyList<double> EnergiesKev, IReadOnlyList<double> PhotonsPerMm2PerMas)
{
    /// <summary>Air kerma at 1 m, in µGy per mAs.</summary>
    public double KermaMicrograyPerMas
        => EnergiesKev.Zip(PhotonsPerMm2PerMas, (energy, photons) => photons * AirKerma.MicrograyMm2PerPhoton(energy)).Sum();

    /// <summary>Photons at each energy, per mm² and µGy of the beam's own air kerma.</summary>
    public double[] PhotonsPerMm2PerMicrogray()
    {
        double kerma = KermaMicrograyPerMas;
        return [.. PhotonsPerMm2PerMas.Select(photons => photons / kerma)];
    }
}
