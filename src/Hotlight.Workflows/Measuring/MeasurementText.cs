using System.Globalization;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Workflows.Measuring;

/// <summary>One section of a measurement document in words.</summary>
/// <param name="Section">The section's name, as in the document.</param>
/// <param name="IsMeasured">Whether it was measured.</param>
/// <param name="Sentence">The figures with units and one standard deviation, or why it cannot be told.</param>
public sealed record MeasurementLine(string Section, bool IsMeasured, string Sentence);

/// <summary>A measurement document in words, a line a section. Figures are written alike under every culture: a point before decimals, ± one standard deviation.</summary>
public static class MeasurementText
{
    private static readonly CultureInfo Plain = CultureInfo.InvariantCulture;

    /// <summary>The document's sections in words, in the document's order.</summary>
    /// <param name="document">The document.</param>
    public static IReadOnlyList<MeasurementLine> Lines(MeasurementDocument document)
    {
        ArgumentNullException.ThrowIfNull(document);
        return
        [
            Line("image", document.Image, Image),
            Line("field", document.Field, Field),
            Line("anatomy", document.Anatomy, Anatomy),
            Line("collimation", document.Collimation, Collimation),
            Line("exposure", document.Exposure, Exposure),
            Line("mottle", document.Mottle, Mottle),
            Line("clipping", document.Clipping, Clipping),
            Line("sharpness", document.Sharpness, Sharpness),
            Line("markers", document.Markers, Markers),
            Line("artifacts", document.Artifacts, Artifacts),
            Line("display", document.Display, Display),
            Line("processing", document.Processing, processing => processing.Signs.Count == 0 ? "no sign of processing in the pixels" : string.Join(" ", processing.Signs)),
        ];
    }

    private static string Percent(double value, double? uncertainty) => FigureText.Write(value, uncertainty, " %", 1, mostDecimals: 1);

    private static string Signed(double value, string format) => value.ToString(format, Plain);

    private static MeasurementLine Line<T>(string section, Figure<T> figure, Func<T, string> words)
        where T : class
        => figure.IsMeasured
            ? new MeasurementLine(section, true, words(figure.Value))
            : new MeasurementLine(section, false, figure.Why);

    private static string Image(ImageFacts image)
    {
        string spacing = image switch
        {
            { PixelSpacingMm: { } columns, RowSpacingMm: { } rows } => string.Create(Plain, $"{columns:0.###} mm along a row and {rows:0.###} mm along a column"),
            { PixelSpacingMm: { } columns } => string.Create(Plain, $"{columns:0.###} mm a pixel at the receptor"),
            _ => "pixel spacing unknown, so no figure in mm",
        };
        string intent = image.PresentationIntent switch
        {
            Imaging.PresentationIntent.ForProcessing => "for processing",
            Imaging.PresentationIntent.ForPresentation => "for presentation",
            _ => "intent unknown",
        };
        return string.Create(Plain, $"{image.Columns} × {image.Rows} pixels, {image.BitsStored} bits, {spacing}; bone shown {(image.BoneIs == BoneShade.Bright ? "bright" : "dark")}; {intent}");
    }

    private static string Field(FieldMeasurement field)
    {
        string area = field.AreaMm2 is { } mm2
            ? FigureText.Write(mm2 / 100, field.AreaMm2Uncertainty / 100, " cm², ", 1, mostDecimals: 1)
            : string.Empty;
        IEnumerable<string> sides = field.Sides.Select(side => string.Create(
            Plain,
            $"{side.Side.ToString().ToLowerInvariant()} {side.Edge.ToString().ToLowerInvariant()}{(side.Edge == FieldEdge.Receptor ? string.Empty : Signed(side.TiltDegrees, " +0.0°; −0.0°; 0.0°"))}"));
        return $"{area}{Percent(field.AreaPercentOfImage, field.AreaPercentOfImageUncertainty)} of the image; {string.Join(", ", sides)}";
    }

    private static string Anatomy(AnatomyMeasurement anatomy)
    {
        string bone = anatomy.BoneIsPercentOfAnatomy is { } share
            ? $"; bone {Percent(share, anatomy.BoneIsPercentOfAnatomyUncertainty)} of it"
            : string.Empty;
        string leaves = anatomy.Leaves.Count == 0
            ? "; it lies wholly in the field"
            : $"; it leaves the field at the {string.Join(" and ", anatomy.Leaves.Select(side => side.ToString().ToLowerInvariant()))}";
        return $"{Percent(anatomy.PercentOfField, anatomy.PercentOfFieldUncertainty)} of the field{bone}{leaves}";
    }

    private static string Collimation(CollimationMeasurement collimation)
    {
        string margin = collimation.SkinMarginMm is { } mm
            ? string.Create(Plain, $"with {mm:0.#} mm of skin margin")
            : "with the usual skin margin";
        string tighter = collimation.AreaReductionPercent < 0.5
            ? $"no smaller rectangle keeps the anatomy {margin}"
            : string.Create(Plain, $"a field {margin} would be {collimation.AreaReductionPercent:0.#} % smaller");
        return $"{Percent(collimation.EmptyPercentOfField, collimation.EmptyPercentOfFieldUncertainty)} of the field is empty; {tighter}";
    }

