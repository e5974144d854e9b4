using System.Text.Json.Serialization;
using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>All that was measured on one image, in the terms and order of the measurement document, version 1.</summary>
public sealed record MeasurementDocument
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.measurements/1";

    /// <summary>Name and version of the document's form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Name of the image's file, without its folder.</summary>
    public required string File { get; init; }

    /// <summary>The image's own facts.</summary>
    public required Figure<ImageFacts> Image { get; init; }

    /// <summary>The exposed field.</summary>
    public required Figure<FieldMeasurement> Field { get; init; }

    /// <summary>The part of the body in the field.</summary>
    public required Figure<AnatomyMeasurement> Anatomy { get; init; }

    /// <summary>What the field holds that it need not.</summary>
    public required Figure<CollimationMeasurement> Collimation { get; init; }

    /// <summary>The receptor's exposure.</summary>
    public required Figure<ExposureMeasurement> Exposure { get; init; }

    /// <summary>Stochastic noise.</summary>
    public required Figure<MottleMeasurement> Mottle { get; init; }

    /// <summary>Signal lost at either end.</summary>
    public required Figure<ClippingMeasurement> Clipping { get; init; }

    /// <summary>Blur; not measured yet.</summary>
    public required Figure<UnmeasuredSection> Sharpness { get; init; }

    /// <summary>Side markers; not measured yet.</summary>
    public required Figure<UnmeasuredSection> Markers { get; init; }

    /// <summary>Artifacts; not measured yet.</summary>
    public required Figure<UnmeasuredSection> Artifacts { get; init; }

    /// <summary>The image as it is shown.</summary>
    public required Figure<DisplayMeasurement> Display { get; init; }

    /// <summary>How long it took.</summary>
    public required TimingMs TimingMs { get; init; }
}

/// <summary>A section that this version cannot measure; it never carries a figure.</summary>
public sealed record UnmeasuredSection;

/// <summary>Which way bone is shown.</summary>
public enum BoneShade
{
    /// <summary>Bone is shown bright.</summary>
    Bright,

    /// <summary>Bone is shown dark.</summary>
    Dark,
}

/// <summary>The image's own facts.</summary>
public sealed record ImageFacts
{
    /// <summary>Kind of file.</summary>
    public required Imaging.ImageSource Source { get; init; }

    /// <summary>Number of columns.</summary>
    public required int Columns { get; init; }

    /// <summary>Number of rows.</summary>
    public required int Rows { get; init; }

    /// <summary>Bits that carry a pixel.</summary>
    public required int BitsStored { get; init; }

    /// <summary>Spacing at the receptor along a row, in mm; null where the file does not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public double? PixelSpacingMm { get; init; }

    /// <summary>Spacing at the receptor along a column, in mm; present only where it differs from <see cref="PixelSpacingMm"/>.</summary>
    public double? RowSpacingMm { get; init; }

    /// <summary>Which way bone is shown when the file is shown as it asks.</summary>
    public required BoneShade BoneIs { get; init; }

    /// <summary>How <see cref="BoneIs"/> was decided, one phrase.</summary>
    public string? BoneIsBasis { get; init; }

    /// <summary>Presentation intent.</summary>
    public required Imaging.PresentationIntent PresentationIntent { get; init; }
}

/// <summary>The sides of a field, as seen on the stored image.</summary>
public enum FieldSide
{
    /// <summary>Top.</summary>
    Top,

    /// <summary>Right.</summary>
    Right,

    /// <summary>Bottom.</summary>
    Bottom,

    /// <summary>Left.</summary>
    Left,
}

/// <summary>What ends the field at a side.</summary>
public enum FieldEdge
{
    /// <summary>A collimator's shadow, with a penumbra and scatter beyond it.</summary>
    Beam,

    /// <summary>A region of one constant value put over the image afterwards.</summary>
    Mask,

    /// <summary>The exposed field reaches the edge of the stored image.</summary>
    Receptor,
}

/// <summary>One side of the field.</summary>
public sealed record FieldSideMeasurement
{
    /// <summary>Which side.</summary>
    public required FieldSide Side { get; init; }

    /// <summary>What ends the field there.</summary>
    public required FieldEdge Edge { get; init; }

    /// <summary>Angle to the image axis, in degrees, positive clockwise.</summary>
    public required double TiltDegrees { get; init; }

    /// <summary>One standard deviation of the tilt, in degrees; absent for a receptor edge, which is exact.</summary>
    public double? TiltDegreesUncertainty { get; init; }

    /// <summary>One standard deviation of the side's position across itself, in pixels.</summary>
    public double? PositionPixelsUncertainty { get; init; }
}

/// <summary>The exposed field.</summary>
public sealed record FieldMeasurement
{
    /// <summary>The field as a polygon, clockwise from the upper left; four corners when it is a rectangle.</summary>
    public required IReadOnlyList<PixelPoint> Outline { get; init; }

    /// <summary>Area in mm² at the receptor; absent where spacing is unknown.</summary>
    public double? AreaMm2 { get; init; }

    /// <summary>One standard deviation of the area, in mm².</summary>
    public double? AreaMm2Uncertainty { get; init; }

    /// <summary>Area as a share of the stored image, 0 to 100.</summary>
    public required double AreaPercentOfImage { get; init; }

    /// <summary>One standard deviation of the share, in points.</summary>
    public double? AreaPercentOfImageUncertainty { get; init; }

