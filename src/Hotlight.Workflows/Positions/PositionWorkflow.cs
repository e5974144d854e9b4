using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;

namespace Hotlight.Workflows.Positions;

/// <summary>From a radiograph and marked landmarks to what they tell of its position.</summary>
public static class PositionWorkflow
{
    /// <summary>Age from which the catalogue's separations of landmarks hold, in years; a younger patient gets the direction without degrees.</summary>
    /// <remarks>Common practice, no source: separations are those of adults.</remarks>
    public const double AdultAgeYears = 16;

    /// <summary>What is known of source, part and receptor: from the header, and the middle of the measured field as the central ray.</summary>
    /// <param name="record">What the header says of the exposure.</param>
    /// <param name="document">What was measured; where the field cannot be told, neither can the central ray.</param>
    /// <param name="examination">What the reader says of the examination: a child is one, whatever the header leaves out; null: nothing.</param>
    public static ExposureGeometry GeometryOf(ExposureRecord record, MeasurementDocument document, ExaminationContext? examination = null)
    {
        ArgumentNullException.ThrowIfNull(record);
        ArgumentNullException.ThrowIfNull(document);
        ImageFacts? image = document.Image.Value;
        double? magnification = record.MagnificationFactor
            ?? (record is { SourceImageDistanceMm: > 0 and var source, SourceObjectDistanceMm: > 0 and var toObject } && source > toObject ? source / toObject : null);
        return new ExposureGeometry
        {
            Spacing = image is { PixelSpacingMm: { } column } ? new PixelSpacing(image.RowSpacingMm ?? column, column) : null,
            Columns = image?.Columns ?? 0,
            Rows = image?.Rows ?? 0,
            SourceImageDistanceMm = record.SourceImageDistanceMm is > 0 ? record.SourceImageDistanceMm : null,
            RecordedMagnification = magnification,
            IsChild = record.PatientAgeYears < AdultAgeYears || examination?.Ability == PatientAbility.Child,
            CentralRay = document.Field.IsMeasured ? Middle(document.Field.Value.Outline) : null,
        };
    }

    /// <summary>Moves a mark to the nearest edge within a reach; where no edge stands out, the mark stays.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="at">Where the reader marked, in pixels.</param>
    /// <param name="reachMm">How far an edge may lie from the mark, in mm at the receptor; null: the mark stays; in pixels where the spacing is not known.</param>
    /// <param name="spacing">Pixel spacing; null where it is not known.</param>
    public static LandmarkPoint Place(Radiograph radiograph, PixelPoint at, double? reachMm, PixelSpacing? spacing)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        double mm = spacing is { } known ? Math.Sqrt(known.ColumnSpacingMm * known.RowSpacingMm) : 0.2;
        LandmarkPoint mark = LandmarkPoint.At(at, MarkedLandmarks.MarkingUncertaintyMm / mm);
        return reachMm is { } reach ? Snapped(radiograph, mark, Math.Clamp(reach / mm, 2, 200)) : mark;
    }

    /// <summary>Moves every mark to the nearest edge within a reach, and takes the edge's own uncertainty across it.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="marked">The marks; where no edge stands out within reach, a mark stays.</param>
    /// <param name="projection">Its projection; landmarks that lie on no edge stay.</param>
    /// <param name="reachMm">How far an edge may lie from the mark, in mm at the receptor; in pixels where the spacing is not known.</param>
    public static MarkedLandmarks Snap(Radiograph radiograph, MarkedLandmarks marked, Projection projection, double reachMm)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(marked);
        ArgumentNullException.ThrowIfNull(projection);
        double spacing = radiograph.ReceptorSpacing is { } known ? Math.Sqrt(known.ColumnSpacingMm * known.RowSpacingMm) : 1;
        double reach = Math.Clamp(reachMm / spacing, 2, 200);
        return marked with { Points = marked.Points.ToDictionary(point => point.Key, point => projection.Landmarks.Any(landmark => landmark.Id == point.Key && landmark.OnEdge) ? Snapped(radiograph, point.Value, reach) : point.Value, StringComparer.Ordinal) };
    }

    private static LandmarkPoint Snapped(Radiograph radiograph, LandmarkPoint mark, double reach)
    {
        Figure<EdgePoint> edge = EdgeSnap.Find(radiograph, mark.Point, reach);
        if (!edge.IsMeasured)
        {
            return mark;
        }

        // Along the edge the mark is as uncertain as it was; across it the edge says.
        double along = Math.Sqrt((mark.VarianceX + mark.VarianceY) / 2);
        return LandmarkPoint.At(edge.Value.Point, edge.Value.NormalDegrees, edge.Value.UncertaintyPixels, along);
    }

    // The middle of the outline's bounds: leaves close evenly about the central ray.
    private static PixelPoint? Middle(IReadOnlyList<PixelPoint> outline)
        => outline.Count == 0
            ? null
            : new PixelPoint(X: (outline.Min(point => point.X) + outline.Max(point => point.X)) / 2, Y: (outline.Min(point => point.Y) + outline.Max(point => point.Y)) / 2);
}
