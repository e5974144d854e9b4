using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

// Errors of the measures over varied exposures of the phantom lab, by what was varied and how severely.
// Each exposure is measured twice: as stored for presentation and as stored for processing. The lab shares no formula with the measures.
CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
int perKind = args.Length > 0 ? int.Parse(args[0]) : 24;
ulong seed = args.Length > 1 ? ulong.Parse(args[1]) : 1;
(string Part, string View)[] views =
[
    ("wrist", "pa"), ("wrist", "lateral"), ("elbow", "lateral"), ("knee", "ap"), ("knee", "lateral"), ("foot", "ankle-mortise"), ("chest", "pa"), ("lumbarSpine", "ap"),
];
List<Outcome> outcomes = [];
string[] kinds = [.. SceneSeries.Kinds.Select(kind => kind.Name)];
int total = kinds.Length * perKind;
int done = 0;
foreach (string kind in kinds)
{
    for (int number = 0; number < perKind; number++)
    {
        (string part, string view) = views[number % views.Length];
        SceneDocument start = SceneStarts.For(part, view);

        // Pixels a quarter wider than usual, so that a run takes minutes; each number of the series is a scene of its own.
        start = start with { Seed = seed + (ulong)(1000 * number), Receptor = start.Receptor with { SpacingMm = start.Receptor.SpacingMm * 1.25 } };
        SceneDocument scene = SceneSeries.Vary(start, 1, [kind]).Single();
        LabExposure exposure = Lab.Expose(scene);
        outcomes.Add(Outcome.Of(kind, $"{part} {view}", forProcessing: false, exposure));
        outcomes.Add(Outcome.Of(kind, $"{part} {view}", forProcessing: true, exposure));
        Console.Error.Write($"\r{++done} of {total}  {kind,-12}{part} {view}        ");
    }
}

