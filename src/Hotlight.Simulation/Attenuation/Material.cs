using Hotlight.Core;

namespace Hotlight.Simulation.Attenuation;

/// <summary>A material with its density and its published attenuation.</summary>
/// <remarks>
/// <para>Tabulated materials use their own table of [nistir-5632]; others are mixtures of elements by mass fraction, μ/ρ = Σ w·(μ/ρ), the rule of the same source.
/// The same sum for μ_en/ρ leaves out that the radiative loss of a secondary electron depends on the whole mixture, below 0.5 % under 150 keV.</para>
/// <para>Holds from 6 to 300 keV; checked from 10 to 150 keV. See docs/methods/attenuation.md.</para>
/// </remarks>
internal sealed class Material
{
    private readonly (AttenuationTable Table, double MassFraction)[] parts;

    private Material(string name, double densityGramPerCm3, params (AttenuationTable Table, double MassFraction)[] parts)
    {
        Name = name;
        DensityGramPerCm3 = Preconditions.AboveZero(densityGramPerCm3);
        this.parts = parts;
    }

    // Densities marked NIST: [nistir-5632] tables 1 and 2, which take the tissues from ICRU-44.

    /// <summary>Dry air at 20 °C and 101.3 kPa; density NIST.</summary>
    public static Material Air { get; } = Tabulated("air", 1.205e-3, "air");

    /// <summary>Water; density NIST.</summary>
    public static Material Water { get; } = Tabulated("water", 1.000, "water");

    /// <summary>Soft tissue, ICRU-44; density NIST.</summary>
    public static Material SoftTissue { get; } = Tabulated("soft tissue", 1.060, "tissue");

    /// <summary>Skeletal muscle, ICRU-44; density NIST.</summary>
    public static Material Muscle { get; } = Tabulated("muscle", 1.050, "muscle");

    /// <summary>Adipose tissue, ICRU-44; density NIST.</summary>
    public static Material Adipose { get; } = Tabulated("adipose tissue", 0.950, "adipose");

    /// <summary>Cortical bone, ICRU-44; density NIST.</summary>
    public static Material CorticalBone { get; } = Tabulated("cortical bone", 1.920, "bone");

    /// <summary>Whole blood, ICRU-44; density NIST.</summary>
    public static Material Blood { get; } = Tabulated("blood", 1.060, "blood");

    /// <summary>Lung tissue without air, ICRU-44; density NIST.</summary>
    public static Material LungTissue { get; } = Tabulated("lung tissue", 1.050, "lung");

    /// <summary>Lung filled with air: the table of lung tissue at 0.26 g/cm³ (ICRU-44, from memory). Use <see cref="WithDensity"/> for another filling.</summary>
    public static Material InflatedLung { get; } = Tabulated("inflated lung", 0.26, "lung");

    /// <summary>Polymethyl methacrylate; density NIST.</summary>
    public static Material Acrylic { get; } = Tabulated("polymethyl methacrylate", 1.190, "pmma");

    /// <summary>Polyethylene; density NIST.</summary>
    public static Material Polyethylene { get; } = Tabulated("polyethylene", 0.930, "polyethylene");

    /// <summary>Carbon as graphite; density NIST.</summary>
    public static Material Carbon { get; } = Pure("carbon", 1.700, "C");

    /// <summary>Carbon fibre in epoxy, taken as carbon at 1.6 g/cm³ (common practice, no source); its hydrogen and oxygen are left out.</summary>
    public static Material CarbonFibre { get; } = Pure("carbon fibre", 1.6, "C");

    /// <summary>Aluminium; density NIST.</summary>
    public static Material Aluminium { get; } = Pure("aluminium", 2.699, "Al");

    /// <summary>Titanium; density NIST.</summary>
    public static Material Titanium { get; } = Pure("titanium", 4.540, "Ti");

    /// <summary>Iron; density NIST.</summary>
    public static Material Iron { get; } = Pure("iron", 7.874, "Fe");

    /// <summary>Plain steel: 99.5 % iron, 0.5 % carbon, 7.85 g/cm³ (common practice, no source). Stainless steel's chromium and nickel lie on either side of iron and are not told apart.</summary>
    public static Material Steel { get; } = ByMass("steel", 7.85, ("Fe", 0.995), ("C", 0.005));

