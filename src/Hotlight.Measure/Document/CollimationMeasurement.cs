using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>What the field holds that it need not.</summary>
public sealed record CollimationMeasurement
{
    /// <summary>100 minus the anatomy's share of the field.</summary>
    public required double EmptyPercentOfField { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? EmptyPercentOfFieldUncertainty { get; init; }

    /// <summary>The smallest rectangle, tilted as the field is, that keeps the anatomy in the field with a skin margin; 4 corners clockwise from the upper left.</summary>
    public required IReadOnlyList<PixelPoint> TighterField { get; init; }

    /// <summary>How much smaller the tighter field is than the field, 0 to 100.</summary>
    public required double AreaReductionPercent { get; init; }

    /// <summary>The skin margin that was kept, in mm at the receptor; absent where spacing is unknown.</summary>
    public double? SkinMarginMm { get; init; }

    /// <summary>Free distance between skin and the field's edge at each side, in mm: top, right, bottom, left; 0 where the anatomy leaves; absent where spacing is unknown.</summary>
    public IReadOnlyList<double>? SkinToEdgeMm { get; init; }
}
