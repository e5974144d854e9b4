using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing;

/// <summary>One line of a legend.</summary>
/// <param name="Label">What is given; for a note the whole sentence.</param>
/// <param name="Value">The figure with its unit; null for a note.</param>
/// <param name="Key">The mark it explains; null for none.</param>
internal sealed record LegendLine(string Label, string? Value = null, MarkKind? Key = null);

/// <summary>A titled part of a legend.</summary>
internal sealed record LegendSection(string Title, IReadOnlyList<LegendLine> Lines);

/// <summary>What a legend says of a document: every figure with its uncertainty, and what cannot be told with its reason.</summary>
internal static class Legend
{
    /// <summary>The caution that every picture carries.</summary>
    public const string Caution = "For education and quality improvement. Not a diagnostic device, and it gives no diagnosis: local protocols, regulations and licensed practitioners decide.";

    /// <summary>The sections of a legend, in the order of the document.</summary>
    /// <param name="document">The document.</param>
    /// <param name="radiograph">The radiograph it measures.</param>
    /// <param name="showsMarks">Whether marks are drawn; without them the legend has no samples, and says what the labels at the sides would.</param>
    public static IReadOnlyList<LegendSection> Of(MeasurementDocument document, Radiograph radiograph, bool showsMarks)
    {
        IReadOnlySet<MarkKind> drawn = showsMarks
            ? OverlayMarks.From(document, radiograph.Columns, radiograph.Rows).Select(mark => mark.Kind).ToHashSet()
            : new HashSet<MarkKind>();
        var sections = new List<LegendSection>();
        if (document.Field.Value is { } field)
        {
            sections.Add(Field(field, radiograph, showsMarks));
        }

        if (document.Anatomy.Value is { } anatomy)
        {
            sections.Add(Anatomy(anatomy, drawn));
        }

        if (document.Collimation.Value is { } collimation)
        {
            sections.Add(Collimation(collimation, drawn));
        }

        if (document.Exposure.Value is { } exposure)
        {
            sections.Add(Exposure(exposure));
        }

        if (document.Clipping.Value is { } clipping)
        {
            sections.Add(Clipping(clipping, drawn));
        }

        if (document.Mottle.Value is { } mottle)
        {
            sections.Add(Mottle(mottle, drawn));
        }

        if (document.Sharpness.Value is { } sharpness)
        {
            sections.Add(Sharpness(sharpness, drawn));
        }

        if (document.Markers.Value is { } markers)
        {
            sections.Add(Markers(markers, drawn));
        }

        if (document.Artifacts.Value is { } artifacts)
        {
            sections.Add(Artifacts(artifacts, drawn));
        }

        if (document.Display.Value is { } display)
        {
            sections.Add(Display(display));
        }

        if (document.Processing.Value is { Signs.Count: > 0 } processing)
        {
            sections.Add(new LegendSection("Processing", [.. processing.Signs.Select(sign => new LegendLine(sign))]));
        }

        if (Untold(document) is { Count: > 0 } untold)
        {
            sections.Add(new LegendSection("Cannot tell", untold));
        }

        if (radiograph.Remarks.Count > 0)
        {
            sections.Add(new LegendSection("Remarks on the file", [.. radiograph.Remarks.Select(remark => new LegendLine(remark))]));
        }

        return sections;
    }

    /// <summary>The figures of a document on one short line, for a tile; what cannot be told is left out.</summary>
    public static IReadOnlyList<string> Brief(MeasurementDocument document)
    {
        var figures = new List<string>();
        if (document.Field.Value is { } field)
        {
            figures.Add("field " + FigureText.Write(field.AreaPercentOfImage, null, " %", 0));
        }

        if (document.Collimation.Value is { } collimation)
        {
            figures.Add("empty " + FigureText.Write(collimation.EmptyPercentOfField, null, " %", 0));
        }

        if (document.Exposure.Value is { } exposure)
        {
            figures.Add(exposure.DeviationIndex is { } deviation
                ? "DI " + FigureText.Write(deviation, null, string.Empty, 1, signed: true)
                : "EI " + FigureText.Write(exposure.ExposureIndex, null, string.Empty, 0));
        }

        if (document.Mottle.Value is { } mottle)
        {
            figures.Add("noise " + FigureText.Write(mottle.RelativeNoisePercent, null, " %", 1, mostDecimals: 1));
        }

        if (document.Clipping.Value is { SkinLineLostPercent: >= 0.5 } clipping)
        {
            figures.Add("skin lost " + FigureText.Write(clipping.SkinLineLostPercent.Value, null, " %", 0));
        }

        return figures;
    }

