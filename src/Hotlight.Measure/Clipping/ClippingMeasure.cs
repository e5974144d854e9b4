using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Clipping;

/// <summary>Measures the document's section of this name.</summary>
public static class ClippingMeasure
{
    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<ClippingMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Figure<ClippingMeasurement>.CannotTell("This section is not measured by this version.");
}
