using Hotlight.Imaging;

namespace Hotlight.Measure.Sharpness;

/// <summary>The blur that a focal spot of the header's size gives at the header's distances.</summary>
/// <remarks>
/// <para>Penumbra at the receptor P = F·(M − 1), with M = SID/SOD the magnification and F the focal spot's nominal size; as the sigma of equal variance of a uniform spot, P/√12.</para>
/// <para>Source: penumbra F·OID/SOD, as printed in nondestructive-testing education formulas (3 mm, 50 cm, 100 cm: 1.5 mm); the variance of a uniform width w is w²/12 (closed form). A nominal focal spot may be larger than its name (IEC 60336, from memory): this is the expected blur, not a bound.</para>
/// </remarks>
internal static class GeometricBlur
{
    /// <summary>Sigma at the receptor in mm, and what it rests on; null where the header lacks the focal spot or the distances.</summary>
    internal static (double SigmaMm, string Basis)? Expected(ExposureRecord exposure)
    {
        if (exposure.FocalSpotMm is not { } spot || !(spot > 0) || !double.IsFinite(spot))
        {
            return null;
        }

        if (exposure.SourceImageDistanceMm is { } image && exposure.SourceObjectDistanceMm is { } part && part > 0 && image > part)
        {
            return (SigmaMm(spot, image / part), "focal spot, distance to the receptor and distance to the patient");
        }

        if (exposure.MagnificationFactor is { } magnification && magnification >= 1 && double.IsFinite(magnification))
        {
            return (SigmaMm(spot, magnification), "focal spot and the header's magnification");
        }

        // The middle of a part that lies on the receptor is half its thickness above it.
        return exposure.SourceImageDistanceMm is { } distance && exposure.BodyPartThicknessMm is { } thickness && thickness > 0 && distance > thickness
            ? (SigmaMm(spot, distance / (distance - (thickness / 2))), "focal spot, distance to the receptor and half the part's thickness, as if the part lay on the receptor")
            : null;
    }

    /// <summary>Sigma at the receptor, in mm.</summary>
    /// <param name="focalSpotMm">Focal spot, in mm.</param>
    /// <param name="magnification">Distance to the receptor over distance to the object, 1 or more.</param>
    internal static double SigmaMm(double focalSpotMm, double magnification) => focalSpotMm * (magnification - 1) / Math.Sqrt(12);
}