    /// <summary>Words for what ends a field.</summary>
    public static string Words(FieldEdge edge) => edge switch
    {
        FieldEdge.Beam => "beam edge",
        FieldEdge.Mask => "mask edge",
        FieldEdge.Receptor => "receptor edge",
        _ => throw new ArgumentOutOfRangeException(nameof(edge), edge, "Not an edge of a field."),
    };

    /// <summary>Words for several sides.</summary>
    public static string Words(IEnumerable<FieldSide> sides)
    {
        FieldSide[] distinct = [.. sides.Distinct().Order()];
        return distinct.Length == 4 ? "all sides" : string.Join(", ", distinct.Select(Words));
    }

    /// <summary>Words for a side.</summary>
    public static string Words(FieldSide side) => side switch
    {
        FieldSide.Top => "top",
        FieldSide.Right => "right",
        FieldSide.Bottom => "bottom",
        FieldSide.Left => "left",
        _ => throw new ArgumentOutOfRangeException(nameof(side), side, "Not a side of a field."),
    };

    private static LegendSection Field(FieldMeasurement field, Radiograph radiograph, bool showsMarks)
    {
        var lines = new List<LegendLine>();
        foreach (IGrouping<FieldEdge, FieldOutlinePiece> group in OverlayMarks.PiecesOf(field, radiograph.Columns, radiograph.Rows).GroupBy(piece => piece.Edge).OrderBy(group => group.Key))
        {
            MarkKind kind = OverlayMarks.KindOf(group.Key);
            lines.Add(new LegendLine(
                MarkStyles.Of(kind).Label["Field, ".Length..],
                Words(group.Select(piece => piece.Side)),
                showsMarks ? kind : null));
        }

        foreach (FieldSideMeasurement side in field.Sides.Where(side => side.Edge != FieldEdge.Receptor && !showsMarks))
        {
            lines.Add(new LegendLine($"tilt, {Words(side.Side)}", FigureText.Write(side.TiltDegrees, side.TiltDegreesUncertainty, "°", 1, mostDecimals: 1)));
        }

        lines.Add(new LegendLine("share of the image", FigureText.Write(field.AreaPercentOfImage, field.AreaPercentOfImageUncertainty, " %", 1, mostDecimals: 1)));
        if (field.AreaMm2 is { } area)
        {
            lines.Add(new LegendLine("area at the receptor", FigureText.Write(area, field.AreaMm2Uncertainty, " mm²", 0)));
        }

        return new LegendSection("Exposed field", lines);
    }

    private static LegendSection Anatomy(AnatomyMeasurement anatomy, IReadOnlySet<MarkKind> drawn)
    {
        var lines = new List<LegendLine>();
        AddKey(lines, drawn, MarkKind.SkinOutline, "skin outline");
        lines.Add(new LegendLine("share of the field", FigureText.Write(anatomy.PercentOfField, anatomy.PercentOfFieldUncertainty, " %", 1, mostDecimals: 1)));
        if (anatomy.BoneIsPercentOfAnatomy is { } bone)
        {
            lines.Add(new LegendLine("bone in the anatomy", FigureText.Write(bone, anatomy.BoneIsPercentOfAnatomyUncertainty, " %", 1, mostDecimals: 1)));
        }

        if (anatomy.Leaves.Count > 0)
        {
            lines.Add(new LegendLine("leaves the field at", Words(anatomy.Leaves)));
        }

        return new LegendSection("Anatomy", lines);
    }

    private static LegendSection Collimation(CollimationMeasurement collimation, IReadOnlySet<MarkKind> drawn)
    {
        var lines = new List<LegendLine>
        {
            new("empty part of the field", FigureText.Write(collimation.EmptyPercentOfField, collimation.EmptyPercentOfFieldUncertainty, " %", 1, mostDecimals: 1)),
        };
        AddKey(lines, drawn, MarkKind.TighterField, "tighter field", collimation.AreaReductionPercent < OverlayMarks.LeastReductionPercent
            ? "no smaller than the field"
            : "smaller by " + FigureText.Write(collimation.AreaReductionPercent, null, " %", 0));
        if (collimation.SkinMarginMm is { } margin)
        {
            lines.Add(new LegendLine("skin margin kept", FigureText.Write(margin, null, " mm", 0)));
        }

        if (collimation.SkinToEdgeMm is { Count: 4 } free)
        {
            lines.Add(new LegendLine(
                "skin to edge",
                string.Join("  ", Enum.GetValues<FieldSide>().Select(side => "↑→↓←"[(int)side] + FigureText.Number(free[(int)side], 0))) + " mm"));
        }

        return new LegendSection("Collimation", lines);
    }

