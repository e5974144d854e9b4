namespace Hotlight.Statistics.Proportions;

/// <summary>Events seen over events expected of the group's own mix.</summary>
/// <param name="Count">The group's events and total.</param>
/// <param name="Expected">Events that the reference's rates give for this mix, above 0.</param>
/// <param name="Ratio">Seen over expected; 1 is as the reference.</param>
/// <param name="Interval">Interval of the true ratio.</param>
/// <param name="StandardisedFraction">Ratio times the reference's whole rate; may pass 1 where the ratio is high.</param>
/// <param name="Method">Method and source.</param>
public sealed record StandardisedRatio(EventCount Count, double Expected, double Ratio, Interval Interval, double StandardisedFraction, StatisticalMethod Method);
