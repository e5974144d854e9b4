using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Regions;

/// <summary>Finds field, anatomy and direct exposure of a radiograph.</summary>
public static class RegionFinder
{
    /// <summary>Finds the regions.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="options">What the caller knows.</param>
    public static RadiographRegions Find(Radiograph radiograph, MeasureOptions options)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(options);
        return new RadiographRegions
        {
            ExposureSign = radiograph.HighIsShownDark ? 1 : -1,
            ExposureSignBasis = "as shown",
            Field = Figure<FieldMeasurement>.CannotTell("The field is not measured by this version."),
            Anatomy = Figure<AnatomyMeasurement>.CannotTell("The anatomy is not measured by this version."),
            Collimation = Figure<CollimationMeasurement>.CannotTell("The collimation is not measured by this version."),
            Map = new RegionMap(new Raster<byte>(1, 1), Math.Max(radiograph.Rows, radiograph.Columns)),
        };
    }
}
