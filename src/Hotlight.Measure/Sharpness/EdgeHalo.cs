namespace Hotlight.Measure.Sharpness;

/// <summary>The halo that edge enhancement leaves beside contours.</summary>
/// <remarks>On the side of less attenuation, where no cortex lies, exposure beside a true edge rises on away from it or stays; after enhancement it is highest beside the edge and falls again. The halo's height is that fall in the median profile of the sharpest edges, in percent of the edge's step. Mild enhancement over several mm leaves none that can be told from the anatomy.</remarks>
internal static class EdgeHalo
{
    /// <summary>Height above which enhancement is told, in percent of the step. Chance and anatomy of the tuning exposures, which have none or a mild one, leave less: docs/methods/sharpness.md#accuracy.</summary>
    internal const double LeastPercent = 12;

    private const int MostEdges = 200;
    private const int LeastEdges = 40;

    // From the edge, in sigma: where its own rise has ended; in mm: where the peak is sought and the level it falls to.
    private const double NearSigma = 2.5;
    private const double NearMm = 0.4;
    private const double PeakMm = 1.5;
    private const double LevelMm = 2.5;

    /// <summary>Height of the halo in percent of the step; null where too few edges are sharp and clean enough.</summary>
    internal static double? Percent(IReadOnlyList<FittedEdge> edges, EdgeProfile profile, int exposureSign)
    {
        // The sharpest half of what is known well: one set of edges at every distance, so that the curve does not change with the set.
        FittedEdge[] known = [.. edges.Where(edge => edge.RelativeError < 0.25).OrderBy(edge => edge.SigmaMm)];
        FittedEdge[] best = [.. known.Take(Math.Max(known.Length / 2, LeastEdges)).OrderBy(edge => edge.RelativeError).Take(MostEdges)];
        if (best.Length < LeastEdges)
        {
            return null;
        }

        double widest = best.Max(edge => edge.SigmaMm);
        int near = (int)Math.Ceiling(Math.Max(NearMm, NearSigma * widest) / profile.StepMm);
        int peakEnd = near + (int)Math.Round(PeakMm / profile.StepMm);
        int level = peakEnd + (int)Math.Round((LevelMm - PeakMm) / profile.StepMm);
        if (level > profile.Reach)
        {
            return null;
        }

        // With +1 the side of less attenuation has the higher values.
        int side = exposureSign > 0 ? 1 : -1;
        var curves = new List<double[]>();
        foreach (FittedEdge edge in best)
        {
            profile.Take(edge.Candidate);
            if (profile.WholeReach >= level)
            {
                double shift = edge.ShiftMm / profile.StepMm, from = profile.At(shift);
                curves.Add([.. Enumerable.Range(near, level - near + 1).Select(n => side * (profile.At(shift + (side * n)) - from) / edge.Step)]);
            }
        }

        if (curves.Count < LeastEdges)
        {
            return null;
        }

        var median = new double[level - near + 1];
        var column = new double[curves.Count];
        for (int n = 0; n < median.Length; n++)
        {
            for (int i = 0; i < column.Length; i++)
            {
                column[i] = curves[i][n];
            }

            Array.Sort(column);
            median[n] = column[column.Length / 2];
        }

        double peak = median[..(peakEnd - near + 1)].Max();
        double after = median[(peakEnd - near)..].Average();
        return 100 * Math.Max(0, peak - after);
    }
}
