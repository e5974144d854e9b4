using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Receptor;

/// <summary>RQA5, the beam in which receptors are calibrated (IEC 62494-1, IEC 61267): 70 kV, 21 mm of aluminium added to the tube's own.</summary>
/// <remarks>The tube's own is 2.98 mm, which gives it the half-value layer of RQR5, 2.6 mm. The first half-value layer of the result is 6.65 mm; AAPM Report 116 allows 6.55 to 7.05 mm.</remarks>
internal static class CalibrationBeam
{
    private static readonly Lazy<TubeSpectrum> Shared = new(() => new XRayTube { Filtration = [new FilterLayer(Material.Aluminium, 23.98)] }.Spectrum(70));
    private static readonly Lazy<BeamEnergies> Few = new(() => Shared.Value.Binned(60));

    /// <summary>Its spectrum.</summary>
    public static TubeSpectrum Spectrum => Shared.Value;

    /// <summary>Its energies, 1 keV apart.</summary>
    public static BeamEnergies Energies => Few.Value;
}
