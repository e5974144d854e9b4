using Hotlight.Core;

namespace Hotlight.Simulation.Attenuation;

/// <summary>A material with its published mass attenuation.</summary>
/// <remarks>
/// Source: NISTIR 5632 (Hubbell and Seltzer, NIST Standard Reference Database 126), tables 3 and 4, cm²/g; densities in g/cm³ as ICRU-44.
/// Log-log interpolation between the listed energies, never across an absorption edge. The density of lead is common practice, no source.
/// </remarks>
internal sealed class Material
{
    private readonly (double EnergyKev, double Value)[] table;

    private Material(string name, double densityGramPerCm3, params (double EnergyKev, double Value)[] table)
    {
        Name = name;
        DensityGramPerCm3 = densityGramPerCm3;
        this.table = table;
    }

    public static Material Air { get; } = new("air", 1.205e-3, (20, 0.7779), (30, 0.3538), (40, 0.2485), (50, 0.2080), (60, 0.1875), (80, 0.1662), (100, 0.1541), (150, 0.1356));

    /// <summary>Mass energy-absorption of air, for kerma.</summary>
    public static Material AirEnergyAbsorption { get; } = new("air, energy absorption", 1.205e-3, (20, 0.5389), (30, 0.1537), (40, 0.06833), (50, 0.04098), (60, 0.03041), (80, 0.02407), (100, 0.02325), (150, 0.02496));

    public static Material SoftTissue { get; } = new("soft tissue", 1.060, (20, 0.8230), (30, 0.3790), (40, 0.2688), (50, 0.2264), (60, 0.2048), (80, 0.1823), (100, 0.1693), (150, 0.1492));

    public static Material Adipose { get; } = new("adipose tissue", 0.950, (20, 0.5677), (30, 0.3063), (40, 0.2396), (50, 0.2123), (60, 0.1974), (80, 0.1800), (100, 0.1688), (150, 0.1500));

    public static Material CorticalBone { get; } = new("cortical bone", 1.920, (20, 4.001), (30, 1.331), (40, 0.6655), (50, 0.4242), (60, 0.3148), (80, 0.2229), (100, 0.1855), (150, 0.1480));

    public static Material Acrylic { get; } = new("polymethyl methacrylate", 1.19, (20, 0.5714), (30, 0.3032), (40, 0.2350), (50, 0.2074), (60, 0.1924), (80, 0.1751), (100, 0.1641), (150, 0.1456));

    public static Material Aluminium { get; } = new("aluminium", 2.699, (20, 3.441), (30, 1.128), (40, 0.5685), (50, 0.3681), (60, 0.2778), (80, 0.2018), (100, 0.1704), (150, 0.1378));

    /// <summary>Lead; its K edge at 88.005 keV is not resolved: above 80 keV the figure at 80 keV is kept, which changes nothing behind a marker that is opaque at either.</summary>
    public static Material Lead { get; } = new("lead", 11.35, (20, 86.36), (30, 30.32), (40, 14.36), (50, 8.041), (60, 5.021), (80, 2.419), (150, 2.419));

    public string Name { get; }

    public double DensityGramPerCm3 { get; }

    /// <summary>Mass attenuation, in cm²/g, for 20 to 150 keV.</summary>
    public double MassAttenuationAt(double energyKev)
    {
        Preconditions.Within(energyKev, table[0].EnergyKev, table[^1].EnergyKev);
        int k = 1;
        while (k < table.Length - 1 && energyKev > table[k].EnergyKev)
        {
            k++;
        }

        double share = Math.Log(energyKev / table[k - 1].EnergyKev) / Math.Log(table[k].EnergyKev / table[k - 1].EnergyKev);
        return table[k - 1].Value * Math.Pow(table[k].Value / table[k - 1].Value, share);
    }

    /// <summary>Linear attenuation, per mm, for 20 to 150 keV.</summary>
    public double LinearAttenuationPerMm(double energyKev) => MassAttenuationAt(energyKev) * DensityGramPerCm3 / 10;
}