    /// <summary>The sides: top, right, bottom, left.</summary>
    public required IReadOnlyList<FieldSideMeasurement> Sides { get; init; }
}

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

/// <summary>What an exposure figure rests on.</summary>
public enum ExposureBasis
{
    /// <summary>The header's own figures.</summary>
    Header,

    /// <summary>The pixels and a known relation to exposure.</summary>
    Pixels,

    /// <summary>A figure the reader gave.</summary>
    Reader,
}

/// <summary>The receptor's exposure.</summary>
public sealed record ExposureMeasurement
{
    /// <summary>What the figures rest on.</summary>
    public required ExposureBasis Basis { get; init; }

    /// <summary>Exposure index, IEC 62494-1: 100 per µGy.</summary>
    public required double ExposureIndex { get; init; }

    /// <summary>One standard deviation.</summary>
    public double? ExposureIndexUncertainty { get; init; }

    /// <summary>Target exposure index; absent where none is known.</summary>
    public double? TargetExposureIndex { get; init; }

    /// <summary>10·log10(EI / EI_T); absent where no target is known.</summary>
    public double? DeviationIndex { get; init; }

    /// <summary>One standard deviation.</summary>
    public double? DeviationIndexUncertainty { get; init; }

    /// <summary>Whether the header's own three figures agree with the formula within 0.1; null where it does not carry all three.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public bool? HeaderAgrees { get; init; }

    /// <summary>Air kerma at the receptor in the calibration beam, in µGy.</summary>
    public required double ReceptorAirKermaMicrogray { get; init; }

    /// <summary>One standard deviation, in µGy.</summary>
    public double? ReceptorAirKermaMicrograyUncertainty { get; init; }

    /// <summary>How the figure came about, one sentence.</summary>
    public string? Explanation { get; init; }
}

/// <summary>Stochastic noise over soft tissue.</summary>
public sealed record MottleMeasurement
{
    /// <summary>Standard deviation of stochastic noise over the mean signal, in percent.</summary>
    public required double RelativeNoisePercent { get; init; }

    /// <summary>One standard deviation, in percentage points.</summary>
    public double? RelativeNoisePercentUncertainty { get; init; }

    /// <summary>Mean signal over the standard deviation of the noise.</summary>
    public required double SignalToNoise { get; init; }

    /// <summary>Whether the noise is visible by the stated rule.</summary>
    public required bool Visible { get; init; }

    /// <summary>One standard deviation of the noise as it is shown on a calibrated display that the image fills, averaged to the size the eye sees best, in just-noticeable differences; <see cref="Visible"/> from 2.</summary>
    public double? ShownNoiseJnd { get; init; }

    /// <summary>The scale the signal was in: "linear signal" or "pixel values".</summary>
    public string? Scale { get; init; }

    /// <summary>The places it was measured at: squares over soft tissue, as their centres. Evidence for drawing.</summary>
    public IReadOnlyList<PixelPoint> Places { get; init; } = [];

    /// <summary>Side of each square, in pixels.</summary>
    public int? PlaceSidePixels { get; init; }
}

/// <summary>Signal lost at either end.</summary>
public sealed record ClippingMeasurement
{
    /// <summary>Anatomy pixels at or above the upper limit on the exposure side, 0 to 100.</summary>
    public required double SaturatedPercentOfAnatomy { get; init; }

    /// <summary>What leaving out the anatomy's rim changes, taken as one standard deviation, in points.</summary>
    public double? SaturatedPercentOfAnatomyUncertainty { get; init; }

    /// <summary>Anatomy pixels at or below the lower limit, 0 to 100.</summary>
    public required double FloorPercentOfAnatomy { get; init; }

    /// <summary>What leaving out the anatomy's rim changes, taken as one standard deviation, in points.</summary>
    public double? FloorPercentOfAnatomyUncertainty { get; init; }

    /// <summary>Share of the skin outline inside the field along which the outer soft tissue is clipped away, 0 to 100; absent where no skin line lies in the field.</summary>
    public double? SkinLineLostPercent { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? SkinLineLostPercentUncertainty { get; init; }

    /// <summary>Pieces of skin outline where tissue is lost, as open polylines. Evidence for drawing.</summary>
    public IReadOnlyList<IReadOnlyList<PixelPoint>> LostSkinLines { get; init; } = [];
}

/// <summary>The image as it is shown by its own first window, over the anatomy.</summary>
public sealed record DisplayMeasurement
{
    /// <summary>Window center, in modality values.</summary>
    public required double WindowCenter { get; init; }

    /// <summary>Window width, in modality values.</summary>
    public required double WindowWidth { get; init; }

    /// <summary>Spread of shown brightness over the anatomy, 5th to 95th percentile, as a share of the full range, 0 to 100.</summary>
    public required double ContrastPercent { get; init; }

    /// <summary>Mean shown brightness over the anatomy, 0 (black) to 100 (white).</summary>
    public required double MeanBrightnessPercent { get; init; }

    /// <summary>Where the window comes from: "file" or "anatomy" (none in the file, or one that shows nothing).</summary>
    public string? WindowBasis { get; init; }
}

/// <summary>How long it took, in ms.</summary>
public sealed record TimingMs
{
    /// <summary>Reading and decoding.</summary>
    public double Read { get; init; }

    /// <summary>Measuring.</summary>
    public double Measure { get; init; }
}
