using Hotlight.Core;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics.Agreement;

/// <summary>Gwet's AC1, and AC2 with weights: agreement beyond chance that does not collapse where one answer is rare.</summary>
public static class GwetCoefficient
{
    /// <summary>AC1, or AC2 where weights are given.</summary>
    /// <remarks>
    /// <para>Method: (p_a − p_e)/(1 − p_e); p_a the mean over cases with two readings or more of Σ_k n_ik(Σ_l w_kl·n_il − 1)/(r_i(r_i − 1)); π_k the mean over cases of n_ik/r_i; p_e = T·Σ π_k(1 − π_k)/(q(q − 1)), T the sum of all weights, q the number of categories on the scale. Standard error from the cases: (n/n₂)(p_a,i − p_e·[r_i ≥ 2])/(1 − p_e) − 2(1 − AC)(p_e,i − p_e)/(1 − p_e), p_e,i = T·Σ_k (1 − π_k)·n_ik/r_i/(q(q − 1)); interval by Student's t. Gwet, Br J Math Stat Psychol 2008;61:29; Gwet, Handbook of Inter-Rater Reliability, 4th edition 2014.</para>
    /// <para>The number of categories on the scale is in p_e: an answer that nobody chose raises the coefficient.</para>
    /// </remarks>
    /// <param name="table">The readings; gaps are allowed.</param>
    /// <param name="weights">Credit of a near miss; none for AC1.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>The coefficient; cannot-tell with a scale of one category or when no case has two readings.</returns>
    public static Figure<AgreementEstimate> Of(ReadingTable table, KappaWeights weights = KappaWeights.None, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        Tails.CheckedLevel(level);
        int categories = table.Scale.Count;
        if (categories < 2)
        {
            return Figure<AgreementEstimate>.CannotTell("There is only one answer to choose from.");
        }

        long[,] all = table.Counts();
        int[] read = [.. Enumerable.Range(0, table.Cases.Count).Where(index => Readings(all, index) > 0)];
        int pairable = read.Count(index => Readings(all, index) > 1);
        if (pairable == 0)
        {
            return Figure<AgreementEstimate>.CannotTell("No case was read by two readers, so there is no agreement to measure.");
        }

        double[,] weight = table.Scale.Weights(weights);
        double sum = weight.Cast<double>().Sum();
        double scale = sum / (categories * (categories - 1.0));
        double[] shares = [.. Enumerable.Range(0, categories).Select(category => read.Average(index => all[index, category] / Readings(all, index)))];
        double expected = scale * shares.Sum(share => share * (1 - share));
        double[] agreements = [.. read.Select(index => Agreement(all, index, weight))];
        double observed = agreements.Sum() / pairable;
        double coefficient = (observed - expected) / (1 - expected);
        double spread = 0;
        for (int place = 0; place < read.Length; place++)
        {
            int index = read[place];
            double readings = Readings(all, index);
            double chance = scale * Enumerable.Range(0, categories).Sum(category => (1 - shares[category]) * all[index, category] / readings);
            double own = ((double)read.Length / pairable * (agreements[place] - (readings > 1 ? expected : 0)) / (1 - expected)) - (2 * (1 - coefficient) * (chance - expected) / (1 - expected));
            spread += (own - coefficient) * (own - coefficient);
        }

        double error = read.Length > 1 ? Math.Sqrt(spread / (read.Length * (read.Length - 1.0))) : 0;
        double quantile = read.Length > 1 ? StudentT.InvCDF(0, 1, read.Length - 1, (1 + level) / 2) : double.NaN;
        StatisticalMethod method = new(
            weights switch { KappaWeights.Linear => "Gwet's AC2, linear weights", KappaWeights.Quadratic => "Gwet's AC2, quadratic weights", _ => "Gwet's AC1" },
            "Gwet, Br J Math Stat Psychol 2008;61:29 (from memory)");
        return Figure<AgreementEstimate>.Measured(new AgreementEstimate(coefficient, observed, expected, error, AgreementEstimate.Around(coefficient, error, quantile, level), Figure<TestResult>.CannotTell("This coefficient has no test against 0 here; look at its interval."), read.Length, (long)read.Sum(index => Readings(all, index)), method));
    }

    private static double Readings(long[,] counts, int index) => Enumerable.Range(0, counts.GetLength(1)).Sum(category => counts[index, category]);

    private static double Agreement(long[,] counts, int index, double[,] weight)
    {
        double readings = Readings(counts, index);
        if (readings < 2)
        {
            return 0;
        }

        double sum = 0;
        for (int first = 0; first < counts.GetLength(1); first++)
        {
            double weighted = 0;
            for (int second = 0; second < counts.GetLength(1); second++)
            {
                weighted += weight[first, second] * counts[index, second];
            }

            sum += counts[index, first] * (weighted - 1);
        }

        return sum / (readings * (readings - 1));
    }
}
