namespace Hotlight.Statistics.Agreement;

/// <summary>What a difference between two answers means to Krippendorff's alpha.</summary>
public enum AlphaMetric
{
    /// <summary>Alike or not.</summary>
    Nominal,

    /// <summary>By rank: as far as there are readings between them.</summary>
    Ordinal,

    /// <summary>By the square of the difference of their values.</summary>
    Interval,

    /// <summary>By the square of the difference over the sum of their values, which are 0 or more.</summary>
    Ratio,
}
