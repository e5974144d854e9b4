namespace Hotlight.Poses;

/// <summary>An angle before and after the picture was matched, with one standard deviation each.</summary>
/// <param name="Name">"turn", "tilt", "lean" or a joint of the phantom.</param>
/// <param name="Before">As the marks alone give it.</param>
/// <param name="After">With the picture.</param>
public sealed record RefinedAngle(string Name, PoseAngle Before, PoseAngle After)
{
    /// <summary>Whether the picture moved it; false where it stays that of the marks.</summary>
    public bool IsMoved { get; init; }
}

/// <summary>What matching the phantom's contours to the image's edges gave.</summary>
public sealed record PoseRefinement
{
    /// <summary>The fit with the refined pose, its angles and their standard errors; that of the marks where the picture did not help.</summary>
    public required PoseFit Fit { get; init; }

    /// <summary>The pose: refined, or that of the marks where the picture did not help.</summary>
    public required PoseState State { get; init; }

    /// <summary>Whether the picture changed it.</summary>
    public required bool Helped { get; init; }

    /// <summary>Angles and joints before and after; the same where it did not help.</summary>
    public required IReadOnlyList<RefinedAngle> Angles { get; init; }

    /// <summary>Median distance between the phantom's edges and the image's on the part of the contours that was held back, in mm at the receptor: before. NaN where no edge was found.</summary>
    public required double HeldBackBeforeMm { get; init; }

    /// <summary>The same, after.</summary>
    public required double HeldBackAfterMm { get; init; }

    /// <summary>Root mean square distance of the marks from the fitted points, in mm at the receptor: before.</summary>
    public required double MarksBeforeMm { get; init; }

    /// <summary>The same, after.</summary>
    public required double MarksAfterMm { get; init; }

    /// <summary>Places of contours whose edge was found in the image.</summary>
    public required int Edges { get; init; }

    /// <summary>Places that were looked at.</summary>
    public required int Looked { get; init; }

    /// <summary>Steps that were taken.</summary>
    public required int Steps { get; init; }

    /// <summary>One sentence: what it did, or why the marks' pose stands.</summary>
    public required string Said { get; init; }
}
