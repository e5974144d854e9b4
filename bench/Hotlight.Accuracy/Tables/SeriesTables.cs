using Hotlight.Accuracy.Scoring;
using Hotlight.Measure.Document;

namespace Hotlight.Accuracy.Tables;

/// <summary>Tables of one series: by fault and severity, by projection, by section.</summary>
internal static class SeriesTables
{
    /// <summary>Field, anatomy and mottle by what was varied and how severely, and by projection.</summary>
    public static void ByFault(TextWriter to, Outcome[] outcomes)
    {
        bool processing = outcomes.Any(one => one.ForProcessing);
        string[] figures = ["exposures", "field told", "edge kinds right", "corner error, mm: median / 90 % / worst", "overlap: median / least", "anatomy error, points: median / worst", .. processing ? ["mottle error, %: told, median / worst"] : Array.Empty<string>()];
        to.WriteLine(Figures.Head(["varied", "severity", .. figures]));
        foreach (string kind in outcomes.Select(one => one.Kind).Distinct())
        {
            foreach (string severity in new[] { "none", "slight", "marked", "mixed" })
            {
                Outcome[] some = [.. outcomes.Where(one => one.Kind == kind && one.Severity == severity)];
                if (some.Length > 0)
                {
                    to.WriteLine(Figures.Row([kind, severity, .. Cells(some, processing)]));
                }
            }
        }

        to.WriteLine();
        to.WriteLine(Figures.Head(["projection", .. figures]));
        foreach (string view in outcomes.Select(one => one.View).Distinct().Order())
        {
            to.WriteLine(Figures.Row([view, .. Cells([.. outcomes.Where(one => one.View == view)], processing)]));
        }

        to.WriteLine(Figures.Row(["all", .. Cells(outcomes, processing)]));
        to.WriteLine();
    }

    /// <summary>Motion by its length.</summary>
    public static void Motion(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head("series", "motion, mm", "exposures", "told", "seen", "direction error, degrees: median / 90 %", "blur error, %: median / worst"));
        foreach ((string name, Outcome[] outcomes) in series)
        {
            foreach ((string words, double from, double below) in new[] { ("none", 0.0, 1e-9), ("under 0.8", 1e-9, 0.8), ("0.8 to 1.5", 0.8, 1.5), ("1.5 and more", 1.5, 1e9) })
            {
                Outcome[] some = [.. outcomes.Where(one => one.Truth.MotionMm >= from && one.Truth.MotionMm < below)];
                int told = some.Count(one => one.MotionSeen is not null);
                if (told > 0)
                {
                    to.WriteLine(Figures.Row(name, words, $"{some.Length}", $"{told}", Figures.Share(some.Count(one => one.MotionSeen == true), told), Figures.MedianAndDecile(Values(some, one => one.MotionDirectionError), "0"), Figures.MedianAndWorst(Values(some, one => one.BlurErrorPercent), "+0;-0;0")));
                }
            }
        }

