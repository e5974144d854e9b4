using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>Whether the part moved during the exposure.</summary>
public enum MotionSign
{
    /// <summary>Blur along one direction that receptor, focal spot and processing do not explain.</summary>
    Seen,

    /// <summary>No such blur.</summary>
    NotSeen,
}

/// <summary>One contour that the blur was measured on. Evidence for drawing.</summary>
public sealed record SharpEdge
{
    /// <summary>The middle of the edge, in pixels.</summary>
    public required PixelPoint At { get; init; }

    /// <summary>The direction across the edge, along which its blur shows: 0 along +x, 90 down the rows, 0 to 180.</summary>
    public required double NormalDegrees { get; init; }

    /// <summary>Sigma of the Gaussian that fits it, in mm; absent where spacing is unknown.</summary>
    public double? BlurMm { get; init; }
}

/// <summary>Blur of the sharpest anatomical edges.</summary>
/// <remarks>Where the image holds too few edges in some directions, the members on direction and motion are absent and <see cref="DirectionWhy"/> says so.</remarks>
public sealed record SharpnessMeasurement
{
    /// <summary>Sigma of the Gaussian that best explains the sharpest anatomical edges, in the direction of least blur, in mm at the receptor; absent where spacing is unknown.</summary>
    public double? EdgeBlurMm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    public double? EdgeBlurMmUncertainty { get; init; }

    /// <summary>Blur in the worst direction over blur in the best, 1 or more.</summary>
    public double? DirectionRatio { get; init; }

    /// <summary>One standard deviation of the ratio.</summary>
    public double? DirectionRatioUncertainty { get; init; }

    /// <summary>The worst direction, in degrees: 0 along +x, 90 down the rows, 0 to 180. Where the ratio is near 1 it says little.</summary>
    public double? DirectionDegrees { get; init; }

    /// <summary>One standard deviation of the direction, in degrees.</summary>
    public double? DirectionDegreesUncertainty { get; init; }

    /// <summary>Whether the part moved during the exposure.</summary>
    public MotionSign? Motion { get; init; }

    /// <summary>Length of the way the part moved along <see cref="DirectionDegrees"/>, in mm at the receptor, when motion is seen and spacing is known: that of steady motion with the same variance.</summary>
    public double? MotionMm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    public double? MotionMmUncertainty { get; init; }

    /// <summary>Distance between the two contours, in mm, when edges across the direction are seen twice instead of smeared.</summary>
    public double? DoubleContourMm { get; init; }

    /// <summary>Why direction and motion cannot be told, one sentence; absent where they are.</summary>
    public string? DirectionWhy { get; init; }

    /// <summary>Sigma that the focal spot gives at the header's distances, in mm at the receptor.</summary>
    public double? ExpectedGeometricBlurMm { get; init; }

    /// <summary>What <see cref="ExpectedGeometricBlurMm"/> rests on, a phrase for the reader.</summary>
    public string? ExpectedGeometricBlurBasis { get; init; }

    /// <summary>Whether edges show the halo of edge enhancement; blur then reads lower than before the enhancement.</summary>
    public bool? EdgeEnhancementSeen { get; init; }

    /// <summary>Height of the halo, in percent of the edge's step.</summary>
    public double? EdgeHaloPercent { get; init; }

    /// <summary>Edges that stand for each of twelve directions, from 7.5 degrees in steps of 15.</summary>
    public IReadOnlyList<int>? EdgesByDirection { get; init; }

    /// <summary>The sharpest edges in each direction. Evidence for drawing.</summary>
    public IReadOnlyList<SharpEdge>? Edges { get; init; }
}
