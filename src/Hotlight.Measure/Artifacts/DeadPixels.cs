using Hotlight.Core;

namespace Hotlight.Measure.Artifacts;

/// <summary>Elements of the receptor, or small clusters of them, that answer otherwise than all around them.</summary>
/// <remarks>
/// <para>An element that does not answer differs from its neighbours from one pixel to the next. Whatever was exposed reaches the pixels through the receptor's blur, so its edge is spread over more: a small calcification or a grain of dust in the beam is no dead element.</para>
/// </remarks>
internal static class DeadPixels
{
    // Amplitude over the spread of the ring around it. Eight of a normal distribution never occur among nine million.
    private const double LeastSigmas = 8;

    // A step to the outside within one pixel: what is left of the amplitude in the pixels that touch it. A Gaussian blur of half a pixel leaves 0.14 of a single pixel's and 0.20 beyond a straight edge, of one pixel 0.61 and 0.32.
    private const double MostLeftOutside = 0.2;

    // The least of a cluster over its deepest: elements that fail together read alike; what comes through the blur fades towards its rim.
    private const double LeastOfDeepest = 0.5;

    // Clusters up to five pixels across; beyond that an object or drawn text.
    private const int LargestCluster = 25;

    /// <summary>The clusters among the pixels that stand alone.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="scale">The attenuation scale.</param>
    /// <param name="dots">Pixels that differ from all four at a distance.</param>
    /// <param name="columnLines">Columns of found line faults, left out.</param>
    /// <param name="rowLines">Rows of found line faults, left out.</param>
    public static List<(PixelPoint Center, int Pixels, double Amplitude, double Sigmas)> Find(
        ReadOnlyRaster<ushort> pixels, AttenuationScale scale, List<(int Row, int Column)> dots, HashSet<int> columnLines, HashSet<int> rowLines)
    {
        var waiting = new HashSet<(int Row, int Column)>(dots);
        var found = new List<(PixelPoint, int, double, double)>();
        var cluster = new List<(int Row, int Column)>();
        foreach ((int Row, int Column) dot in dots)
        {
            if (!waiting.Remove(dot))
            {
                continue;
            }

            cluster.Clear();
            cluster.Add(dot);
            for (int at = 0; at < cluster.Count; at++)
            {
                for (int dy = -1; dy <= 1; dy++)
                {
                    for (int dx = -1; dx <= 1; dx++)
                    {
                        (int Row, int Column) next = (cluster[at].Row + dy, cluster[at].Column + dx);
                        if (waiting.Remove(next))
                        {
                            cluster.Add(next);
                        }
                    }
                }
            }

            if (cluster.Count <= LargestCluster && Judge(pixels, scale, cluster, columnLines, rowLines) is { } judged)
            {
                found.Add(judged);
            }
        }

        return found;
    }

    private static (PixelPoint Center, int Pixels, double Amplitude, double Sigmas)? Judge(
        ReadOnlyRaster<ushort> pixels, AttenuationScale scale, List<(int Row, int Column)> cluster, HashSet<int> columnLines, HashSet<int> rowLines)
    {
        int top = cluster.Min(dot => dot.Row), bottom = cluster.Max(dot => dot.Row), left = cluster.Min(dot => dot.Column), right = cluster.Max(dot => dot.Column);
        for (int line = left - 3; line <= right + 3; line++)
        {
            if (columnLines.Contains(line))
            {
                return null;
            }
        }

        for (int line = top - 3; line <= bottom + 3; line++)
        {
            if (rowLines.Contains(line))
            {
                return null;
            }
        }

        // The ring: pixels two to five away from the box, without those that touch it.
        Span<float> ring = stackalloc float[512];
        int count = 0;
        for (int row = Math.Max(0, top - 5); row <= Math.Min(pixels.Rows - 1, bottom + 5); row++)
        {
            for (int column = Math.Max(0, left - 5); column <= Math.Min(pixels.Columns - 1, right + 5); column++)
            {
                int away = Math.Max(Math.Max(left - column, column - right), Math.Max(top - row, row - bottom));
                if (away >= 2 && count < ring.Length)
                {
                    ring[count++] = scale.ByPixelValue[pixels[row, column]];
                }
            }
        }

        if (count < 40)
        {
            return null;
        }

        ring = ring[..count];
        ring.Sort();
        float level = ring[count / 2];

        // A ring of one value was drawn or masked, not exposed.
        if (ring[(int)(0.9 * count)] == ring[(int)(0.3 * count)])
        {
            return null;
        }

        // Half of the ring's 10th to 90th percentile is 1.28 standard deviations, and holds slopes and edges of the anatomy too.
        double spread = Math.Max((ring[(int)(0.9 * count)] - ring[(int)(0.1 * count)]) / 2.563, 0.41 * scale.Step);
        double sum = 0, sumX = 0, sumY = 0, least = double.PositiveInfinity, most = 0;
        foreach ((int row, int column) in cluster)
        {
            double difference = scale.ByPixelValue[pixels[row, column]] - level;
            sum += difference;
            sumX += column;
            sumY += row;
            least = Math.Min(least, Math.Abs(difference));
            most = Math.Max(most, Math.Abs(difference));
        }

        double amplitude = sum / cluster.Count;
        if (least < LeastOfDeepest * most || Math.Abs(amplitude) < LeastSigmas * spread || Math.Abs(amplitude) < 4 * (ring[^3] - ring[2]) / 2)
        {
            return null;
        }

        // Beside each pixel of the cluster: what is not of the cluster must be back at the ring's level.
        var members = new HashSet<(int Row, int Column)>(cluster);
        double outside = 0;
        int beside = 0;
        foreach ((int row, int column) in cluster)
        {
            foreach ((int dy, int dx) in (ReadOnlySpan<(int, int)>)[(0, 1), (0, -1), (1, 0), (-1, 0)])
            {
                if (!members.Contains((row + dy, column + dx)) && row + dy >= 0 && row + dy < pixels.Rows && column + dx >= 0 && column + dx < pixels.Columns)
                {
                    outside += (scale.ByPixelValue[pixels[row + dy, column + dx]] - level) / amplitude;
                    beside++;
                }
            }
        }

        if (beside == 0 || outside / beside > MostLeftOutside)
        {
            return null;
        }

        return (new PixelPoint(X: sumX / cluster.Count, Y: sumY / cluster.Count), cluster.Count, amplitude, Math.Abs(amplitude) / spread);
    }
}
