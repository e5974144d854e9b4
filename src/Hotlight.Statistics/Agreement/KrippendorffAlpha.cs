using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>Krippendorff's alpha: any number of readers, with gaps, on any kind of scale: docs/methods/reader-agreement.md#many-readers.</summary>
public static class KrippendorffAlpha
{
    /// <summary>Alpha with a bootstrap interval over cases.</summary>
    /// <remarks>
    /// <para>Method: coincidences o_ck = Σ_u n_uc(n_uk − [c = k])/(m_u − 1) over cases with m_u ≥ 2 readings; n_c = Σ_k o_ck, n = Σ n_c; α = 1 − (n − 1)·Σ o_ck·δ²_ck/Σ n_c·n_k·δ²_ck. δ² nominal [c ≠ k]; ordinal (Σ_{g=c..k} n_g − (n_c + n_k)/2)²; interval (v_c − v_k)²; ratio ((v_c − v_k)/(v_c + v_k))². Krippendorff, Content Analysis, 2nd edition 2004, chapter 11.</para>
    /// <para>Interval: cases with two readings or more are drawn with replacement as often as there are, α worked out anew each time, and the percentiles taken. The same seed gives the same interval. Not Krippendorff's own bootstrap, which draws pairs and holds the expected disagreement.</para>
    /// </remarks>
    /// <param name="table">The readings; gaps are allowed.</param>
    /// <param name="metric">What a difference means.</param>
    /// <param name="seed">Seed of the bootstrap.</param>
    /// <param name="replicates">Number of draws, 100 or more.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>Alpha; cannot-tell when no case has two readings or all readings are in one category.</returns>
    /// <exception cref="ArgumentException">A ratio scale has a value below 0, or the replicates are too few.</exception>
    public static Figure<AgreementEstimate> Of(ReadingTable table, AlphaMetric metric, int seed = 1, int replicates = 1000, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        Preconditions.Within(replicates, 100, 1_000_000);
        if (metric == AlphaMetric.Ratio && table.Scale.Values[0] < 0)
        {
            throw new ArgumentException("A ratio scale has values of 0 or more.", nameof(table));
        }

        int categories = table.Scale.Count;
        long[,] counts = table.Counts();
        double[][] coincidences = [.. Enumerable.Range(0, table.Cases.Count).Select(index => Coincidences(counts, index)).OfType<double[]>()];
        if (coincidences.Length == 0)
        {
            return Figure<AgreementEstimate>.CannotTell("No case was read by two readers, so there is no agreement to measure.");
        }

        double[] whole = Sum(coincidences, Enumerable.Range(0, coincidences.Length), categories);
        if (Alpha(whole, table.Scale, metric, out double observedNominal, out double expectedNominal) is not { } alpha)
        {
            return Figure<AgreementEstimate>.CannotTell("All readings are in one category, so agreement beyond chance cannot be told.");
        }

        Random random = new(seed);
        int[] draw = new int[coincidences.Length];
        List<double> values = new(replicates);
        for (int replicate = 0; replicate < replicates; replicate++)
        {
            for (int place = 0; place < draw.Length; place++)
            {
                draw[place] = random.Next(coincidences.Length);
            }

            if (Alpha(Sum(coincidences, draw, categories), table.Scale, metric, out _, out _) is { } value)
            {
                values.Add(value);
            }
        }

        values.Sort();
        Figure<Interval> interval = coincidences.Length < 2 || values.Count < 0.95 * replicates || values[^1] - values[0] < 1e-12
            ? Figure<Interval>.CannotTell("The cases are too few or too much alike for an interval of alpha.")
            : Figure<Interval>.Measured(new Interval(values[(int)Math.Floor(tail * (values.Count - 1))], values[(int)Math.Ceiling((1 - tail) * (values.Count - 1))], level));
        double mean = values.Count > 1 ? values.Average() : 0;
        double? error = interval.IsMeasured ? Math.Sqrt(values.Sum(value => (value - mean) * (value - mean)) / (values.Count - 1)) : null;
        bool nominal = metric == AlphaMetric.Nominal;
        string name = metric switch { AlphaMetric.Nominal => "nominal", AlphaMetric.Ordinal => "ordinal", AlphaMetric.Interval => "interval", _ => "ratio" };
        return Figure<AgreementEstimate>.Measured(new AgreementEstimate(alpha, nominal ? observedNominal : null, nominal ? expectedNominal : null, error, interval, Figure<TestResult>.CannotTell("Alpha has no test against 0 here; look at its interval."), coincidences.Length, (long)Math.Round(whole.Sum()), new StatisticalMethod($"Krippendorff's alpha, {name}, bootstrap over cases", "Krippendorff, Content Analysis, 2nd edition 2004, chapter 11 (from memory)")));
    }

    private static double[]? Coincidences(long[,] counts, int index)
    {
        int categories = counts.GetLength(1);
        long readings = Enumerable.Range(0, categories).Sum(category => counts[index, category]);
        if (readings < 2)
        {
            return null;
        }

        double[] result = new double[categories * categories];
        for (int first = 0; first < categories; first++)
        {
            for (int second = 0; second < categories; second++)
            {
                result[(first * categories) + second] = counts[index, first] * (counts[index, second] - (first == second ? 1.0 : 0.0)) / (readings - 1.0);
            }
        }

        return result;
    }

    private static double[] Sum(double[][] coincidences, IEnumerable<int> cases, int categories)
    {
        double[] sum = new double[categories * categories];
        foreach (int index in cases)
        {
            double[] own = coincidences[index];
            for (int cell = 0; cell < sum.Length; cell++)
            {
                sum[cell] += own[cell];
            }
        }

        return sum;
    }

    private static double? Alpha(double[] coincidences, CategoryScale scale, AlphaMetric metric, out double observedAgreement, out double expectedAgreement)
    {
        int categories = scale.Count;
        double[] margins = new double[categories];
        double total = 0;
        for (int cell = 0; cell < coincidences.Length; cell++)
        {
            margins[cell / categories] += coincidences[cell];
            total += coincidences[cell];
        }

        double observed = 0;
        double expected = 0;
        for (int first = 0; first < categories; first++)
        {
            for (int second = 0; second < categories; second++)
            {
                double difference = first == second ? 0 : Difference(first, second, margins, scale, metric);
                observed += coincidences[(first * categories) + second] * difference;
                expected += margins[first] * margins[second] * difference;
            }
        }

        observedAgreement = 1 - (observed / total);
        expectedAgreement = 1 - (expected / (total * (total - 1)));
        return expected > 0 ? 1 - ((total - 1) * observed / expected) : null;
    }

    private static double Difference(int first, int second, double[] margins, CategoryScale scale, AlphaMetric metric)
    {
        double one = scale.Values[first];
        double two = scale.Values[second];
        switch (metric)
        {
            case AlphaMetric.Ordinal:
                double between = 0;
                for (int rank = Math.Min(first, second); rank <= Math.Max(first, second); rank++)
                {
                    between += margins[rank];
                }

                return Math.Pow(between - ((margins[first] + margins[second]) / 2), 2);
            case AlphaMetric.Interval:
                return (one - two) * (one - two);
            case AlphaMetric.Ratio:
                return Math.Pow((one - two) / (one + two), 2);
            default:
                return 1;
        }
    }
}
