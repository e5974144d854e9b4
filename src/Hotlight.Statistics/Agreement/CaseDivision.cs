namespace Hotlight.Statistics.Agreement;

/// <summary>How far one case divides its readers.</summary>
/// <param name="Case">The case's name.</param>
/// <param name="Readings">Number of readings, 2 or more.</param>
/// <param name="Counts">Readings in each category of the scale.</param>
/// <param name="PairwiseDisagreement">Share of pairs of readers that differ, 0 to 1.</param>
/// <param name="EntropyBits">Entropy of the answers in bits: 0 where all agree, log₂ of the number of categories where all are equally common.</param>
/// <param name="WidestGap">Largest distance between two answers on the scale's values.</param>
public sealed record DividedCase(string Case, int Readings, IReadOnlyList<int> Counts, double PairwiseDisagreement, double EntropyBits, double WidestGap);

/// <summary>Which cases divide the readers: those worth talking over.</summary>
public static class CaseDivision
{
    /// <summary>All cases with two readings or more, the most divided first; ties keep the table's order.</summary>
    /// <remarks>Method: pairwise disagreement 1 − Σ n_k(n_k − 1)/(r(r − 1)); entropy −Σ (n_k/r)·log₂(n_k/r) (Shannon 1948). With few readings both are coarse: two readers give only 0 or 1.</remarks>
    /// <param name="table">The readings.</param>
    public static IReadOnlyList<DividedCase> Of(ReadingTable table)
    {
        ArgumentNullException.ThrowIfNull(table);
        return [.. table.Cases
            .Where(reading => reading.Categories.Count(category => category is not null) >= 2)
            .Select(reading => Divided(reading, table.Scale))
            .OrderByDescending(divided => divided.PairwiseDisagreement).ThenByDescending(divided => divided.WidestGap)];
    }

    /// <summary>Share of pairs of readers that differ.</summary>
    /// <param name="categories">Each reader's category; at least two are given.</param>
    internal static double PairwiseDisagreement(IReadOnlyList<int?> categories)
    {
        int[] given = [.. categories.OfType<int>()];
        double same = given.GroupBy(category => category).Sum(group => group.Count() * (group.Count() - 1.0));
        return 1 - (same / (given.Length * (given.Length - 1.0)));
    }

    private static DividedCase Divided(CaseReadings reading, CategoryScale scale)
    {
        int[] given = [.. reading.Categories.OfType<int>()];
        int[] counts = [.. Enumerable.Range(0, scale.Count).Select(category => given.Count(own => own == category))];
        double entropy = counts.Where(count => count > 0 && count < given.Length).Sum(count => -(double)count / given.Length * Math.Log2((double)count / given.Length));
        return new DividedCase(reading.Case, given.Length, counts, PairwiseDisagreement(reading.Categories), entropy, scale.Values[given.Max()] - scale.Values[given.Min()]);
    }
}
