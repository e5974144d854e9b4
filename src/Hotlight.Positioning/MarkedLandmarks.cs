using Hotlight.Measure.Landmarks;

namespace Hotlight.Positioning;

/// <summary>An object of known size, marked at both ends, from which the magnification is taken.</summary>
/// <param name="One">One end.</param>
/// <param name="Other">The other end.</param>
/// <param name="SizeMm">Its true length, in mm; above 0.</param>
/// <param name="SizeUncertaintyMm">One standard deviation of that length, in mm; 0 or more.</param>
/// <remarks>It must have lain at the height of the part and flat to the receptor; a tilt shortens its image.</remarks>
public sealed record KnownSize(LandmarkPoint One, LandmarkPoint Other, double SizeMm, double SizeUncertaintyMm);

/// <summary>What a reader marked on one image of one projection.</summary>
/// <param name="ProjectionId">The projection, such as "knee-lateral".</param>
/// <param name="Points">Marked places by the catalogue's identifiers.</param>
/// <param name="KnownSize">An object of known size; null where there is none.</param>
public sealed record MarkedLandmarks(string ProjectionId, IReadOnlyDictionary<string, LandmarkPoint> Points, KnownSize? KnownSize = null)
{
    /// <summary>One standard deviation taken for a place that was clicked and not snapped to an edge, in mm at the receptor.</summary>
    /// <remarks>The size of marking error that the project's own trials use (docs/methods/positioning.md); a rule of this project, no outside source.</remarks>
    public const double MarkingUncertaintyMm = 1;

    /// <summary>Nothing marked.</summary>
    /// <param name="projectionId">The projection.</param>
    public static MarkedLandmarks None(string projectionId) => new(projectionId, new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal));
}
