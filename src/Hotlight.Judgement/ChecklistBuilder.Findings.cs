using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <content>Lines on blur, markers, artifacts and processing: what was found, and what stays for the reader.</content>
internal sealed partial class ChecklistBuilder
{
    private ChecklistLine SharpnessLine()
    {
        ChecklistLine line = Line("sharpness.edges", ChecklistSection.Sharpness, Texts.Get("line.sharpness"), Weight.Repeat, true, "common-practice", "hotlight-rule") with
        {
            Misses = SharpnessMisses,
            Gain = Texts.Get("gain.sharpness"),
        };
        if (!document.Sharpness.IsMeasured)
        {
            return line with { Explanation = document.Sharpness.Why };
        }

        SharpnessMeasurement measured = document.Sharpness.Value;
        line = line with
        {
            Figure = measured.EdgeBlurMm is { } blur
                ? Texts.Get("figure.blur", FigureText.Write(blur, measured.EdgeBlurMmUncertainty, " mm", 2))
                : measured.DirectionRatio is { } ratio
                    ? Texts.Get("figure.blur.direction", FigureText.Write(ratio, measured.DirectionRatioUncertainty, string.Empty, 2))
                    : null,
            Evidence = Shapes(EvidenceKind.SharpEdge, EvidenceShapes.Of(measured)),
        };
        if (measured is { Motion: MotionSign.Seen, DirectionDegrees: { } degrees, DirectionRatio: { } wider })
        {
            return line with
            {
                Explanation = $"Edges are blurred along {Wording.Number(degrees, 0)}° (0° along a row, 90° down a column), {Wording.Number(wider, 1)} times as wide as across it: the sign of movement. Whether it hides what must be seen is for the reader.",
                Hint = "Look at the drawn edges at full size: are they doubled or smeared in that direction?",
            };
        }

        if (measured.Motion is null)
        {
            return line with
            {
                Explanation = measured.DirectionWhy ?? "Whether the part moved cannot be told from this image.",
                Hint = "Look at thin bone and joint edges at full size: are they doubled or smeared?",
            };
        }

        return measured.EdgeBlurMm <= rules.SharpEdgeBlurMm
            ? line with
            {
                State = ChecklistState.Met,
                DecidedBy = DecidedBy.Measurement,
                Explanation = $"Edges are sharp (blur of {Wording.Number(rules.SharpEdgeBlurMm, 1)} mm or less), and no movement is seen in them; movement under 0.8 mm may be missed.",
            }
            : line with
            {
                Explanation = "No movement is seen, but edges are softer than usual, or their size in mm is not known; whether that hides what must be seen is for the reader.",
                Hint = "Look at thin bone and joint edges at full size.",
            };
    }

    private ChecklistLine ArtifactLine()
    {
        ChecklistLine line = Line("artifacts.clear", ChecklistSection.Artifacts, Texts.Get("line.artifacts"), Weight.Repeat, true, "common-practice") with
        {
            Misses = ArtifactMisses,
            Gain = Texts.Get("gain.artifacts"),
        };
        if (!document.Artifacts.IsMeasured)
        {
            return line with { Explanation = document.Artifacts.Why };
        }

        IReadOnlyList<FoundArtifact> found = document.Artifacts.Value.Found;
        return found.Count == 0
            ? line with
            {
                Figure = Texts.Get("figure.none-found"),
                Explanation = "No dense object, grid line, dead element, gain step or band was found. Hair, folds of clothing and dressings are not looked for: they are for the reader.",
            }
            : line with
            {
                Figure = Wording.Join(found.GroupBy(artifact => artifact.Kind).Select(kind => Named(kind.Key, kind.Count()))),
                Explanation = "Whether any of it lies over needed anatomy is for the reader. A dense object may be an implant: that is anatomy's company, not a fault.",
                Hint = "Look at each drawn place.",
                Evidence = Shapes(EvidenceKind.Artifact, [.. found.SelectMany(EvidenceShapes.Of)]),
            };
    }

