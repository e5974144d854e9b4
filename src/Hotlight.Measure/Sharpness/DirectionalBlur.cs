namespace Hotlight.Measure.Sharpness;

/// <summary>The blur of the sharpest edges in every direction, parted into a round blur and one along a line.</summary>
/// <remarks>
/// <para>In each direction the sharpest edges are a low quantile of sigma. Blurs add in variance, and a blur along φ of standard deviation m shows on an edge with its normal along θ as m·|cos(θ − φ)|: σ²(θ) = s₀² + m²·cos²(θ − φ) = a + b·cos 2θ + c·sin 2θ.</para>
/// </remarks>
internal sealed record DirectionalBlur
{
    /// <summary>Half-width of a direction's bin, in degrees; bins overlap by half.</summary>
    internal const double BinHalfWidthDegrees = 15;

    /// <summary>Fewest edges that stand for a direction.</summary>
    internal const int LeastEdges = 10;

    private const int Bins = EdgeSearch.Directions;

    // Edges within one block share a contour and its softness: they are drawn together when the spread is estimated, and count less in number.
    private const double BlockMm = 8;
    private const int Draws = 40;
    private const double MostWeight = 60;
    private const int Reweightings = 5;

    /// <summary>Round part of the blur: sigma in the direction of least blur, in mm.</summary>
    internal required double LeastMm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    internal required double LeastMmSpread { get; init; }

    /// <summary>Standard deviation of the blur along one line, in mm.</summary>
    internal required double AlongMm { get; init; }

    /// <summary>One standard deviation, in mm.</summary>
    internal required double AlongMmSpread { get; init; }

    /// <summary>Its direction, 0 to 180 degrees.</summary>
    internal required double DirectionDegrees { get; init; }

    /// <summary>One standard deviation, in degrees.</summary>
    internal required double DirectionDegreesSpread { get; init; }

    /// <summary>One standard deviation of the ratio.</summary>
    internal required double RatioSpread { get; init; }

    /// <summary>Root mean square of (measured variance / fitted variance − 1) over the directions.</summary>
    internal required double Misfit { get; init; }

    /// <summary>Sigma of the sharpest edges by direction, in mm; NaN where too few.</summary>
    internal required double[] SigmaMm { get; init; }

    /// <summary>Edges by direction.</summary>
    internal required int[] Edges { get; init; }

    /// <summary>Blur in the worst direction over blur in the best.</summary>
    internal double Ratio => Math.Sqrt((LeastMm * LeastMm) + (AlongMm * AlongMm)) / LeastMm;

    /// <summary>Middle of a bin, in degrees.</summary>
    internal static double MiddleDegrees(int bin) => (bin + 0.5) * 180 / Bins;

    /// <summary>How many of a list's edges stand for each direction.</summary>
    internal static int[] Count(IReadOnlyList<FittedEdge> edges)
    {
        var counts = new int[Bins];
        foreach (FittedEdge edge in edges)
        {
            for (int bin = 0; bin < Bins; bin++)
            {
                counts[bin] += Apart(edge.DirectionDegrees, MiddleDegrees(bin)) <= BinHalfWidthDegrees ? 1 : 0;
            }
        }

        return counts;
    }

    /// <summary>Angle between two directions without sense, 0 to 90 degrees.</summary>
    internal static double Apart(double oneDegrees, double otherDegrees)
    {
        double apart = Math.Abs(oneDegrees - otherDegrees) % 180;
        return Math.Min(apart, 180 - apart);
    }

    /// <summary>Fits the edges; null where fewer than five directions have edges enough.</summary>
    /// <param name="edges">Fitted edges.</param>
    /// <param name="scale">The image's scale.</param>
    /// <param name="quantile">The quantile of sigma that stands for the sharpest edges of a direction, 0 to 1.</param>
    internal static DirectionalBlur? Fit(IReadOnlyList<FittedEdge> edges, ImageScale scale, double quantile)
    {
        FittedEdge[] sorted = [.. edges.OrderBy(edge => edge.SigmaMm)];
        var blocks = new Dictionary<(int, int), int>();
        var block = new int[sorted.Length];
        for (int i = 0; i < sorted.Length; i++)
        {
            (int, int) key = ((int)(sorted[i].X * scale.ColumnSpacingMm / BlockMm), (int)(sorted[i].Y * scale.RowSpacingMm / BlockMm));
            if (!blocks.TryGetValue(key, out int number))
            {
                number = blocks.Count;
                blocks.Add(key, number);
            }

            block[i] = number;
        }

        int[][] members = [.. Enumerable.Range(0, Bins).Select(bin => Enumerable.Range(0, sorted.Length).Where(i => Apart(sorted[i].DirectionDegrees, MiddleDegrees(bin)) <= BinHalfWidthDegrees).ToArray())];
        int[] counts = [.. members.Select(some => some.Length)];
        double[] weights = new double[blocks.Count];
        Array.Fill(weights, 1);
        double[] sigma = new double[Bins];
        if (Quantiles(sorted, block, members, weights, quantile, sigma) is not { } whole)
        {
            return null;
        }

        // Blocks drawn with replacement; a fixed seed, so that a file gives the same figures every time.
        var random = new Random(20261126);
        var drawn = new List<(double Least, double Along, double Cosine, double Sine, double Ratio)>();
        double[] again = new double[Bins];
        for (int draw = 0; draw < Draws; draw++)
        {
            Array.Clear(weights);
            for (int i = 0; i < weights.Length; i++)
            {
                weights[random.Next(weights.Length)]++;
            }

            if (Quantiles(sorted, block, members, weights, quantile, again) is { } fit)
            {
                drawn.Add((fit.Least, fit.Along, fit.Cosine, fit.Sine, Math.Sqrt((fit.Least * fit.Least) + (fit.Along * fit.Along)) / fit.Least));
            }
        }

        double direction = Direction(whole.Cosine, whole.Sine);
        return new DirectionalBlur
        {
            LeastMm = whole.Least,
            LeastMmSpread = Spread(drawn.Select(one => one.Least)),
            AlongMm = whole.Along,
            AlongMmSpread = Spread(drawn.Select(one => one.Along)),
            DirectionDegrees = direction,
            DirectionDegreesSpread = drawn.Count < 2 ? 90 : Math.Sqrt(drawn.Average(one => Math.Pow(Apart(Direction(one.Cosine, one.Sine), direction), 2))),
            RatioSpread = Spread(drawn.Select(one => one.Ratio)),
            Misfit = whole.Misfit,
            SigmaMm = sigma,
            Edges = counts,
        };
    }

