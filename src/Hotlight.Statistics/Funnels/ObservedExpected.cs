namespace Hotlight.Statistics.Funnels;

/// <summary>Events seen and expected of a unit's own case mix, for a funnel of standardised ratios.</summary>
/// <param name="Name">Name or pseudonym.</param>
/// <param name="Observed">Events seen, 0 or more.</param>
/// <param name="Expected">Events expected by indirect standardisation, above 0.</param>
public sealed record ObservedExpected(string Name, long Observed, double Expected);
