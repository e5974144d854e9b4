namespace Hotlight.Statistics.Funnels;

/// <summary>One room, receptor or person in a funnel.</summary>
/// <param name="Name">Its name or pseudonym.</param>
/// <param name="Events">Events seen.</param>
/// <param name="Precision">Where it lies along the funnel: exposures for rates, expected events for ratios.</param>
/// <param name="Value">Its rate or ratio.</param>
/// <param name="Z">Distance from the target in standard deviations, over-dispersion taken in.</param>
/// <param name="Limits">Limits at its precision, one a level.</param>
/// <param name="OutsideLevel">The highest level whose limits it lies outside; null: inside all.</param>
/// <param name="Higher">Whether it lies above the target.</param>
public sealed record FunnelUnit(string Name, long Events, double Precision, double Value, double Z, IReadOnlyList<Interval> Limits, double? OutsideLevel, bool Higher);
