using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Regions;

/// <summary>The geometry of one radiograph, found once and used by every measure: field, anatomy, direct exposure, and which way exposure goes in the pixels.</summary>
public sealed record RadiographRegions
{
    /// <summary>+1 when a higher pixel value means more x-ray intensity at the receptor, −1 when less.</summary>
    public required int ExposureSign { get; init; }

    /// <summary>How <see cref="ExposureSign"/> was decided, one phrase for the reader.</summary>
    public required string ExposureSignBasis { get; init; }

    /// <summary>The field, or why it cannot be told.</summary>
    public required Figure<FieldMeasurement> Field { get; init; }

    /// <summary>The anatomy, or why it cannot be told.</summary>
    public required Figure<AnatomyMeasurement> Anatomy { get; init; }

    /// <summary>The collimation, or why it cannot be told.</summary>
    public required Figure<CollimationMeasurement> Collimation { get; init; }

    /// <summary>Labels on a coarse grid; where the field cannot be told, every cell is <see cref="RegionLabel.SoftTissue"/> only if the anatomy is measured.</summary>
    public required RegionMap Map { get; init; }

    /// <summary>Pixel value (see Radiograph.Pixels) of direct exposure, the median over direct cells; null where the field holds none.</summary>
    public double? DirectPixelValue { get; init; }
}
