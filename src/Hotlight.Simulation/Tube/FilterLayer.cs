using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tube;

/// <summary>A sheet that the whole beam crosses.</summary>
/// <param name="Material">What it is made of.</param>
/// <param name="ThicknessMm">Thickness along the beam, in mm, 0 or more.</param>
internal sealed record FilterLayer(Material Material, double ThicknessMm)
{
    /// <summary>Share of the photons of one energy that get through: exp(−μ·t).</summary>
    public double TransmissionAt(double energyKev) => Math.Exp(-Material.LinearAttenuationPerMm(energyKev) * ThicknessMm);
}