    private static string Exposure(ExposureMeasurement exposure)
    {
        string target = exposure is { TargetExposureIndex: { } wanted, DeviationIndex: { } deviation }
            ? string.Create(Plain, $", target {wanted:0.#}, deviation index {deviation:+0.00;−0.00;0.00}{(exposure.DeviationIndexUncertainty is { } sigma ? Signed(sigma, " ± 0.00") : string.Empty)}")
            : ", no target known";
        string agrees = exposure.HeaderAgrees switch
        {
            true => "; the header's three figures agree",
            false => "; the header's three figures do not agree with each other",
            null => string.Empty,
        };

        // An index that somebody wrote down is shown as written, so that it is found again on the console; only a measured one is rounded to its uncertainty.
        string index = exposure.Basis == ExposureBasis.Pixels
            ? FigureText.Write(exposure.ExposureIndex, exposure.ExposureIndexUncertainty, string.Empty, 0, mostDecimals: 1)
            : string.Create(Plain, $"{exposure.ExposureIndex:0.#}{(exposure.ExposureIndexUncertainty is { } spread ? Signed(spread, " ± 0") : string.Empty)}");
        return $"exposure index {index}{target}; "
            + $"{FigureText.Write(exposure.ReceptorAirKermaMicrogray, exposure.ReceptorAirKermaMicrograyUncertainty, " µGy", 2)} at the receptor; from the {exposure.Basis.ToString().ToLowerInvariant()}{agrees}";
    }

    private static string Mottle(MottleMeasurement mottle)
        => $"noise {FigureText.Write(mottle.RelativeNoisePercent, mottle.RelativeNoisePercentUncertainty, " %", 2)} of the {mottle.Scale ?? "signal"}, "
            + (mottle.Over is null or "places" ? string.Empty : $"over {mottle.Over}, ")
            + string.Create(Plain, $"signal to noise {mottle.SignalToNoise:0.#}; {(mottle.Visible ? "visible" : "not visible")}")
            + (mottle.IdealReceptorKermaMicrogray is { } ideal ? $"; as noisy as {FigureText.Write(ideal, mottle.IdealReceptorKermaMicrograyUncertainty, " µGy", 2)} on a receptor that counts every photon" : string.Empty);

    private static string Clipping(ClippingMeasurement clipping)
    {
        string skin = clipping.SkinLineLostPercent is { } lost
            ? string.Create(Plain, $"; skin line lost along {lost:0.#} %")
            : "; no skin line in the field";
        return string.Create(Plain, $"{(clipping.SaturatedIsAtLeast == true ? "at least " : string.Empty)}{clipping.SaturatedPercentOfAnatomy:0.##} % of the anatomy burned out, {clipping.FloorPercentOfAnatomy:0.##} % at the floor{skin}");
    }

    private static string Artifacts(ArtifactsMeasurement artifacts)
    {
        string found = artifacts.Found.Count == 0
            ? "none found"
            : string.Join("; ", artifacts.Found.GroupBy(artifact => artifact.Kind).Select(group => Artifact(group.Key, [.. group])));
        return artifacts.CannotTell is { Count: > 0 } cannot ? $"{found}. {string.Join(" ", cannot)}" : found;
    }

