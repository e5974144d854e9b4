namespace Hotlight.Statistics.Funnels;

/// <summary>How a funnel is drawn.</summary>
public sealed record FunnelSettings
{
    /// <summary>Target given from outside (a fraction above 0 and below 1; a ratio above 0); null: the units' own pooled rate, or a ratio of 1.</summary>
    public double? GivenTarget { get; init; }

    /// <summary>Levels of the limits as fractions, rising; 95 and 99.8 % by custom.</summary>
    public IReadOnlyList<double> Levels { get; init; } = [0.95, 0.998];

    /// <summary>Whether the limits are widened by the spread between units beyond chance; they are then normal ones.</summary>
    public bool Overdispersion { get; init; }

    /// <summary>Share of the units drawn in at each end before the spread is worked out, in [0, 0.4].</summary>
    public double WinsorisedShare { get; init; } = 0.1;

    /// <summary>Whether normal limits are drawn in place of exact ones.</summary>
    public bool NormalLimits { get; init; }
}
