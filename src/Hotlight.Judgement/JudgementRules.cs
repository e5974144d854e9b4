namespace Hotlight.Judgement;

/// <summary>Every limit a critique is made with. The default is <c>data/judgement/thresholds.json</c>, which gives each its value, unit, basis and reason.</summary>
public sealed record JudgementRules
{
    /// <summary>The rules built into the program.</summary>
    public static JudgementRules Default { get; } = JudgementRulesJson.BuiltIn();

    /// <summary>Bands of the deviation index.</summary>
    public required DeviationBands DeviationBands { get; init; }

    /// <summary>A deviation index farther from 0 than this is taken for a wrong record and decides nothing.</summary>
    public required double LargestDeviationIndex { get; init; }

    /// <summary>From this share of the anatomy at the exposure limit on, the reader is asked whether a needed part is lost, in percent.</summary>
    public required double SaturatedPercentOfAnatomy { get; init; }

    /// <summary>From this share of the skin outline lost on, it is remarked, in percent.</summary>
    public required double SkinLineLostPercent { get; init; }

    /// <summary>Up to this blur of the sharpest edges (sigma, at the receptor) they are called sharp, in mm.</summary>
    public required double SharpEdgeBlurMm { get; init; }

    /// <summary>From this saving of field area on, the field is called wider than needed, in percent.</summary>
    public required double FieldReductionPercent { get; init; }

    /// <summary>A side of the field is brought in only where it can come in by at least this, in mm at the receptor.</summary>
    public required double SmallestTrimMm { get; init; }

    /// <summary>Number of collimator edges that should be seen.</summary>
    public required int CollimatorEdges { get; init; }

    /// <summary>How far the distance from source to receptor may be off the projection's, in percent.</summary>
    public required double DistanceTolerancePercent { get; init; }

    /// <summary>From this number of repeats of one examination on, another is not weighed but asked about.</summary>
    public required int RepeatsBeforeAsking { get; init; }
}