        to.WriteLine();
    }

    /// <summary>Markers by how they are made.</summary>
    public static void Markers(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head("series", "markers", "there", "found", "kind right", "mirror right", "rotation error, degrees: median / 90 %"));
        foreach ((string name, Outcome[] outcomes) in series)
        {
            Outcome[] told = [.. outcomes.Where(one => one.Markers is not null)];
            foreach ((string words, Func<TrueMarker, bool> which) in new (string, Func<TrueMarker, bool>)[]
            {
                ("lead", marker => marker.Kind == "lead" && !marker.Mirrored && Math.Abs(marker.RotationDegrees) <= 15),
                ("lead, turned", marker => marker.Kind == "lead" && !marker.Mirrored && Math.Abs(marker.RotationDegrees) > 15),
                ("lead, mirrored", marker => marker.Kind == "lead" && marker.Mirrored),
                ("drawn", marker => marker.Kind == "annotation"),
            })
            {
                int there = told.Sum(one => one.Truth.Markers.Count(marker => marker.Required && which(marker)));
                (TrueMarker Truth, FoundMarker Found)[] pairs = [.. told.SelectMany(one => one.Markers!.Pairs).Where(pair => pair.Truth.Required && which(pair.Truth))];
                if (there > 0)
                {
                    to.WriteLine(Figures.Row(
                        name,
                        words,
                        $"{there}",
                        Figures.Share(pairs.Length, there),
                        Figures.Share(pairs.Count(pair => pair.Truth.Kind!.Equals(pair.Found.Kind.ToString(), StringComparison.OrdinalIgnoreCase)), pairs.Length),
                        Figures.Share(pairs.Count(pair => pair.Truth.Mirrored == pair.Found.Mirrored), pairs.Length),
                        Figures.MedianAndDecile(pairs.Where(pair => pair.Truth.Mirrored == pair.Found.Mirrored).Select(pair => MarkerMatch.Turn(pair.Found.RotationDegrees, pair.Truth.RotationDegrees)), "0.0")));
                }
            }

            if (told.Length > 0)
            {
                to.WriteLine(Figures.Row(name, "found where none is", $"{told.Length} exposures", $"{told.Sum(one => one.Markers!.False)} in {told.Count(one => one.Markers!.False > 0)}", Figures.Nothing, Figures.Nothing, Figures.Nothing));
            }
        }

        to.WriteLine();
    }

    /// <summary>Artifacts by kind.</summary>
    public static void Artifacts(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head("series", "artifact", "there", "found", "found where none is", "exposures without, none found"));
        foreach ((string name, Outcome[] outcomes) in series)
        {
            Outcome[] told = [.. outcomes.Where(one => one.Artifacts is not null)];
            foreach (string kind in ArtifactMatch.Kinds)
            {
                ArtifactMatch[] some = [.. told.Select(one => one.Artifacts!.Single(match => match.Kind == kind))];
                ArtifactMatch[] without = [.. told.Where(one => !one.Truth.Artifacts.Any(artifact => artifact.Kind == kind)).Select(one => one.Artifacts!.Single(match => match.Kind == kind))];
                if (some.Sum(match => match.Required + match.False) > 0)
                {
                    to.WriteLine(Figures.Row(name, kind, $"{some.Sum(match => match.Required)}", Figures.Share(some.Sum(match => match.Hits), some.Sum(match => match.Required)), $"{some.Sum(match => match.False)}", Figures.Share(without.Count(match => match.False == 0), without.Length)));
                }
            }
        }

        to.WriteLine();
    }

    /// <summary>Signs of processing, where truth says whether they are there.</summary>
    public static void Processing(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head("series", "sign of processing", "there, seen", "not there, not seen"));
        foreach ((string name, Outcome[] outcomes) in series)
        {
            foreach ((ProcessingKind kind, string words, Func<Outcome, bool?> there) in new (ProcessingKind, string, Func<Outcome, bool?>)[]
            {
                (ProcessingKind.Mask, "mask", one => one.Truth.Edges.Contains("mask")),
                (ProcessingKind.DrawnText, "drawn letters", one => one.Truth.IsLettered),
                (ProcessingKind.EdgeEnhancement, "edge enhancement", one => one.Truth.SharpeningShare is double share ? share > 0 && !one.ForProcessing : null),
            })
            {
                Outcome[] told = [.. outcomes.Where(one => one.Processing is not null && there(one) is not null)];
                Outcome[] with = [.. told.Where(one => there(one) == true)];
                Outcome[] without = [.. told.Where(one => there(one) == false)];
                if (told.Length > 0)
                {
                    to.WriteLine(Figures.Row(name, words, Figures.Share(with.Count(one => one.Processing!.Contains(kind)), with.Length), Figures.Share(without.Count(one => !one.Processing!.Contains(kind)), without.Length)));
                }
            }
        }

        to.WriteLine();
    }

    /// <summary>Exposure, clipping, sharpness and display.</summary>
    public static void OtherFigures(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head("series", "figure", "told", "size of the error: median / 90 %", "error: median / worst"));
        foreach ((string name, Outcome[] outcomes) in series)
        {
            foreach ((string figure, Func<Outcome, double?> error, string format) in new (string, Func<Outcome, double?>, string)[]
            {
                ("anatomy share, points", one => one.AnatomyError, "0.0"),
                ("bone share, points", one => one.BoneError, "0.0"),
                ("exposure index from pixels, %", one => one.IndexErrorPercent, "0.0"),
                ("mottle of the signal, %", one => one.MottleErrorPercent, "0"),
                ("saturated share, points", one => one.SaturatedError, "0.00"),
                ("edge blur, %", one => one.BlurErrorPercent, "0"),
                ("mean brightness, points", one => one.BrightnessError, "0.0"),
                ("contrast, points", one => one.ContrastError, "0.0"),
            })
            {
                double[] values = [.. Values(outcomes, error)];
                if (values.Length > 0)
                {
                    to.WriteLine(Figures.Row(name, figure, $"{values.Length} of {outcomes.Length}", Figures.MedianAndDecile(values, format), Figures.MedianAndWorst(values, $"+{format};-{format};0")));
                }
            }
        }

        to.WriteLine();
    }

    /// <summary>How often truth lies within the stated uncertainty.</summary>
    public static void Coverage(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head(["figure", .. series.Select(one => one.Name)]));
        foreach (string figure in series.SelectMany(one => one.Outcomes).SelectMany(one => one.Stated).Select(one => one.Figure).Distinct().Order())
        {
            to.WriteLine(Figures.Row([figure, .. series.Select(one =>
            {
                double[] deviations = [.. one.Outcomes.SelectMany(outcome => outcome.Stated).Where(stated => stated.Figure == figure).Select(stated => stated.Deviations)];
                return deviations.Length == 0 ? Figures.Nothing : $"{Figures.Text(100.0 * deviations.Count(value => value <= 1) / deviations.Length, "0")} / {Figures.Text(100.0 * deviations.Count(value => value <= 2) / deviations.Length, "0")} % of {deviations.Length}";
            })]));
        }

        to.WriteLine();
    }

    private static string[] Cells(Outcome[] some, bool processing)
    {
        double[] corners = [.. Values(some, one => one.CornerMm)];
        double[] mottle = [.. Values(some, one => one.MottleErrorPercent)];
        double[] overlaps = [.. some.Select(one => one.Overlap)];
        return
        [
            $"{some.Length}",
            $"{corners.Length}",
            $"{some.Count(one => one.SidesRight == 4)}",
            corners.Length == 0 ? Figures.Nothing : $"{Figures.Text(Figures.Median(corners), "0.00")} / {Figures.Text(Figures.Quantile(corners, 0.9), "0.00")} / {Figures.Text(corners.Max(), "0.00")}",
            $"{Figures.Text(Figures.Median(overlaps), "0.000")} / {Figures.Text(overlaps.Min(), "0.000")}",
            Figures.MedianAndWorst(Values(some, one => one.AnatomyError), "+0.0;-0.0;0.0"),
            .. processing ? [$"{mottle.Length}, {Figures.MedianAndWorst(mottle, "+0;-0;0")}"] : Array.Empty<string>(),
        ];
    }

    private static IEnumerable<double> Values(IEnumerable<Outcome> some, Func<Outcome, double?> figure) => some.Select(figure).OfType<double>();
}
