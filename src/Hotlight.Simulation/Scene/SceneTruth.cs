using Hotlight.Core;

namespace Hotlight.Simulation;

/// <summary>The sides of a field, as seen on the stored image.</summary>
public enum TrueSide
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

/// <summary>What ends the visible field at a side.</summary>
public enum TrueEdge
{
    /// <summary>A collimator's shadow.</summary>
    Beam,

    /// <summary>A constant value put over the image afterwards.</summary>
    Mask,

    /// <summary>The edge of the stored image.</summary>
    Receptor,
}

/// <summary>One side of the field as it was set.</summary>
/// <param name="Side">Which side.</param>
/// <param name="Edge">What ends the field there.</param>
/// <param name="TiltDegrees">Angle to the image axis, in degrees, positive clockwise.</param>
public sealed record SideTruth(TrueSide Side, TrueEdge Edge, double TiltDegrees);

/// <summary>What kind a side marker is.</summary>
public enum TrueMarkerKind
{
    /// <summary>A lead letter exposed with the patient.</summary>
    Lead,

    /// <summary>A letter drawn into the pixels afterwards.</summary>
    Annotation,
}

/// <summary>A side marker as it was placed.</summary>
/// <param name="Letter">The letter, L or R.</param>
/// <param name="Kind">Lead or drawn.</param>
/// <param name="Center">Its centre, in pixels.</param>
/// <param name="RotationDegrees">Clockwise rotation from upright, in degrees.</param>
/// <param name="Mirrored">Whether it reads only from behind.</param>
/// <param name="InsideField">Whether its centre lies in the visible field.</param>
/// <param name="Word">The word in place of the letter; null for the letter.</param>
public sealed record MarkerTruth(char Letter, TrueMarkerKind Kind, PixelPoint Center, double RotationDegrees, bool Mirrored, bool InsideField, string? Word = null);

/// <summary>A landmark of the part as it lies in the exposure.</summary>
/// <param name="Name">Name of the landmark.</param>
/// <param name="Pixel">Where its ray meets the receptor, in pixels; it may lie beyond the stored image.</param>
/// <param name="HeightMm">Height over the receptor, in mm.</param>
/// <param name="InsideField">Whether it lies in the visible field.</param>
public sealed record LandmarkTruth(string Name, PixelPoint Pixel, double HeightMm, bool InsideField);

/// <summary>Something that does not belong in the image.</summary>
/// <param name="Kind">As the measurement document names it: grid-lines, dead-line, dead-pixels, foreign-object, gain-step or double-exposure.</param>
/// <param name="Thing">What it is, such as "ring"; null where the kind says it all.</param>
/// <param name="Center">Its middle, in pixels; null for what covers the whole image.</param>
/// <param name="AreaMm2">Area on the receptor, in mm²; null where it has none.</param>
/// <param name="LinesPerMm">Visible frequency of lines, in cycles per mm; null where there are none.</param>
public sealed record ArtifactTruth(string Kind, string? Thing, PixelPoint? Center, double? AreaMm2, double? LinesPerMm);

/// <summary>How sharp the exposure is.</summary>
/// <param name="EdgeBlurMm">Sigma of the Gaussian of equal variance in the direction of least blur, at half the part's height: receptor and focal spot, in mm on the receptor.</param>
/// <param name="DirectionRatio">Blur in the worst direction over that in the best.</param>
/// <param name="DirectionDegrees">The worst direction, 0 along +x, 90 down the rows, 0 to 180; 0 where all are alike.</param>
/// <param name="MotionMm">Length of the way that the middle of the part's image moved during the exposure, in mm on the receptor; 0 for none.</param>
public sealed record SharpnessTruth(double EdgeBlurMm, double DirectionRatio, double DirectionDegrees, double MotionMm);

/// <summary>Dose of the exposure, without the patient's own scatter unless it says so.</summary>
/// <param name="IncidentAirKermaMicrogray">Air kerma at the skin on the central ray, without backscatter, in µGy.</param>
/// <param name="EntranceSurfaceKermaMicrogray">The same with backscatter, in µGy.</param>
/// <param name="KermaAreaProductDgyCm2">Kerma-area product, in dGy·cm².</param>
public sealed record DoseTruth(double IncidentAirKermaMicrogray, double EntranceSurfaceKermaMicrogray, double KermaAreaProductDgyCm2);

