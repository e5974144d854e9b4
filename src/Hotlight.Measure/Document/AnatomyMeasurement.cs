using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>The part of the body in the field, skin to skin.</summary>
public sealed record AnatomyMeasurement
{
    /// <summary>Share of the field that a part of the body attenuates, 0 to 100.</summary>
    public required double PercentOfField { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? PercentOfFieldUncertainty { get; init; }

    /// <summary>Share of the anatomy that is bone, 0 to 100; absent where it cannot be told.</summary>
    public double? BoneIsPercentOfAnatomy { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? BoneIsPercentOfAnatomyUncertainty { get; init; }

    /// <summary>Skin outlines in the field, each a closed polygon; where the anatomy leaves the field the outline follows the field's edge. Evidence for drawing.</summary>
    public IReadOnlyList<IReadOnlyList<PixelPoint>> Outlines { get; init; } = [];

    /// <summary>Sides of the field through which the anatomy leaves it.</summary>
    public IReadOnlyList<FieldSide> Leaves { get; init; } = [];
}
