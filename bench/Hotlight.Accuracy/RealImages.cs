using System.Text.Json.Nodes;
using Hotlight.Accuracy.Scoring;
using Hotlight.Accuracy.Tables;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;

namespace Hotlight.Accuracy;

/// <summary>Measures the real images of the shared data folder and sets them beside what can be seen on them.</summary>
internal static class RealImages
{
    /// <summary>What was found on one image beside what can be seen.</summary>
    private sealed record Result(string File, string Folder, double? Overlap, double? CornerShare, int SidesJudged, int SidesRight, MarkerMatch? Markers, int RotationsRight, IReadOnlyList<ArtifactMatch>? Artifacts, bool? NothingClaimed, string Remark);

    /// <summary>Prints a table for each half.</summary>
    /// <param name="to">Where to.</param>
    /// <param name="folder">The shared data folder.</param>
    /// <param name="halves">tune, held.</param>
    /// <param name="truthFile">What can be seen.</param>
    /// <param name="list">Whether every image has a line.</param>
    public static void Print(TextWriter to, string folder, IReadOnlyList<string> halves, string truthFile, bool list)
    {
        JsonNode root = JsonNode.Parse(File.ReadAllText(truthFile))!;
        List<(string Half, List<Result> Results)> all = [];
        foreach (string half in halves)
        {
            List<Result> results = [];
            foreach (JsonNode image in root["images"]!.AsArray().Select(one => one!).Where(one => (string)one["split"]! == half))
            {
                Console.Error.Write($"\r{half} {results.Count + 1}  {(string)image["file"]!,-60}");
                results.Add(Of(folder, image));
            }

            all.Add((half, results));
        }

        Console.Error.WriteLine();
        if (list)
        {
            foreach ((string half, List<Result> results) in all)
            {
                to.WriteLine(Figures.Head($"image ({half})", "overlap", "edges right", "markers found, false", "dense objects found, false", "remark"));
                foreach (Result one in results)
                {
                    ArtifactMatch? dense = one.Artifacts?.Single(match => match.Kind == "foreign-object");
                    to.WriteLine(Figures.Row(
                        one.File,
                        Figures.Text(one.Overlap, "0.000"),
                        one.SidesJudged == 0 ? Figures.Nothing : $"{one.SidesRight} of {one.SidesJudged}",
                        one.Markers is null ? Figures.Nothing : $"{one.Markers.Hits} of {one.Markers.Required}, {one.Markers.False}",
                        dense is null ? Figures.Nothing : $"{dense.Hits} of {dense.Required}, {dense.False}",
                        one.Remark));
                }

                to.WriteLine();
            }
        }

        to.WriteLine(Figures.Head(["figure", .. all.Select(one => one.Half)]));
        void Line(string figure, Func<List<Result>, string> value) => to.WriteLine(Figures.Row([figure, .. all.Select(one => value(one.Results))]));
        Line("images", some => $"{some.Count}");
        Line("field judged by eye and told", some => Figures.Share(some.Count(one => one.Overlap > 0), some.Count(one => one.Overlap is not null)));
        Line("overlap 0.95 or more", some => Figures.Share(some.Count(one => one.Overlap >= 0.95), some.Count(one => one.Overlap is not null)));
        Line("overlap 0.90 or more", some => Figures.Share(some.Count(one => one.Overlap >= 0.9), some.Count(one => one.Overlap is not null)));
        Line("overlap, median / least", some => $"{Figures.Text(Figures.Median(some.Select(one => one.Overlap).OfType<double>()), "0.000")} / {Figures.Text(some.Min(one => one.Overlap), "0.000")}");
        Line("corner error, % of the longer side: median / 90 %", some => Figures.MedianAndDecile(some.Select(one => one.CornerShare).OfType<double>(), "0.0"));
        Line("sides with the right kind of edge", some => Figures.Share(some.Sum(one => one.SidesRight), some.Sum(one => one.SidesJudged)));
        Line("markers that lie whole in the picture: found", some => Figures.Share(some.Sum(one => one.Markers?.Hits ?? 0), some.Sum(one => one.Markers?.Required ?? 0)));
        Line("markers found where none is", some => $"{some.Sum(one => one.Markers?.False ?? 0)} on {some.Count(one => one.Markers?.False > 0)} images of {some.Count(one => one.Markers is not null)}");
        Line("markers found: kind right", some => Figures.Share(Pairs(some).Count(pair => pair.Truth.Kind is not null && pair.Truth.Kind.Equals(pair.Found.Kind.ToString(), StringComparison.OrdinalIgnoreCase)), Pairs(some).Count(pair => pair.Truth.Kind is not null)));
        Line("markers found: mirror right", some => Figures.Share(Pairs(some).Count(pair => pair.Truth.Mirrored == pair.Found.Mirrored), Pairs(some).Count()));
        Line("markers found: rotation within 20 degrees", some => Figures.Share(some.Sum(one => one.RotationsRight), Pairs(some).Count()));
        foreach (string kind in ArtifactMatch.Kinds)
        {
            if (all.Any(half => half.Results.Sum(one => one.Artifacts?.Single(match => match.Kind == kind) is { } match ? match.Required + match.False : 0) > 0))
            {
                Line(
                    $"{kind}: found; found where the eye sees none",
                    some =>
                    {
                        ArtifactMatch[] matches = [.. some.Where(one => one.Artifacts is not null).Select(one => one.Artifacts!.Single(match => match.Kind == kind))];
                        return $"{Figures.Share(matches.Sum(match => match.Hits), matches.Sum(match => match.Required))}; {matches.Sum(match => match.False)} on {matches.Count(match => match.False > 0)} images of {matches.Length}";
                    });
            }
        }

        Line("files without a picture: nothing claimed", some => Figures.Share(some.Count(one => one.NothingClaimed == true), some.Count(one => one.NothingClaimed is not null)));
        Line("could not be read or measured", some => $"{some.Count(one => one.Remark.StartsWith("failed", StringComparison.Ordinal))}");
        to.WriteLine();
    }

