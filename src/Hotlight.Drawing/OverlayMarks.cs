using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing;

/// <summary>One mark to draw on a radiograph, in pixels of the stored image.</summary>
/// <param name="Kind">What it stands for.</param>
/// <param name="Points">A line through these points; for <see cref="MarkKind.MottlePlace"/> the four corners of the square.</param>
/// <param name="IsClosed">Whether the last point is joined to the first.</param>
public sealed record OverlayMark(MarkKind Kind, IReadOnlyList<PixelPoint> Points, bool IsClosed);

/// <summary>A piece of the field's outline with the side it belongs to.</summary>
/// <param name="Side">The side of the field.</param>
/// <param name="Edge">What ends the field along this piece.</param>
/// <param name="From">Start, going clockwise.</param>
/// <param name="To">End, going clockwise.</param>
public sealed record FieldOutlinePiece(FieldSide Side, FieldEdge Edge, PixelPoint From, PixelPoint To);

/// <summary>Turns a measurement document into the marks that are drawn, in drawing order.</summary>
public static class OverlayMarks
{
    /// <summary>A tighter field that saves less than this share of the field's area is not drawn: it would lie on the field's own line.</summary>
    internal const double LeastReductionPercent = 0.5;

    /// <summary>The marks of a document; sections that cannot be told give none.</summary>
    /// <param name="document">The document.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    /// <exception cref="ArgumentOutOfRangeException">A size is below 1.</exception>
    public static IReadOnlyList<OverlayMark> From(MeasurementDocument document, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(document);
        Preconditions.AtLeastOne(columns);
        Preconditions.AtLeastOne(rows);
        var marks = new List<OverlayMark>();
        FieldMeasurement? field = document.Field.Value;
        double tolerancePixels = Math.Max(2, 0.006 * Math.Max(columns, rows));
        if (document.Anatomy.Value is { } anatomy)
        {
            // Where the anatomy leaves the field its outline follows the field's edge: that is no skin, so it is not drawn as skin.
            foreach (IReadOnlyList<PixelPoint> outline in anatomy.Outlines)
            {
                AddAwayFromField(marks, MarkKind.SkinOutline, outline, field, tolerancePixels);
            }
        }

        if (document.Collimation.Value is { AreaReductionPercent: >= LeastReductionPercent } collimation)
        {
            // Two patterns on one line cannot be read: a side that stays where it is keeps the field's line alone.
            AddAwayFromField(marks, MarkKind.TighterField, collimation.TighterField, field, tolerancePixels);
        }

        if (field is not null)
        {
            AddField(marks, PiecesOf(field, columns, rows));
        }

        if (document.Clipping.Value is { } clipping)
        {
            marks.AddRange(clipping.LostSkinLines.Where(line => line.Count >= 2).Select(line => new OverlayMark(MarkKind.LostSkin, line, IsClosed: false)));
        }

        if (document.Mottle.Value is { } mottle)
        {
            double half = (mottle.PlaceSidePixels ?? 1) / 2.0;
            marks.AddRange(mottle.Places.Select(place => new OverlayMark(
                MarkKind.MottlePlace,
                [
                    new PixelPoint(X: place.X - half, Y: place.Y - half),
                    new PixelPoint(X: place.X + half, Y: place.Y - half),
                    new PixelPoint(X: place.X + half, Y: place.Y + half),
                    new PixelPoint(X: place.X - half, Y: place.Y + half),
                ],
                IsClosed: true)));
        }

        if (document.Sharpness.Value is { } sharpness)
        {
            marks.AddRange(EvidenceShapes.Of(sharpness).Select(shape => new OverlayMark(MarkKind.SharpEdge, shape.Points, shape.IsClosed)));
        }

        if (document.Artifacts.Value is { } artifacts)
        {
            marks.AddRange(artifacts.Found.SelectMany(EvidenceShapes.Of).Select(shape => new OverlayMark(MarkKind.Artifact, shape.Points, shape.IsClosed)));
        }

        if (document.Markers.Value is { } markers)
        {
            marks.AddRange(markers.Found.SelectMany(EvidenceShapes.Of).Select(shape => new OverlayMark(MarkKind.SideMarker, shape.Points, shape.IsClosed)));
        }

        return marks;
    }

    /// <summary>The pieces of a field's outline, each with its side and what ends the field there.</summary>
    /// <remarks>With four corners the pieces are top, right, bottom and left in turn. With more, a piece on the border of the stored image is a receptor edge, and any other belongs to the side it faces.</remarks>
    /// <param name="field">The field.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public static IReadOnlyList<FieldOutlinePiece> PiecesOf(FieldMeasurement field, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(field);
        IReadOnlyList<PixelPoint> outline = field.Outline;
        if (outline.Count < 3)
        {
            return [];
        }

        var pieces = new List<FieldOutlinePiece>(outline.Count);
        for (int corner = 0; corner < outline.Count; corner++)
        {
            PixelPoint from = outline[corner];
            PixelPoint to = outline[(corner + 1) % outline.Count];
            FieldSide side = outline.Count == 4 ? (FieldSide)corner : SideFaced(from, to, field.Sides);
            FieldEdge edge = field.Sides.FirstOrDefault(measured => measured.Side == side)?.Edge ?? FieldEdge.Beam;
            if (outline.Count != 4 && LiesOnBorder(from, to, columns, rows))
            {
                edge = FieldEdge.Receptor;
            }

            pieces.Add(new FieldOutlinePiece(side, edge, from, to));
        }