    private ChecklistLine MarkerLine()
    {
        string? side = Side();
        string letter = side switch { "R" => "R", "L" => "L", _ => "R or L" };
        string place = projection.HasSide && side is null
            ? Texts.Get("line.marker.unknown-side")
            : Texts.Get("line.marker.letter", letter);
        ChecklistLine line = Line(
            "marker.side",
            ChecklistSection.SideMarker,
            projection.HasSide
                ? Texts.Get("line.marker.side", place)
                : Texts.Get("line.marker.either"),
            Weight.Remark,
            true,
            projection.MarkerPlace.Basis) with
        {
            Misses = MarkerMisses,
            Explanation = projection.HasSide && side is not null ? $"The header records the side as {side}." : null,
            Hint = projection.MarkerPlace.Text,
        };
        if (!document.Markers.IsMeasured)
        {
            return line with { Explanation = Joined(line.Explanation, document.Markers.Why) };
        }

        IReadOnlyList<FoundMarker> found = document.Markers.Value.Found;
        if (found.Count == 0)
        {
            return line with
            {
                Figure = Texts.Get("figure.none-found"),
                Explanation = Joined(line.Explanation, "No letter was found in the image; one that is hidden, cut or of an unusual shape may have been missed, so look before you answer."),
            };
        }

        line = line with
        {
            Figure = Wording.Join(found.Select(Described)),
            Evidence = Shapes(EvidenceKind.SideMarker, [.. found.SelectMany(EvidenceShapes.Of)]),
        };
        FoundMarker[] lead = [.. found.Where(marker => marker is { Kind: MarkerKind.Lead, InsideField: true })];
        if (found.Select(marker => marker.Letter).Distinct(StringComparer.Ordinal).Skip(1).Any())
        {
            return line with { Explanation = Joined(line.Explanation, "Letters of both sides were found: settle which one was exposed with the patient before the image is sent.") };
        }

        if (projection.HasSide && side is not null && found.Any(marker => marker.Letter != side))
        {
            return line with { Explanation = $"{(found[0].Word is null ? "The letter" : "The word")} found reads {found[0].Word ?? found[0].Letter}, but the header records the side as {side}: settle which is right before the image is sent." };
        }

        if (lead.Length == 0)
        {
            return line with
            {
                State = ChecklistState.NotMet,
                DecidedBy = DecidedBy.Measurement,
                MissId = "drawn-or-outside",
                Explanation = Joined(line.Explanation, found.Any(marker => marker.Kind == MarkerKind.Lead) ? "The marker lies outside the field." : "The letter was drawn into the pixels afterwards: it carries no noise or blur of an exposure."),
            };
        }

        if (lead.Any(marker => marker.Mirrored))
        {
            return line with { Explanation = Joined(line.Explanation, "The letter reads from behind: either the marker lay face down or the image is mirrored. Settle which before the image is sent.") };
        }

        if (lead.Any(marker => marker.OverAnatomy))
        {
            return line with { Explanation = Joined(line.Explanation, "The marker lies over the body; whether it hides needed anatomy is for the reader.") };
        }

        // Where the projection has no side of its own the letter must also stand on the right side of the body, which is for the reader.
        return projection.HasSide && side is not null
            ? line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Measurement, Explanation = $"The letter agrees with the header's side, {side}, and lies in the field, off the anatomy." }
            : line with { Explanation = Joined(line.Explanation, "The marker lies in the field, off the anatomy; whether it is the right letter on the right side is for the reader.") };
    }

    private ChecklistLine CompleteLine()
    {
        string? named = exposure.ProcessingDescription?.Trim() is { Length: > 0 } processing ? $"The header names the processing \"{processing}\"." : null;
        string? signs = document.Processing is { IsMeasured: true, Value.Signs: { Count: > 0 } seen } ? string.Join(" ", seen) : null;
        return Line("processing.complete", ChecklistSection.Processing, Texts.Get("line.complete"), Weight.Remark, false, "common-practice") with
        {
            Misses = ProcessingMisses,
            Explanation = named is null && signs is null ? null : Joined(named, signs ?? string.Empty).Trim(),
        };
    }

    private static string Described(FoundMarker marker)
    {
        string[] words =
        [
            marker.Word ?? marker.Letter,
            marker.Kind == MarkerKind.Lead ? Texts.Get("figure.marker.lead") : Texts.Get("figure.marker.drawn"),
            marker.InsideField ? Texts.Get("figure.marker.in-field") : Texts.Get("figure.marker.outside-field"),
            .. marker.OverAnatomy ? [Texts.Get("figure.marker.over-body")] : Array.Empty<string>(),
            .. marker.Mirrored ? [Texts.Get("figure.marker.mirrored")] : Array.Empty<string>(),
        ];
        return string.Join(", ", words);
    }

    private static string Named(ArtifactKind kind, int count) => (kind, count) switch
    {
        (ArtifactKind.GridLines, _) => Texts.Get("artifact.grid-lines"),
        (ArtifactKind.Banding, _) => Texts.Get("artifact.banding"),
        (ArtifactKind.GridCutOff, _) => Texts.Get("artifact.grid-cut-off"),
        (ArtifactKind.DoubleExposure, _) => Texts.Get("artifact.double-exposure"),
        (ArtifactKind.DeadPixels, 1) => Texts.Get("artifact.dead-pixels.one"),
        (ArtifactKind.DeadPixels, _) => Texts.Get("artifact.dead-pixels.several", Wording.Number(count, 0)),
        (ArtifactKind.DeadLine, 1) => Texts.Get("artifact.dead-line.one"),
        (ArtifactKind.DeadLine, _) => Texts.Get("artifact.dead-line.several", Wording.Number(count, 0)),
        (ArtifactKind.GainStep, 1) => Texts.Get("artifact.gain-step.one"),
        (ArtifactKind.GainStep, _) => Texts.Get("artifact.gain-step.several", Wording.Number(count, 0)),
        (_, 1) => Texts.Get("artifact.dense-object.one"),
        _ => Texts.Get("artifact.dense-object.several", Wording.Number(count, 0)),
    };

    private static string Joined(string? first, string second) => first is null ? second : $"{first} {second}";

    private static Evidence[] Shapes(EvidenceKind kind, IReadOnlyList<EvidenceShape> shapes) =>
    [
        .. Outlines(kind, [.. shapes.Where(shape => shape.IsClosed).Select(shape => shape.Points)], closed: true),
        .. Outlines(kind, [.. shapes.Where(shape => !shape.IsClosed).Select(shape => shape.Points)], closed: false),
    ];
}
