namespace Hotlight.Teaching.WalkThroughs;

/// <summary>Leaves out entries of a recorded track that nobody would miss: straight between those that stay, no left-out one is off by more than a tolerance at its own time.</summary>
/// <remarks>The rule of Ramer (1972) and of Douglas and Peucker (1973) on the difference at the same time, so that not only the path but its pace is kept.</remarks>
public static class TrackThinning
{
    /// <summary>Thins a track.</summary>
    /// <param name="track">Entries, the first member the time; times go up.</param>
    /// <param name="tolerance">Most that a member other than the time may be off, in its own unit, at entry [time, …]: one for all members.</param>
    /// <param name="decimals">Decimals that members are rounded to; what rounding takes is in the tolerance.</param>
    public static IReadOnlyList<double[]> Thin(IReadOnlyList<double[]> track, double tolerance, int decimals = 2)
    {
        ArgumentNullException.ThrowIfNull(track);
        ArgumentOutOfRangeException.ThrowIfNegative(tolerance);
        if (track.Count == 0)
        {
            return [];
        }

        double[][] rounded = [.. track.Select(entry => entry.Select((value, member) => Math.Round(value, member == 0 ? 3 : decimals)).ToArray())];
        double left = Math.Max(0, tolerance - (0.5 * Math.Pow(10, -decimals)));
        bool[] stays = new bool[rounded.Length];
        stays[0] = stays[^1] = true;
        var open = new Stack<(int From, int To)>();
        open.Push((0, rounded.Length - 1));
        while (open.TryPop(out (int From, int To) piece))
        {
            double worst = left;
            int at = -1;
            for (int entry = piece.From + 1; entry < piece.To; entry++)
            {
                double off = Off(rounded[piece.From], rounded[piece.To], rounded[entry]);
                if (off > worst)
                {
                    worst = off;
                    at = entry;
                }
            }

            if (at >= 0)
            {
                stays[at] = true;
                open.Push((piece.From, at));
                open.Push((at, piece.To));
            }
        }

        return [.. rounded.Where((_, entry) => stays[entry])];
    }

    private static double Off(double[] from, double[] to, double[] between)
    {
        double share = to[0] > from[0] ? (between[0] - from[0]) / (to[0] - from[0]) : 0;
        double off = 0;
        for (int member = 1; member < from.Length; member++)
        {
            off = Math.Max(off, Math.Abs(between[member] - from[member] - (share * (to[member] - from[member]))));
        }

        return off;
    }
}
