using Hotlight.Core;
using Hotlight.Statistics.Proportions;
using MathNet.Numerics.Distributions;

namespace Hotlight.Statistics.Agreement;

/// <summary>How often readers say the same, chance not taken off.</summary>
public static class PercentAgreement
{
    /// <summary>Two readers: cases on which they agree out of those both read, with a Wilson interval.</summary>
    /// <param name="table">Rows the first reader's category, columns the second's; square.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>The rate; cannot-tell without a case.</returns>
    /// <exception cref="ArgumentException">The table is not square.</exception>
    public static Figure<ProportionEstimate> OfPair(long[,] table, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        if (table.GetLength(0) != table.GetLength(1))
        {
            throw new ArgumentException("The table must be square.", nameof(table));
        }

        long same = Enumerable.Range(0, table.GetLength(0)).Sum(index => table[index, index]);
        return ProportionIntervals.Wilson(new EventCount(same, table.Cast<long>().Sum()), level);
    }

    /// <summary>Any number of readers: the mean over cases of the share of pairs of readers that agree.</summary>
    /// <remarks>Method: p_i = Σ_k n_ik(n_ik − 1)/(r_i(r_i − 1)) for cases with two readings or more; standard error of the mean of the p_i, interval by Student's t with cases − 1 degrees of freedom.</remarks>
    /// <param name="table">The readings.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>The mean; cannot-tell when no case has two readings.</returns>
    public static Figure<AgreementEstimate> OfAll(ReadingTable table, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        Tails.CheckedLevel(level);
        CaseReadings[] used = [.. table.Cases.Where(reading => reading.Categories.Count(category => category is not null) >= 2)];
        if (used.Length == 0)
        {
            return Figure<AgreementEstimate>.CannotTell("No case was read by two readers, so there is no agreement to measure.");
        }

        double[] shares = [.. used.Select(reading => 1 - CaseDivision.PairwiseDisagreement(reading.Categories))];
        double mean = shares.Average();
        double error = used.Length > 1 ? Math.Sqrt(shares.Sum(share => (share - mean) * (share - mean)) / (used.Length - 1.0) / used.Length) : 0;
        double quantile = used.Length > 1 ? StudentT.InvCDF(0, 1, used.Length - 1, (1 + level) / 2) : double.NaN;
        long readings = used.Sum(reading => reading.Categories.LongCount(category => category is not null));
        return Figure<AgreementEstimate>.Measured(new AgreementEstimate(mean, mean, null, error, AgreementEstimate.Around(mean, error, quantile, level), Figure<TestResult>.CannotTell("Percent agreement takes no chance off, so 0 is nothing to test against."), used.Length, readings, new StatisticalMethod("Mean pairwise agreement", "Fleiss, Psychol Bull 1971;76:378 (observed agreement; from memory)")));
    }
}