Console.Error.WriteLine();
foreach (bool forProcessing in new[] { false, true })
{
    Console.WriteLine($"## {(forProcessing ? "For processing" : "For presentation")}");
    Console.WriteLine();
    Console.WriteLine("| varied | severity | exposures | field told | edge kinds right | corner error, mm: median / worst | overlap: median / least | anatomy error, points: median / worst | mottle of the signal told | mottle error, %: median / worst |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    foreach (string kind in kinds)
    {
        foreach (string severity in new[] { "none", "slight", "marked" })
        {
            Row(kind, severity, [.. outcomes.Where(one => one.ForProcessing == forProcessing && one.Kind == kind && one.Severity == severity)]);
        }
    }

    Console.WriteLine();
    Console.WriteLine("| projection | exposures | field told | edge kinds right | corner error, mm: median / worst | overlap: median / least | anatomy error, points: median / worst | mottle of the signal told | mottle error, %: median / worst |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    foreach ((string part, string view) in views)
    {
        Row($"{part} {view}", null, [.. outcomes.Where(one => one.ForProcessing == forProcessing && one.View == $"{part} {view}")]);
    }

    Row("all", null, [.. outcomes.Where(one => one.ForProcessing == forProcessing)]);
    Console.WriteLine();
}

static void Row(string what, string? severity, Outcome[] some)
{
    if (some.Length == 0)
    {
        return;
    }

    Outcome[] told = [.. some.Where(one => one.CornerMm is not null)];
    Outcome[] noise = [.. some.Where(one => one.MottleErrorPercent is not null)];
    Console.WriteLine(string.Join(" | ", (string[])[
        "| " + what, .. severity is null ? Array.Empty<string>() : [severity], $"{some.Length}", $"{told.Length}", $"{told.Count(one => one.EdgesRight)}",
        Pair(told.Select(one => one.CornerMm!.Value), "0.00", worstIsLarge: true),
        Pair(told.Select(one => one.Overlap!.Value), "0.000", worstIsLarge: false),
        Pair(told.Where(one => one.AnatomyError is not null).Select(one => one.AnatomyError!.Value), "+0.0;-0.0;0.0", worstIsLarge: true),
        $"{noise.Length}",
        Pair(noise.Select(one => one.MottleErrorPercent!.Value), "+0;-0;0", worstIsLarge: true)]) + " |");
}

static string Pair(IEnumerable<double> values, string format, bool worstIsLarge)
{
    double[] sorted = [.. values.Order()];
    if (sorted.Length == 0)
    {
        return "–";
    }

    double worst = worstIsLarge ? sorted.MaxBy(Math.Abs) : sorted[0];
    return $"{sorted[sorted.Length / 2].ToString(format)} / {worst.ToString(format)}";
}

/// <summary>One measured exposure beside its truth.</summary>
internal sealed record Outcome(string Kind, string Severity, string View, bool ForProcessing, double? CornerMm, double? Overlap, bool EdgesRight, double? AnatomyError, double? MottleErrorPercent)
{
    public static Outcome Of(string kind, string view, bool forProcessing, LabExposure exposure)
    {
        SceneTruth truth = exposure.Truth;
        Radiograph radiograph = RadiographReader.Read(forProcessing ? exposure.ForProcessing() : exposure.ForPresentation(), exposure.Scene.Id + ".dcm");
        MeasurementDocument document = RadiographMeasure.Measure(radiograph);
        double varied = exposure.Scene.Varied[kind];
        string severity = varied <= 0 ? "none" : varied < 0.5 ? "slight" : "marked";
        double? corner = null;
        double? overlap = null;
        bool edges = false;
        if (document.Field.IsMeasured)
        {
            FieldMeasurement field = document.Field.Value;
            corner = truth.FieldOutline.Max(place => field.Outline.Min(found => found.DistancePixelsTo(place))) * exposure.Scene.Receptor.SpacingMm;
            overlap = Shared(truth.FieldOutline, field.Outline, radiograph.Rows, radiograph.Columns);
            edges = truth.Sides.OrderBy(side => side.Side).Select(side => side.Edge.ToString())
                .SequenceEqual(field.Sides.OrderBy(side => side.Side).Select(side => side.Edge.ToString()));
        }

        return new Outcome(
            kind,
            severity,
            view,
            forProcessing,
            corner,
            overlap,
            edges,
            document.Anatomy.IsMeasured ? document.Anatomy.Value.PercentOfField - truth.AnatomyPercentOfField : null,
            // Noise of rendered pixel values is another quantity than noise of the signal; only the latter is compared.
            document.Mottle.IsMeasured && document.Mottle.Value.Scale == "linear signal" && truth.RelativeNoisePercent > 0 ? 100 * ((document.Mottle.Value.RelativeNoisePercent / truth.RelativeNoisePercent) - 1) : null);
    }

    /// <summary>Intersection over union, counted on every fourth pixel.</summary>
    private static double Shared(IReadOnlyList<PixelPoint> one, IReadOnlyList<PixelPoint> other, int rows, int columns)
    {
        int both = 0;
        int either = 0;
        for (int row = 0; row < rows; row += 4)
        {
            for (int column = 0; column < columns; column += 4)
            {
                bool inOne = Holds(one, column, row);
                bool inOther = Holds(other, column, row);
                both += inOne && inOther ? 1 : 0;
                either += inOne || inOther ? 1 : 0;
            }
        }

        return either == 0 ? 1 : (double)both / either;
    }

    private static bool Holds(IReadOnlyList<PixelPoint> polygon, double x, double y)
    {
        bool inside = false;
        for (int i = 0, j = polygon.Count - 1; i < polygon.Count; j = i++)
        {
            PixelPoint a = polygon[i];
            PixelPoint b = polygon[j];
            if (a.Y > y != b.Y > y && x < a.X + ((y - a.Y) / (b.Y - a.Y) * (b.X - a.X)))
            {
                inside = !inside;
            }
        }

        return inside;
    }
}
