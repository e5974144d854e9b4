namespace Hotlight.Simulation.Phantom;

/// <summary>All parts of the body that can be exposed.</summary>
internal static class PartPhantoms
{
    public static IReadOnlyList<PartPhantom> All { get; } = [new WristPhantom(), new ElbowPhantom(), new ShoulderPhantom(), new KneePhantom(), new FootPhantom(), new PelvisPhantom(), new ChestPhantom(), new LumbarSpinePhantom()];

    /// <summary>A part by name.</summary>
    /// <exception cref="ArgumentException">There is no such part.</exception>
    public static PartPhantom ByName(string name)
        => All.FirstOrDefault(part => part.Name == name)
            ?? throw new ArgumentException($"There is no part '{name}'. There are: {string.Join(", ", All.Select(part => part.Name))}.", nameof(name));
}
