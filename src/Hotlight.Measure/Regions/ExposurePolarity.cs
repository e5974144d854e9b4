using Hotlight.Imaging;

namespace Hotlight.Measure.Regions;

/// <summary>Which way exposure goes in the pixels, and how that was decided.</summary>
internal readonly record struct ExposurePolarity(int Sign, string Basis, double Weight)
{
    /// <summary>Decides by the header's sign, else by how the image is shown unless the image itself clearly says otherwise.</summary>
    internal static ExposurePolarity Find(Radiograph radiograph, GradientField gradient, FieldCells cells, float edgeThreshold)
    {
        if (radiograph.RelationshipSign is { } sign && sign != 0)
        {
            return new ExposurePolarity(Math.Sign(sign), "Pixel Intensity Relationship Sign (0028,1041)", 0);
        }

        int shown = radiograph.HighIsShownDark ? 1 : -1;
        double evidence = Weigh(gradient, cells, edgeThreshold);
        return evidence * shown < -1
            ? new ExposurePolarity(-shown, "the image's own direct exposure and bone, against the usual way of showing", evidence)
            : new ExposurePolarity(shown, "shown as radiographs usually are, and the image agrees or does not say", evidence);
    }

    private static double Weigh(GradientField g, FieldCells cells, float edgeThreshold) => 0;
}
