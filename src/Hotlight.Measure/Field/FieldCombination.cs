using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Which lines together bound the field: four roles (right, bottom, left, top in turn of the outward normal), each a line or the frame.</summary>
internal sealed class FieldCombination
{
    private const double AngleToleranceDegrees = 5;
    private const int LinesPerRole = 7;
    private const int MaximumTilts = 12;

    private readonly ReducedImage image;
    private readonly float threshold;

    private FieldCombination(ReducedImage image, float threshold)
    {
        this.image = image;
        this.threshold = threshold;
    }

    /// <summary>The best set of lines; empty roles are null.</summary>
    internal static EdgeLine?[] Best(ReducedImage image, IReadOnlyList<EdgeLine> directedLines, float threshold, IReadOnlyList<EdgeLine> refused)
    {
        var combination = new FieldCombination(image, threshold);
        var directed = new List<(EdgeLine Line, double Rough)>();
        foreach (EdgeLine candidate in directedLines)
        {
            double rough = combination.RoughScore(candidate);
            if (rough > 0 && !refused.Any(r => IsSameSide(r, candidate)))
            {
                directed.Add((candidate, rough));
            }
        }

        directed.Sort((a, b) => b.Rough.CompareTo(a.Rough));
        var tilts = new List<double>();
        foreach ((EdgeLine line, _) in directed)
        {
            double tilt = FoldedTilt(line.NormalDegrees);
            if (tilts.Count < MaximumTilts && !tilts.Exists(t => Math.Abs(FoldedTilt(t - tilt)) < 1.5))
            {
                tilts.Add(tilt);
            }
        }

        EdgeLine?[] best = new EdgeLine?[4];
        double bestScore = 0;
        var locker = new object();
        Parallel.ForEach(tilts, tilt =>
        {
            (double score, EdgeLine?[] set) = combination.BestAt(tilt, directed);
            lock (locker)
            {
                if (score > bestScore)
                {
                    (bestScore, best) = (score, set);
                }
            }
        });
        return best;
    }

    /// <summary>An angle folded to (−45, 45] degrees.</summary>
    internal static double FoldedTilt(double degrees)
    {
        double folded = degrees % 90;
        return folded > 45 ? folded - 90 : folded <= -45 ? folded + 90 : folded;
    }

    private static bool IsSameSide(EdgeLine a, EdgeLine b)
        => (a.NormalX * b.NormalX) + (a.NormalY * b.NormalY) > 0.9995 && Math.Abs(a.Rho - b.Rho) < 1.5;

    internal double SideScore(EdgeLine line, double fromT, double toT)
    {
        SegmentEvidence e = line.Between(fromT, toT);
        double shortSide = Math.Min(image.Rows, image.Columns);
        if (e.Length < 0.2 * shortSide)
        {
            return double.NegativeInfinity;
        }

        double coverage = e.Coverage + (0.4 * e.Opposed);
        if (coverage < 0.68)
        {
            return double.NegativeInfinity;
        }

        double weight = Weight(e);
        if (weight <= 0.05)
        {
            return double.NegativeInfinity;
        }

        // A piece that the frame cuts at both ends should cross most of the image; a short one across a corner is rarely a collimator.
        double full = Math.Abs(line.NormalX) > Math.Abs(line.NormalY) ? image.Rows : image.Columns;
        bool framed = fromT <= line.FirstT + 1.5 && toT >= line.EndT - 2.5;
        if (framed && e.Length < 0.45 * full)
        {
            return double.NegativeInfinity;
        }

        return e.Length * ((coverage - 0.6) / 0.4) * weight;
    }

    // How little the far side of the line looks like more of the field.
    internal double Weight(SegmentEvidence e)
    {
        if (e.OutsideConstant > 0.9)
        {
            return 1;
        }

        double quiet = Math.Clamp(1.6 - (e.OutsideTexture / (e.InsideTexture + (0.7 * threshold))), 0, 1);
        double farQuiet = Math.Clamp(1.6 - (e.FarTexture / (e.WithinTexture + (0.4 * threshold))), 0, 1);
        double step = Math.Abs(e.StepMean);
        double steady = step / (step + e.StepSpread + threshold);
        double level = step / (step + e.OutsideSpread + threshold);
        return quiet * farQuiet * Math.Max(steady, level) * 1.2;
    }

    private double RoughScore(EdgeLine line)
    {
        SegmentEvidence e = line.Between(line.FirstT, line.EndT);
        return e.Length * (e.Coverage + (0.4 * e.Opposed)) * (0.2 + Weight(e));
    }

    private (double Score, EdgeLine?[] Set) BestAt(double tilt, List<(EdgeLine Line, double Rough)> directed)
    {
        var roles = new List<EdgeLine?>[4];
        for (int role = 0; role < 4; role++)
        {
            roles[role] = [null];
            foreach ((EdgeLine line, _) in directed)
            {
                double off = Math.IEEERemainder(line.NormalDegrees - tilt - (90 * role), 360);
                if (Math.Abs(off) <= AngleToleranceDegrees && roles[role].Count <= LinesPerRole)
                {
                    roles[role].Add(line);
                }
            }
        }

        double best = 0;
        var set = new EdgeLine?[4];
        foreach (EdgeLine? right in roles[0])
        {
            foreach (EdgeLine? left in roles[2])
            {
                if (right is not null && left is not null && !AreApart(right, left))
                {
                    continue;
                }

                foreach (EdgeLine? bottom in roles[1])
                {
                    foreach (EdgeLine? top in roles[3])
                    {
                        if (bottom is not null && top is not null && !AreApart(bottom, top))
                        {
                            continue;
                        }

                        double score = Score(right, bottom, left, top);
                        if (score > best)
                        {
                            best = score;
                            set = [right, bottom, left, top];
                        }
                    }
                }
            }
        }

        return (best, set);
    }

    private bool AreApart(EdgeLine a, EdgeLine b) => a.Rho + b.Rho > 0.15 * Math.Min(image.Rows, image.Columns);

    private double Score(EdgeLine? right, EdgeLine? bottom, EdgeLine? left, EdgeLine? top)
    {
        ReadOnlySpan<EdgeLine?> set = [right, bottom, left, top];
        double score = 0;
        for (int i = 0; i < 4; i++)
        {
            if (set[i] is { } line)
            {
                (double from, double to) = Extent(line, set[(i + 3) % 4], set[(i + 1) % 4], set[(i + 2) % 4]);
                if (to <= from)
                {
                    return double.NegativeInfinity;
                }

                score += SideScore(line, from, to);
            }
        }

        return score;
    }

    internal static (double From, double To) Extent(EdgeLine line, params ReadOnlySpan<EdgeLine?> others)
    {
        double from = line.FirstT, to = line.EndT - 1;
        foreach (EdgeLine? other in others)
        {
            if (other is null)
            {
                continue;
            }

            double across = (other.NormalX * -line.NormalY) + (other.NormalY * line.NormalX);
            double room = other.Rho - (line.Rho * ((other.NormalX * line.NormalX) + (other.NormalY * line.NormalY)));
            if (Math.Abs(across) < 0.2)
            {
                continue;
            }

            if (across > 0)
            {
                to = Math.Min(to, room / across);
            }
            else
            {
                from = Math.Max(from, room / across);
            }
        }

        return (from, to);
    }
}
