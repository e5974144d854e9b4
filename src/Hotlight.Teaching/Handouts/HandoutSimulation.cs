using Hotlight.Drawing;

namespace Hotlight.Teaching.Handouts;

/// <summary>The figure of a part's position in space: the radiograph, and a phantom as the part lay and as it should lie. Always a simulation with a generic anatomy.</summary>
public sealed class HandoutSimulation
{
    private readonly Lazy<SimulationStrip> strip;

    /// <summary>Creates the figure.</summary>
    /// <param name="draw">Draws its pictures; asked once, when the figure is needed.</param>
    public HandoutSimulation(Func<SimulationStrip> draw)
    {
        ArgumentNullException.ThrowIfNull(draw);
        strip = new Lazy<SimulationStrip>(draw);
    }

    /// <summary>The angles that the view determines, such as "the bend of the knee: 30° ± 2°"; in the handout's language.</summary>
    public required IReadOnlyList<string> Angles { get; init; }

    /// <summary>What would set it right, whole sentences in the handout's language; empty where no move is needed or known.</summary>
    public required IReadOnlyList<string> Moves { get; init; }

    /// <summary>Whether the phantom is shown as it should lie, beside as it lies.</summary>
    public bool HasRepeat => Moves.Count > 0;

    /// <summary>The figure as a picture.</summary>
    public SimulationStrip Strip => strip.Value;
}
