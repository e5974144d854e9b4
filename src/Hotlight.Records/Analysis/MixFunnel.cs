using Hotlight.Core;
using Hotlight.Statistics;
using Hotlight.Statistics.Funnels;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Records.Analysis;

/// <summary>A funnel over rooms, receptors, shifts or people, each held against what the whole department's rates give for its own projections.</summary>
/// <param name="By">What the units are.</param>
/// <param name="Kind">Which rate.</param>
/// <param name="Funnel">The funnel of standardised ratios.</param>
/// <param name="Ratios">Each unit's ratio with its interval, by its name.</param>
/// <param name="Curves">Limits along the funnel, for drawing: by rising expected events, one interval a level.</param>
/// <param name="IsWidened">Whether the limits are widened by the spread between units beyond chance.</param>
/// <param name="NotTold">Exposures of no named unit; they are in the reference but in no point.</param>
/// <param name="LeftOut">Units left out because they are suppressed or nothing is expected of them.</param>
public sealed record MixFunnel(
    LogDimension By,
    RateKind Kind,
    Figure<Funnel> Funnel,
    IReadOnlyDictionary<string, Figure<StandardisedRatio>> Ratios,
    IReadOnlyList<FunnelCurvePoint> Curves,
    bool IsWidened,
    long NotTold,
    int LeftOut)
{
    /// <summary>Fewest units from which the spread between them is worked out; of fewer it says nothing.</summary>
    public const int FewestForSpread = 10;

    private const int CurvePoints = 60;
    private const string Unnamed = "";

    /// <summary>Makes it from counts by unit and projection.</summary>
    /// <param name="by">What the units are.</param>
    /// <param name="kind">Which rate.</param>
    /// <param name="counts">Counts by that dimension and the projection, in this order of keys.</param>
    /// <param name="suppressed">Names of units that must not be shown; null: none.</param>
    public static MixFunnel Of(LogDimension by, RateKind kind, IReadOnlyList<LogCount> counts, IReadOnlySet<string>? suppressed = null)
    {
        ArgumentNullException.ThrowIfNull(counts);
        GroupCount[] reference = Strata(counts, kind);
        Dictionary<string, Figure<StandardisedRatio>> ratios = [];
        List<ObservedExpected> units = [];
        int leftOut = 0;
        foreach (IGrouping<string, LogCount> unit in counts.Where(count => count.Keys[0] is not null).GroupBy(count => count.Keys[0]!, StringComparer.Ordinal))
        {
            Figure<StandardisedRatio> ratio = CaseMix.Indirect(Strata(unit, kind), reference);
            if (suppressed?.Contains(unit.Key) == true || !ratio.IsMeasured)
            {
                leftOut++;
                continue;
            }

            ratios.Add(unit.Key, ratio);
            units.Add(new ObservedExpected(unit.Key, ratio.Value.Count.Events, ratio.Value.Expected));
        }

        bool widened = units.Count >= FewestForSpread;
        var settings = new FunnelSettings { Overdispersion = widened };
        Figure<Funnel> funnel = FunnelPlots.Ratios(units, settings);
        if (funnel.IsMeasured && funnel.Value.OverdispersionFactor <= 1 && widened)
        {
            // No spread beyond chance: the exact limits are the better ones.
            widened = false;
            funnel = FunnelPlots.Ratios(units, settings with { Overdispersion = false });
        }

        return new MixFunnel(by, kind, funnel, ratios, funnel.IsMeasured ? Curve(funnel.Value, widened) : [], widened, counts.Where(count => count.Keys[0] is null).Sum(count => count.Exposures), leftOut);
    }

    private static GroupCount[] Strata(IEnumerable<LogCount> counts, RateKind kind)
        => [.. counts.GroupBy(count => count.Keys[1] ?? Unnamed, StringComparer.Ordinal).Select(group => new GroupCount(group.Key, RateTable.Events(RateTable.Sum(group), kind)))];

    private static FunnelCurvePoint[] Curve(Funnel funnel, bool widened)
    {
        double least = Math.Max(0.5, funnel.Units.Min(unit => unit.Precision) / 1.4);
        double most = funnel.Units.Max(unit => unit.Precision) * 1.15;
        return [.. Enumerable.Range(0, CurvePoints).Select(step => least * Math.Pow(most / least, step / (CurvePoints - 1.0))).Select(expected => new FunnelCurvePoint(expected, [.. funnel.Levels.Select(level => widened
            ? FunnelLimits.NormalRatio(funnel.Target, expected, level, funnel.OverdispersionFactor)
            : FunnelLimits.Poisson(funnel.Target, expected, level))]))];
    }
}

/// <summary>Limits of a funnel at one number of expected events.</summary>
/// <param name="Expected">Expected events.</param>
/// <param name="Limits">One interval a level.</param>
public sealed record FunnelCurvePoint(double Expected, IReadOnlyList<Interval> Limits);
