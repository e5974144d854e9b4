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
public sealed record MarkerTruth(char Letter, TrueMarkerKind Kind, PixelPoint Center, double RotationDegrees, bool Mirrored, bool InsideField);

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

    /// <summary>Median signal over the anatomy in the beam as air kerma of the calibration beam, in µGy.</summary>
    public required double MedianKermaMicrogray { get; init; }

    /// <summary>Exposure index: 100 times <see cref="MeanKermaMicrogray"/>, before rounding for the header.</summary>
    public required double ExposureIndex { get; init; }

    /// <summary>Target exposure index of the invented clinic.</summary>
    public required double TargetExposureIndex { get; init; }

    /// <summary>10·log10(EI / EI_T).</summary>
    public required double DeviationIndex { get; init; }

    /// <summary>Share of the anatomy in the visible field whose signal reached the receptor's upper limit, 0 to 100.</summary>
    public required double SaturatedPercentOfAnatomy { get; init; }

    /// <summary>The side marker, or null where none was placed.</summary>
    public MarkerTruth? Marker { get; init; }

    /// <summary>Direct exposure in the visible field, 100 minus <see cref="AnatomyPercentOfField"/>.</summary>
    public double EmptyPercentOfField => 100 - AnatomyPercentOfField;
}