    /// <summary>Copper; density NIST.</summary>
    public static Material Copper { get; } = Pure("copper", 8.960, "Cu");

    /// <summary>Zinc; density NIST.</summary>
    public static Material Zinc { get; } = Pure("zinc", 7.133, "Zn");

    /// <summary>Brass: 63 % copper, 37 % zinc, 8.44 g/cm³ (a usual trade alloy, from memory).</summary>
    public static Material Brass { get; } = ByMass("brass", 8.44, ("Cu", 0.63), ("Zn", 0.37));

    /// <summary>Silver; density NIST.</summary>
    public static Material Silver { get; } = Pure("silver", 10.50, "Ag");

    /// <summary>Tin; density NIST.</summary>
    public static Material Tin { get; } = Pure("tin", 7.310, "Sn");

    /// <summary>Iodine; density NIST.</summary>
    public static Material Iodine { get; } = Pure("iodine", 4.930, "I");

    /// <summary>Tungsten; density NIST.</summary>
    public static Material Tungsten { get; } = Pure("tungsten", 19.30, "W");

    /// <summary>Gold; density NIST.</summary>
    public static Material Gold { get; } = Pure("gold", 19.32, "Au");

    /// <summary>Lead; density 11.35 g/cm³ NIST.</summary>
    public static Material Lead { get; } = Pure("lead", 11.35, "Pb");

    /// <summary>Set plaster of Paris: calcium sulphate dihydrate with its pores at 1.1 g/cm³ (common practice, no source; the crystal has 2.32).</summary>
    public static Material Plaster { get; } = Compound("plaster", 1.1, ("Ca", 1), ("S", 1), ("O", 6), ("H", 4));

    /// <summary>Fibreglass cast: 40 % of E-glass and 60 % of polyurethane resin by mass with its voids at 0.7 g/cm³ (common practice, no source). E-glass: 54 % SiO2, 22 % CaO, 14 % Al2O3, 10 % B2O3 (from memory); resin as C25H42N2O6.</summary>
    public static Material FibreglassCast { get; } = Mixed("fibreglass cast", 0.7, (Glass(2.6), 0.4), (Compound("resin", 1.1, ("C", 25), ("H", 42), ("N", 2), ("O", 6)), 0.6));

    /// <summary>Caesium iodide; density 4.51 g/cm³ NIST. The needles of a scintillator fill about 75 % of its volume: give its surface density, not its thickness.</summary>
    public static Material CaesiumIodide { get; } = Compound("caesium iodide", 4.510, ("Cs", 1), ("I", 1));

    /// <summary>Amorphous selenium, 4.28 g/cm³ (from memory).</summary>
    public static Material Selenium { get; } = Pure("amorphous selenium", 4.28, "Se");

    /// <summary>Storage phosphor BaFBr0.85I0.15, crystal 5.1 g/cm³ (from memory); a plate holds it as a powder: give its surface density.</summary>
    public static Material BariumFluorohalide { get; } = Compound("barium fluorohalide", 5.1, ("Ba", 1), ("F", 1), ("Br", 0.85), ("I", 0.15));

    /// <summary>Gadolinium oxysulphide; density 7.44 g/cm³ NIST.</summary>
    public static Material GadoliniumOxysulphide { get; } = Compound("gadolinium oxysulphide", 7.440, ("Gd", 2), ("O", 2), ("S", 1));

    /// <summary>Every material that a scene may name.</summary>
    public static IReadOnlyList<Material> All { get; } =
    [
        Air, Water, SoftTissue, Muscle, Adipose, CorticalBone, Blood, LungTissue, InflatedLung,
        Acrylic, Polyethylene, Carbon, CarbonFibre, Plaster, FibreglassCast,
        Aluminium, Titanium, Iron, Steel, Copper, Zinc, Brass, Silver, Tin, Iodine, Tungsten, Gold, Lead,
        CaesiumIodide, Selenium, BariumFluorohalide, GadoliniumOxysulphide,
    ];

    /// <summary>The name, as a scene file gives it.</summary>
    public string Name { get; }

    /// <summary>Density, in g/cm³.</summary>
    public double DensityGramPerCm3 { get; }

