using Hotlight.Core;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics.Agreement;

/// <summary>Kappa of one category against all others.</summary>
/// <param name="Category">Name of the category.</param>
/// <param name="Share">Share of all readings in it, 0 to 1.</param>
/// <param name="Kappa">Kappa of it; cannot-tell when nobody or everybody chose it.</param>
public sealed record CategoryKappa(string Category, double Share, Figure<AgreementEstimate> Kappa);

/// <summary>Fleiss' kappa of the same number of readers on every case: docs/methods/reader-agreement.md#many-readers.</summary>
public static class FleissKappa
{
    private static readonly StatisticalMethod Method = new("Fleiss' kappa", "Fleiss, Psychol Bull 1971;76:378; test Fleiss, Nee and Landis, Psychol Bull 1979;86:974; interval Gwet, Educ Psychol Meas 2021;81:781 (from memory)");

    /// <summary>Kappa over all categories.</summary>
    /// <remarks>Method: κ = (P̄ − P_e)/(1 − P_e), P̄ the mean of P_i = Σ_j n_ij(n_ij − 1)/(m(m − 1)), P_e = Σ p_j². Standard error from the cases: with P_e,i = Σ p_j·n_ij/m and κ_i = (P_i − P_e)/(1 − P_e) − 2(1 − κ)(P_e,i − P_e)/(1 − P_e), √(Σ(κ_i − κ)²/(N(N − 1))), interval by Student's t (Gwet 2021). Test against 0 with variance 2·((Σp_jq_j)² − Σp_jq_j(q_j − p_j))/(N·m(m − 1)·(Σp_jq_j)²) (Fleiss, Nee and Landis 1979).</remarks>
    /// <param name="counts">How many readers chose each category: cases × categories; each case read by as many.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>Kappa; cannot-tell without cases, with one reader, with unequal numbers of readings, or with one category only.</returns>
    public static Figure<AgreementEstimate> Of(long[,] counts, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(counts);
        Tails.CheckedLevel(level);
        if (WhyNot(counts) is { } why)
        {
            return Figure<AgreementEstimate>.CannotTell(why);
        }

        int cases = counts.GetLength(0);
        double readers = Row(counts, 0).Sum();
        double[] shares = Shares(counts);
        double[] agreements = [.. Enumerable.Range(0, cases).Select(index => Row(counts, index).Sum(count => count * (count - 1.0)) / (readers * (readers - 1)))];
        double observed = agreements.Average();
        double expected = shares.Sum(share => share * share);
        if (expected > 1 - 1e-12)
        {
            return Figure<AgreementEstimate>.CannotTell("All readings are in one category, so agreement beyond chance cannot be told.");
        }

        double kappa = (observed - expected) / (1 - expected);
        double spread = 0;
        for (int index = 0; index < cases; index++)
        {
            double chance = Row(counts, index).Select((count, category) => shares[category] * count / readers).Sum();
            double own = ((agreements[index] - expected) / (1 - expected)) - (2 * (1 - kappa) * (chance - expected) / (1 - expected));
            spread += (own - kappa) * (own - kappa);
        }

        double error = cases > 1 ? Math.Sqrt(spread / (cases * (cases - 1.0))) : 0;
        double quantile = cases > 1 ? StudentT.InvCDF(0, 1, cases - 1, (1 + level) / 2) : double.NaN;
        double products = shares.Sum(share => share * (1 - share));
        double errorAtZero = Math.Sqrt(2 / (cases * readers * (readers - 1)) * ((products * products) - shares.Sum(share => share * (1 - share) * (1 - (2 * share))))) / products;
        return Figure<AgreementEstimate>.Measured(new AgreementEstimate(kappa, observed, expected, error, AgreementEstimate.Around(kappa, error, quantile, level), AgreementEstimate.Zero(kappa, errorAtZero, cases, Method), cases, (long)(cases * readers), Method));
    }

    /// <summary>Kappa of each category against all others.</summary>
    /// <remarks>Method: κ_j = 1 − Σ_i n_ij(m − n_ij)/(N·m(m − 1)·p_j·q_j), which is <see cref="Of"/> of the table with the other categories thrown together; test against 0 with variance 2/(N·m(m − 1)) (Fleiss, Nee and Landis 1979).</remarks>
    /// <param name="counts">Cases × categories; each case read by as many.</param>
    /// <param name="scale">The answers to choose from.</param>
    /// <param name="level">Level of the intervals as a fraction.</param>
    /// <exception cref="ArgumentException">The columns are not as many as the categories.</exception>
    public static IReadOnlyList<CategoryKappa> ByCategory(long[,] counts, CategoryScale scale, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(counts);
        ArgumentNullException.ThrowIfNull(scale);
        if (counts.GetLength(1) != scale.Count)
        {
            throw new ArgumentException($"The table has {counts.GetLength(1)} columns; the scale has {scale.Count} categories.", nameof(counts));
        }

        int cases = counts.GetLength(0);
        double[] shares = cases == 0 ? new double[scale.Count] : Shares(counts);
        List<CategoryKappa> result = [];
        for (int category = 0; category < scale.Count; category++)
        {
            long[,] against = new long[cases, 2];
            for (int index = 0; index < cases; index++)
            {
                against[index, 0] = counts[index, category];
                against[index, 1] = Row(counts, index).Sum() - counts[index, category];
            }

            Figure<AgreementEstimate> kappa = shares[category] is 0 or > 1 - 1e-12
                ? Figure<AgreementEstimate>.CannotTell(shares[category] == 0 ? "Nobody chose this answer." : "Everybody chose this answer, so agreement beyond chance cannot be told.")
                : Of(against, level);
            result.Add(new CategoryKappa(scale.Names[category], shares[category], kappa));
        }

        return result;
    }

    private static string? WhyNot(long[,] counts)
    {
        int cases = counts.GetLength(0);
        if (cases == 0)
        {
            return "There are no cases.";
        }

        if (counts.Cast<long>().Any(count => count < 0))
        {
            throw new ArgumentException("Counts must be 0 or more.", nameof(counts));
        }

        long readers = Row(counts, 0).Sum();
        return Enumerable.Range(0, cases).Any(index => Row(counts, index).Sum() != readers)
            ? "Not every case was read by as many readers; Krippendorff's alpha and Gwet's AC1 take gaps."
            : readers < 2 ? "Each case was read by fewer than two readers, so there is no agreement to measure." : null;
    }

    private static double[] Shares(long[,] counts)
    {
        double total = counts.Cast<long>().Sum();
        return [.. Enumerable.Range(0, counts.GetLength(1)).Select(category => total == 0 ? 0 : Enumerable.Range(0, counts.GetLength(0)).Sum(index => counts[index, category]) / total)];
    }

    private static IEnumerable<long> Row(long[,] counts, int index) => Enumerable.Range(0, counts.GetLength(1)).Select(category => counts[index, category]);
}
