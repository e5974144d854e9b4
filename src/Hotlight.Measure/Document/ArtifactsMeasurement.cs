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

    /// <summary>A fall of signal to one side that a grid off centre explains.</summary>
    GridCutOff,

    /// <summary>Two exposures over each other.</summary>
    DoubleExposure,
}

/// <summary>What does not belong in the image.</summary>
public sealed record ArtifactsMeasurement
{
    /// <summary>The artifacts, most certain first; empty where none was found.</summary>
    public required IReadOnlyList<FoundArtifact> Found { get; init; }
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
}
