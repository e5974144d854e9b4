using Hotlight.Accuracy.Scoring;

namespace Hotlight.Accuracy.Tables;

/// <summary>The goals of the measures, with the figure reached by each series.</summary>
internal static class Summary
{
    /// <summary>One goal.</summary>
    /// <param name="Measure">What is measured.</param>
    /// <param name="Goal">What is asked.</param>
    /// <param name="Figure">The figure of a series; null where it has nothing to say.</param>
    /// <param name="Write">How it is written.</param>
    /// <param name="Met">Whether it is met; null where no goal was set.</param>
    private sealed record Line(string Measure, string Goal, Func<Outcome[], double?> Figure, Func<double, string> Write, Func<double, bool>? Met);

    /// <summary>Prints the table.</summary>
    /// <param name="to">Where to.</param>
    /// <param name="series">Series by name.</param>
    public static void Print(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        to.WriteLine(Figures.Head(["measure", "goal", .. series.Select(one => one.Name)]));
        foreach (Line line in Lines())
        {
            to.WriteLine(Figures.Row([line.Measure, line.Goal, .. series.Select(one =>
            {
                double? figure = line.Figure(one.Outcomes);
                return figure is not double value ? Figures.Nothing : line.Write(value) + (line.Met is null ? "" : line.Met(value) ? ", met" : ", **not met**");
            })]));
        }

        to.WriteLine();
    }

    private static IEnumerable<Line> Lines()
    {
        static string Millimetres(double value) => Figures.Text(value, "0.00") + " mm";
        static string Percent(double value) => Figures.Text(value, "0.0") + " %";
        static string Points(double value) => Figures.Text(value, "0.0") + " points";
        static double? Share(double part, double whole) => whole == 0 ? null : 100 * part / whole;

        // A field that was not told is a corner infinitely far off.
        yield return new("field: corner error, median", "at most 1 mm", some => Figures.Quantile(some.Select(Corner), 0.5), Millimetres, value => value <= 1);
        yield return new("field: corner error, 90th percentile", "at most 3 mm", some => Figures.Quantile(some.Select(Corner), 0.9), Millimetres, value => value <= 3);
        yield return new("field: overlap of 0.95 or more", "95 %", some => Share(some.Count(one => one.Overlap >= 0.95), some.Length), Percent, value => value >= 95);
        yield return new("field: sides with the right kind of edge", "95 %", some => Share(some.Sum(one => one.SidesRight), 4 * some.Length), Percent, value => value >= 95);
        yield return new("anatomy: error of its share, median", "at most 2 points", some => Sizes(some, one => one.AnatomyError), Points, value => value <= 2);
        yield return new("anatomy: error of the bone share, median", "none set", some => Sizes(some, one => one.BoneError), Points, null);
        yield return new("exposure: error of the index from pixels, median", "none set", some => Sizes(some, one => one.IndexErrorPercent), Percent, null);
        yield return new("mottle: error, median", "at most 10 %", some => Sizes(some, one => one.MottleErrorPercent), Percent, value => value <= 10);
        yield return new("clipping: error of the saturated share, 90th percentile", "none set", some => Figures.Quantile(some.Where(one => one.SaturatedError is not null).Select(one => Math.Abs(one.SaturatedError!.Value)), 0.9), Points, null);
        yield return new("sharpness: error of the edge blur without motion, median", "none set", some => Sizes(some.Where(one => one.Truth.MotionMm == 0), one => one.BlurErrorPercent), Percent, null);
        yield return new("motion of 0.8 mm and more: seen", "90 %", some => Share(Moved(some).Count(one => one.MotionSeen == true), Moved(some).Count(one => one.MotionSeen is not null)), Percent, value => value >= 90);
        yield return new("motion of 0.8 mm and more: seen, cannot-tell counted as missed", "none set", some => some.Any(one => one.MotionSeen is not null) ? Share(Moved(some).Count(one => one.MotionSeen == true), Moved(some).Count()) : null, Percent, null);
        yield return new("no motion: none seen", "90 %", some => Share(Still(some).Count(one => one.MotionSeen == false), Still(some).Count(one => one.MotionSeen is not null)), Percent, value => value >= 90);
        yield return new("motion seen: direction within 15 degrees", "90 %", some => Share(Moved(some).Count(one => one.MotionDirectionError <= 15), Moved(some).Count(one => one.MotionDirectionError is not null)), Percent, value => value >= 90);
        yield return new("markers: precision", "95 %", some => Share(some.Sum(Pairs), some.Sum(one => Pairs(one) + (one.Markers?.False ?? 0))), Percent, value => value >= 95);
        yield return new("markers: recall", "95 %", some => Share(some.Sum(one => one.Markers?.Hits ?? 0), some.Where(one => one.Markers is not null).Sum(one => one.Markers!.Required)), Percent, value => value >= 95);
        yield return new("markers: kind right", "95 %", some => Share(some.Sum(one => one.Markers?.Pairs.Count(KindRight) ?? 0), some.Sum(Pairs)), Percent, value => value >= 95);
        yield return new("markers: mirror right", "95 %", some => Share(some.Sum(one => one.Markers?.Pairs.Count(pair => pair.Truth.Mirrored == pair.Found.Mirrored) ?? 0), some.Sum(Pairs)), Percent, value => value >= 95);
        yield return new("artifacts: precision", "none set", some => Share(some.Sum(one => one.Artifacts?.Sum(match => match.Hits) ?? 0), some.Sum(one => one.Artifacts?.Sum(match => match.Hits + match.False) ?? 0)), Percent, null);
        yield return new("artifacts: recall", "none set", some => Share(some.Sum(one => one.Artifacts?.Sum(match => match.Hits) ?? 0), some.Sum(one => one.Artifacts?.Sum(match => match.Required) ?? 0)), Percent, null);
        yield return new("display: error of the mean brightness, median", "none set", some => Sizes(some, one => one.BrightnessError), Points, null);
    }

    private static double Corner(Outcome one) => one.CornerMm ?? double.PositiveInfinity;

    private static int Pairs(Outcome one) => one.Markers?.Pairs.Count ?? 0;

    private static bool KindRight((TrueMarker Truth, Measure.Document.FoundMarker Found) pair)
        => pair.Truth.Kind is null || pair.Truth.Kind.Equals(pair.Found.Kind.ToString(), StringComparison.OrdinalIgnoreCase);

    private static double? Sizes(IEnumerable<Outcome> some, Func<Outcome, double?> error) => Figures.Median(some.Select(error).OfType<double>().Select(Math.Abs));

    private static IEnumerable<Outcome> Moved(Outcome[] some) => some.Where(one => one.Truth.MotionMm >= 0.8);

    private static IEnumerable<Outcome> Still(Outcome[] some) => some.Where(one => one.Truth.MotionMm == 0);
}
