namespace Hotlight.Measure.Sharpness;

/// <summary>Whether a blur along one line smears edges evenly or shows them twice.</summary>
/// <remarks>Steady motion gives an edge-spread function that is a ramp; a part that jumped during the exposure, or was exposed twice, gives two steps. Both are fitted, with the round blur known, to the edges across the line; the one that leaves less is told when it leaves clearly less.</remarks>
internal static class BlurShape
{
    private const int MostEdges = 150;
    private const int LeastEdges = 12;
    private const double WithinDegrees = 25;

    // An edge much sharper than the blur along the line is one of the two contours by itself.
    private const double LeastShare = 0.6;

    // Two steps must leave less than this share of what the ramp leaves, by the median over the edges; noise alone leaves both alike.
    private const double ClearlyLess = 0.6;

    /// <summary>Distance of the two contours in mm along the line, with one standard deviation; null where edges are smeared or cannot be told.</summary>
    /// <param name="edges">Fitted edges.</param>
    /// <param name="blur">The blur by direction.</param>
    /// <param name="profile">Room for profiles of the image.</param>
    internal static (double Mm, double Spread)? DoubleContour(IReadOnlyList<FittedEdge> edges, DirectionalBlur blur, EdgeProfile profile)
    {
        var ratios = new List<double>();
        var distances = new List<double>();
        double least = blur.LeastMm;
        IEnumerable<FittedEdge> across = edges
            .Where(edge => DirectionalBlur.Apart(edge.DirectionDegrees, blur.DirectionDegrees) <= WithinDegrees && edge.SigmaMm > Math.Max(1.2 * least, LeastShare * blur.AlongMm))
            .OrderBy(edge => edge.RelativeError).Take(MostEdges);
        foreach (FittedEdge edge in across)
        {
            profile.Take(edge.Candidate);
            double along = Math.Sqrt((edge.SigmaMm * edge.SigmaMm) - (least * least)) / profile.StepMm;
            double round = Math.Sqrt((least * least / (profile.StepMm * profile.StepMm)) + profile.AddedVarianceSteps);
            int reach = Math.Min(Math.Min(profile.WholeReach, profile.Reach), (int)Math.Ceiling(edge.WindowMm / profile.StepMm));
            if (reach < 5)
            {
                continue;
            }

            double shift = edge.ShiftMm / profile.StepMm;
            (double ramp, _) = Best(profile, reach, shift, round, along * Math.Sqrt(12), isRamp: true);
            (double twice, double distance) = Best(profile, reach, shift, round, along * 2, isRamp: false);
            if (ramp > 0)
            {
                ratios.Add(twice / ramp);
                distances.Add(distance * profile.StepMm / Math.Cos(DirectionalBlur.Apart(edge.DirectionDegrees, blur.DirectionDegrees) * Math.PI / 180));
            }
        }

        if (ratios.Count < LeastEdges)
        {
            return null;
        }

        ratios.Sort();
        distances.Sort();
        if (ratios[ratios.Count / 2] >= ClearlyLess)
        {
            return null;
        }

        // Half the width of the middle two thirds is one deviation of a Gaussian; over the root of the count for the median.
        double spread = (distances[5 * distances.Count / 6] - distances[distances.Count / 6]) / 2;
        return (distances[distances.Count / 2], 1.25 * spread / Math.Sqrt(distances.Count));
    }

    /// <summary>What the best of the shapes near a width and place leaves, and its width in steps.</summary>
    private static (double Left, double Width) Best(EdgeProfile profile, int reach, double shift, double round, double width, bool isRamp)
    {
        double least = double.PositiveInfinity, best = width;
        int length = (2 * reach) + 1;
        Span<double> shape = length <= 512 ? stackalloc double[length] : new double[length];
        for (int scale = -3; scale <= 3; scale++)
        {
            double wide = width * Math.Pow(1.12, scale);
            for (int move = -4; move <= 4; move++)
            {
                double middle = shift + (move * 0.08 * wide);
                for (int n = -reach; n <= reach; n++)
                {
                    double from = (n - middle + (wide / 2)) / round, to = (n - middle - (wide / 2)) / round;

                    // A ramp: the mean of Φ over its width, with ∫Φ = zΦ(z) + φ(z).
                    shape[n + reach] = isRamp
                        ? (Integral(from) - Integral(to)) * round / wide
                        : 0.5 * (NormalDistribution.Below(from) + NormalDistribution.Below(to));
                }

                double rest = Rest(profile.Values.AsSpan(profile.Reach - reach, length), shape, reach);
                if (rest < least)
                {
                    least = rest;
                    best = wide;
                }
            }
        }

        return (least, best);
    }

    private static double Integral(double z) => (z * NormalDistribution.Below(z)) + NormalDistribution.Density(z);

    /// <summary>Sum of squares that height, slope and the shape leave.</summary>
    private static double Rest(ReadOnlySpan<double> values, ReadOnlySpan<double> shape, int reach)
    {
        double meanValue = 0, meanShape = 0, slopeValue = 0, slopeShape = 0, squares = 0;
        for (int n = -reach; n <= reach; n++)
        {
            meanValue += values[n + reach];
            meanShape += shape[n + reach];
            slopeValue += n * values[n + reach];
            slopeShape += n * shape[n + reach];
            squares += (double)n * n;
        }

        meanValue /= values.Length;
        meanShape /= values.Length;
        slopeValue /= squares;
        slopeShape /= squares;
        double vv = 0, vs = 0, ss = 0;
        for (int n = -reach; n <= reach; n++)
        {
            double value = values[n + reach] - meanValue - (n * slopeValue), form = shape[n + reach] - meanShape - (n * slopeShape);
            vv += value * value;
            vs += value * form;
            ss += form * form;
        }

        return Math.Max(0, vv - (ss > 0 ? vs * vs / ss : 0));
    }
}