    private static IEnumerable<(TrueMarker Truth, FoundMarker Found)> Pairs(IEnumerable<Result> some) => some.SelectMany(one => one.Markers?.Pairs ?? []);

    private static Result Of(string folder, JsonNode image)
    {
        string file = (string)image["file"]!;
        string place = (string)image["folder"]!;
        bool nothing = (bool?)image["nothingThere"] == true;
        MeasurementDocument document;
        try
        {
            document = RadiographMeasure.Measure(RadiographReader.Read(Path.Combine(folder, place, file)));
        }
        catch (UnreadableImageException problem)
        {
            // A file without a picture is rightly refused.
            return new Result(file, place, null, null, 0, 0, null, 0, null, nothing ? true : null, nothing ? "refused" : $"failed: {problem.Message}");
        }
        catch (Exception problem) when (problem is not OutOfMemoryException)
        {
            return new Result(file, place, null, null, 0, 0, null, 0, null, nothing ? false : null, $"failed: {problem.GetType().Name} {problem.Message}");
        }

        if (nothing)
        {
            bool silent = (!document.Markers.IsMeasured || document.Markers.Value.Found.Count == 0) && (!document.Artifacts.IsMeasured || document.Artifacts.Value.Found.Count == 0);
            return new Result(file, place, null, null, 0, 0, null, 0, null, silent, "");
        }

        double? overlap = null;
        double? corner = null;
        int judged = 0;
        int right = 0;
        if (image["field"] is { } field)
        {
            PixelPoint[] outline = [.. field["outline"]!.AsArray().Select(one => new PixelPoint(X: (double)one![0]!, Y: (double)one[1]!))];
            string?[] edges = [.. field["edges"]!.AsArray().Select(one => (string?)one)];
            judged = edges.Count(edge => edge is not null);
            overlap = 0;
            if (document.Field.IsMeasured)
            {
                FieldMeasurement found = document.Field.Value;
                overlap = Polygon.Overlap(outline, found.Outline);
                corner = 100 * Polygon.CornerError(outline, found.Outline) / Math.Max((double)image["columns"]!, (double)image["rows"]!);
                FieldSideMeasurement[] sides = [.. found.Sides.OrderBy(side => side.Side)];
                right = sides.Where((side, k) => edges[k]?.Split('|').Contains(side.Edge.ToString(), StringComparer.OrdinalIgnoreCase) == true).Count();
            }
        }

        MarkerMatch? markers = null;
        int rotations = 0;
        if (document.Markers.IsMeasured && image["markers"] is { } there)
        {
            TrueMarker[] truth = [.. there.AsArray().Select(one => new TrueMarker((string)one!["letter"]!, (string?)one["kind"], (bool)one["mirrored"]!, (double)one["rotationDegrees"]!, new PixelPoint(X: (double)one["center"]![0]!, Y: (double)one["center"]![1]!), (double)one["heightPixels"]!, null, !(bool)one["cut"]!))];
            markers = MarkerMatch.Of(truth, document.Markers.Value.Found, 0.02 * Math.Max((double)image["columns"]!, (double)image["rows"]!));
            rotations = markers.Pairs.Count(pair => MarkerMatch.Turn(pair.Truth.RotationDegrees, pair.Found.RotationDegrees) <= 20);
            if (image["words"] is not null)
            {
                // Letters of words count neither way.
                markers = markers with { False = 0 };
            }
        }

        IReadOnlyList<ArtifactMatch>? artifacts = null;
        if (document.Artifacts.IsMeasured && image["artifacts"] is { } objects)
        {
            // Without spacing a picture counts as 300 mm high, so that places can be matched.
            double spacing = 300 / Math.Max((double)image["columns"]!, (double)image["rows"]!);
            TrueArtifact[] truth = [.. objects.AsArray().Select(one => new TrueArtifact((string)one!["kind"]!, (string?)one["thing"], new PixelPoint(X: (double)one["center"]![0]!, Y: (double)one["center"]![1]!), null, null))];
            PixelPoint[] words = [.. image["leadWords"]?.AsArray().Select(one => new PixelPoint(X: (double)one![0]!, Y: (double)one[1]!)) ?? []];
            artifacts = ArtifactMatch.Of(truth, document.Artifacts.Value.Found, spacing, words);
            if ((bool?)image["otherDenseObjects"] == true)
            {
                artifacts = [.. artifacts.Select(match => match.Kind == "foreign-object" ? match with { False = 0 } : match)];
            }
        }

        return new Result(file, place, overlap, corner, judged, right, markers, rotations, artifacts, null, image["severalExposures"] is null ? "" : "several exposures");
    }
}
