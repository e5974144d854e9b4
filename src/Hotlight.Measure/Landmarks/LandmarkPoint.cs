using Hotlight.Core;

namespace Hotlight.Measure.Landmarks;

/// <summary>A place in the image and how surely it is known: a Gaussian with one deviation along a direction and another across it.</summary>
/// <remarks>A point on an edge is known across the edge and not along it; a point set by hand is known alike in every direction.</remarks>
public readonly record struct LandmarkPoint
{
    private LandmarkPoint(PixelPoint point, double varianceX, double varianceY, double covariance)
    {
        Point = point;
        VarianceX = varianceX;
        VarianceY = varianceY;
        Covariance = covariance;
    }

    /// <summary>The place.</summary>
    public PixelPoint Point { get; }

    /// <summary>Variance along x, in squared pixels.</summary>
    public double VarianceX { get; }

    /// <summary>Variance along y, in squared pixels.</summary>
    public double VarianceY { get; }

    /// <summary>Covariance of x and y, in squared pixels.</summary>
    public double Covariance { get; }

    /// <summary>A place known alike in every direction.</summary>
    /// <param name="point">The place; finite.</param>
    /// <param name="uncertaintyPixels">One standard deviation in each direction, in pixels, 0 or more.</param>
    public static LandmarkPoint At(PixelPoint point, double uncertaintyPixels)
        => At(point, 0, uncertaintyPixels, uncertaintyPixels);

    /// <summary>A place known differently along a direction and across it.</summary>
    /// <param name="point">The place; finite.</param>
    /// <param name="directionDegrees">The direction: 0 along +x, 90 down the rows.</param>
    /// <param name="alongPixels">One standard deviation along it, in pixels, 0 or more.</param>
    /// <param name="acrossPixels">One standard deviation across it, in pixels, 0 or more.</param>
    public static LandmarkPoint At(PixelPoint point, double directionDegrees, double alongPixels, double acrossPixels)
    {
        Preconditions.Within(point.X, -1e7, 1e7);
        Preconditions.Within(point.Y, -1e7, 1e7);
        Preconditions.Within(alongPixels, 0, 1e6);
        Preconditions.Within(acrossPixels, 0, 1e6);
        (double sine, double cosine) = Math.SinCos(Preconditions.Within(directionDegrees, -3600, 3600) * Math.PI / 180);
        double along = alongPixels * alongPixels, across = acrossPixels * acrossPixels;
        return new LandmarkPoint(
            point,
            (along * cosine * cosine) + (across * sine * sine),
            (along * sine * sine) + (across * cosine * cosine),
            (along - across) * sine * cosine);
    }
}
