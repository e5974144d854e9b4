using Hotlight.Accuracy.Scoring;

namespace Hotlight.Accuracy.Tables;

/// <summary>A line for every exposure, to look into what fails.</summary>
internal static class Listing
{
    /// <summary>Prints it.</summary>
    public static void Print(TextWriter to, IReadOnlyList<(string Name, Outcome[] Outcomes)> series)
    {
        foreach ((string name, Outcome[] outcomes) in series)
        {
            to.WriteLine($"## Every exposure: {name}");
            to.WriteLine();
            to.WriteLine(Figures.Head("exposure", "severity", "corner, mm", "overlap", "edges right", "anatomy, points", "index, %", "mottle, %", "blur, %", "motion, mm: true, seen, direction off", "markers: hits, false", "artifacts: hits, false"));
            foreach (Outcome one in outcomes)
            {
                to.WriteLine(Figures.Row(
                    one.Name,
                    one.Severity,
                    Figures.Text(one.CornerMm, "0.00"),
                    Figures.Text(one.Overlap, "0.000"),
                    $"{one.SidesRight}",
                    Figures.Text(one.AnatomyError, "+0.0;-0.0;0.0"),
                    Figures.Text(one.IndexErrorPercent, "+0.0;-0.0;0.0"),
                    Figures.Text(one.MottleErrorPercent, "+0;-0;0"),
                    Figures.Text(one.BlurErrorPercent, "+0;-0;0"),
                    $"{Figures.Text(one.Truth.MotionMm, "0.0")}, {(one.MotionSeen is not bool seen ? Figures.Nothing : seen ? "seen" : "not seen")}, {Figures.Text(one.MotionDirectionError, "0")}",
                    one.Markers is null ? Figures.Nothing : $"{one.Markers.Hits} of {one.Markers.Required}, {one.Markers.False}",
                    one.Artifacts is null ? Figures.Nothing : string.Join("; ", one.Artifacts.Where(match => match.Required + match.False > 0).Select(match => $"{match.Kind} {match.Hits} of {match.Required}, {match.False}"))));
            }

            to.WriteLine();
        }
    }
}
