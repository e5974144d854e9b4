using System.Globalization;

namespace Hotlight.Statistics.Funnels;

/// <summary>A funnel: units by how many exposures they have, with limits of what chance alone brings about the target.</summary>
/// <param name="Target">Rate or ratio that the limits are drawn about.</param>
/// <param name="OverdispersionFactor">Spiegelhalter's φ, 1 or more; limits are wider by √φ; 1 where it is not asked for.</param>
/// <param name="Levels">Levels of the limits.</param>
/// <param name="Units">The units, in the order given; those without exposures are left out.</param>
/// <param name="Method">Method and source.</param>
public sealed record Funnel(double Target, double OverdispersionFactor, IReadOnlyList<double> Levels, IReadOnlyList<FunnelUnit> Units, StatisticalMethod Method)
{
    /// <summary>Units that chance alone is expected to put outside the limits of each level, had all the target's rate: number of units · (1 − level).</summary>
    public IReadOnlyList<double> ExpectedOutside => [.. Levels.Select(level => Units.Count * (1 - level))];

    /// <summary>What many units at once mean for a single one outside, in one sentence.</summary>
    public string Multiplicity => string.Create(CultureInfo.InvariantCulture, $"Of {Units.Count} all alike, chance alone would put about {string.Join(" and ", Levels.Select((level, index) => string.Create(CultureInfo.InvariantCulture, $"{ExpectedOutside[index]:0.##} outside the {level * 100:0.##} % limits")))}; one outside is a reason to look, not a finding.");
}
