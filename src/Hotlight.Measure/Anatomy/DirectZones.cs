using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Other zones of direct exposure beside the body: as even as the first, at the field's edge, ending at skin, and only a little less exposed (less scatter reaches them).</summary>
internal static class DirectZones
{
    // Scatter behind and beside a trunk differs by up to about a fifth of direct exposure from zone to zone (phantom lab's chests).
    private const double MostLower = 0.08;
    private const double LeastShare = 0.012;
    private const int LeastAtEdge = 8;

    // Half of what counts as an edge: a zone is even, and skin ends that at once.
    private const double FlatShare = 0.5;
    private const int Fringe = 4;

    /// <summary>Adds the zones to what was grown and takes their own exposure as the level there.</summary>
    internal static void Join(float[] level, float[] exposure, bool[] grown, GradientField gradient, FieldCells cells, double tolerance, double range, double flatLimit)
    {
        int rows = cells.Rows, columns = cells.Columns;
        var flat = new bool[exposure.Length];
        for (int i = 0; i < flat.Length; i++)
        {
            flat[i] = cells.Kind[i] >= 2 && !grown[i] && gradient.Magnitude[i] < FlatShare * flatLimit && exposure[i] >= level[i] - (MostLower * range) && exposure[i] < level[i] + (2 * tolerance);
        }

        CellRegions regions = CellRegions.Of(flat, rows, columns);
        var atEdge = new int[regions.Sizes.Count];
        for (int i = 0; i < flat.Length; i++)
        {
            atEdge[regions.Label[i]] += cells.Kind[i] == 2 ? 1 : 0;
        }

        for (int k = 1; k < regions.Sizes.Count; k++)
        {
            if (regions.Sizes[k] < LeastShare * cells.Count || atEdge[k] < LeastAtEdge)
            {
                continue;
            }

            bool[] zone = WithFringe(regions.Label, k, exposure, cells, tolerance);
            if (!SkinKink.IsSeen(exposure, level, zone, cells))
            {
                continue;
            }

            for (int i = 0; i < zone.Length; i++)
            {
                if (zone[i])
                {
                    level[i] = exposure[i];
                    grown[i] = true;
                }
            }
        }
    }

    // The zone and the few cells around it that are as exposed as their neighbour in it.
    private static bool[] WithFringe(int[] label, int number, float[] exposure, FieldCells cells, double tolerance)
    {
        int columns = cells.Columns;
        var zone = new bool[label.Length];
        for (int i = 0; i < label.Length; i++)
        {
            zone[i] = label[i] == number;
        }

        for (int pass = 0; pass < Fringe; pass++)
        {
            var added = new List<int>();
            for (int i = columns; i < label.Length - columns; i++)
            {
                if (zone[i] || cells.Kind[i] < 2)
                {
                    continue;
                }

                foreach (int offset in (ReadOnlySpan<int>)[1, -1, columns, -columns])
                {
                    if (zone[i + offset] && exposure[i] > exposure[i + offset] - (tolerance / Fringe))
                    {
                        added.Add(i);
                        break;
                    }
                }
            }

            foreach (int i in added)
            {
                zone[i] = true;
            }
        }

        return zone;
    }
}
