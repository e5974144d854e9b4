using System.Text.Json;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Judgement;
using Hotlight.Measure.Document;

namespace Hotlight.Web;

/// <summary>A mark as the viewer takes it; see wwwroot/viewer/types.js.</summary>
public sealed record ViewerMark(string Kind, IReadOnlyList<double[]> Points, bool Closed, string? Label = null);

/// <summary>A style of marks as the viewer takes it.</summary>
public sealed record ViewerMarkStyle(string Kind, string Label, string Layer, string Color, double Width, IReadOnlyList<double> Dash, string Shape);

/// <summary>A window as the viewer takes it.</summary>
public sealed record ViewerWindow(double Center, double Width, string Function);

/// <summary>A landmark as the viewer draws it.</summary>
/// <param name="Id">Identifier in the catalogue.</param>
/// <param name="Label">Its name.</param>
/// <param name="Number">Its number in the list beside the image, from 1.</param>
/// <param name="X">Column, in pixels; null while it is not marked.</param>
/// <param name="Y">Row, in pixels.</param>
public sealed record ViewerLandmark(string Id, string Label, int Number, double? X, double? Y);

/// <summary>The anatomy's histogram as the viewer takes it.</summary>
/// <param name="From">Lower edge of the first bin, in modality values.</param>
/// <param name="BinWidth">Width of a bin.</param>
/// <param name="Anatomy">Pixels of the anatomy in each bin.</param>
public sealed record ViewerHistogram(double From, double BinWidth, IReadOnlyList<long> Anatomy);

/// <summary>Spacing of pixels at the receptor as the viewer takes it, in mm.</summary>
/// <param name="ColumnMm">Between columns.</param>
/// <param name="RowMm">Between rows.</param>
public sealed record ViewerSpacing(double ColumnMm, double RowMm);

/// <summary>What the viewer needs to show a radiograph.</summary>
public sealed record ViewerFacts
{
    /// <summary>Longer side of the picture that is sent first, at most, in pixels: enough to fill a screen's half, a tenth of the bytes.</summary>
    private const int CoarseSidePixels = 800;

    private const string EvidenceKindName = "evidence";

    /// <summary>Where the pixels are.</summary>
    public required string PixelsUrl { get; init; }

    /// <summary>By which block the pixels that are sent first are reduced; 1: none are.</summary>
    public required int CoarseScale { get; init; }

    /// <summary>Where the first display table is.</summary>
    public required string TableUrl { get; init; }

    /// <summary>Where the modality values are.</summary>
    public required string ModalityUrl { get; init; }

    /// <summary>Where the linear signal of every pixel value is, or why there is none.</summary>
    public required string SignalUrl { get; init; }

    /// <summary>Spacing at the receptor; null where it is not known.</summary>
    public ViewerSpacing? Spacing { get; init; }

    /// <summary>Where the spacing comes from, or why there is none; a phrase.</summary>
    public required string SpacingBasis { get; init; }

    /// <summary>Pixel values from and to that are padding; null where the file has none.</summary>
    public IReadOnlyList<int>? Padding { get; init; }

    /// <summary>Columns of the stored image.</summary>
    public required int Columns { get; init; }

    /// <summary>Rows of the stored image.</summary>
    public required int Rows { get; init; }

    /// <summary>Largest pixel value.</summary>
    public required int PixelMaximum { get; init; }

    /// <summary>Whether the highest value after windowing is shown black.</summary>
    public required bool HighIsDark { get; init; }

    /// <summary>The window the image is shown with at first, or the nearest to its table.</summary>
    public required ViewerWindow Window { get; init; }

    /// <summary>Windows from the image's own statistics.</summary>
    public required IReadOnlyList<WindowChoice> Choices { get; init; }

    /// <summary>Histogram of the anatomy; null where it was not found.</summary>
    public ViewerHistogram? Histogram { get; init; }

    /// <summary>Marks of what was measured.</summary>
    public required IReadOnlyList<ViewerMark> Marks { get; init; }

