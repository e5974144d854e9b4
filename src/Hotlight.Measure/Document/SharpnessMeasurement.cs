namespace Hotlight.Measure.Document;

/// <summary>Whether the part moved during the exposure.</summary>
public enum MotionSign
{
    /// <summary>Blur along one direction that receptor, focal spot and processing do not explain.</summary>
    Seen,

    /// <summary>No such blur.</summary>
    NotSeen,
}

/// <summary>Blur of the sharpest anatomical edges.</summary>
public sealed record SharpnessMeasurement
{
    /// <summary>Sigma of the Gaussian that best explains the sharpest anatomical edges, in the direction of least blur, in mm at the receptor; absent where spacing is unknown.</summary>
    public double? EdgeBlurMm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    public double? EdgeBlurMmUncertainty { get; init; }

    /// <summary>Blur in the worst direction over blur in the best, 1 or more.</summary>
    public required double DirectionRatio { get; init; }

    /// <summary>One standard deviation of the ratio.</summary>
    public double? DirectionRatioUncertainty { get; init; }

    /// <summary>The worst direction, in degrees: 0 along +x, 90 down the rows, 0 to 180.</summary>
    public required double DirectionDegrees { get; init; }

    /// <summary>One standard deviation of the direction, in degrees.</summary>
    public double? DirectionDegreesUncertainty { get; init; }

    /// <summary>Whether the part moved during the exposure.</summary>
    public required MotionSign Motion { get; init; }
}
