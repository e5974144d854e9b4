using System.Text.Json.Serialization;

namespace Hotlight.Measure.Document;

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