    /// <summary>Outline of the exposed field, to shade what lies outside; null where it cannot be told or is the whole image.</summary>
    public IReadOnlyList<double[]>? Field { get; init; }

    /// <summary>How marks are drawn.</summary>
    public required IReadOnlyList<ViewerMarkStyle> Styles { get; init; }

    /// <summary>Colour under every line.</summary>
    public string CasingColor { get; init; } = MarkStyles.CasingColor;

    /// <summary>How far it reaches beyond the line, in pixels of a 1600-pixel picture.</summary>
    public double CasingPixels { get; init; } = MarkStyles.CasingPixels;

    /// <summary>Every style, the evidence's with them.</summary>
    public static IReadOnlyList<ViewerMarkStyle> AllStyles { get; } =
    [
        .. MarkStyles.All.Select(style => new ViewerMarkStyle(
            Kebab(style.Kind.ToString()), style.Label, LayerOf(style.Kind), style.Color, style.WidthPixels, style.DashPixels, Kebab(style.Shape.ToString()))),
        new ViewerMarkStyle(EvidenceKindName, "Evidence", EvidenceKindName, "#FFFFFF", 3.4, [14, 5], "line"),
    ];

    /// <summary>The facts of a case.</summary>
    /// <param name="id">The case.</param>
    /// <param name="radiograph">Its radiograph; borrowed.</param>
    /// <param name="measurements">What was measured on it.</param>
    public static ViewerFacts Of(Guid id, Radiograph radiograph, MeasurementDocument measurements) => Of($"/cases/{id}", radiograph, measurements);

    /// <summary>The facts of an image.</summary>
    /// <param name="under">Where its pixels and tables are served, without the last part.</param>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="measurements">What was measured on it.</param>
    public static ViewerFacts Of(string under, Radiograph radiograph, MeasurementDocument measurements)
    {
        ArgumentNullException.ThrowIfNull(under);
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(measurements);
        VoiTransform window = DisplayTable.InUse(radiograph);
        return new ViewerFacts
        {
            PixelsUrl = $"{under}/pixels",
            CoarseScale = CoarseScaleOf(radiograph),
            TableUrl = $"{under}/table",
            ModalityUrl = $"{under}/modality",
            SignalUrl = $"{under}/signal",
            Spacing = measurements.Image.Value is { PixelSpacingMm: { } column } image ? new ViewerSpacing(column, image.RowSpacingMm ?? column) : null,
            SpacingBasis = measurements.Image.Value?.PixelSpacingMm is null ? "the file gives no pixel spacing" : radiograph.SpacingBasis ?? "given by the reader",
            Padding = PaddingOf(radiograph),
            Choices = WindowChoices.Of(radiograph, measurements),
            Histogram = measurements.Display.Value?.Histogram is { } counted ? new ViewerHistogram(counted.From, counted.BinWidth, counted.Anatomy) : null,
            Columns = radiograph.Columns,
            Rows = radiograph.Rows,
            PixelMaximum = radiograph.PixelMaximum,
            HighIsDark = radiograph.HighIsShownDark,
            Window = window.Table is { } table
                ? new ViewerWindow(table.FirstMapped + (table.Entries.Length / 2.0), table.Entries.Length, "linear-exact")
                : new ViewerWindow(window.Center, window.Width, Kebab(window.Function.ToString())),
            Marks = MarksOf(measurements, radiograph.Columns, radiograph.Rows),
            Field = measurements.Field.Value is { Outline.Count: >= 3 } field && !CoversAll(field.Outline, radiograph) ? Points(field.Outline) : null,
            Styles = AllStyles,
        };
    }

    /// <summary>Marks of what was measured.</summary>
    /// <param name="measurements">The document.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public static IReadOnlyList<ViewerMark> MarksOf(MeasurementDocument measurements, int columns, int rows)
        => [.. OverlayMarks.From(measurements, columns, rows).Select(mark => new ViewerMark(Kebab(mark.Kind.ToString()), Points(mark.Points), mark.IsClosed))];

