using System.Text.Json.Serialization;
using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>What kind of thing does not belong in the image.</summary>
public enum ArtifactKind
{
    /// <summary>Lines of a grid, or their alias.</summary>
    GridLines,

    /// <summary>A row or column of the receptor that does not answer.</summary>
    DeadLine,

    /// <summary>Single elements of the receptor, or a cluster of them, that do not answer.</summary>
    DeadPixels,

    /// <summary>A dense object with sharp edges.</summary>
    ForeignObject,

    /// <summary>A step of gain between parts of the receptor.</summary>
    GainStep,

    /// <summary>Bands along rows or columns.</summary>
    Banding,

    /// <summary>A fall of direct exposure to one side, beyond what the heel effect gives.</summary>
    GridCutOff,

    /// <summary>Two exposures over each other; nothing looks for it in this version.</summary>
    DoubleExposure,
}

/// <summary>What does not belong in the image.</summary>
public sealed record ArtifactsMeasurement
{
    /// <summary>The artifacts, most certain first; empty where none was found.</summary>
    public required IReadOnlyList<FoundArtifact> Found { get; init; }

    /// <summary>What was not looked for in this image, or cannot be told from it, one sentence each; null where all was looked for.</summary>
    public IReadOnlyList<string>? CannotTell { get; init; }
}

/// <summary>One artifact.</summary>
public sealed record FoundArtifact
{
    /// <summary>Its kind.</summary>
    public required ArtifactKind Kind { get; init; }

    /// <summary>Its middle, in pixels.</summary>
    public required PixelPoint Center { get; init; }

    /// <summary>Area on the receptor, in mm²; absent where spacing is unknown.</summary>
    public double? AreaMm2 { get; init; }

    /// <summary>Spatial frequency as it is seen in the image, in cycles per mm on the receptor; null where the artifact has no lines or spacing is unknown.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public double? LinesPerMm { get; init; }

    /// <summary>One standard deviation of <see cref="LinesPerMm"/>, in cycles per mm.</summary>
    public double? LinesPerMmUncertainty { get; init; }

    /// <summary>Spatial frequency as it is seen in the image, in cycles per pixel; absent where the artifact has no lines.</summary>
    public double? LinesPerPixel { get; init; }

    /// <summary>Direction of the lines themselves, in degrees: 0 along +x, 90 down the rows, 0 to 180; absent where there are none.</summary>
    public double? AngleDegrees { get; init; }

    /// <summary>How strong it is, in percent of <see cref="ContrastBasis"/>: a step's height, a line's or an object's difference from what is beside it, the amplitude of lines.</summary>
    public double? ContrastPercent { get; init; }

    /// <summary>One standard deviation of <see cref="ContrastPercent"/>, in points.</summary>
    public double? ContrastPercentUncertainty { get; init; }

    /// <summary>What the contrast is a share of: "signal" (pixels proportional to exposure) or "range" (1st to 99th percentile of the pixel values in the field).</summary>
    public string? ContrastBasis { get; init; }

    /// <summary>How clearly it was seen, 0.5 at the limit of detection towards 1: 1 − 0.5·exp(1 − strength over limit). A rank, not a probability.</summary>
    public double? Confidence { get; init; }

    /// <summary>Its outline as a polygon, in pixels, for drawing; absent where it has none.</summary>
    public IReadOnlyList<PixelPoint>? Outline { get; init; }

    /// <summary>One end of a line or step, in pixels, for drawing.</summary>
    public PixelPoint? LineFrom { get; init; }

    /// <summary>The other end.</summary>
    public PixelPoint? LineTo { get; init; }

    /// <summary>Pixels across a line artifact, or pixels that do not answer in all.</summary>
    public int? Pixels { get; init; }

    /// <summary>Single places of an artifact that has several, in pixels, at most 200.</summary>
    public IReadOnlyList<PixelPoint>? Places { get; init; }
}
