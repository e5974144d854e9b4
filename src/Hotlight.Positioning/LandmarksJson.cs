using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Positioning;

/// <summary>Reads and writes marked landmarks: <c>{"schema": "hotlight.landmarks/1", "projection": "knee-lateral", "landmarks": {"medial-condyle-back": {"x": 812.5, "y": 640}}}</c>, in pixels.</summary>
/// <remarks>A landmark may carry <c>uncertaintyPixels</c>, one standard deviation; without it <see cref="MarkedLandmarks.MarkingUncertaintyMm"/> is taken, or 5 pixels where the spacing is not known. <c>knownSize</c> holds <c>one</c>, <c>other</c>, <c>sizeMm</c> and <c>uncertaintyMm</c>.</remarks>
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
        LandmarkPoint Point(PlaceOfFile place, string name)
        {
            if (!double.IsFinite(place.X) || !double.IsFinite(place.Y) || Math.Abs(place.X) > 1e7 || Math.Abs(place.Y) > 1e7)
            {
                throw new UnreadableLandmarksException(file, $"'{name}' lies at ({place.X}, {place.Y}), which is no place on an image.");
            }

            return place.UncertaintyPixels is { } own && (!(own > 0) || own > 1e4)
                ? throw new UnreadableLandmarksException(file, $"the uncertainty of '{name}' must be above 0 pixels.")
                : LandmarkPoint.At(new PixelPoint(X: place.X, Y: place.Y), place.UncertaintyPixels ?? usual);
        }

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
    /// <param name="marked">The landmarks; their uncertainty is written as the mean over both directions.</param>
    public static string Write(MarkedLandmarks marked)
    {
        ArgumentNullException.ThrowIfNull(marked);
        static PlaceOfFile Place(LandmarkPoint point) => new(
            Math.Round(point.Point.X, 3),
            Math.Round(point.Point.Y, 3),
            Math.Round(Math.Max(0.001, Math.Sqrt((point.VarianceX + point.VarianceY) / 2)), 3));

        var content = new LandmarksFile(
            SchemaName,
            marked.ProjectionId,
            marked.Points.OrderBy(point => point.Key, StringComparer.Ordinal).ToDictionary(point => point.Key, point => Place(point.Value), StringComparer.Ordinal),
            marked.KnownSize is { } size ? new SizeOfFile(Place(size.One), Place(size.Other), size.SizeMm, size.SizeUncertaintyMm) : null);
        return JsonSerializer.Serialize(content, Options) + "\n";
    }

    private sealed record LandmarksFile(string Schema, string Projection, Dictionary<string, PlaceOfFile> Landmarks, SizeOfFile? KnownSize = null);

    private sealed record PlaceOfFile(double X, double Y, double? UncertaintyPixels = null);

    private sealed record SizeOfFile(PlaceOfFile One, PlaceOfFile Other, double SizeMm, double? UncertaintyMm = null);
}
