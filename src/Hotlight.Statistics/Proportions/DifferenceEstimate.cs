namespace Hotlight.Statistics.Proportions;

/// <summary>How far two rates lie apart.</summary>
/// <param name="First">The first count, such as before a training.</param>
/// <param name="Second">The second count, such as after it.</param>
/// <param name="Difference">Second rate less first, −1 to 1; below 0 when the second is lower.</param>
/// <param name="Interval">Interval of the true difference.</param>
/// <param name="Method">Method and source.</param>
public sealed record DifferenceEstimate(EventCount First, EventCount Second, double Difference, Interval Interval, StatisticalMethod Method);
