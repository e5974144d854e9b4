using Hotlight.Core;
using MathNet.Numerics;

namespace Hotlight.Statistics.Proportions;

/// <summary>Adjusts rates for the mix of projections, so that a room that does the hard ones is not blamed for it: docs/methods/repeat-statistics.md#case-mix.</summary>
public static class CaseMix
{
    /// <summary>Indirect standardisation: events seen over the events that the reference's rates would give for this mix.</summary>
    /// <remarks>
    /// <para>Method: expected E = Σ n_s·(X_s/N_s) over strata s, ratio x/E, interval of the Poisson mean of x over E, standardised rate = ratio · the reference's whole rate. E is taken as known: the reference should be many times larger than the group.</para>
    /// <para>Two groups' ratios may be compared with the reference, not well with each other: each is weighed by its own mix.</para>
    /// <para>Holds when: the event is rare (repeats are); for common events the Poisson interval is too wide, never too narrow.</para>
    /// </remarks>
    /// <param name="own">The group's counts by stratum (projection), each stratum once.</param>
    /// <param name="reference">The reference's counts by stratum, such as the whole department.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <param name="byar">Whether to take Byar's approximation in place of the exact interval.</param>
    /// <returns>The ratio; cannot-tell when a stratum of the group is missing or empty in the reference, or when no events are expected.</returns>
    public static Figure<StandardisedRatio> Indirect(IReadOnlyList<GroupCount> own, IReadOnlyList<GroupCount> reference, double level = 0.95, bool byar = false)
    {
        Dictionary<string, EventCount> rates = ByStratum(reference);
        ByStratum(own);
        Tails.CheckedLevel(level);
        double expected = 0;
        foreach (GroupCount stratum in own.Where(stratum => stratum.Count.Total > 0))
        {
            if (!rates.TryGetValue(stratum.Name, out EventCount? known) || known.Total == 0)
            {
                return Figure<StandardisedRatio>.CannotTell($"The reference has no exposures of {stratum.Name}, so what to expect of them is not known.");
            }

            expected += stratum.Count.Total * known.Fraction();
        }

        if (expected <= 0)
        {
            return Figure<StandardisedRatio>.CannotTell("No events are expected of this mix, so there is nothing to compare with.");
        }

        EventCount whole = new(own.Sum(stratum => stratum.Count.Events), own.Sum(stratum => stratum.Count.Total));
        Interval mean = byar ? PoissonIntervals.Byar(whole.Events, level) : PoissonIntervals.Exact(whole.Events, level);
        double crude = new EventCount(reference.Sum(stratum => stratum.Count.Events), reference.Sum(stratum => stratum.Count.Total)).Fraction();
        StatisticalMethod interval = byar ? PoissonIntervals.ByarMethod : PoissonIntervals.ExactMethod;
        return Figure<StandardisedRatio>.Measured(new StandardisedRatio(whole, expected, whole.Events / expected, new Interval(mean.Lower / expected, mean.Upper / expected, level), whole.Events / expected * crude, new StatisticalMethod("Indirect standardisation, " + interval.Name, interval.Source)));
    }

    /// <summary>Direct standardisation: the rate the group would have with the reference's mix.</summary>
    /// <remarks>
    /// <para>Method: y = Σ w_s·x_s/n_s with w_s the reference's share of stratum s, v = Σ w_s²·x_s/n_s², w_M the largest w_s/n_s; lower v/(2y)·χ²(α/2; 2y²/v), upper (v + w_M²)/(2(y + w_M))·χ²(1 − α/2; 2(y + w_M)²/(v + w_M²)). Fay and Feuer, Stat Med 1997;16:791: never narrower than its level in their trials.</para>
    /// </remarks>
    /// <param name="own">The group's counts by stratum.</param>
    /// <param name="reference">The reference's counts by stratum; only the totals are used, as weights.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The rate; cannot-tell when the group has no exposures in a stratum that the reference has.</returns>
    public static Figure<StandardisedRate> Direct(IReadOnlyList<GroupCount> own, IReadOnlyList<GroupCount> reference, double level = 0.95)
    {
        Dictionary<string, EventCount> counts = ByStratum(own);
        ByStratum(reference);
        double tail = (1 - Tails.CheckedLevel(level)) / 2;
        double total = reference.Sum(stratum => stratum.Count.Total);
        if (total <= 0)
        {
            return Figure<StandardisedRate>.CannotTell("The reference is empty, so it gives no mix to weigh by.");
        }

        double rate = 0;
        double variance = 0;
        double largest = 0;
        EventCount used = new(0, 0);
        foreach (GroupCount stratum in reference.Where(stratum => stratum.Count.Total > 0))
        {
            if (!counts.TryGetValue(stratum.Name, out EventCount? count) || count.Total == 0)
            {
                return Figure<StandardisedRate>.CannotTell($"There are no exposures of {stratum.Name} here, so the rate under the reference's mix is not known.");
            }

            double each = stratum.Count.Total / total / count.Total;
            rate += each * count.Events;
            variance += each * each * count.Events;
            largest = Math.Max(largest, each);
            used = new EventCount(used.Events + count.Events, used.Total + count.Total);
        }

        double lower = rate > 0 ? variance / rate * SpecialFunctions.GammaLowerRegularizedInv(rate * rate / variance, tail) : 0;
        double wider = variance + (largest * largest);
        double upper = wider / (rate + largest) * SpecialFunctions.GammaLowerRegularizedInv((rate + largest) * (rate + largest) / wider, 1 - tail);
        return Figure<StandardisedRate>.Measured(new StandardisedRate(used, rate, new Interval(lower, Math.Min(1, upper), level), new StatisticalMethod("Direct standardisation, gamma interval", "Fay and Feuer, Stat Med 1997;16:791 (from memory)")));
    }

    private static Dictionary<string, EventCount> ByStratum(IReadOnlyList<GroupCount> strata)
    {
        ArgumentNullException.ThrowIfNull(strata);
        Dictionary<string, EventCount> counts = new(StringComparer.Ordinal);
        foreach (GroupCount stratum in strata)
        {
            if (!counts.TryAdd(stratum.Name, stratum.Count))
            {
                throw new ArgumentException($"The stratum {stratum.Name} occurs twice.", nameof(strata));
            }
        }

        return counts;
    }
}
