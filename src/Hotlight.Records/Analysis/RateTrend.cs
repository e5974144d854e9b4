using System.Globalization;
using Hotlight.Core;
using Hotlight.Statistics;
using Hotlight.Statistics.ControlCharts;

namespace Hotlight.Records.Analysis;

/// <summary>A rate over time with its control charts.</summary>
/// <param name="Kind">Which rate.</param>
/// <param name="By">Day, week or month.</param>
/// <param name="Periods">The periods, none left out; the charts' points have the same index.</param>
/// <param name="BaselinePeriods">How many of the first periods set the limits.</param>
/// <param name="IsApart">Whether later periods are watched with the baseline's limits; otherwise the chart looks back at its own baseline.</param>
/// <param name="Dispersion">Test whether the baseline's periods differ by more than chance.</param>
/// <param name="Choice">Which chart was taken and why, in one sentence.</param>
/// <param name="Chart">The p chart, or Laney's p′.</param>
/// <param name="Ewma">EWMA of the watched periods.</param>
/// <param name="Cusum">CUSUM of the watched periods.</param>
public sealed record RateTrend(
    RateKind Kind,
    LogDimension By,
    IReadOnlyList<LogPeriod> Periods,
    int BaselinePeriods,
    bool IsApart,
    Figure<TestResult> Dispersion,
    string Choice,
    Figure<ShewhartChart> Chart,
    Figure<EwmaChart> Ewma,
    Figure<CusumChart> Cusum)
{
    /// <summary>Below this p the baseline's periods differ by more than chance, and Laney's limits are taken.</summary>
    public const double DispersionLevel = 0.01;

    /// <summary>Fewest periods that set limits of their own for later ones. Common practice asks for 20 or more; limits of fewer move about.</summary>
    public const int FewestBaseline = 10;

    /// <summary>Makes the charts of counts by period.</summary>
    /// <remarks>The first half of the periods is the baseline where that is <see cref="FewestBaseline"/> or more; otherwise all are, and the chart looks back.</remarks>
    /// <param name="kind">Which rate.</param>
    /// <param name="by">Day, week or month.</param>
    /// <param name="counts">Counts by that dimension.</param>
    /// <param name="from">First day of what was asked; null: the first counted.</param>
    /// <param name="before">The day after the last; null: the last counted.</param>
    /// <param name="baselinePeriods">How many of the first periods set the limits; null: by the rule above.</param>
    public static RateTrend Of(RateKind kind, LogDimension by, IReadOnlyList<LogCount> counts, DateOnly? from = null, DateOnly? before = null, int? baselinePeriods = null)
    {
        ArgumentNullException.ThrowIfNull(counts);
        Dictionary<string, LogCount> known = counts.ToDictionary(count => count.Keys[0] ?? string.Empty, StringComparer.Ordinal);
        LogPeriod[] filled = [.. known.Keys.Where(key => key.Length > 0).Select(key => LogPeriod.Of(by, key)).OrderBy(period => period.From)];
        IReadOnlyList<LogPeriod> periods = filled.Length == 0 ? [] : LogPeriod.Between(by, from ?? filled[0].From, before ?? filled[^1].Before);
        Subgroup[] subgroups = [.. periods.Select(period => known.TryGetValue(period.Key, out LogCount? count)
            ? new Subgroup(period.Key, RateTable.Events(count, kind).Events, count.Exposures)
            : new Subgroup(period.Key, 0, 0))];
        int half = subgroups.Length / 2;
        int baseline = Math.Clamp(baselinePeriods ?? (half >= FewestBaseline ? half : subgroups.Length), Math.Min(1, subgroups.Length), subgroups.Length);
        Figure<TestResult> dispersion = ShewhartCharts.DispersionTest([.. subgroups.Take(baseline)], ChartKind.Proportion);
        bool spread = dispersion.IsMeasured && dispersion.Value.PValue < DispersionLevel;
        var settings = new ChartSettings { BaselineSubgroups = baseline == 0 ? null : baseline, Overdispersion = spread };
        Figure<ShewhartChart> chart = ShewhartCharts.Make(subgroups, ChartKind.Proportion, settings);

        // The moving range may find no more spread than chance where the test does: then the periods drift, and wider limits would hide it.
        if (spread && (!chart.IsMeasured || chart.Value.SigmaZ <= 1))
        {
            settings = settings with { Overdispersion = false };
            chart = ShewhartCharts.Make(subgroups, ChartKind.Proportion, settings);
        }

        return new RateTrend(
            kind,
            by,
            periods,
            baseline,
            baseline < subgroups.Length,
            dispersion,
            Sentence(by, baseline, dispersion, spread, settings.Overdispersion, chart),
            chart,
            SmallShiftCharts.EwmaOfCounts(subgroups, ChartKind.Proportion, settings),
            SmallShiftCharts.CusumOfCounts(subgroups, ChartKind.Proportion, settings));
    }

    private static string Sentence(LogDimension by, int baseline, Figure<TestResult> dispersion, bool spread, bool laney, Figure<ShewhartChart> chart)
    {
        string what = $"the {baseline} {LogPeriod.Word(by, baseline != 1)} of the baseline";
        if (!dispersion.IsMeasured || !chart.IsMeasured)
        {
            return "The limits are those of a p chart: whether the periods differ by more than chance cannot be told.";
        }

        string p = dispersion.Value.PValue < 0.0001 ? "p < 0.0001" : string.Create(CultureInfo.InvariantCulture, $"p = {dispersion.Value.PValue:0.####}");
        return laney
            ? string.Create(CultureInfo.InvariantCulture, $"Laney's p′ chart: {what} differ by more than chance allows (chi-square {dispersion.Value.Statistic:0.#}, {p}), so the limits are {chart.Value.SigmaZ:0.00} times as wide.")
            : spread
                ? string.Create(CultureInfo.InvariantCulture, $"p chart: {what} differ by more than chance allows (chi-square {dispersion.Value.Statistic:0.#}, {p}), but neighbours do not, so they drift, and wider limits would hide it.")
                : string.Create(CultureInfo.InvariantCulture, $"p chart: {what} do not differ by more than chance allows (chi-square {dispersion.Value.Statistic:0.#}, {p}).");
    }
}
