using Hotlight.Core;

namespace Hotlight.Judgement;

/// <summary>Where a deviation index lies.</summary>
public enum DeviationBand
{
    /// <summary>Far below the target.</summary>
    SeverelyUnderexposed,

    /// <summary>Below the target.</summary>
    Underexposed,

    /// <summary>Between two bands: the scheme names no action here.</summary>
    Unnamed,

    /// <summary>On target.</summary>
    Target,

    /// <summary>Above the target.</summary>
    Overexposed,

    /// <summary>Far above the target.</summary>
    ExcessivelyExposed,
}

/// <summary>Limits of the deviation index with the name of the scheme they come from.</summary>
/// <remarks>
/// Two schemes in use do not give the same verdict: fixed bands [aapm-116] and bands of the clinic's own distribution [aapm-232]. So the scheme is a setting, and its name stands in every critique.
/// </remarks>
public sealed record DeviationBands
{
    /// <summary>Name of the scheme of bands of the clinic's own distribution.</summary>
    public const string OwnDistributionScheme = "AAPM Task Group 232, bands of the clinic's own distribution";

    /// <summary>Fixed bands: target −0.5 to +0.5, action below −1 and from +1, severe below −3 and above +3. [aapm-116]</summary>
    public static DeviationBands Fixed { get; } = new()
    {
        Scheme = "AAPM Report 116, fixed bands",
        Basis = "aapm-116",
        SevereLow = -3,
        Low = -1,
        TargetLow = -0.5,
        TargetHigh = 0.5,
        High = 1,
        SevereHigh = 3,
    };

    /// <summary>Name of the scheme, for the reader.</summary>
    public required string Scheme { get; init; }

    /// <summary>Key of the source.</summary>
    public required string Basis { get; init; }

    /// <summary>Below it: severely underexposed.</summary>
    public required double SevereLow { get; init; }

    /// <summary>Below it: underexposed.</summary>
    public required double Low { get; init; }

    /// <summary>Lower end of the target range, which it belongs to.</summary>
    public required double TargetLow { get; init; }

    /// <summary>Upper end of the target range, which it belongs to.</summary>
    public required double TargetHigh { get; init; }

    /// <summary>From it on: overexposed.</summary>
    public required double High { get; init; }

    /// <summary>Above it: exposed excessively.</summary>
    public required double SevereHigh { get; init; }

    /// <summary>Bands of the clinic's own distribution: target within one standard deviation of its mean, severe beyond two. [aapm-232]</summary>
    /// <param name="mean">Mean deviation index of the clinic for this projection.</param>
    /// <param name="standardDeviation">Its standard deviation, above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">The standard deviation is not above 0, or a value is not finite.</exception>
    public static DeviationBands OfSite(double mean, double standardDeviation)
    {
        Preconditions.AboveZero(standardDeviation);
        Preconditions.Within(mean, -20, 20);
        return new DeviationBands
        {
            Scheme = OwnDistributionScheme,
            Basis = "aapm-232",
            SevereLow = mean - (2 * standardDeviation),
            Low = mean - standardDeviation,
            TargetLow = mean - standardDeviation,
            TargetHigh = mean + standardDeviation,
            High = mean + standardDeviation,
            SevereHigh = mean + (2 * standardDeviation),
        };
    }

    /// <summary>The band of a deviation index.</summary>
    /// <param name="deviationIndex">The deviation index, IEC 62494-1.</param>
    public DeviationBand BandOf(double deviationIndex) => deviationIndex switch
    {
        _ when deviationIndex < SevereLow => DeviationBand.SeverelyUnderexposed,
        _ when deviationIndex < Low => DeviationBand.Underexposed,
        _ when deviationIndex >= TargetLow && deviationIndex <= TargetHigh => DeviationBand.Target,
        _ when deviationIndex > SevereHigh => DeviationBand.ExcessivelyExposed,
        _ when deviationIndex >= High => DeviationBand.Overexposed,
        _ => DeviationBand.Unnamed,
    };
}