    private static LegendSection Exposure(ExposureMeasurement exposure)
    {
        var lines = new List<LegendLine>
        {
            // One that somebody wrote down is shown as written, so that it is found again on the console.
            new("exposure index", exposure.Basis == ExposureBasis.Pixels || exposure.ExposureIndexUncertainty is not { } spread
                ? FigureText.Write(exposure.ExposureIndex, exposure.ExposureIndexUncertainty, string.Empty, 0)
                : $"{FigureText.Number(exposure.ExposureIndex, 0)} ± {FigureText.Number(spread, 0)}"),
            new("target index", exposure.TargetExposureIndex is { } target ? FigureText.Write(target, null, string.Empty, 0) : "not known"),
        };
        if (exposure.DeviationIndex is { } deviation)
        {
            lines.Add(new LegendLine("deviation index", FigureText.Write(deviation, exposure.DeviationIndexUncertainty, string.Empty, 2, signed: true)));
        }

        lines.Add(new LegendLine("receptor air kerma", FigureText.Write(exposure.ReceptorAirKermaMicrogray, exposure.ReceptorAirKermaMicrograyUncertainty, " µGy", 2)));
        string basis = exposure.Basis switch
        {
            ExposureBasis.Header => "the header",
            ExposureBasis.Pixels => "the pixels",
            ExposureBasis.Reader => "the reader",
            _ => throw new ArgumentOutOfRangeException(nameof(exposure), exposure.Basis, "Not a basis of an exposure figure."),
        };
        lines.Add(new LegendLine("taken from", exposure.HeaderAgrees switch
        {
            true => basis + ", which agrees",
            false => basis + "; the header's three figures do not agree",
            null => basis,
        }));
        return new LegendSection("Exposure", lines);
    }

    private static LegendSection Clipping(ClippingMeasurement clipping, IReadOnlySet<MarkKind> drawn)
    {
        var lines = new List<LegendLine>
        {
            new("saturated anatomy", FigureText.Write(clipping.SaturatedPercentOfAnatomy, null, " %", 1, mostDecimals: 1)),
            new("anatomy at the floor", FigureText.Write(clipping.FloorPercentOfAnatomy, null, " %", 1, mostDecimals: 1)),
        };
        if (clipping.SkinLineLostPercent is { } lost)
        {
            lines.Add(new LegendLine("skin line lost", FigureText.Write(lost, null, " %", 1, mostDecimals: 1), drawn.Contains(MarkKind.LostSkin) ? MarkKind.LostSkin : null));
        }
        else
        {
            lines.Add(new LegendLine("skin line lost", "no skin line in the field"));
        }

        return new LegendSection("Clipping", lines);
    }

    private static LegendSection Mottle(MottleMeasurement mottle, IReadOnlySet<MarkKind> drawn)
    {
        var lines = new List<LegendLine>();
        AddKey(lines, drawn, MarkKind.MottlePlace, "measured here", FormattableString.Invariant($"{mottle.Places.Count} places"));
        lines.Add(new LegendLine(mottle.Scale is { } scale ? $"noise, {scale}" : "noise over mean signal", FigureText.Write(mottle.RelativeNoisePercent, mottle.RelativeNoisePercentUncertainty, " %", 2)));
        lines.Add(new LegendLine("signal to noise", FigureText.Write(mottle.SignalToNoise, null, string.Empty, 1)));
        lines.Add(new LegendLine("visible by the rule", mottle.Visible ? "yes" : "no"));
        return new LegendSection("Mottle", lines);
    }

    private static LegendSection Sharpness(SharpnessMeasurement sharpness, IReadOnlySet<MarkKind> drawn)
    {
        var lines = new List<LegendLine>();
        AddKey(lines, drawn, MarkKind.SharpEdge, "measured here", string.Empty);
        if (sharpness.EdgeBlurMm is { } blur)
        {
            lines.Add(new LegendLine("edge blur (sigma)", FigureText.Write(blur, sharpness.EdgeBlurMmUncertainty, " mm", 2)));
        }

        if (sharpness.DirectionRatio is { } ratio)
        {
            lines.Add(new LegendLine("worst over best direction", FigureText.Write(ratio, sharpness.DirectionRatioUncertainty, string.Empty, 2)));
        }

        lines.Add(new LegendLine("movement", sharpness switch
        {
            { Motion: MotionSign.Seen, DirectionDegrees: { } degrees } => "seen, along " + FigureText.Write(degrees, sharpness.DirectionDegreesUncertainty, "°", 0),
            { Motion: MotionSign.NotSeen } => "not seen",
            _ => "cannot tell",
        }));
        return new LegendSection("Sharpness", lines);
    }

