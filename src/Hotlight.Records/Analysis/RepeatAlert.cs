using System.Globalization;
using Hotlight.Statistics.ControlCharts;
using Hotlight.Statistics.Funnels;

namespace Hotlight.Records.Analysis;

/// <summary>A call for a look.</summary>
/// <param name="Sentence">What was seen.</param>
/// <param name="Sureness">How many such calls chance alone would bring, in one sentence.</param>
/// <param name="IsHigher">Whether more than expected; otherwise less, which is as much a reason to look (AAPM TG-305).</param>
/// <param name="ExpectedFalse">Calls of this kind that chance alone would bring in what was watched.</param>
/// <param name="From">First day it concerns; null: all of the period.</param>
/// <param name="Before">The day after the last; null: all of the period.</param>
/// <param name="By">What the group is of; null: all exposures.</param>
/// <param name="Key">The group; null: none.</param>
public sealed record RepeatAlert(string Sentence, string Sureness, bool IsHigher, double ExpectedFalse, DateOnly? From = null, DateOnly? Before = null, LogDimension? By = null, string? Key = null);

/// <summary>Finds what calls for a look.</summary>
public static class RepeatAlerts
{
    /// <summary>Calls of a trend's three charts. Points in a row outside are one call.</summary>
    /// <param name="trend">The trend.</param>
    public static IReadOnlyList<RepeatAlert> Of(RateTrend trend)
    {
        ArgumentNullException.ThrowIfNull(trend);
        List<RepeatAlert> alerts = [];
        if (trend.Chart.IsMeasured)
        {
            ShewhartChart chart = trend.Chart.Value;
            alerts.AddRange(Runs(chart.Signals).Where(run => !trend.IsApart || run.Last >= trend.BaselinePeriods).Select(run =>
            {
                ChartPoint point = chart.Points[run.First.Index];
                string limit = Percent(run.First.Higher ? point.Upper!.Value : point.Lower!.Value);
                return Alert(trend, run, $"The {Name(trend.Kind)} was {Percent(point.Value!.Value)} ({point.Subgroup.Events} of {point.Subgroup.Size:0}), {(run.First.Higher ? "above" : "below")} the limit of {limit}.", run.First.Index, chart.FalseAlarms);
            }));
        }

        if (trend.Ewma.IsMeasured)
        {
            alerts.AddRange(Runs(trend.Ewma.Value.Signals).Select(run => Alert(trend, run, $"The moving average of the {Name(trend.Kind)} left its limits and is {(run.First.Higher ? "higher" : "lower")} than in the baseline.", run.First.Since, trend.Ewma.Value.FalseAlarms)));
        }

        if (trend.Cusum.IsMeasured)
        {
            alerts.AddRange(Runs(trend.Cusum.Value.Signals).Select(run => Alert(trend, run, $"The running sum of the {Name(trend.Kind)} passed its limit: a small lasting {(run.First.Higher ? "rise" : "fall")}.", run.First.Since, trend.Cusum.Value.FalseAlarms)));
        }

        return alerts;
    }

    /// <summary>Units outside the funnel's widest limits.</summary>
    /// <param name="funnel">The funnel.</param>
    public static IReadOnlyList<RepeatAlert> Of(MixFunnel funnel)
    {
        ArgumentNullException.ThrowIfNull(funnel);
        if (!funnel.Funnel.IsMeasured)
        {
            return [];
        }

        Funnel drawn = funnel.Funnel.Value;
        double widest = drawn.Levels.Max();
        return [.. drawn.Units.Where(unit => unit.OutsideLevel >= widest).Select(unit => new RepeatAlert(
            string.Create(CultureInfo.InvariantCulture, $"{unit.Name}: {unit.Events} {(funnel.Kind == RateKind.Rejects ? "rejects" : "repeats")} where {unit.Precision:0.#} were expected of its projections ({unit.Value:0.00} times), outside the {widest * 100:0.0} % limits."),
            drawn.Multiplicity,
            unit.Higher,
            drawn.Units.Count * (1 - widest),
            By: funnel.By,
            Key: unit.Name))];
    }

