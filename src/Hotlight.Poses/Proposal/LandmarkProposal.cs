using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;

namespace Hotlight.Poses.Proposal;

/// <summary>Points proposed on one radiograph. They are no marks: a reader looks at each and accepts it, moves it or leaves it out.</summary>
/// <param name="ProjectionId">The projection.</param>
/// <param name="Points">All points that the network knows of that projection, found or not.</param>
public sealed record LandmarkProposal(string ProjectionId, IReadOnlyList<ProposedLandmark> Points)
{
    /// <summary>The marks that a reader takes over as they are proposed.</summary>
    /// <param name="ids">The points that the reader has looked at and accepts.</param>
    /// <exception cref="ArgumentException">A point was not proposed.</exception>
    public MarkedLandmarks Accept(IEnumerable<string> ids)
    {
        ArgumentNullException.ThrowIfNull(ids);
        Dictionary<string, LandmarkPoint> marks = new(StringComparer.Ordinal);
        foreach (string id in ids)
        {
            ProposedLandmark? point = Points.FirstOrDefault(each => each.Id == id);
            marks[id] = point?.Place.Value is { } place
                ? LandmarkPoint.At(place.At, place.UncertaintyPixels)
                : throw new ArgumentException($"'{id}' was not proposed.", nameof(ids));
        }

        return new MarkedLandmarks(ProjectionId, marks);
    }
}
