using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Positioning;

/// <summary>Reads and writes marked landmarks: <c>{"schema": "hotlight.landmarks/1", "projection": "knee-lateral", "landmarks": {"medial-condyle-back": {"x": 812.5, "y": 640}}}</c>, in pixels.</summary>
/// <remarks>A landmark may carry <c>uncertaintyPixels</c>, one standard deviation; of a landmark on an edge that is along the edge, and <c>edgeNormalDegrees</c> with <c>acrossEdgePixels</c> say how well it is known across it. Without it <see cref="MarkedLandmarks.MarkingUncertaintyMm"/> is taken, or 5 pixels where the spacing is not known. A landmark with <c>"proposed": true</c> is refused: nobody has looked at it. <c>knownSize</c> holds <c>one</c>, <c>other</c>, <c>sizeMm</c> and <c>uncertaintyMm</c>.</remarks>
public static class LandmarksJson
{
    /// <summary>Value of the member schema.</summary>
    public const string SchemaName = "hotlight.landmarks/1";

    // Without a spacing nothing says how large a pixel is; a rule of this project.
    private const double PixelsWithoutSpacing = 5;

    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        PropertyNameCaseInsensitive = false,
        NumberHandling = JsonNumberHandling.Strict,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        AllowDuplicateProperties = false,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        WriteIndented = true,
        NewLine = "\n",
    };

    /// <summary>Reads a file of landmarks.</summary>
    /// <param name="json">Its text.</param>
    /// <param name="file">Its name, for messages.</param>
    /// <param name="projection">The projection that is judged.</param>
    /// <param name="spacing">Pixel spacing of the image; null where it is not known.</param>
    /// <exception cref="UnreadableLandmarksException">It is not such a file, is for another projection, or names what the projection does not have.</exception>
    public static MarkedLandmarks Read(string json, string file, Projection projection, PixelSpacing? spacing)
    {
        ArgumentNullException.ThrowIfNull(projection);
        LandmarksFile content;
        try
        {
            content = JsonSerializer.Deserialize<LandmarksFile>(json, Options) ?? throw new UnreadableLandmarksException(file, "the file holds null.");
        }
        catch (JsonException error)
        {
            string place = error.Path is { } path && path != "$" ? $"look at {path}" : error.LineNumber is { } line ? $"look at line {line + 1}" : "it is not JSON";
            throw new UnreadableLandmarksException(file, $"this is not a file of landmarks; {place}. It has schema, projection and landmarks, each with x and y in pixels.", error);
        }

        if (content.Schema != SchemaName)
        {
            throw new UnreadableLandmarksException(file, $"the file says '{content.Schema}'; this version reads '{SchemaName}'.");
        }

        if (content.Projection != projection.Id)
        {
            throw new UnreadableLandmarksException(file, $"the landmarks are for '{content.Projection}', but '{projection.Id}' is judged.");
        }

        double usual = spacing is { } known ? MarkedLandmarks.MarkingUncertaintyMm / Math.Sqrt(known.ColumnSpacingMm * known.RowSpacingMm) : PixelsWithoutSpacing;
        LandmarkPoint Point(PlaceOfFile place, string name) => PointOf(place, name, file, usual);
        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        foreach ((string id, PlaceOfFile place) in content.Landmarks)
        {
            if (projection.Landmarks.All(landmark => landmark.Id != id))
            {
                string near = Nearest.To(id, projection.Landmarks.Select(landmark => landmark.Id)) is { } best
                    ? $"; did you mean '{best}'?"
                    : projection.Landmarks.Count > 0 ? $"; there are {string.Join(", ", projection.Landmarks.Select(landmark => landmark.Id))}." : "; this projection is judged by eye and has none.";
                throw new UnreadableLandmarksException(file, $"'{id}' is not a landmark of {projection.Id}{near}");
            }

            points.Add(id, Point(place, id));
        }

        KnownSize? size = content.KnownSize is { } given ? new KnownSize(Point(given.One, "knownSize.one"), Point(given.Other, "knownSize.other"), given.SizeMm, given.UncertaintyMm ?? 0) : null;
        return size is { SizeMm: <= 0 } or { SizeUncertaintyMm: < 0 }
            ? throw new UnreadableLandmarksException(file, "the known size must be above 0 mm, its uncertainty 0 or more.")
            : new MarkedLandmarks(projection.Id, points, size);
    }

    /// <summary>Writes marked landmarks as such a file.</summary>
    /// <param name="marked">The landmarks.</param>
    public static string Write(MarkedLandmarks marked)
    {
        ArgumentNullException.ThrowIfNull(marked);
        var content = new LandmarksFile(
            SchemaName,
            marked.ProjectionId,
            marked.Points.OrderBy(point => point.Key, StringComparer.Ordinal).ToDictionary(point => point.Key, point => Place(point.Value), StringComparer.Ordinal),
            marked.KnownSize is { } size ? new SizeOfFile(Place(size.One), Place(size.Other), size.SizeMm, size.SizeUncertaintyMm) : null);
        return JsonSerializer.Serialize(content, Options) + "\n";
    }

    /// <summary>Writes points that a program proposes, each with <c>"proposed": true</c>: such a file is refused until a reader has looked at them and taken that out.</summary>
    /// <param name="proposed">The points.</param>
    public static string WriteProposed(MarkedLandmarks proposed)
    {
        ArgumentNullException.ThrowIfNull(proposed);
        var content = new LandmarksFile(
            SchemaName,
            proposed.ProjectionId,
            proposed.Points.OrderBy(point => point.Key, StringComparer.Ordinal).ToDictionary(point => point.Key, point => Place(point.Value) with { Proposed = true }, StringComparer.Ordinal));
        return JsonSerializer.Serialize(content, Options) + "\n";
    }

    /// <summary>Reads one place of a landmark: x and y, and its uncertainty where it is given.</summary>
    /// <param name="json">The place's object.</param>
    /// <param name="name">The landmark, for messages.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableLandmarksException">It is not a place.</exception>
    public static LandmarkPoint ReadPlace(JsonElement json, string name, string file)
    {
        try
        {
            return PointOf(json.Deserialize<PlaceOfFile>(Options)!, name, file, PixelsWithoutSpacing);
        }
        catch (JsonException error)
        {
            throw new UnreadableLandmarksException(file, $"'{name}' is not a place with x and y in pixels.", error);
        }
    }

    /// <summary>Writes one place as <see cref="ReadPlace"/> reads it.</summary>
    /// <param name="point">The place.</param>
    public static JsonElement WritePlace(LandmarkPoint point) => JsonSerializer.SerializeToElement(Place(point), Options);

    private static LandmarkPoint PointOf(PlaceOfFile place, string name, string file, double usual)
    {
        if (place.Proposed == true)
        {
            throw new UnreadableLandmarksException(file, $"'{name}' is only proposed: look at it on the image, move it where it is wrong, and take \"proposed\" out.");
        }

        if (!double.IsFinite(place.X) || !double.IsFinite(place.Y) || Math.Abs(place.X) > 1e7 || Math.Abs(place.Y) > 1e7)
        {
            throw new UnreadableLandmarksException(file, $"'{name}' lies at ({place.X}, {place.Y}), which is no place on an image.");
        }

        foreach (double? given in new[] { place.UncertaintyPixels, place.AcrossEdgePixels })
        {
            if (given is { } own && (!(own > 0) || own > 1e4))
            {
                throw new UnreadableLandmarksException(file, $"the uncertainty of '{name}' must be above 0 pixels.");
            }
        }

        double along = place.UncertaintyPixels ?? usual;
        var at = new PixelPoint(X: place.X, Y: place.Y);
        return place is { EdgeNormalDegrees: { } normal, AcrossEdgePixels: { } across } && Math.Abs(normal) <= 3600
            ? LandmarkPoint.At(at, normal, across, along)
            : LandmarkPoint.At(at, along);
    }

    // The two axes of the covariance: where they differ, the smaller is across an edge.
    private static PlaceOfFile Place(LandmarkPoint point)
    {
        double half = (point.VarianceX - point.VarianceY) / 2, middle = (point.VarianceX + point.VarianceY) / 2;
        double apart = Math.Sqrt((half * half) + (point.Covariance * point.Covariance));
        double Rounded(double variance) => Math.Max(0.001, Math.Round(Math.Sqrt(Math.Max(0, variance)), 3));
        double x = Math.Round(point.Point.X, 3), y = Math.Round(point.Point.Y, 3);
        return apart < 0.05 * middle
            ? new PlaceOfFile(x, y, Rounded(middle))
            : new PlaceOfFile(x, y, Rounded(middle + apart), Math.Round((Math.Atan2(point.Covariance, half) * 90 / Math.PI) + 90, 2), Rounded(middle - apart));
    }

    private sealed record LandmarksFile(string Schema, string Projection, Dictionary<string, PlaceOfFile> Landmarks, SizeOfFile? KnownSize = null);

    private sealed record PlaceOfFile(double X, double Y, double? UncertaintyPixels = null, double? EdgeNormalDegrees = null, double? AcrossEdgePixels = null, bool? Proposed = null);

    private sealed record SizeOfFile(PlaceOfFile One, PlaceOfFile Other, double SizeMm, double? UncertaintyMm = null);
}
