using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Distributions;

/// <summary>How many values lie outside a band about 0.</summary>
/// <param name="HalfWidth">Half width of the band; on its edge is inside.</param>
/// <param name="Below">Share below −half width.</param>
/// <param name="Above">Share above +half width.</param>
/// <param name="Outside">Share outside on either side.</param>
public sealed record BandShare(double HalfWidth, ProportionEstimate Below, ProportionEstimate Above, ProportionEstimate Outside)
{
    /// <summary>Counts the values outside a band.</summary>
    /// <param name="values">Values, at least one.</param>
    /// <param name="halfWidth">Half width, above 0.</param>
    /// <param name="level">Level of the Wilson intervals.</param>
    internal static BandShare Of(double[] values, double halfWidth, double level)
    {
        long below = values.LongCount(value => value < -halfWidth);
        long above = values.LongCount(value => value > halfWidth);
        ProportionEstimate Share(long events) => ProportionIntervals.Wilson(new EventCount(events, values.Length), level).Value!;
        return new BandShare(halfWidth, Share(below), Share(above), Share(below + above));
    }
}