    /// <summary>The evidence of a line as marks.</summary>
    /// <param name="line">The line; null for none.</param>
    public static IReadOnlyList<ViewerMark> EvidenceOf(ChecklistLine? line)
        => line is null
            ? []
            : [.. line.Evidence.SelectMany(evidence => evidence.Outlines.Where(outline => outline.Count > 0).Select((outline, place) =>
                new ViewerMark(StyleOf(evidence.Kind), Points(outline), evidence.Closed, place == 0 ? LabelOf(evidence.Kind) : null)))];

    private static int CoarseScaleOf(Radiograph radiograph)
    {
        int scale = 1;
        while (Math.Max(radiograph.Columns, radiograph.Rows) / scale > CoarseSidePixels)
        {
            scale *= 2;
        }

        return scale;
    }

    private static int[]? PaddingOf(Radiograph radiograph)
        => radiograph.Padding is { } padding
            ? [Math.Clamp(padding.FromStoredValue - radiograph.StoredMinimum, 0, radiograph.PixelMaximum), Math.Clamp(padding.ToStoredValue - radiograph.StoredMinimum, 0, radiograph.PixelMaximum)]
            : null;

    /// <summary>Whether a field leaves less than 0.1 % of the image outside: too little to shade.</summary>
    private static bool CoversAll(IReadOnlyList<PixelPoint> outline, Radiograph radiograph)
    {
        double twice = 0;
        for (int place = 0; place < outline.Count; place++)
        {
            (PixelPoint from, PixelPoint to) = (outline[place], outline[(place + 1) % outline.Count]);
            twice += (from.X * to.Y) - (to.X * from.Y);
        }

        return Math.Abs(twice) / 2 >= 0.999 * radiograph.Columns * radiograph.Rows;
    }

    private static IReadOnlyList<double[]> Points(IReadOnlyList<PixelPoint> points)
        => [.. points.Select(point => new[] { Math.Round(point.X, 2), Math.Round(point.Y, 2) })];

    private static string Kebab(string name) => JsonNamingPolicy.KebabCaseLower.ConvertName(name);

    private static string LayerOf(MarkKind kind) => kind switch
    {
        MarkKind.FieldBeamEdge or MarkKind.FieldMaskEdge or MarkKind.FieldReceptorEdge => "field",
        MarkKind.SkinOutline => "skin",
        MarkKind.TighterField => "tighter",
        MarkKind.LostSkin => "lost",
        MarkKind.MottlePlace => "mottle",
        MarkKind.SharpEdge => "edges",
        MarkKind.SideMarker => "markers",
        MarkKind.Artifact => "artifacts",
        _ => "field",
    };

    private static string StyleOf(EvidenceKind kind) => kind switch
    {
        EvidenceKind.Field => Kebab(nameof(MarkKind.FieldBeamEdge)),
        EvidenceKind.Anatomy => Kebab(nameof(MarkKind.SkinOutline)),
        EvidenceKind.TighterField => Kebab(nameof(MarkKind.TighterField)),
        EvidenceKind.LostSkin => Kebab(nameof(MarkKind.LostSkin)),
        EvidenceKind.MottlePlace => Kebab(nameof(MarkKind.MottlePlace)),
        EvidenceKind.SharpEdge => Kebab(nameof(MarkKind.SharpEdge)),
        EvidenceKind.SideMarker => Kebab(nameof(MarkKind.SideMarker)),
        EvidenceKind.Artifact => Kebab(nameof(MarkKind.Artifact)),
        _ => EvidenceKindName,
    };

    private static string LabelOf(EvidenceKind kind) => kind switch
    {
        EvidenceKind.Field => "field",
        EvidenceKind.Anatomy => "skin outline",
        EvidenceKind.TighterField => "tighter field",
        EvidenceKind.LostSkin => "skin line lost",
        EvidenceKind.MottlePlace => "mottle measured here",
        EvidenceKind.CutSide => "the body leaves here",
        EvidenceKind.SharpEdge => "edge blur measured here",
        EvidenceKind.SideMarker => "side marker",
        EvidenceKind.Artifact => "found here",
        _ => "evidence",
    };
}
