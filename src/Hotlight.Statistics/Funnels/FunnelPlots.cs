using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Funnels;

/// <summary>Makes funnels over rooms, receptors or people: docs/methods/repeat-statistics.md#funnels.</summary>
public static class FunnelPlots
{
    /// <summary>A funnel of plain rates.</summary>
    /// <remarks>
    /// <para>Method: <see cref="FunnelLimits.Binomial"/> about the target; with over-dispersion φ = mean of the winsorised z² and normal limits wider by √φ where φ is above 1 (Spiegelhalter, Stat Med 2005;24:1185, appendix A.3).</para>
    /// <para>Rates that differ by case mix belong into <see cref="Ratios"/>.</para>
    /// </remarks>
    /// <param name="units">The units; empty ones are left out.</param>
    /// <param name="settings">Target, levels and spread; null: exact limits at 95 and 99.8 % about the pooled rate.</param>
    /// <returns>The funnel; cannot-tell without exposures, or when the pooled rate is 0 or 1.</returns>
    public static Figure<Funnel> Rates(IReadOnlyList<GroupCount> units, FunnelSettings? settings = null)
    {
        ArgumentNullException.ThrowIfNull(units);
        FunnelSettings chosen = settings ?? new FunnelSettings();
        GroupCount[] filled = [.. units.Where(unit => unit.Count.Total > 0)];
        if (filled.Length == 0)
        {
            return Figure<Funnel>.CannotTell("There are no exposures to draw.");
        }

        double target = chosen.GivenTarget ?? new EventCount(filled.Sum(unit => unit.Count.Events), filled.Sum(unit => unit.Count.Total)).Fraction();
        if (chosen.GivenTarget is null && target is <= 0 or >= 1)
        {
            return Figure<Funnel>.CannotTell("All are events or none is, so limits cannot be drawn; give a target.");
        }

        double[] z = [.. filled.Select(unit => (unit.Count.Fraction() - target) / Math.Sqrt(target * (1 - target) / unit.Count.Total))];
        double factor = Factor(z, chosen);
        bool normal = chosen.NormalLimits || chosen.Overdispersion;
        FunnelUnit[] drawn = [.. filled.Select((unit, index) => Unit(unit.Name, unit.Count.Events, unit.Count.Total, unit.Count.Fraction(), target, z[index] / Math.Sqrt(factor), [.. chosen.Levels.Select(level => normal
            ? FunnelLimits.Normal(target, unit.Count.Total, level, factor)
            : FunnelLimits.Binomial(target, unit.Count.Total, level))]))];
        return Figure<Funnel>.Measured(new Funnel(target, factor, chosen.Levels, drawn, MethodOf("rates", "binomial", chosen)));
    }

    /// <summary>A funnel of standardised ratios, so that each unit is held against its own case mix.</summary>
    /// <remarks>Method: <see cref="FunnelLimits.Poisson"/> about a ratio of 1; z = (O − E)/√E; over-dispersion as for rates.</remarks>
    /// <param name="units">Events seen and expected, such as from <see cref="CaseMix.Indirect"/>.</param>
    /// <param name="settings">Target, levels and spread; null: exact limits at 95 and 99.8 % about 1.</param>
    /// <returns>The funnel; cannot-tell without units.</returns>
    /// <exception cref="ArgumentException">A unit has an expected number that is not above 0, or events below 0.</exception>
    public static Figure<Funnel> Ratios(IReadOnlyList<ObservedExpected> units, FunnelSettings? settings = null)
    {
        ArgumentNullException.ThrowIfNull(units);
        FunnelSettings chosen = settings ?? new FunnelSettings();
        foreach (ObservedExpected unit in units)
        {
            Preconditions.AboveZero(unit.Expected, "the expected events of " + unit.Name);
            if (unit.Observed < 0)
            {
                throw new ArgumentException($"{unit.Name} has {unit.Observed} events; they must be 0 or more.", nameof(units));
            }
        }

        if (units.Count == 0)
        {
            return Figure<Funnel>.CannotTell("There are no exposures to draw.");
        }

        double target = Preconditions.AboveZero(chosen.GivenTarget ?? 1, "the target");
        double[] z = [.. units.Select(unit => ((unit.Observed / unit.Expected) - target) / Math.Sqrt(target / unit.Expected))];
        double factor = Factor(z, chosen);
        bool normal = chosen.NormalLimits || chosen.Overdispersion;
        FunnelUnit[] drawn = [.. units.Select((unit, index) => Unit(unit.Name, unit.Observed, unit.Expected, unit.Observed / unit.Expected, target, z[index] / Math.Sqrt(factor), [.. chosen.Levels.Select(level => normal
            ? FunnelLimits.NormalRatio(target, unit.Expected, level, factor)
            : FunnelLimits.Poisson(target, unit.Expected, level))]))];
        return Figure<Funnel>.Measured(new Funnel(target, factor, chosen.Levels, drawn, MethodOf("standardised ratios", "Poisson", chosen)));
    }

    /// <summary>Spiegelhalter's over-dispersion factor of a set of z values.</summary>
    /// <remarks>Method: the ⌊share·I⌋ lowest and highest values are drawn in to the next one; φ is the mean of the squares. Drawing in lowers φ: of I normal values it is about 0.68 at a share of 0.1, so φ above 1 is a cautious sign of spread.</remarks>
    /// <param name="z">The z values, at least one.</param>
    /// <param name="winsorisedShare">Share drawn in at each end, in [0, 0.4].</param>
    public static double OverdispersionFactor(IReadOnlyList<double> z, double winsorisedShare = 0.1)
    {
        ArgumentNullException.ThrowIfNull(z);
        Preconditions.AtLeastOne(z.Count);
        double[] sorted = [.. z.Order()];
        int drawn = (int)Math.Floor((Preconditions.Within(winsorisedShare, 0, 0.4) * sorted.Length) + 1e-9);
        double low = sorted[drawn];
        double high = sorted[sorted.Length - 1 - drawn];
        return sorted.Average(value => Math.Pow(Math.Clamp(value, low, high), 2));
    }

    private static double Factor(double[] z, FunnelSettings settings)
        => settings.Overdispersion ? Math.Max(1, OverdispersionFactor(z, settings.WinsorisedShare)) : 1;

    private static FunnelUnit Unit(string name, long events, double precision, double value, double target, double z, Interval[] limits)
    {
        double? outside = limits.Where(limit => !limit.Contains(value)).Select(limit => (double?)limit.Level).Max();
        return new FunnelUnit(name, events, precision, value, z, limits, outside, value > target);
    }

    private static StatisticalMethod MethodOf(string what, string exact, FunnelSettings settings)
        => new($"Funnel of {what}, {(settings.Overdispersion ? "normal limits widened for over-dispersion" : settings.NormalLimits ? "normal limits" : $"exact {exact} limits")}", "Spiegelhalter, Stat Med 2005;24:1185 (summary read, formulas from memory)");
}