    private static string Artifact(ArtifactKind kind, FoundArtifact[] found)
    {
        FoundArtifact first = found[0];
        string of = first.ContrastPercent is { } contrast
            ? string.Create(Plain, $", {contrast:0.##} % of the {(first.ContrastBasis == "range" ? "grey range" : "signal")}")
            : string.Empty;
        string lines = first switch
        {
            { LinesPerMm: { } perMm } => string.Create(Plain, $" at {perMm:0.##} per mm, {first.AngleDegrees:0.#}° to the rows"),
            { LinesPerPixel: { } perPixel } => string.Create(Plain, $" at {perPixel:0.####} per pixel, {first.AngleDegrees:0.#}° to the rows"),
            _ => string.Empty,
        };
        IEnumerable<string> places = found.Select(artifact => kind switch
        {
            ArtifactKind.DeadLine or ArtifactKind.GainStep => artifact.AngleDegrees == 90 ? string.Create(Plain, $"column {artifact.Center.X:0.#}") : string.Create(Plain, $"row {artifact.Center.Y:0.#}"),
            _ => string.Create(Plain, $"column {artifact.Center.X:0}, row {artifact.Center.Y:0}{(artifact.AreaMm2 is { } area ? string.Create(Plain, $" ({area:0.#} mm²)") : string.Empty)}"),
        });
        return kind switch
        {
            ArtifactKind.GridLines => $"grid lines{lines}{of}",
            ArtifactKind.Banding => $"bands {(first.AngleDegrees == 90 ? "down the columns" : "along the rows")}{lines}{of}",
            ArtifactKind.DeadPixels => string.Create(Plain, $"{first.Pixels} dead elements"),
            ArtifactKind.DeadLine => $"dead line at {string.Join(", ", places)}",
            ArtifactKind.GainStep => $"step of gain at {string.Join(", ", places)}{of}",
            ArtifactKind.ForeignObject => $"dense object with sharp edges at {string.Join(", ", places)}",
            ArtifactKind.GridCutOff => "fall of signal that a grid off centre explains",
            _ => "two exposures over each other",
        };
    }

    private static string Markers(MarkersMeasurement markers)
        => markers.Found.Count == 0 ? "none found" : string.Join("; ", markers.Found.Select(Marker));

    private static string Marker(FoundMarker marker)
    {
        string height = marker.HeightMm is { } mm ? string.Create(Plain, $", {mm:0.#} mm high") : string.Empty;
        string turn = Math.Abs(marker.RotationDegrees) < 2 ? string.Empty : string.Create(Plain, $", turned {Math.Abs(marker.RotationDegrees):0}° {(marker.RotationDegrees > 0 ? "clockwise" : "anticlockwise")}");
        string place = marker.InsideField ? "in the field" : "outside the field";
        string cut = marker.CutByEdge == true ? ", cut by the edge" : string.Empty;
        string over = marker.OverDenseAnatomy == true ? ", over dense anatomy" : marker.OverAnatomy ? ", over anatomy" : string.Empty;
        string side = (marker.AgreesWithHeader, marker.OnItsSide) switch
        {
            (false, _) => ", not the side that the header names",
            (true, _) => ", the side that the header names",
            (_, false) => ", not on its side of the patient by the header's orientation",
            (_, true) => ", on its side of the patient by the header's orientation",
            _ => string.Empty,
        };
        string faint = marker.Faint == true ? ", faint: perhaps an after-image of an earlier exposure" : string.Empty;
        return $"{marker.Word ?? marker.Letter} {(marker.Kind == MarkerKind.Lead ? "of lead" : "drawn afterwards")}{(marker.Mirrored ? ", mirrored" : string.Empty)}{height}{turn}, {place}{cut}{over}{side}{faint}";
    }

    private static string Sharpness(SharpnessMeasurement sharpness)
    {
        string blur = sharpness.EdgeBlurMm is { } mm
            ? $"edge blur (sigma) {FigureText.Write(mm, sharpness.EdgeBlurMmUncertainty, " mm", 2)}"
            : "pixel spacing unknown, so no blur in mm";
        string direction = sharpness.DirectionRatio is { } ratio
            ? $"; {FigureText.Write(ratio, sharpness.DirectionRatioUncertainty, " times", 2)} as wide in its worst direction"
            : string.Empty;
        string motion = sharpness switch
        {
            { Motion: MotionSign.Seen, DirectionDegrees: { } degrees } => $"; motion seen, {(sharpness.MotionMm is { } way ? FigureText.Write(way, sharpness.MotionMmUncertainty, " mm ", 1) : string.Empty)}along {FigureText.Write(degrees, sharpness.DirectionDegreesUncertainty, "°", 0)} (0° along a row, 90° down a column)",
            { Motion: MotionSign.NotSeen } => "; motion not seen (a way below about 0.8 mm may be missed)",
            _ => $"; {LowerFirst(sharpness.DirectionWhy ?? "Motion cannot be told.").TrimEnd('.')}",
        };
        string twice = sharpness.DoubleContourMm is { } apart ? string.Create(Plain, $"; contours seen twice, {apart:0.0} mm apart") : string.Empty;
        string enhanced = sharpness.EdgeEnhancementSeen == true ? "; edges show the halo of edge enhancement" : string.Empty;
        string expected = sharpness.ExpectedGeometricBlurMm is { } geometric ? string.Create(Plain, $"; {geometric:0.###} mm expected from the {sharpness.ExpectedGeometricBlurBasis}") : string.Empty;
        return blur + direction + motion + twice + enhanced + expected;
    }

    private static string LowerFirst(string sentence) => sentence.Length == 0 ? sentence : char.ToLowerInvariant(sentence[0]) + sentence[1..];

    private static string Display(DisplayMeasurement display)
    {
        string lost = display is { BelowWindowPercentOfAnatomy: { } below, AboveWindowPercentOfAnatomy: { } above } && below + above >= 0.05
            ? string.Create(Plain, $"; the window hides {below:0.#} % of the anatomy below it and {above:0.#} % above")
            : string.Empty;
        string proposed = display is { ProposedWindowCenter: { } center, ProposedWindowWidth: { } width }
            ? string.Create(Plain, $"; the anatomy's own range is {center:0.#} / {width:0.#}")
            : string.Empty;
        string overshoot = display.EdgeOvershootPercent is { } percent
            ? $"; overshoot beside the skin line {Percent(percent, display.EdgeOvershootPercentUncertainty)}"
            : string.Empty;
        return string.Create(Plain, $"window {display.WindowCenter:0.#} / {display.WindowWidth:0.#}{(display.WindowBasis is null ? string.Empty : $" (from the {display.WindowBasis})")}; contrast {display.ContrastPercent:0.#} %, mean brightness {display.MeanBrightnessPercent:0.#} % over the anatomy")
            + lost + proposed + overshoot;
    }
}