/// <summary>What is true of a simulated exposure, in the terms of the measurement document.</summary>
public sealed record SceneTruth
{
    /// <summary>Corners of the visible field, clockwise from the upper left, in pixels: the beam at half intensity, cut by the stored image's edge or by a mask. Four corners for a rectangle, more where a tilted beam is cut.</summary>
    public required IReadOnlyList<PixelPoint> FieldOutline { get; init; }

    /// <summary>Corners of the beam at half intensity, clockwise from the upper left, in pixels; they may lie beyond the stored image or under a mask.</summary>
    public required IReadOnlyList<PixelPoint> BeamOutline { get; init; }

    /// <summary>The four sides: top, right, bottom, left.</summary>
    public required IReadOnlyList<SideTruth> Sides { get; init; }

    /// <summary>Share of the visible field that the body covers skin to skin (1 mm of tissue or more), 0 to 100.</summary>
    public required double AnatomyPercentOfField { get; init; }

    /// <summary>Share of the anatomy in the visible field under which bone lies (1 mm within bone surfaces or more), 0 to 100.</summary>
    public required double BonePercentOfAnatomy { get; init; }

    /// <summary>1 where a cell's centre is anatomy inside the visible field, 0 elsewhere: cell (r, c) begins at row r·step, column c·step.</summary>
    public required ReadOnlyRaster<byte> AnatomyMask { get; init; }

    /// <summary>Side of a cell of <see cref="AnatomyMask"/>, in pixels.</summary>
    public required int AnatomyMaskStep { get; init; }

    /// <summary>Standard deviation of the noise over the mean signal, linear, over soft tissue without bone inside the field, in percent: taken from the exposure and its noise-free twin.</summary>
    public required double RelativeNoisePercent { get; init; }

    /// <summary>Mean signal over the anatomy in the beam as air kerma of the calibration beam, in µGy.</summary>
    public required double MeanKermaMicrogray { get; init; }

    /// <summary>Median signal over the anatomy in the beam as air kerma of the calibration beam, in µGy: the value of interest (docs/decisions/0006-the-value-of-interest-is-the-median.md).</summary>
    public required double MedianKermaMicrogray { get; init; }

    /// <summary>Exposure index: 100 times <see cref="MedianKermaMicrogray"/>, before rounding for the header.</summary>
    public required double ExposureIndex { get; init; }

    /// <summary>Target exposure index of the invented clinic.</summary>
    public required double TargetExposureIndex { get; init; }

    /// <summary>10·log10(EI / EI_T).</summary>
    public required double DeviationIndex { get; init; }

    /// <summary>Share of the anatomy in the visible field whose signal reached the receptor's upper limit, 0 to 100.</summary>
    public required double SaturatedPercentOfAnatomy { get; init; }

    /// <summary>The side marker, or null where none was placed.</summary>
    public MarkerTruth? Marker { get; init; }

    /// <summary>Area of the visible field on the receptor, in mm².</summary>
    public double FieldAreaMm2 { get; init; }

    /// <summary>Landmarks of the part; empty without one.</summary>
    public IReadOnlyList<LandmarkTruth> Landmarks { get; init; } = [];

    /// <summary>What does not belong in the image.</summary>
    public IReadOnlyList<ArtifactTruth> Artifacts { get; init; } = [];

    /// <summary>How sharp it is; null for scenes without one.</summary>
    public SharpnessTruth? Sharpness { get; init; }

    /// <summary>Dose; null for scenes without one.</summary>
    public DoseTruth? Dose { get; init; }

    /// <summary>Share of the signal behind the part that is scattered radiation, mean over the anatomy in the field, 0 to 100.</summary>
    public double ScatterPercentOfSignal { get; init; }

    /// <summary>Least share of the primary radiation that a grid lets through within the field, over its best; 1 without a grid or cut-off.</summary>
    public double GridCutOffShare { get; init; } = 1;

    /// <summary>Direct exposure in the visible field, 100 minus <see cref="AnatomyPercentOfField"/>.</summary>
    public double EmptyPercentOfField => 100 - AnatomyPercentOfField;
}
