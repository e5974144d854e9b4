namespace Hotlight.Statistics.Proportions;

/// <summary>A rate with its interval.</summary>
/// <param name="Count">Events and total that it rests on.</param>
/// <param name="Fraction">Events over total, 0 to 1.</param>
/// <param name="Interval">Interval of the true rate, inside [0, 1].</param>
/// <param name="Method">Method and source.</param>
public sealed record ProportionEstimate(EventCount Count, double Fraction, Interval Interval, StatisticalMethod Method);
