using Hotlight.Judgement;

namespace Hotlight.Teaching.Handouts;

/// <summary>What a handout is written from.</summary>
public sealed record HandoutFacts
{
    /// <summary>The critique, judged in the language of the handout.</summary>
    public required Critique Critique { get; init; }

    /// <summary>Version of Hotlight that measured and judged.</summary>
    public required string Version { get; init; }

    /// <summary>Whether the exposure was made in the phantom lab.</summary>
    public bool IsInvented { get; init; }

    /// <summary>Whether places of the picture are blacked out.</summary>
    public bool HasCoveredPlaces { get; init; }

    /// <summary>The figure of the position in space; null where the reader did not ask for it.</summary>
    public HandoutSimulation? Simulation { get; init; }

    /// <summary>Columns of the stored image.</summary>
    public required int Columns { get; init; }

    /// <summary>Rows of the stored image.</summary>
    public required int Rows { get; init; }
}