    private static double Direction(double cosine, double sine)
    {
        double degrees = 0.5 * Math.Atan2(sine, cosine) * 180 / Math.PI;
        return degrees < 0 ? degrees + 180 : degrees;
    }

    private static double Spread(IEnumerable<double> values)
    {
        double[] all = [.. values];
        if (all.Length < 2)
        {
            return double.PositiveInfinity;
        }

        double mean = all.Average();
        return Math.Sqrt(all.Sum(value => (value - mean) * (value - mean)) / (all.Length - 1));
    }

    /// <summary>Weighted quantiles by direction, then σ² = a + b·cos 2θ + c·sin 2θ by least squares of relative error, weighted by edges.</summary>
    private static (double Least, double Along, double Cosine, double Sine, double Misfit)? Quantiles(FittedEdge[] sorted, int[] block, int[][] members, double[] weights, double quantile, double[] sigma)
    {
        Span<double> weight = stackalloc double[Bins];
        int told = 0;
        for (int bin = 0; bin < Bins; bin++)
        {
            double total = 0;
            foreach (int i in members[bin])
            {
                total += weights[block[i]];
            }

            sigma[bin] = double.NaN;
            weight[bin] = Math.Min(total, MostWeight);
            if (total < LeastEdges)
            {
                continue;
            }

            double sum = 0;
            foreach (int i in members[bin])
            {
                sum += weights[block[i]];
                if (sum >= quantile * total)
                {
                    sigma[bin] = sorted[i].SigmaMm;
                    break;
                }
            }

            told++;
        }

        return told < 5 ? null : FitCosine(sigma, weight);
    }

    private static (double Least, double Along, double Cosine, double Sine, double Misfit)? FitCosine(double[] sigma, ReadOnlySpan<double> weight)
    {
        Span<double> fitted = stackalloc double[Bins];
        for (int bin = 0; bin < Bins; bin++)
        {
            fitted[bin] = sigma[bin] * sigma[bin];
        }

        double a = 0, b = 0, c = 0;
        for (int round = 0; round < Reweightings; round++)
        {
            double s00 = 0, s01 = 0, s02 = 0, s11 = 0, s12 = 0, s22 = 0, r0 = 0, r1 = 0, r2 = 0;
            for (int bin = 0; bin < Bins; bin++)
            {
                if (double.IsNaN(sigma[bin]))
                {
                    continue;
                }

                double w = weight[bin] / (fitted[bin] * fitted[bin]);
                (double sine, double cosine) = Math.SinCos(2 * MiddleDegrees(bin) * Math.PI / 180);
                double y = sigma[bin] * sigma[bin];
                s00 += w;
                s01 += w * cosine;
                s02 += w * sine;
                s11 += w * cosine * cosine;
                s12 += w * cosine * sine;
                s22 += w * sine * sine;
                r0 += w * y;
                r1 += w * cosine * y;
                r2 += w * sine * y;
            }

            double c00 = (s11 * s22) - (s12 * s12), c01 = (s02 * s12) - (s01 * s22), c02 = (s01 * s12) - (s02 * s11);
            double determinant = (s00 * c00) + (s01 * c01) + (s02 * c02);
            if (!(Math.Abs(determinant) > 1e-9 * s00 * s11 * s22))
            {
                return null;
            }

            double c11 = (s00 * s22) - (s02 * s02), c12 = (s01 * s02) - (s00 * s12), c22 = (s00 * s11) - (s01 * s01);
            a = ((c00 * r0) + (c01 * r1) + (c02 * r2)) / determinant;
            b = ((c01 * r0) + (c11 * r1) + (c12 * r2)) / determinant;
            c = ((c02 * r0) + (c12 * r1) + (c22 * r2)) / determinant;
            for (int bin = 0; bin < Bins; bin++)
            {
                (double sine, double cosine) = Math.SinCos(2 * MiddleDegrees(bin) * Math.PI / 180);
                fitted[bin] = Math.Max(a + (b * cosine) + (c * sine), 0.1 * a);
            }
        }

        double swing = Math.Sqrt((b * b) + (c * c));
        double misfit = 0;
        int told = 0;
        double least = double.PositiveInfinity;
        for (int bin = 0; bin < Bins; bin++)
        {
            if (!double.IsNaN(sigma[bin]))
            {
                misfit += Math.Pow((sigma[bin] * sigma[bin] / fitted[bin]) - 1, 2);
                told++;
                least = Math.Min(least, sigma[bin]);
            }
        }

        // The fitted least may fall below what any direction shows; then what is shown is kept.
        double round2 = Math.Max(a - swing, 0.25 * least * least);
        return (Math.Sqrt(round2), Math.Sqrt(2 * swing), b, c, Math.Sqrt(misfit / told));
    }
}
