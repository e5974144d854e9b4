using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Core;

namespace Hotlight.Accuracy.Scoring;

/// <summary>A side marker as it was placed.</summary>
/// <param name="Letter">L or R.</param>
/// <param name="Kind">lead or annotation; null where truth doesn't say.</param>
/// <param name="Mirrored">Whether it reads only from behind.</param>
/// <param name="RotationDegrees">Clockwise from upright.</param>
/// <param name="Center">Its centre, in pixels.</param>
/// <param name="HeightPixels">Height of the letter, in pixels.</param>
/// <param name="Word">The word in the letter's place; null for a letter.</param>
/// <param name="Required">Whether it must be found: it lies whole in the field, or was drawn.</param>
internal sealed record TrueMarker(string Letter, string? Kind, bool Mirrored, double RotationDegrees, PixelPoint Center, double HeightPixels, string? Word, bool Required);

/// <summary>What does not belong in the image.</summary>
/// <param name="Kind">As the measurement document names it.</param>
/// <param name="Thing">What it is; null where the kind says it all.</param>
/// <param name="Center">Its middle, in pixels; null for what covers the image.</param>
/// <param name="AreaMm2">Its area on the receptor; null where it has none.</param>
/// <param name="LinesPerMm">Frequency of lines as seen; null where there are none.</param>
/// <param name="Required">Whether it must be found; what is too weak to ask for counts neither way.</param>
internal sealed record TrueArtifact(string Kind, string? Thing, PixelPoint? Center, double? AreaMm2, double? LinesPerMm, bool Required = true);

/// <summary>What is true of an exposure of either generator, as far as it is scored.</summary>
internal sealed record TruthRecord
{
    /// <summary>Distance of pixel centres, in mm.</summary>
    public required double SpacingMm { get; init; }

    /// <summary>Corners of the visible field, clockwise.</summary>
    public required IReadOnlyList<PixelPoint> Outline { get; init; }

    /// <summary>What ends it above, at the right, below and at the left.</summary>
    public required IReadOnlyList<string> Edges { get; init; }

    /// <summary>Tilts of those sides, in degrees.</summary>
    public required IReadOnlyList<double> Tilts { get; init; }

    /// <summary>Area of the field, in mm².</summary>
    public double AreaMm2 { get; init; }

    /// <summary>Share of the field that the body covers.</summary>
    public double AnatomyPercent { get; init; }

    /// <summary>Share of the anatomy under which bone lies.</summary>
    public double BonePercent { get; init; }

    /// <summary>Exposure index: 100 times the median signal over the anatomy, in µGy; 0 where truth has none.</summary>
    public double ExposureIndex { get; init; }

    /// <summary>Steps of a pixel for processing a µGy; null where it is not linear.</summary>
    public double? StepsPerMicrogray { get; init; }

    /// <summary>Noise over signal; 0 where truth has none.</summary>
    public double NoisePercent { get; init; }

    /// <summary>Share of the anatomy that is saturated.</summary>
    public double SaturatedPercent { get; init; }

    /// <summary>Blur in the best direction, in mm.</summary>
    public double EdgeBlurMm { get; init; }

    /// <summary>Blur in the worst direction over that in the best.</summary>
    public double DirectionRatio { get; init; }

    /// <summary>The worst direction.</summary>
    public double DirectionDegrees { get; init; }

    /// <summary>Length of the motion, in mm.</summary>
    public double MotionMm { get; init; }

    /// <summary>Mean brightness as shown; null where truth has none.</summary>
    public double? MeanBrightnessPercent { get; init; }

    /// <summary>Spread of brightness as shown; null where truth has none.</summary>
    public double? ContrastPercent { get; init; }

    /// <summary>Share of edge enhancement in the pixels for presentation; null where truth doesn't say.</summary>
    public double? SharpeningShare { get; init; }

    /// <summary>Whether letters were drawn into the pixels; null where truth doesn't say.</summary>
    public bool? IsLettered { get; init; }

    /// <summary>Side markers.</summary>
    public IReadOnlyList<TrueMarker> Markers { get; init; } = [];

    /// <summary>Lead beside a marker that a dense object may be seen in.</summary>
    public IReadOnlyList<PixelPoint> OtherLead { get; init; } = [];

    /// <summary>What does not belong.</summary>
    public IReadOnlyList<TrueArtifact> Artifacts { get; init; } = [];

    /// <summary>What was varied, with its severity.</summary>
    public IReadOnlyDictionary<string, double> Varied { get; init; } = new Dictionary<string, double>();