    /// <summary>The material of a name; upper and lower case are the same.</summary>
    /// <exception cref="ArgumentException">The name is not known; the message lists the known ones.</exception>
    public static Material ByName(string name)
        => All.FirstOrDefault(material => string.Equals(material.Name, name, StringComparison.OrdinalIgnoreCase))
            ?? throw new ArgumentException($"There is no material '{name}'; known are: {string.Join(", ", All.Select(material => material.Name))}.");

    /// <summary>A compound of elements by numbers of atoms.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="densityGramPerCm3">Density, in g/cm³, above 0.</param>
    /// <param name="atoms">Symbol and number of atoms of each element; the numbers need not be whole.</param>
    public static Material Compound(string name, double densityGramPerCm3, params (string Symbol, double Atoms)[] atoms)
    {
        double total = atoms.Sum(part => part.Atoms * Element.Of(part.Symbol).AtomicWeight);
        return ByMass(name, densityGramPerCm3, [.. atoms.Select(part => (part.Symbol, part.Atoms * Element.Of(part.Symbol).AtomicWeight / total))]);
    }

    /// <summary>A mixture of elements by mass fraction.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="densityGramPerCm3">Density, in g/cm³, above 0.</param>
    /// <param name="fractions">Symbol and mass fraction of each element; the fractions add up to 1.</param>
    public static Material ByMass(string name, double densityGramPerCm3, params (string Symbol, double MassFraction)[] fractions)
    {
        Preconditions.Within(fractions.Sum(part => part.MassFraction), 1 - 1e-9, 1 + 1e-9);
        return new Material(name, densityGramPerCm3, [.. fractions.Select(part => (Element.Of(part.Symbol).Table, part.MassFraction))]);
    }

    /// <summary>A mixture of materials by mass fraction.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="densityGramPerCm3">Density, in g/cm³, above 0.</param>
    /// <param name="fractions">Material and mass fraction; the fractions add up to 1.</param>
    public static Material Mixed(string name, double densityGramPerCm3, params (Material Material, double MassFraction)[] fractions)
    {
        Preconditions.Within(fractions.Sum(part => part.MassFraction), 1 - 1e-9, 1 + 1e-9);
        return new Material(name, densityGramPerCm3, [.. fractions.SelectMany(part => part.Material.parts.Select(inner => (inner.Table, inner.MassFraction * part.MassFraction)))]);
    }

    /// <summary>The same material at another density, for example a lung.</summary>
    /// <param name="densityGramPerCm3">Density, in g/cm³, above 0.</param>
    public Material WithDensity(double densityGramPerCm3) => new(Name, densityGramPerCm3, parts);

    /// <summary>Mass attenuation with coherent scattering, in cm²/g, for 6 to 300 keV; at an edge the value above it.</summary>
    public double MassAttenuationAt(double energyKev)
    {
        double sum = 0;
        foreach ((AttenuationTable table, double massFraction) in parts)
        {
            sum += massFraction * table.MassAttenuationAt(energyKev);
        }

        return sum;
    }

    /// <summary>Mass energy-absorption, in cm²/g, for 6 to 300 keV; at an edge the value above it.</summary>
    public double MassEnergyAbsorptionAt(double energyKev)
    {
        double sum = 0;
        foreach ((AttenuationTable table, double massFraction) in parts)
        {
            sum += massFraction * table.MassEnergyAbsorptionAt(energyKev);
        }

        return sum;
    }

    /// <summary>Linear attenuation, per mm, for 6 to 300 keV.</summary>
    public double LinearAttenuationPerMm(double energyKev) => MassAttenuationAt(energyKev) * DensityGramPerCm3 / 10;

    /// <inheritdoc/>
    public override string ToString() => Name;

    private static Material Tabulated(string name, double densityGramPerCm3, string key) => new(name, densityGramPerCm3, (AttenuationTable.Of(key), 1));

    private static Material Pure(string name, double densityGramPerCm3, string symbol) => new(name, densityGramPerCm3, (Element.Of(symbol).Table, 1));

    private static Material Glass(double densityGramPerCm3) => Mixed(
        "glass",
        densityGramPerCm3,
        (Compound("silica", 2.2, ("Si", 1), ("O", 2)), 0.54),
        (Compound("lime", 3.3, ("Ca", 1), ("O", 1)), 0.22),
        (Compound("alumina", 3.9, ("Al", 2), ("O", 3)), 0.14),
        (Compound("boron oxide", 2.5, ("B", 2), ("O", 3)), 0.10));
}
