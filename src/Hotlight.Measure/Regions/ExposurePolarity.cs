using Hotlight.Imaging;
using Hotlight.Measure.Anatomy;
using Hotlight.Measure.Field;

namespace Hotlight.Measure.Regions;

/// <summary>Which way exposure goes in the pixels, how that was decided, and the direct exposure found that way.</summary>
internal readonly record struct ExposurePolarity(int Sign, string Basis, DirectExposure? Direct)
{
    // Direct exposure under the other sign must be bounded by edges along nearly half its border (the abdomen's white end is not),
    // be a twentieth of the field, and outweigh what is found under the usual sign four to one. Set on open radiographs as they
    // are, not inverted: docs/methods/anatomy.md.
    private const double LeastSharpness = 0.45;
    private const double LeastWeight = 0.05;
    private const double LeastRatio = 4;

    /// <summary>Decides by the header's sign, else by how the image is shown (bone bright) unless the image itself clearly says otherwise.</summary>
    internal static ExposurePolarity Find(Radiograph radiograph, ReducedImage image, GradientField gradient, FieldShape field, FieldCells cells, float edgeThreshold)
    {
        if (radiograph.RelationshipSign is { } sign && sign != 0)
        {
            return new ExposurePolarity(Math.Sign(sign), "Pixel Intensity Relationship Sign (0028,1041)", As(Math.Sign(sign)));
        }

        int shown = radiograph.HighIsShownDark ? 1 : -1;
        DirectExposure? usual = null, other = null;
        Parallel.Invoke(() => usual = As(shown), () => other = As(-shown));
        double usualWeight = Weight(usual, cells), otherWeight = Weight(other, cells);
        if (other is not null && other.Sharpness >= LeastSharpness && otherWeight >= LeastWeight && otherWeight >= LeastRatio * usualWeight)
        {
            return new ExposurePolarity(-shown, "the image's own direct exposure, against the usual way of showing", other);
        }

        string basis = usualWeight >= LeastWeight && usualWeight >= LeastRatio * otherWeight
            ? "bone bright as usual, and the image's own direct exposure agrees"
            : "bone bright as usual; the image itself does not say";
        return new ExposurePolarity(shown, basis, usual);

        DirectExposure? As(int sign)
        {
            float[] exposure = GC.AllocateUninitializedArray<float>(gradient.Smooth.Length);
            for (int i = 0; i < exposure.Length; i++)
            {
                exposure[i] = sign * gradient.Smooth[i];
            }

            return DirectExposure.Find(exposure, image, gradient, field, cells, edgeThreshold);
        }
    }

    private static double Weight(DirectExposure? direct, FieldCells cells)
        => direct is null ? 0 : direct.Sharpness * direct.GrownCount / cells.Count;
}