    /// <summary>Reads a truth file.</summary>
    /// <param name="path">The file.</param>
    public static TruthRecord Read(string path)
    {
        JsonNode root = JsonNode.Parse(File.ReadAllText(path)) ?? throw new JsonException($"{path} is empty.");
        double spacing = (double)root["image"]!["pixelSpacingMm"]!;
        PixelPoint[] outline = [.. root["field"]!["outline"]!.AsArray().Select(place => Point(place!))];
        JsonNode[] sides = [.. root["field"]!["sides"]!.AsArray().Select(side => side!)];
        JsonNode? exposure = root["exposure"];
        double cut = (double?)exposure?["gridCutOffShare"] ?? 1;
        List<TrueArtifact> artifacts = [.. root["artifacts"]!["found"]!.AsArray().Select(one => new TrueArtifact(
            (string)one!["kind"]!,
            (string?)one["thing"],
            one["center"] is { } centre ? Point(centre) : null,
            (double?)one["areaMm2"],
            (double?)one["linesPerMm"]))];

        // A fall of under a sixth is less than many a heel's: neither asked for nor counted against.
        if (cut < 0.95 && !artifacts.Any(one => one.Kind == "grid-cut-off"))
        {
            artifacts.Add(new TrueArtifact("grid-cut-off", null, null, null, null, cut < 0.83));
        }

        return new TruthRecord
        {
            SpacingMm = spacing,
            Outline = outline,
            Edges = [.. sides.Select(side => (string)side["edge"]!)],
            Tilts = [.. sides.Select(side => (double)side["tiltDegrees"]!)],
            AreaMm2 = (double?)root["field"]!["areaMm2"] ?? 0,
            AnatomyPercent = (double)root["anatomy"]!["percentOfField"]!,
            BonePercent = (double)root["anatomy"]!["boneIsPercentOfAnatomy"]!,

            // Exposures kept from before carry an index of the mean, and the median beside it.
            ExposureIndex = (100 * (double?)exposure?["medianReceptorAirKermaMicrogray"]) ?? (double?)exposure?["exposureIndex"] ?? 0,

            // The lab's pixels for processing: 125 steps a µGy.
            StepsPerMicrogray = root["form"] is null ? 125 : (double?)exposure?["stepsPerMicrogray"],
            NoisePercent = (double)root["mottle"]!["relativeNoisePercent"]!,
            SaturatedPercent = (double)root["clipping"]!["saturatedPercentOfAnatomy"]!,
            EdgeBlurMm = (double?)root["sharpness"]?["edgeBlurMm"] ?? 0,
            DirectionRatio = (double?)root["sharpness"]?["directionRatio"] ?? 1,
            DirectionDegrees = (double?)root["sharpness"]?["directionDegrees"] ?? 0,
            MotionMm = (double?)root["sharpness"]?["motionMm"] ?? 0,
            MeanBrightnessPercent = (double?)root["display"]?["meanBrightnessPercent"],
            ContrastPercent = (double?)root["display"]?["contrastPercent"],
            SharpeningShare = (double?)root["scene"]?["rendering"]?["sharpeningShare"],
            IsLettered = root["scene"] is null ? null : root["markers"]!["found"]!.AsArray().Any(marker => (string)marker!["kind"]! == "annotation"),
            Markers = [.. root["markers"]!["found"]!.AsArray().Select(marker => Marker(marker!, root, outline, spacing))],
            OtherLead = [.. root["leadTexts"]?.AsArray().Select(place => Point(place!)) ?? []],
            Artifacts = artifacts,
            Varied = root["varied"] is JsonObject varied ? varied.ToDictionary(pair => pair.Key, pair => (double)pair.Value!) : new Dictionary<string, double>(),
        };
    }

    private static TrueMarker Marker(JsonNode marker, JsonNode root, PixelPoint[] outline, double spacing)
    {
        PixelPoint centre = Point(marker["center"]!);
        string? word = (string?)marker["word"];
        double height = ((double?)marker["heightMm"] ?? (double?)root["scene"]?["marker"]?["heightMm"] ?? 11) / spacing;
        string kind = (string)marker["kind"]!;

        // A lead letter must lie whole in the field; a drawn one shows wherever it was drawn.
        double columns = (double)root["image"]!["columns"]!;
        double rows = (double)root["image"]!["rows"]!;
        bool whole = kind == "annotation"
            ? centre.X > height / 2 && centre.Y > height / 2 && centre.X < columns - (height / 2) && centre.Y < rows - (height / 2)
            : word is null ? Whole(outline, centre, 0.6 * height) : WholeBox(outline, centre, (0.425 * word.Length * height) + (0.1 * height), 0.6 * height, (double)marker["rotationDegrees"]!);
        return new TrueMarker((string)marker["letter"]!, kind, (bool)marker["mirrored"]!, (double)marker["rotationDegrees"]!, centre, height, word, whole);
    }

    private static bool WholeBox(PixelPoint[] outline, PixelPoint centre, double halfLength, double halfHeight, double rotationDegrees)
    {
        (double sin, double cos) = Math.SinCos(rotationDegrees * Math.PI / 180);
        return Enumerable.Range(0, 4).All(k =>
        {
            double u = k % 2 == 0 ? halfLength : -halfLength;
            double v = k < 2 ? halfHeight : -halfHeight;
            return Polygon.Holds(outline, centre.X + (u * cos) - (v * sin), centre.Y + (u * sin) + (v * cos));
        });
    }

    private static bool Whole(PixelPoint[] outline, PixelPoint centre, double reach)
        => Enumerable.Range(0, 8).All(k => Polygon.Holds(outline, centre.X + (reach * Math.Cos(k * Math.PI / 4)), centre.Y + (reach * Math.Sin(k * Math.PI / 4))));

    private static PixelPoint Point(JsonNode place) => new(X: (double)place[0]!, Y: (double)place[1]!);
}
