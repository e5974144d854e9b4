using Hotlight.Measure.Landmarks;

namespace Hotlight.Judgement;

/// <summary>What a reader gave to find out how the part lay in space, beyond the landmarks of the checklist. It judges nothing.</summary>
public sealed record PoseMarks
{
    /// <summary>Most points that are kept.</summary>
    public const int MostPoints = 64;

    /// <summary>Longest identifier of a point, in characters.</summary>
    public const int LongestId = 64;

    /// <summary>Nothing given.</summary>
    public static PoseMarks None { get; } = new();

    /// <summary>Marked points that are no landmarks of the catalogue, by the identifiers of the projection's pose model; at most <see cref="MostPoints"/>.</summary>
    public IReadOnlyDictionary<string, LandmarkPoint> Points { get; init; } = new Dictionary<string, LandmarkPoint>();

    /// <summary>The side as the reader says, "R" or "L"; null: as the file says, or as it fits.</summary>
    public string? Side { get; init; }

    /// <summary>Whether the reader wants the figure of it in the handout.</summary>
    public bool IsInHandout { get; init; }

    /// <summary>Whether nothing is given.</summary>
    public bool IsEmpty => Points.Count == 0 && Side is null && !IsInHandout;

    /// <summary>The same with a point more, or one moved.</summary>
    /// <param name="id">The point.</param>
    /// <param name="point">Its place; null takes the mark away.</param>
    public PoseMarks With(string id, LandmarkPoint? point)
    {
        var points = new Dictionary<string, LandmarkPoint>(Points, StringComparer.Ordinal);
        if (point is { } place)
        {
            points[id] = place;
        }
        else
        {
            points.Remove(id);
        }

        return this with { Points = points };
    }

    /// <summary>Whether a text can be the identifier of a point: small letters, digits and hyphens.</summary>
    /// <param name="id">The text.</param>
    public static bool IsId(string id)
    {
        ArgumentNullException.ThrowIfNull(id);
        return id.Length is > 0 and <= LongestId && id.All(letter => letter is (>= 'a' and <= 'z') or (>= '0' and <= '9') or '-');
    }
}
