using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Straight lines of gradient across the reduced image: a Hough transform in which each cell votes only for lines across its own gradient.</summary>
internal static class EdgeLineSearch
{
    private const int AnglesPerDegree = 2;
    private const int Angles = 180 * AnglesPerDegree;

    // Gradient directions scatter by a few degrees where noise is a third of the gradient.
    private const int VoteHalfWidth = 3 * AnglesPerDegree;
    private const int MaximumLines = 90;

    internal static List<EdgeLine> Find(ReducedImage image, GradientField gradient, float threshold)
    {
        int rows = gradient.Rows, columns = gradient.Columns;
        int reach = (int)Math.Ceiling(Math.Sqrt(((double)rows * rows) + ((double)columns * columns))) + 2;
        int width = (2 * reach) + 1;
        var votes = new ushort[Angles * width];
        var cosines = new float[Angles];
        var sines = new float[Angles];
        for (int a = 0; a < Angles; a++)
        {
            (double sine, double cosine) = Math.SinCos(a * Math.PI / Angles);
            cosines[a] = (float)cosine;
            sines[a] = (float)sine;
        }

        for (int row = 1; row < rows - 1; row++)
        {
            for (int column = 1; column < columns - 1; column++)
            {
                int i = (row * columns) + column;
                if (gradient.Magnitude[i] < threshold || !IsRidge(gradient, i))
                {
                    continue;
                }

                float angle = MathF.Atan2(gradient.Y[i], gradient.X[i]);
                int middle = (int)MathF.Round(angle * (Angles / MathF.PI));
                for (int k = middle - VoteHalfWidth; k <= middle + VoteHalfWidth; k++)
                {
                    int a = ((k % Angles) + Angles) % Angles;
                    int rho = (int)MathF.Round((column * cosines[a]) + (row * sines[a])) + reach;
                    votes[(a * width) + rho]++;
                }
            }
        }

        int leastLength = Math.Max(8, Math.Min(rows, columns) / 6);
        var peaks = new List<(int Votes, int Angle, int Rho)>();
        for (int a = 0; a < Angles; a++)
        {
            for (int r = 1; r < width - 1; r++)
            {
                int here = (a * width) + r;
                int sum = votes[here] + votes[here - 1] + votes[here + 1];
                if (sum >= leastLength && votes[here] >= votes[here - 1] && votes[here] >= votes[here + 1])
                {
                    peaks.Add((sum, a, r));
                }
            }
        }

        peaks.Sort((p, q) => q.Votes != p.Votes ? q.Votes.CompareTo(p.Votes) : (p.Angle, p.Rho).CompareTo((q.Angle, q.Rho)));
        var kept = new List<(int Angle, int Rho)>();
        foreach ((_, int a, int r) in peaks)
        {
            if (kept.Count == MaximumLines)
            {
                break;
            }

            if (!kept.Exists(k => IsNear(a, r - reach, k.Angle, k.Rho - reach, rows, columns, cosines, sines)))
            {
                kept.Add((a, r));
            }
        }

        var lines = new EdgeLine?[kept.Count];
        Parallel.For(0, kept.Count, k => lines[k] = EdgeLine.Along(image, gradient, cosines[kept[k].Angle], sines[kept[k].Angle], kept[k].Rho - reach, threshold, leastLength));
        var distinct = new List<EdgeLine>();
        foreach (EdgeLine? line in lines)
        {
            if (line is not null && !distinct.Exists(other => IsSame(line, other)))
            {
                distinct.Add(line);
            }
        }

        return distinct;
    }

    // Only the crest of an edge votes; a wide penumbra would otherwise outvote a sharp edge.
    private static bool IsRidge(GradientField g, int i)
    {
        float gx = g.X[i], gy = g.Y[i], magnitude = g.Magnitude[i];
        int stepX = MathF.Abs(gx) > 0.4f * magnitude ? MathF.Sign(gx) : 0, stepY = MathF.Abs(gy) > 0.4f * magnitude ? MathF.Sign(gy) : 0;
        int offset = (stepY * g.Columns) + stepX;
        return magnitude >= g.Magnitude[i - offset] * 0.97f && magnitude >= g.Magnitude[i + offset] * 0.97f;
    }

    private static bool IsNear(int a, int rho, int otherA, int otherRho, int rows, int columns, float[] cosines, float[] sines)
    {
        int turn = Math.Abs(a - otherA);
        turn = Math.Min(turn, Angles - turn);
        if (turn > 2 * AnglesPerDegree)
        {
            return false;
        }

        // The distance of the two lines at the point of the first that is nearest to the image's middle.
        double cx = columns / 2.0, cy = rows / 2.0;
        double d = (cosines[a] * cx) + (sines[a] * cy) - rho;
        double px = cx - (d * cosines[a]), py = cy - (d * sines[a]);
        double other = (cosines[otherA] * px) + (sines[otherA] * py) - otherRho;
        return Math.Abs(other) < 3.5;
    }

    private static bool IsSame(EdgeLine line, EdgeLine other)
    {
        double dot = (line.NormalX * other.NormalX) + (line.NormalY * other.NormalY);
        if (Math.Abs(dot) < 0.9998)
        {
            return false;
        }

        return Math.Abs(line.Rho - (Math.Sign(dot) * other.Rho)) < 1.5;
    }
}
