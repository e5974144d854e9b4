namespace Hotlight.Simulation.Attenuation;

/// <summary>A chemical element that has a shipped table.</summary>
/// <param name="Symbol">Chemical symbol.</param>
/// <param name="AtomicNumber">Atomic number.</param>
/// <param name="AtomicWeight">Standard atomic weight (IUPAC, abridged), in g/mol; from memory.</param>
internal sealed record Element(string Symbol, int AtomicNumber, double AtomicWeight)
{
    private static readonly Dictionary<string, Element> Known = new Element[]
    {
        new("H", 1, 1.008), new("B", 5, 10.81), new("C", 6, 12.011), new("N", 7, 14.007), new("O", 8, 15.999), new("F", 9, 18.998),
        new("Na", 11, 22.990), new("Mg", 12, 24.305), new("Al", 13, 26.982), new("Si", 14, 28.085), new("P", 15, 30.974), new("S", 16, 32.06),
        new("Cl", 17, 35.45), new("Ar", 18, 39.95), new("K", 19, 39.098), new("Ca", 20, 40.078), new("Ti", 22, 47.867), new("Fe", 26, 55.845),
        new("Cu", 29, 63.546), new("Zn", 30, 65.38), new("Se", 34, 78.971), new("Br", 35, 79.904), new("Ag", 47, 107.87), new("Sn", 50, 118.71),
        new("I", 53, 126.90), new("Cs", 55, 132.91), new("Ba", 56, 137.33), new("Gd", 64, 157.25), new("W", 74, 183.84), new("Au", 79, 196.97),
        new("Pb", 82, 207.2),
    }.ToDictionary(element => element.Symbol, StringComparer.Ordinal);

    /// <summary>Mass attenuation and energy absorption of the element.</summary>
    public AttenuationTable Table => AttenuationTable.Of($"z{AtomicNumber:00}");

    /// <summary>The element of a symbol that has a table.</summary>
    public static Element Of(string symbol) => Known[symbol];
}
