using Hotlight.Core;

namespace Hotlight.Statistics.Trends;

/// <summary>Slope and test of a trend that one odd month does not move: docs/methods/repeat-statistics.md#trends.</summary>
public static class MonotoneTrend
{
    /// <summary>Theil-Sen slope with Sen's interval.</summary>
    /// <remarks>
    /// <para>Method: the median of all pairwise slopes; the interval's ends are the slopes at ranks (N ± z·σ)/2, with N pairs and σ² = (n(n − 1)(2n + 5) − Σt(t − 1)(2t + 5))/18 over ties t of the values. Sen, J Am Stat Assoc 1968;63:1379.</para>
    /// <para>Holds when: the points are independent. Months that hang together (a slow swing) make the interval too narrow.</para>
    /// </remarks>
    /// <param name="times">Times, strictly rising, in any unit.</param>
    /// <param name="values">Values at those times, as many.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The slope; cannot-tell with too few points for an interval at that level (fewer than 5 at 0.95).</returns>
    /// <exception cref="ArgumentException">Times do not rise, the lengths differ, or a number is not finite.</exception>
    public static Figure<TrendSlope> TheilSen(IReadOnlyList<double> times, IReadOnlyList<double> values, double level = 0.95)
    {
        Check(times, values);
        double z = Tails.TwoSidedZ(level);
        int count = times.Count;
        if (count < 2)
        {
            return Figure<TrendSlope>.CannotTell("A trend needs at least two points.");
        }

        double[] slopes = new double[count * (count - 1) / 2];
        int place = 0;
        for (int later = 1; later < count; later++)
        {
            for (int earlier = 0; earlier < later; earlier++)
            {
                slopes[place++] = (values[later] - values[earlier]) / (times[later] - times[earlier]);
            }
        }

        Array.Sort(slopes);
        double sigma = Math.Sqrt(ScoreVariance(values));
        int low = (int)Math.Round((slopes.Length - (z * sigma)) / 2) - 1;
        int high = (int)Math.Round((slopes.Length + (z * sigma)) / 2);
        if (low < 0 || high >= slopes.Length)
        {
            return Figure<TrendSlope>.CannotTell($"{count} points are too few for an interval of the trend.");
        }

        double slope = Median(slopes);
        double[] rests = [.. values.Select((value, index) => value - (slope * times[index])).Order()];
        return Figure<TrendSlope>.Measured(new TrendSlope(slope, new Interval(slopes[low], slopes[high], level), Median(rests), count, new StatisticalMethod("Theil-Sen slope with Sen's interval", "Sen, J Am Stat Assoc 1968;63:1379 (from memory)")));
    }

    /// <summary>Mann-Kendall test that values neither rise nor fall, two-sided.</summary>
    /// <remarks>Method: S = rising pairs − falling pairs. Without ties and up to 60 points p is exact, from the numbers of permutations with each S; else z = (|S| − 1)/σ with σ as for the slope. Mann, Econometrica 1945;13:245; Kendall, Rank Correlation Methods.</remarks>
    /// <param name="times">Times, strictly rising.</param>
    /// <param name="values">Values at those times, as many.</param>
    /// <returns>The test; cannot-tell with fewer than three points or when all values are alike.</returns>
    /// <exception cref="ArgumentException">Times do not rise, the lengths differ, or a number is not finite.</exception>
    public static Figure<TrendTest> MannKendall(IReadOnlyList<double> times, IReadOnlyList<double> values)
    {
        Check(times, values);
        int count = values.Count;
        if (count < 3)
        {
            return Figure<TrendTest>.CannotTell("A test of a trend needs at least three points.");
        }

        long score = 0;
        for (int later = 1; later < count; later++)
        {
            for (int earlier = 0; earlier < later; earlier++)
            {
                score += values[later].CompareTo(values[earlier]);
            }
        }

        double pairs = count * (count - 1) / 2.0;
        double tied = Ties(values).Sum(tie => tie * (tie - 1) / 2.0);
        if (tied >= pairs)
        {
            return Figure<TrendTest>.CannotTell("All values are alike, so there is no trend to test.");
        }

        double tau = score / Math.Sqrt(pairs * (pairs - tied));
        bool exact = tied == 0 && count <= 60;
        double z = Math.Sign(score) * Math.Max(0, Math.Abs(score) - 1) / Math.Sqrt(ScoreVariance(values));
        StatisticalMethod method = new($"Mann-Kendall test, {(exact ? "exact" : "normal with continuity correction")}", "Mann, Econometrica 1945;13:245; Kendall, Rank Correlation Methods (from memory)");
        return Figure<TrendTest>.Measured(new TrendTest(score, tau, new TestResult(exact ? ExactP(count, score) : Tails.NormalBeyond(z), exact ? null : z, "The values neither rise nor fall.", count, method)));
    }

    /// <summary>P(|S| ≥ |score|) over all orders of n unlike values.</summary>
    private static double ExactP(int count, long score)
    {
        // Chances of each number of falling pairs: adding the n-th value brings 0 to n − 1 more, all equally likely.
        double[] chances = [1];
        for (int size = 2; size <= count; size++)
        {
            double[] next = new double[chances.Length + size - 1];
            for (int falling = 0; falling < chances.Length; falling++)
            {
                for (int more = 0; more < size; more++)
                {
                    next[falling + more] += chances[falling] / size;
                }
            }

            chances = next;
        }

        long pairs = chances.Length - 1;
        return Math.Min(1, chances.Where((_, falling) => Math.Abs(pairs - (2L * falling)) >= Math.Abs(score)).Sum());
    }

    private static double ScoreVariance(IReadOnlyList<double> values)
    {
        double n = values.Count;
        return ((n * (n - 1) * ((2 * n) + 5)) - Ties(values).Sum(tie => tie * (tie - 1.0) * ((2.0 * tie) + 5))) / 18;
    }

    private static IEnumerable<int> Ties(IReadOnlyList<double> values) => values.GroupBy(value => value).Select(group => group.Count());

    private static double Median(double[] sorted)
        => sorted.Length % 2 == 1 ? sorted[sorted.Length / 2] : (sorted[(sorted.Length / 2) - 1] + sorted[sorted.Length / 2]) / 2;

    private static void Check(IReadOnlyList<double> times, IReadOnlyList<double> values)
    {
        ArgumentNullException.ThrowIfNull(times);
        ArgumentNullException.ThrowIfNull(values);
        if (times.Count != values.Count)
        {
            throw new ArgumentException($"There are {times.Count} times and {values.Count} values; there must be as many of each.", nameof(values));
        }

        for (int index = 0; index < times.Count; index++)
        {
            if (!double.IsFinite(times[index]) || !double.IsFinite(values[index]) || (index > 0 && times[index] <= times[index - 1]))
            {
                throw new ArgumentException($"Point {index} is not finite, or its time is not later than the one before.", nameof(times));
            }
        }
    }
}