    private static LegendSection Markers(MarkersMeasurement markers, IReadOnlySet<MarkKind> drawn)
        => new("Side markers", markers.Found.Count == 0
            ? [new LegendLine("letters found", "none")]
            : [.. markers.Found.Select((marker, place) => new LegendLine(
                (marker.Word ?? marker.Letter) + (marker.Kind == MarkerKind.Lead ? ", lead" : ", drawn"),
                (marker.InsideField ? "in the field" : "outside the field") + (marker.OverAnatomy ? ", over the body" : string.Empty) + (marker.Mirrored ? ", mirrored" : string.Empty),
                place == 0 && drawn.Contains(MarkKind.SideMarker) ? MarkKind.SideMarker : null))]);

    private static LegendSection Artifacts(ArtifactsMeasurement artifacts, IReadOnlySet<MarkKind> drawn)
    {
        if (artifacts.Found.Count == 0)
        {
            return new LegendSection("Artifacts", [new LegendLine("found", "none")]);
        }

        var lines = new List<LegendLine>();
        foreach (IGrouping<ArtifactKind, FoundArtifact> kind in artifacts.Found.GroupBy(artifact => artifact.Kind))
        {
            string value = kind.Key is ArtifactKind.GridLines or ArtifactKind.Banding && kind.First().LinesPerMm is { } lines1
                ? FigureText.Write(lines1, null, " per mm", 2)
                : kind.Key is ArtifactKind.GridLines or ArtifactKind.Banding or ArtifactKind.GridCutOff or ArtifactKind.DoubleExposure
                    ? "seen"
                    : FormattableString.Invariant($"{kind.Count()}");
            bool isDrawn = drawn.Contains(MarkKind.Artifact) && kind.SelectMany(EvidenceShapes.Of).Any();
            lines.Add(new LegendLine(Words(kind.Key), value, isDrawn ? MarkKind.Artifact : null));
        }

        return new LegendSection("Artifacts", lines);
    }

    private static string Words(ArtifactKind kind) => kind switch
    {
        ArtifactKind.GridLines => "grid lines",
        ArtifactKind.DeadLine => "dead lines",
        ArtifactKind.DeadPixels => "dead elements",
        ArtifactKind.ForeignObject => "dense objects",
        ArtifactKind.GainStep => "gain steps",
        ArtifactKind.Banding => "banding",
        ArtifactKind.GridCutOff => "grid cut-off",
        ArtifactKind.DoubleExposure => "double exposure",
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, "Not a kind of artifact."),
    };

    private static LegendSection Display(DisplayMeasurement display) => new(
        "Display",
        [
            new LegendLine("window center", FigureText.Number(display.WindowCenter, 0)),
            new LegendLine("window width", FigureText.Number(display.WindowWidth, 0) + display.WindowBasis switch
            {
                "file" => ", from the file",
                "anatomy" => ", from the anatomy",
                _ => string.Empty,
            }),
            new LegendLine("contrast in the anatomy", FigureText.Write(display.ContrastPercent, null, " %", 0)),
            new LegendLine("mean brightness", FigureText.Write(display.MeanBrightnessPercent, null, " %", 0)),
        ]);

    private static List<LegendLine> Untold(MeasurementDocument document)
    {
        var lines = new List<LegendLine>();
        Add("Image", document.Image);
        Add("Field", document.Field);
        Add("Anatomy", document.Anatomy);
        Add("Collimation", document.Collimation);
        Add("Exposure", document.Exposure);
        Add("Clipping", document.Clipping);
        Add("Mottle", document.Mottle);
        Add("Sharpness", document.Sharpness);
        Add("Markers", document.Markers);
        Add("Artifacts", document.Artifacts);
        Add("Display", document.Display);
        Add("Processing", document.Processing);
        return lines;

        void Add<T>(string name, Figure<T> figure)
            where T : class
        {
            if (!figure.IsMeasured)
            {
                lines.Add(new LegendLine($"{name}: {figure.Why}"));
            }
        }
    }

    private static void AddKey(List<LegendLine> lines, IReadOnlySet<MarkKind> drawn, MarkKind kind, string label, string? value = null)
    {
        if (drawn.Contains(kind))
        {
            lines.Add(new LegendLine(label, value ?? string.Empty, kind));
        }
        else if (value is not null)
        {
            lines.Add(new LegendLine(label, value));
        }
    }
}
