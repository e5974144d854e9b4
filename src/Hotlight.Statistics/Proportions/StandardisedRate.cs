namespace Hotlight.Statistics.Proportions;

/// <summary>The rate a group would have with the reference's mix.</summary>
/// <param name="Count">The group's events and total in the strata used.</param>
/// <param name="Fraction">Directly standardised rate, 0 to 1.</param>
/// <param name="Interval">Interval of the true rate.</param>
/// <param name="Method">Method and source.</param>
public sealed record StandardisedRate(EventCount Count, double Fraction, Interval Interval, StatisticalMethod Method);