        return pieces;
    }

    private static FieldSide SideFaced(PixelPoint from, PixelPoint to, IReadOnlyList<FieldSideMeasurement> sides)
    {
        // Clockwise with y down: the outward normal of a piece (dx, dy) is (dy, -dx).
        double normalX = to.Y - from.Y;
        double normalY = from.X - to.X;
        FieldSide best = FieldSide.Top;
        double bestProjection = double.NegativeInfinity;
        foreach (FieldSide side in Enum.GetValues<FieldSide>())
        {
            double tilt = (sides.FirstOrDefault(measured => measured.Side == side)?.TiltDegrees ?? 0) * Math.PI / 180;
            double angle = tilt + ((int)side * Math.PI / 2);
            double projection = (normalX * Math.Sin(angle)) - (normalY * Math.Cos(angle));
            if (projection > bestProjection)
            {
                bestProjection = projection;
                best = side;
            }
        }

        return best;
    }

    private static bool LiesOnBorder(PixelPoint from, PixelPoint to, int columns, int rows)
    {
        const double TolerancePixels = 1.5;
        return (from.X <= TolerancePixels - 0.5 && to.X <= TolerancePixels - 0.5)
            || (from.Y <= TolerancePixels - 0.5 && to.Y <= TolerancePixels - 0.5)
            || (from.X >= columns - 0.5 - TolerancePixels && to.X >= columns - 0.5 - TolerancePixels)
            || (from.Y >= rows - 0.5 - TolerancePixels && to.Y >= rows - 0.5 - TolerancePixels);
    }

    private static void AddField(List<OverlayMark> marks, IReadOnlyList<FieldOutlinePiece> pieces)
    {
        // Neighbouring pieces of one kind become one line, so dashes run on around corners.
        int start = 0;
        for (int piece = 0; piece < pieces.Count; piece++)
        {
            if (pieces[piece].Edge != pieces[(piece + pieces.Count - 1) % pieces.Count].Edge)
            {
                start = piece;
                break;
            }
        }

        List<PixelPoint>? line = null;
        FieldEdge edge = FieldEdge.Beam;
        for (int step = 0; step < pieces.Count; step++)
        {
            FieldOutlinePiece piece = pieces[(start + step) % pieces.Count];
            if (line is null || piece.Edge != edge)
            {
                Close();
                line = [piece.From];
                edge = piece.Edge;
            }

            line.Add(piece.To);
        }

        Close();

        void Close()
        {
            if (line is not null)
            {
                bool isClosed = line.Count == pieces.Count + 1;
                if (isClosed)
                {
                    line.RemoveAt(line.Count - 1);
                }

                marks.Add(new OverlayMark(KindOf(edge), line, isClosed));
            }
        }
    }

    /// <summary>The kind of mark that stands for a field's edge.</summary>
    /// <param name="edge">What ends the field.</param>
    public static MarkKind KindOf(FieldEdge edge) => edge switch
    {
        FieldEdge.Beam => MarkKind.FieldBeamEdge,
        FieldEdge.Mask => MarkKind.FieldMaskEdge,
        FieldEdge.Receptor => MarkKind.FieldReceptorEdge,
        _ => throw new ArgumentOutOfRangeException(nameof(edge), edge, "Not an edge of a field."),
    };

    private static void AddAwayFromField(List<OverlayMark> marks, MarkKind kind, IReadOnlyList<PixelPoint> outline, FieldMeasurement? field, double tolerancePixels)
    {
        if (outline.Count < 3)
        {
            return;
        }

        bool[] isAway = new bool[outline.Count];
        for (int point = 0; point < outline.Count; point++)
        {
            PixelPoint from = outline[point];
            PixelPoint to = outline[(point + 1) % outline.Count];
            isAway[point] = field is null
                || !(IsNear(from, field.Outline, tolerancePixels)
                    && IsNear(to, field.Outline, tolerancePixels)
                    && IsNear(new PixelPoint(X: (from.X + to.X) / 2, Y: (from.Y + to.Y) / 2), field.Outline, tolerancePixels));
        }

        if (Array.TrueForAll(isAway, away => away))
        {
            marks.Add(new OverlayMark(kind, outline, IsClosed: true));
            return;
        }

        int start = Array.IndexOf(isAway, false);
        List<PixelPoint>? line = null;
        for (int step = 1; step <= outline.Count; step++)
        {
            int point = (start + step) % outline.Count;
            if (isAway[point])
            {
                line ??= [outline[point]];
                line.Add(outline[(point + 1) % outline.Count]);
            }
            else if (line is not null)
            {
                marks.Add(new OverlayMark(kind, line, IsClosed: false));
                line = null;
            }
        }
    }

    private static bool IsNear(PixelPoint point, IReadOnlyList<PixelPoint> polygon, double tolerancePixels)
    {
        for (int corner = 0; corner < polygon.Count; corner++)
        {
            PixelPoint a = polygon[corner];
            PixelPoint b = polygon[(corner + 1) % polygon.Count];
            double lengthSquared = ((b.X - a.X) * (b.X - a.X)) + ((b.Y - a.Y) * (b.Y - a.Y));
            double along = lengthSquared == 0 ? 0 : Math.Clamp((((point.X - a.X) * (b.X - a.X)) + ((point.Y - a.Y) * (b.Y - a.Y))) / lengthSquared, 0, 1);
            var foot = new PixelPoint(X: a.X + (along * (b.X - a.X)), Y: a.Y + (along * (b.Y - a.Y)));
            if (point.DistancePixelsTo(foot) <= tolerancePixels)
            {
                return true;
            }
        }

        return false;
    }
}
