using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>Signal lost at either end.</summary>
public sealed record ClippingMeasurement
{
    /// <summary>Anatomy pixels at or above the upper limit on the exposure side, 0 to 100.</summary>
    public required double SaturatedPercentOfAnatomy { get; init; }

    /// <summary>True where the saturated share is a lower bound: outer tissue is burned out along 5 % of the skin outline or more, and what is burned out wholly looks like direct exposure and is not counted as anatomy; null elsewhere.</summary>
    public bool? SaturatedIsAtLeast { get; init; }

    /// <summary>What leaving out the anatomy's rim changes, taken as one standard deviation, in points.</summary>
    public double? SaturatedPercentOfAnatomyUncertainty { get; init; }

    /// <summary>Anatomy pixels at or below the lower limit, 0 to 100.</summary>
    public required double FloorPercentOfAnatomy { get; init; }

    /// <summary>What leaving out the anatomy's rim changes, taken as one standard deviation, in points.</summary>
    public double? FloorPercentOfAnatomyUncertainty { get; init; }

    /// <summary>What set the limits: "receptor" where the pixels are the receptor's signal (for processing), "receptor or rendering" where they were rendered for presentation or the file does not say; null where nothing of the anatomy is lost.</summary>
    public string? LimitSetBy { get; init; }

    /// <summary>Anatomy that the shown window makes black, less than one just-noticeable difference above it, though the pixels still differ, 0 to 100: moving the window brings it back.</summary>
    public double? ShownBlackPercentOfAnatomy { get; init; }

    /// <summary>Anatomy that the shown window makes white though the pixels still differ, 0 to 100.</summary>
    public double? ShownWhitePercentOfAnatomy { get; init; }

    /// <summary>Share of the skin outline inside the field along which the outer soft tissue is clipped away, 0 to 100; absent where no skin line lies in the field.</summary>
    public double? SkinLineLostPercent { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? SkinLineLostPercentUncertainty { get; init; }

    /// <summary>Pieces of skin outline where tissue is lost, as open polylines. Evidence for drawing.</summary>
    public IReadOnlyList<IReadOnlyList<PixelPoint>> LostSkinLines { get; init; } = [];
}
