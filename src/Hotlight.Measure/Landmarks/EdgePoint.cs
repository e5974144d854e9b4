using Hotlight.Core;

namespace Hotlight.Measure.Landmarks;

/// <summary>A point on an edge of the image, found to a fraction of a pixel.</summary>
public sealed record EdgePoint
{
    /// <summary>The place: where the fitted edge-spread function is at half its height.</summary>
    public required PixelPoint Point { get; init; }

    /// <summary>Direction across the edge in pixels, towards higher pixel values: 0 along +x, 90 down the rows, −180 to 180.</summary>
    public required double NormalDegrees { get; init; }

    /// <summary>One standard deviation of the place across the edge, in pixels, from noise and from what the fit leaves.</summary>
    public required double UncertaintyPixels { get; init; }

    /// <summary>Height of the edge over one standard deviation of noise in a single pixel.</summary>
    public required double ContrastToNoise { get; init; }

    /// <summary>Sigma of the Gaussian blur that fits the edge, in pixels.</summary>
    public required double BlurPixels { get; init; }

    /// <summary>The same place for distances, angles, lines and circles.</summary>
    /// <param name="alongPixels">How surely the place along the edge is known, one standard deviation in pixels: that of the hand that set it.</param>
    public LandmarkPoint ToLandmark(double alongPixels) => LandmarkPoint.At(Point, NormalDegrees, UncertaintyPixels, alongPixels);
}
