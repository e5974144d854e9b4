using Hotlight.Core;
using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tube;

/// <summary>Photons that leave a tungsten target for one electron, before any filter.</summary>
/// <remarks>
/// <para>Source: [tucker-1991] Tucker, Barnes and Chakraborty, Semiempirical model for generating tungsten target x-ray spectra, Med Phys 18 (1991),
/// equations 11, 16, 18 and 22 with their fitted constants, read in two public implementations that agree.
/// Bremsstrahlung is made at all depths down to the energy's own; each depth is the Thomson-Whiddington range (T0² − T²)/C(T0),
/// and the photon crosses that depth divided by the sine of the take-off angle. K lines are made over the depth at which electrons still exceed the K edge.</para>
/// <para>The target is taken as pure tungsten. L lines (below 12 keV) are left out: no filter of a diagnostic tube lets them through.</para>
/// <para>The published amplitudes give photons for one electron with the cross-section in cm² per kg; the factor 1000 in <see cref="Scale"/> is that.
/// Absolute output is as good as the brackets in docs/methods/tube.md.</para>
/// </remarks>
internal static class TargetModel
{
    /// <summary>Energy of the tungsten K edge, in keV: no K lines at or below this voltage.</summary>
    public const double KEdgeKev = 69.525;

    private const double ElectronRestEnergyKev = 510.999;

    // α·r_e²·Z²·N_A/A of tungsten, in cm²/g, times 1000.
    private const double Scale = 1000.0 / 137.036 * 2.8179403e-13 * 2.8179403e-13 * 6.02214076e23 * 74 * 74 / 183.84;

    // Gauss-Legendre nodes and weights of 16 points on (−1, 1): half of them, the rest by symmetry.
    private static readonly double[] Nodes = [0.0950125098376374, 0.2816035507792589, 0.4580167776572274, 0.6178762444026438, 0.7554044083550030, 0.8656312023878318, 0.9445750230732326, 0.9894009349916499];
    private static readonly double[] Weights = [0.1894506104550685, 0.1826034150449236, 0.1691565193950025, 0.1495959888165767, 0.1246289712555339, 0.0951585116824928, 0.0622535239386479, 0.0271524594117541];

    /// <summary>The tungsten K lines: energy in keV and share of the K photons.</summary>
    /// <remarks>Energies: reference table of characteristic lines. Shares: [tucker-1991] 0.505, 0.291, 0.162, 0.042, which agree with the tabulated intensities 100:58:33:8 within 0.006.</remarks>
    public static IReadOnlyList<(double EnergyKev, double Share)> KLines { get; } = [(59.3182, 0.505), (57.9817, 0.291), (67.2443, 0.162), (69.067, 0.042)];

    /// <summary>Bremsstrahlung photons for one electron and keV at one energy, into all directions as if they all were those of the take-off direction.</summary>
    /// <param name="energyKev">Photon energy, in keV.</param>
    /// <param name="electronKev">Energy of the electron at the target, in keV.</param>
    /// <param name="takeOffDegrees">Angle between the beam's direction and the target's surface, in degrees, above 0.</param>
    public static double BremsstrahlungPerKev(double energyKev, double electronKev, double takeOffDegrees)
    {
        if (energyKev >= electronKev)
        {
            return 0;
        }

        double attenuation = Material.Tungsten.MassAttenuationAt(energyKev);
        double perDepth = attenuation / (WhiddingtonKev2Cm2PerGram(electronKev) * Math.Sin(takeOffDegrees * Math.PI / 180));
        double amplitude = 3.685e-2 + (2.900e-5 * electronKev);
        double half = 0.5 * (electronKev - energyKev);
        double middle = 0.5 * (electronKev + energyKev);
        double sum = 0;
        for (int k = 0; k < 2 * Nodes.Length; k++)
        {
            double node = k < Nodes.Length ? Nodes[k] : -Nodes[k - Nodes.Length];
            double energy = middle + (half * node);
            double ratio = energyKev / energy;
            double shape = 1 + (ratio * (-5.049 + (ratio * (10.847 + (ratio * (-10.516 + (ratio * 3.842)))))));
            double stopping = 2024.1 + (10361 * Math.Exp(-0.04695 * energy));
            double escape = Math.Exp(-perDepth * ((electronKev * electronKev) - (energy * energy)));
            sum += Weights[k % Nodes.Length] * shape * (energy + ElectronRestEnergyKev) / energy * escape / stopping;
        }

        return Scale * amplitude / energyKev * half * sum;
    }

    /// <summary>K photons of one line for one electron; 0 at or below the K edge.</summary>
    /// <param name="lineKev">Energy of the line, in keV.</param>
    /// <param name="share">Its share of the K photons.</param>
    /// <param name="electronKev">Energy of the electron at the target, in keV.</param>
    /// <param name="takeOffDegrees">Angle between the beam's direction and the target's surface, in degrees, above 0.</param>
    public static double LinePhotons(double lineKev, double share, double electronKev, double takeOffDegrees)
    {
        if (electronKev <= KEdgeKev)
        {
            return 0;
        }

        // Depth in g/cm² to which an electron exceeds the edge; production falls with its square.
        double range = ((electronKev * electronKev) - (KEdgeKev * KEdgeKev)) / WhiddingtonKev2Cm2PerGram(electronKev);
        double perDepth = Material.Tungsten.MassAttenuationAt(lineKev) / Math.Sin(takeOffDegrees * Math.PI / 180);
        double sum = 0;
        for (int k = 0; k < 2 * Nodes.Length; k++)
        {
            double place = 0.5 * (1 + (k < Nodes.Length ? Nodes[k] : -Nodes[k - Nodes.Length]));
            sum += 0.5 * Weights[k % Nodes.Length] * 1.5 * (1 - (place * place)) * Math.Exp(-perDepth * range * place);
        }

        return 1.349e-3 * Math.Pow((electronKev / KEdgeKev) - 1, 1.648) * share * sum;
    }

    /// <summary>Thomson-Whiddington constant of tungsten, in keV²·cm²/g, for 30 to 200 keV.</summary>
    /// <remarks>Values of [birch-marshall-1979] as [tucker-1991] uses them: 0.54 at 50, 0.625 at 75, 0.70 at 100, 0.84 at 150, 1.00 at 200 keV, in 10⁶ keV²·cm²/g; straight lines between, the first one going on below 50 keV.</remarks>
    public static double WhiddingtonKev2Cm2PerGram(double electronKev)
    {
        Preconditions.AboveZero(electronKev);
        return electronKev switch
        {
            < 75 => Between(50, 0.54e6, 75, 0.625e6),
            < 100 => Between(75, 0.625e6, 100, 0.70e6),
            < 150 => Between(100, 0.70e6, 150, 0.84e6),
            _ => Between(150, 0.84e6, 200, 1.00e6),
        };

        double Between(double x0, double y0, double x1, double y1) => y0 + ((y1 - y0) * (electronKev - x0) / (x1 - x0));
    }
}
