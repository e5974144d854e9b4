using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>An outline or a line on the image that shows where something was found, in pixels.</summary>
/// <param name="Points">Its points.</param>
/// <param name="IsClosed">Whether the last is joined to the first.</param>
public sealed record EvidenceShape(IReadOnlyList<PixelPoint> Points, bool IsClosed);

/// <summary>Where on the image the sections found what they found: the one place from which pictures, pages and critiques draw it.</summary>
public static class EvidenceShapes
{
    /// <summary>Half the side of a square drawn around something that has no size of its own, in pixels.</summary>
    private const double HalfSquarePixels = 12;

    /// <summary>Half the length of the line drawn along an edge, in pixels.</summary>
    private const double HalfEdgePixels = 14;

    /// <summary>Most single places of one artifact that are drawn; more would hide the image.</summary>
    private const int MostPlaces = 40;

    /// <summary>Half the length of the line across an edge, in pixels: seen at full size, not hiding the edge.</summary>
    private const double HalfAcrossPixels = 6;

    /// <summary>The box of a marker.</summary>
    /// <param name="marker">The marker.</param>
    public static IReadOnlyList<EvidenceShape> Of(FoundMarker marker)
    {
        ArgumentNullException.ThrowIfNull(marker);
        return [new EvidenceShape(marker.Corners is { Count: >= 3 } corners ? corners : Square(marker.Center), IsClosed: true)];
    }

    /// <summary>The outline, line or places of an artifact; empty for what covers the whole image.</summary>
    /// <param name="artifact">The artifact.</param>
    public static IReadOnlyList<EvidenceShape> Of(FoundArtifact artifact)
    {
        ArgumentNullException.ThrowIfNull(artifact);
        if (artifact.Outline is { Count: >= 3 } outline)
        {
            return [new EvidenceShape(outline, IsClosed: true)];
        }

        if (artifact is { LineFrom: { } from, LineTo: { } to })
        {
            return [new EvidenceShape([from, to], IsClosed: false)];
        }

        if (artifact.Places is { Count: > 0 } places)
        {
            return [.. places.Take(MostPlaces).Select(place => new EvidenceShape(Square(place), IsClosed: true))];
        }

        return artifact.Kind is ArtifactKind.GridLines or ArtifactKind.Banding or ArtifactKind.GridCutOff or ArtifactKind.DoubleExposure
            ? []
            : [new EvidenceShape(Square(artifact.Center), IsClosed: true)];
    }

    /// <summary>The edges at which blur was measured, each as a short line along itself.</summary>
    /// <param name="sharpness">The section.</param>
    public static IReadOnlyList<EvidenceShape> Of(SharpnessMeasurement sharpness)
    {
        ArgumentNullException.ThrowIfNull(sharpness);
        return [.. (sharpness.Edges ?? []).Select(edge =>
        {
            // The edge runs across its normal.
            double angle = (edge.NormalDegrees + 90) * Math.PI / 180;
            double x = HalfEdgePixels * Math.Cos(angle);
            double y = HalfEdgePixels * Math.Sin(angle);
            return new EvidenceShape([new(X: edge.At.X - x, Y: edge.At.Y - y), new(X: edge.At.X + x, Y: edge.At.Y + y)], IsClosed: false);
        })];
    }

    private static PixelPoint[] Square(PixelPoint center) =>
    [
        new(X: center.X - HalfSquarePixels, Y: center.Y - HalfSquarePixels),
        new(X: center.X + HalfSquarePixels, Y: center.Y - HalfSquarePixels),
        new(X: center.X + HalfSquarePixels, Y: center.Y + HalfSquarePixels),
        new(X: center.X - HalfSquarePixels, Y: center.Y + HalfSquarePixels),
    ];
}
