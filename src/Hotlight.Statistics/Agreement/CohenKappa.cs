using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>Cohen's kappa of two readers, plain or weighted: docs/methods/reader-agreement.md#two-readers.</summary>
public static class CohenKappa
{
    /// <summary>Kappa of a table of two readers.</summary>
    /// <remarks>
    /// <para>Method: κ = (p_o − p_e)/(1 − p_e), p_o = Σ w_ij·p_ij, p_e = Σ w_ij·p_i·p_j. Standard error by Fleiss, Cohen and Everitt, Psychol Bull 1969;72:323: with a_ij = w̄_i + w̄_j, w̄_i = Σ_j p_j·w_ij, variance (Σ p_ij·(w_ij − a_ij(1 − κ))² − (κ − p_e(1 − κ))²)/(n(1 − p_e)²); under κ = 0 (Σ p_i·p_j·(w_ij − a_ij)² − p_e²)/(n(1 − p_e)²). Cohen, Educ Psychol Meas 1960;20:37 and Psychol Bull 1968;70:213.</para>
    /// <para>Kappa falls where one answer is rare, however well readers agree on it; look at percent agreement and AC1 beside it.</para>
    /// </remarks>
    /// <param name="table">Cases: rows the first reader's category, columns the second's; square.</param>
    /// <param name="scale">The answers to choose from, as many as rows; an answer that nobody chose counts for the weights.</param>
    /// <param name="weights">Credit of a near miss.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>Kappa; cannot-tell without a case, or when both readers gave one answer only.</returns>
    /// <exception cref="ArgumentException">The table is not square, has a count below 0, or does not fit the scale.</exception>
    public static Figure<AgreementEstimate> Of(long[,] table, CategoryScale scale, KappaWeights weights = KappaWeights.None, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        ArgumentNullException.ThrowIfNull(scale);
        double z = Tails.TwoSidedZ(level);
        int count = scale.Count;
        if (table.GetLength(0) != count || table.GetLength(1) != count || table.Cast<long>().Any(cell => cell < 0))
        {
            throw new ArgumentException($"The table must be {count} × {count} with counts of 0 or more.", nameof(table));
        }

        double n = table.Cast<long>().Sum();
        if (n == 0)
        {
            return Figure<AgreementEstimate>.CannotTell("No case was read by both readers.");
        }

        double[] rows = new double[count];
        double[] columns = new double[count];
        for (int i = 0; i < count; i++)
        {
            for (int j = 0; j < count; j++)
            {
                rows[i] += table[i, j] / n;
                columns[j] += table[i, j] / n;
            }
        }

        if (rows.Zip(columns).Any(pair => pair.First > 1 - 1e-12 && pair.Second > 1 - 1e-12))
        {
            return Figure<AgreementEstimate>.CannotTell("Both readers gave the same one answer to every case, so agreement beyond chance cannot be told; add cases with other answers.");
        }

        double[,] weight = scale.Weights(weights);
        double observed = 0;
        double expected = 0;
        double[] rowMeans = new double[count];
        double[] columnMeans = new double[count];
        for (int i = 0; i < count; i++)
        {
            for (int j = 0; j < count; j++)
            {
                observed += weight[i, j] * table[i, j] / n;
                expected += weight[i, j] * rows[i] * columns[j];
                rowMeans[i] += columns[j] * weight[i, j];
                columnMeans[j] += rows[i] * weight[i, j];
            }
        }

        double kappa = (observed - expected) / (1 - expected);
        double spread = 0;
        double spreadAtZero = 0;
        for (int i = 0; i < count; i++)
        {
            for (int j = 0; j < count; j++)
            {
                double mean = rowMeans[i] + columnMeans[j];
                spread += table[i, j] / n * Math.Pow(weight[i, j] - (mean * (1 - kappa)), 2);
                spreadAtZero += rows[i] * columns[j] * Math.Pow(weight[i, j] - mean, 2);
            }
        }

        double scaleOfError = Math.Sqrt(n) * (1 - expected);
        double error = Math.Sqrt(Math.Max(0, spread - Math.Pow(kappa - (expected * (1 - kappa)), 2))) / scaleOfError;
        double errorAtZero = Math.Sqrt(Math.Max(0, spreadAtZero - (expected * expected))) / scaleOfError;
        StatisticalMethod method = new(
            weights switch { KappaWeights.Linear => "Cohen's kappa, linear weights", KappaWeights.Quadratic => "Cohen's kappa, quadratic weights", _ => "Cohen's kappa" },
            "Cohen, Educ Psychol Meas 1960;20:37 and Psychol Bull 1968;70:213; Fleiss, Cohen and Everitt, Psychol Bull 1969;72:323 (from memory)");
        return Figure<AgreementEstimate>.Measured(new AgreementEstimate(kappa, observed, expected, error, AgreementEstimate.Around(kappa, error, z, level), AgreementEstimate.Zero(kappa, errorAtZero, (long)n, method), (long)n, 2 * (long)n, method));
    }
}