    /// <summary>Receptors, rooms or projections whose deviation index creeps.</summary>
    /// <param name="by">What they are.</param>
    /// <param name="trends">One trend each; all that were looked at, so that chance can be counted.</param>
    public static IReadOnlyList<RepeatAlert> Of(LogDimension by, IReadOnlyList<IndexTrend> trends)
    {
        ArgumentNullException.ThrowIfNull(trends);
        IndexTrend[] told = [.. trends.Where(trend => trend.Creep.IsMeasured)];
        double expected = told.Length * (1 - (told.FirstOrDefault()?.Creep.Value!.SlopePerYear.Interval.Level ?? 1));
        return [.. told.Where(trend => !trend.Creep.Value!.SlopePerYear.Interval.Contains(0)).Select(trend => new RepeatAlert(
            string.Create(CultureInfo.InvariantCulture, $"{trend.Key}: the deviation index {(trend.Creep.Value!.SlopePerYear.Slope > 0 ? "rises" : "falls")} by {Math.Abs(trend.Creep.Value.SlopePerYear.Slope):0.00} a year ({Signed(trend.Creep.Value.ExposureChangePercentPerYear)} % exposure a year, 95 % interval {Signed(trend.Creep.Value.ExposureChangeInterval.Lower)} to {Signed(trend.Creep.Value.ExposureChangeInterval.Upper)} %)."),
            string.Create(CultureInfo.InvariantCulture, $"Of {told.Length} that do not move, chance alone would call about {expected:0.##}; {trend.Months.Count} months, Mann-Kendall {(trend.Creep.Value.Test.Test.PValue < 0.0001 ? "p < 0.0001" : string.Create(CultureInfo.InvariantCulture, $"p = {trend.Creep.Value.Test.Test.PValue:0.####}"))}."),
            trend.Creep.Value.SlopePerYear.Slope > 0,
            expected,
            By: by,
            Key: trend.Key))];
    }

    private static RepeatAlert Alert(RateTrend trend, SignalRun run, string sentence, int since, FalseAlarms alarms)
    {
        LogPeriod first = trend.Periods[Math.Clamp(since, 0, trend.Periods.Count - 1)];
        LogPeriod last = trend.Periods[run.Last];
        string when = trend.By switch
        {
            LogDimension.Week => first == last ? $"Week of {first.Key}" : $"Weeks of {first.Key} to {last.Key}",
            _ => first == last ? first.Key : $"{first.Key} to {last.Key}",
        };
        return new RepeatAlert($"{when}: {sentence}", alarms.Sentence, run.First.Higher, alarms.Expected, first.From, last.Before);
    }

    /// <summary>Signals of one side whose points follow each other are one run.</summary>
    private static List<SignalRun> Runs(IReadOnlyList<ChartSignal> signals)
    {
        List<SignalRun> runs = [];
        foreach (ChartSignal signal in signals.OrderBy(signal => signal.Index))
        {
            int before = runs.FindLastIndex(run => run.First.Higher == signal.Higher);
            if (before >= 0 && signal.Index <= runs[before].Last + 1)
            {
                runs[before] = runs[before] with { Last = signal.Index };
            }
            else
            {
                runs.Add(new SignalRun(signal, signal.Index));
            }
        }

        return runs;
    }

    private static string Name(RateKind kind) => kind == RateKind.Rejects ? "reject rate" : "repeat rate";

    private static string Percent(double fraction) => string.Create(CultureInfo.InvariantCulture, $"{100 * fraction:0.0} %");

    private static string Signed(double percent) => percent.ToString("+0.#;−0.#;0", CultureInfo.InvariantCulture);

    private sealed record SignalRun(ChartSignal First, int Last);
}
