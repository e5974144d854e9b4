using System.Globalization;
using Hotlight.Core;
using Hotlight.Drawing.Charts;
using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Statistics;
using Hotlight.Statistics.ControlCharts;
using Hotlight.Statistics.Funnels;
using Hotlight.Statistics.Pareto;
using Hotlight.Statistics.Proportions;
using ChartPoint = Hotlight.Drawing.Charts.ChartPoint;
using static Hotlight.Workflows.Repeats.RepeatWords;

namespace Hotlight.Workflows.Repeats;

/// <summary>Makes charts of answers. A chart says where its figures come from; a point leads to its entries where the caller says how.</summary>
/// <param name="where">Site, period and filters in words.</param>
/// <param name="nameOf">Name of a group: its dimension and key.</param>
/// <param name="linkTo">Address of the list of the entries a query picks; null: points lead nowhere.</param>
public sealed class RepeatCharts(string where, Func<LogDimension, string?, string> nameOf, Func<LogQuery, string>? linkTo = null)
{
    /// <summary>Rate over time with its limits.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="trend">The trend.</param>
    /// <returns>The chart; null where there is nothing to draw.</returns>
    public Chart? Trend(RepeatQuestion question, RateTrend trend)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(trend);
        if (!trend.Chart.IsMeasured)
        {
            return null;
        }

        ShewhartChart chart = trend.Chart.Value;
        HashSet<int> called = [.. chart.Signals.Select(signal => signal.Index)];
        string word = LogPeriod.Word(trend.By);
        IReadOnlyList<RateReference> references = question.Kind == RateKind.Rejects && !question.IsOfOneReason ? RateReference.Of(question.Query) : [];
        return new Chart
        {
            Title = $"{question.RateName} by {word}",
            Definition = $"{DefinitionOf(question.Kind).Text} {RepeatDefinitions.Trend.Text} {trend.Choice}",
            CountText = CountText(question, chart.Points.Sum(point => (long)point.Subgroup.Size), chart.Points.Sum(point => point.Subgroup.Events)),
            Period = where,
            Across = new ChartAxis(trend.By switch { LogDimension.Week => "Week from", LogDimension.Month => "Month", _ => "Day" }, [.. trend.Periods.Select(period => period.Key)], RunsOn: true),
            Up = new ChartAxis($"{question.RateName}, % of exposures", From: 0, To: Highest(chart)),
            Series =
            [
                new ChartSeries($"limits ({(chart.SigmaZ > 1 ? "Laney p′" : "p chart")})", ChartShape.DashedSteps, ChartTone.Quiet, [.. chart.Points.Select((point, index) => new ChartPoint(index, 100 * point.Upper))]),
                new ChartSeries(string.Empty, ChartShape.DashedSteps, ChartTone.Quiet, [.. chart.Points.Select((point, index) => new ChartPoint(index, point.Lower > 0 ? 100 * point.Lower : null))]),
                new ChartSeries(trend.IsApart ? $"rate of the first {trend.BaselinePeriods} {LogPeriod.Word(trend.By, true)}" : "rate of all", ChartShape.Line, ChartTone.Quiet, [new ChartPoint(-0.5, 100 * chart.Centre), new ChartPoint(chart.Points.Count - 0.5, 100 * chart.Centre)]),
                new ChartSeries(question.RateName.ToLowerInvariant(), ChartShape.JoinedDots, ChartTone.Main, [.. chart.Points.Select((point, index) => new ChartPoint(index, 100 * point.Value)
                {
                    CallsForALook = called.Contains(index),
                    Description = point.Value is { } value ? $"{(trend.By == LogDimension.Week ? "week from " : string.Empty)}{point.Subgroup.Label}: {Percent(value)}, {point.Subgroup.Events} of {point.Subgroup.Size:0}; limits {Percent(point.Lower!.Value)} and {Percent(point.Upper!.Value)}{(called.Contains(index) ? "; outside its limits" : string.Empty)}" : string.Empty,
                    Link = Link(question, question.Counted with { From = Later(question.Query.From, trend.Periods[index].From), Before = Earlier(question.Query.Before, trend.Periods[index].Before) }),
                })]),
            ],
            Lines = [.. references.Select(line => new ChartLine(100 * line.Fraction, line.Label))],
            Table = new ChartTable(
                [trend.By == LogDimension.Week ? "Week from" : trend.By.ToString(), "Exposures", EventWord(question, true), "Rate, %", "Lower limit, %", "Upper limit, %", "Distance, standard deviations", "Sets the limits"],
                [.. chart.Points.Select((point, index) => new ChartTableRow(
                    [point.Subgroup.Label, Count((long)point.Subgroup.Size), Count(point.Subgroup.Events), Percents(point.Value), Percents(point.Lower), Percents(point.Upper), point.Z is { } z ? FigureText.Number(z, 2, signed: true) : "none", point.InBaseline ? "yes" : "no"],
                    Link(question, question.Counted with { From = Later(question.Query.From, trend.Periods[index].From), Before = Earlier(question.Query.Before, trend.Periods[index].Before) })))]),
        };
    }

    /// <summary>EWMA of the rate.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="trend">The trend.</param>
    /// <returns>The chart; null where there is nothing to draw.</returns>
    public Chart? Ewma(RepeatQuestion question, RateTrend trend)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(trend);
        if (!trend.Ewma.IsMeasured)
        {
            return null;
        }

        EwmaChart chart = trend.Ewma.Value;
        HashSet<int> called = [.. chart.Signals.Select(signal => signal.Index)];
        return new Chart
        {
            Title = $"{question.RateName}: moving average (EWMA)",
            Definition = $"{RepeatDefinitions.SmallShifts.Text} {chart.FalseAlarms.Sentence}",
            CountText = $"n = {chart.Points.Count} {LogPeriod.Word(trend.By, true)} watched, weight {chart.Weight:0.##} for the newest",
            Period = where,
            Across = new ChartAxis(trend.By == LogDimension.Week ? "Week from" : trend.By.ToString(), [.. chart.Points.Select(point => trend.Periods[point.Index].Key)], RunsOn: true),
            Up = new ChartAxis("Average distance, standard deviations"),
            Series =
            [
                new ChartSeries("limits", ChartShape.DashedSteps, ChartTone.Quiet, [.. chart.Points.Select((point, place) => new ChartPoint(place, point.Upper))]),
                new ChartSeries(string.Empty, ChartShape.DashedSteps, ChartTone.Quiet, [.. chart.Points.Select((point, place) => new ChartPoint(place, point.Lower))]),
                new ChartSeries("moving average", ChartShape.JoinedDots, ChartTone.Main, [.. chart.Points.Select((point, place) => new ChartPoint(place, point.Average)
                {
                    CallsForALook = called.Contains(point.Index),
                    Description = $"{trend.Periods[point.Index].Key}: average {FigureText.Number(point.Average, 2, true)}, limits {FigureText.Number(point.Lower, 2, true)} and {FigureText.Number(point.Upper, 2, true)}",
                    Link = Link(question, question.Counted with { From = trend.Periods[point.Index].From, Before = trend.Periods[point.Index].Before }),
                })]),
            ],
            Lines = [new ChartLine(0, "as in the baseline")],
            Table = new ChartTable(
                [trend.By == LogDimension.Week ? "Week from" : trend.By.ToString(), "Average", "Lower limit", "Upper limit"],
                [.. chart.Points.Select(point => new ChartTableRow([trend.Periods[point.Index].Key, FigureText.Number(point.Average, 2, true), FigureText.Number(point.Lower, 2, true), FigureText.Number(point.Upper, 2, true)]))]),
        };
    }

    /// <summary>CUSUM of the rate: the sum on the high side drawn upwards, that on the low side downwards.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="trend">The trend.</param>
    /// <returns>The chart; null where there is nothing to draw.</returns>
    public Chart? Cusum(RepeatQuestion question, RateTrend trend)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(trend);
        if (!trend.Cusum.IsMeasured)
        {
            return null;
        }

        CusumChart chart = trend.Cusum.Value;
        string across = trend.By == LogDimension.Week ? "Week from" : trend.By.ToString();

        // The decision interval is always in sight, also when no sum comes near it.
        double reach = 1.1 * chart.Points.Max(point => Math.Max(chart.Decision, Math.Max(point.High, point.Low)));
        ChartPoint Of(CusumPoint point, int place, bool isHigh) => new(place, isHigh ? point.High : -point.Low)
        {
            CallsForALook = (isHigh ? point.High : point.Low) > chart.Decision,
            Description = $"{trend.Periods[point.Index].Key}: sum above {FigureText.Number(point.High, 2)}, sum below {FigureText.Number(point.Low, 2)}; each calls beyond {FigureText.Number(chart.Decision, 2)}",
            Link = Link(question, question.Counted with { From = trend.Periods[point.Index].From, Before = trend.Periods[point.Index].Before }),
        };
        return new Chart
        {
            Title = $"{question.RateName}: running sums (CUSUM)",
            Definition = $"{RepeatDefinitions.RunningSums.Text} {chart.FalseAlarms.Sentence}",
            CountText = $"n = {chart.Points.Count} {LogPeriod.Word(trend.By, true)} watched, {FigureText.Number(chart.Reference, 2)} standard deviations forgiven each time",
            Period = where,
            Across = new ChartAxis(across, [.. chart.Points.Select(point => trend.Periods[point.Index].Key)], RunsOn: true),
            Up = new ChartAxis("Sum of distances, standard deviations", From: -reach, To: reach),
            Series =
            [
                new ChartSeries("sum above the baseline", ChartShape.JoinedDots, ChartTone.Main, [.. chart.Points.Select((point, place) => Of(point, place, isHigh: true))]),
                new ChartSeries("sum below it", ChartShape.JoinedDots, ChartTone.Second, [.. chart.Points.Select((point, place) => Of(point, place, isHigh: false))]),
            ],
            Lines = [new ChartLine(chart.Decision, "calls for a look"), new ChartLine(-chart.Decision, "calls for a look")],
            Table = new ChartTable(
                [across, "Sum above", "Sum below"],
                [.. chart.Points.Select(point => new ChartTableRow([trend.Periods[point.Index].Key, FigureText.Number(point.High, 2), FigureText.Number(point.Low, 2)]))]),
        };
    }

    /// <summary>Reasons, the most common first, with the share so far.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="pareto">The reasons.</param>
    /// <returns>The chart; null where there is no reject.</returns>
    public Chart? Reasons(RepeatQuestion question, ReasonPareto pareto)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(pareto);
        if (!pareto.Rows.IsMeasured)
        {
            return null;
        }

        IReadOnlyList<ParetoRow> rows = pareto.Rows.Value;
        return new Chart
        {
            Title = "Reasons of rejects",
            Definition = RepeatDefinitions.Reasons.Text,
            CountText = $"n = {Count(pareto.Rejected)} rejects, {Count(pareto.WithoutReason)} of them without a reason",
            Period = where,
            Across = new ChartAxis(string.Empty, [.. rows.Select(row => Broken(OfReasonName(row.Name)))]),
            Up = new ChartAxis("Share of rejects, %", From: 0, To: 105),
            Series =
            [
                new ChartSeries("share", ChartShape.Bars, ChartTone.Main, [.. rows.Select((row, place) => new ChartPoint(place, 100 * row.Share.Fraction)
                {
                    Description = $"{OfReasonName(row.Name)}: {Percent(row.Share.Fraction)} ({Percent(row.Share.Interval)}), {Count(row.Share.Count.Events)} of {Count(row.Share.Count.Total)}",
                    Link = linkTo?.Invoke(question.Counted with { Uses = [ExposureUse.Rejected], Reasons = [ReasonOf(row.Name)] }),
                })]),
                new ChartSeries("95 % interval", ChartShape.Dots, ChartTone.Quiet, [.. rows.Select((row, place) => new ChartPoint(place, null) { Low = 100 * row.Share.Interval.Lower, High = 100 * row.Share.Interval.Upper })]),
                new ChartSeries("share so far", ChartShape.JoinedDots, ChartTone.Second, [.. rows.Select((row, place) => new ChartPoint(place, 100 * row.CumulativeFraction))]),
            ],
            Table = new ChartTable(
                ["Reason", "Rejects", "Share, %", "95 % interval, %", "Share so far, %", "Ahead of the next"],
                [.. rows.Select(row => new ChartTableRow(
                    [OfReasonName(row.Name), Count(row.Share.Count.Events), Percents(row.Share.Fraction), Percent(row.Share.Interval), Percents(row.CumulativeFraction), row.AheadOfNext.IsMeasured ? P(row.AheadOfNext.Value.PValue) : "no next"],
                    linkTo?.Invoke(question.Counted with { Uses = [ExposureUse.Rejected], Reasons = [ReasonOf(row.Name)] })))]),
        };
    }

    /// <summary>Rates of groups with their intervals.</summary>
    /// <param name="groups">The groups.</param>
    /// <returns>The chart; null where no group can be shown.</returns>
    public Chart? Groups(RepeatGroups groups)
    {
        ArgumentNullException.ThrowIfNull(groups);
        RepeatQuestion question = groups.Question;
        RateRow[] shown = [.. groups.Table.Rows.Where(row => row.Rate(question.Kind).IsMeasured).OrderByDescending(row => row.Rate(question.Kind).Value!.Fraction)];
        if (shown.Length == 0)
        {
            return null;
        }

        Figure<ProportionEstimate> all = groups.Table.All.Rate(question.Kind);
        string hidden = groups.Table.Suppressed > 0 ? $" {RepeatDefinitions.Suppression} Not shown here: {groups.Table.Suppressed}." : string.Empty;
        return new Chart
        {
            Title = $"{question.RateName} by {Of(groups.By)}",
            Definition = $"{DefinitionOf(question.Kind).Text} The line through each dot is its 95 % interval.{hidden}",
            CountText = all.IsMeasured ? CountText(question, all.Value.Count.Total, all.Value.Count.Events) : all.Why,
            Period = where,
            IsSideways = true,
            Across = new ChartAxis($"{question.RateName}, % of exposures", From: 0),
            Up = new ChartAxis(string.Empty, [.. shown.Select(row => nameOf(groups.By, row.Key))]),
            Series =
            [
                new ChartSeries("rate with its 95 % interval", ChartShape.Dots, ChartTone.Main, [.. shown.Select((row, place) => Point(row, place, question, groups.By))]),
            ],
            Lines =
            [
                .. all.IsMeasured ? new[] { new ChartLine(100 * all.Value.Fraction, $"all: {Percent(all.Value.Fraction)}") } : [],
            ],
            Table = new ChartTable(
                [Capital(Of(groups.By)), "Exposures", EventWord(question, true), "Rate, %", "95 % interval, %", .. groups.Funnel is null ? Array.Empty<string>() : ["Seen over expected", "95 % interval"]],
                [.. groups.Table.Rows.Where(row => row.Counts.Value is not { Exposures: 0 }).OrderByDescending(row => row.Rate(question.Kind).Value?.Fraction ?? -1).Select(row => Row(row, groups))]),
        };
    }

    /// <summary>The funnel.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="funnel">The funnel.</param>
    /// <returns>The chart; null where there is none.</returns>
    public Chart? Funnel(RepeatQuestion question, MixFunnel funnel)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(funnel);
        if (!funnel.Funnel.IsMeasured || funnel.Funnel.Value.Units.Count < 2)
        {
            return null;
        }

        Funnel drawn = funnel.Funnel.Value;
        string events = question.Kind == RateKind.Rejects ? "rejects" : "repeats";
        string spread = funnel.IsWidened ? $" The limits are {Math.Sqrt(drawn.OverdispersionFactor).ToString("0.00", CultureInfo.InvariantCulture)} times as wide as chance alone, by the spread between them." : string.Empty;
        ChartPoint[] Curve(int level, bool upper) => [.. funnel.Curves.Select(point => new ChartPoint(point.Expected, upper ? point.Limits[level].Upper : point.Limits[level].Lower))];
        return new Chart
        {
            Title = $"{Capital(Of(funnel.By, many: true))} adjusted for their projections",
            Definition = $"{RepeatDefinitions.Funnel.Text}{spread} {drawn.Multiplicity}",
            CountText = $"n = {drawn.Units.Count} {Of(funnel.By, many: true)}, {Count(drawn.Units.Sum(unit => unit.Events))} {events}{(funnel.LeftOut > 0 ? $", {funnel.LeftOut} left out" : string.Empty)}{(funnel.NotTold > 0 ? $", {Count(funnel.NotTold)} exposures without a {Of(funnel.By)}" : string.Empty)}",
            Period = where,
            Across = new ChartAxis($"Expected {events}", From: 0, To: funnel.Curves.Count > 0 ? funnel.Curves[^1].Expected : null),
            Up = new ChartAxis($"{Capital(events)}, seen over expected", From: 0, To: Math.Max(2, 1.15 * Math.Max(drawn.Units.Max(unit => unit.Value), drawn.Units.Max(unit => unit.Limits[^1].Upper)))),
            Series =
            [
                new ChartSeries("95 % limits", ChartShape.DashedCurve, ChartTone.Quiet, Curve(0, true)),
                new ChartSeries(string.Empty, ChartShape.DashedCurve, ChartTone.Quiet, Curve(0, false)),
                new ChartSeries("99.8 % limits", ChartShape.DottedCurve, ChartTone.Quiet, Curve(drawn.Levels.Count - 1, true)),
                new ChartSeries(string.Empty, ChartShape.DottedCurve, ChartTone.Quiet, Curve(drawn.Levels.Count - 1, false)),
                new ChartSeries(Of(funnel.By), ChartShape.Dots, ChartTone.Main, [.. drawn.Units.Select(unit => new ChartPoint(unit.Precision, unit.Value)
                {
                    CallsForALook = unit.OutsideLevel >= drawn.Levels[^1],
                    Description = $"{nameOf(funnel.By, unit.Name)}: {unit.Events} {events}, {FigureText.Number(unit.Precision, 1)} expected, {FigureText.Number(unit.Value, 2)} times{(unit.OutsideLevel is { } level ? $", outside the {FigureText.Number(100 * level, 1)} % limits" : string.Empty)}",
                    Link = linkTo?.Invoke(Picked(question.Counted, funnel.By, unit.Name) with { Uses = question.Kind == RateKind.Rejects ? [ExposureUse.Rejected] : [] }),
                })]),
            ],
            Lines = [new ChartLine(1, "as expected")],
            Table = new ChartTable(
                [Capital(Of(funnel.By)), Capital(events), "Expected", "Seen over expected", "95 % interval", "95 % limits", "99.8 % limits"],
                [.. drawn.Units.OrderByDescending(unit => unit.Value).Select(unit => new ChartTableRow(
                    [nameOf(funnel.By, unit.Name), Count(unit.Events), FigureText.Number(unit.Precision, 1), FigureText.Number(unit.Value, 2), Ends(funnel.Ratios[unit.Name].Value!.Interval), Ends(unit.Limits[0]), Ends(unit.Limits[^1])],
                    linkTo?.Invoke(Picked(question.Counted, funnel.By, unit.Name) with { Uses = question.Kind == RateKind.Rejects ? [ExposureUse.Rejected] : [] })))]),
        };
    }

    /// <summary>How the deviation indices are spread.</summary>
    /// <param name="answer">The indices.</param>
    /// <returns>The chart; null where there is no index.</returns>
    public Chart? IndexSpread(IndexAnswer answer)
    {
        ArgumentNullException.ThrowIfNull(answer);
        const int BinsABar = 5;
        const int Outermost = 12;
        if (answer.All.WithIndex == 0)
        {
            return null;
        }

        // Bars of half a unit centred on whole halves: bins −2 to +2 of the log are the bar about 0. What lies further out is in the outermost bars.
        int[] bars = [.. Enumerable.Range(-Outermost, (2 * Outermost) + 1)];
        Dictionary<int, long> counts = answer.All.Bins.GroupBy(bin => Math.Clamp((int)Math.Floor((bin.Key + (BinsABar / 2.0)) / BinsABar), -Outermost, Outermost)).ToDictionary(group => group.Key, group => group.Sum(bin => bin.Value));
        string Name(int bar) => bar == -Outermost ? "≤ −6" : bar == Outermost ? "≥ +6" : FigureText.Number(bar * 0.5, 1, signed: true);
        return new Chart
        {
            Title = "Spread of the deviation index",
            Definition = $"{RepeatDefinitions.DeviationIndex.Text} {RepeatDefinitions.IndexBands.Text}",
            CountText = $"n = {Count(answer.All.WithIndex)} exposures with a deviation index; an exposure index is missing in {Rate(answer.All.Missing)}",
            Period = where,
            Across = new ChartAxis("Deviation index", [.. bars.Select(Name)], RunsOn: true),
            Up = new ChartAxis("Exposures", From: 0),
            Series = [new ChartSeries("exposures", ChartShape.Bars, ChartTone.Main, [.. bars.Select((bar, place) => new ChartPoint(place, counts.GetValueOrDefault(bar)))])],
            Table = new ChartTable(["Deviation index, about", "Exposures"], [.. bars.Select(bar => new ChartTableRow([Name(bar), Count(counts.GetValueOrDefault(bar))]))]),
        };
    }

    /// <summary>The monthly median of the deviation index.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="trend">The months.</param>
    /// <returns>The chart; null with fewer than two months.</returns>
    public Chart? IndexMonths(RepeatQuestion question, IndexTrend trend)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(trend);
        if (trend.Months.Count < 2)
        {
            return null;
        }

        string creep = trend.Creep.IsMeasured
            ? $"Slope {FigureText.Number(trend.Creep.Value.SlopePerYear.Slope, 2, true)} a year ({FigureText.Number(trend.Creep.Value.SlopePerYear.Interval.Lower, 2, true)} to {FigureText.Number(trend.Creep.Value.SlopePerYear.Interval.Upper, 2, true)}): {FigureText.Number(trend.Creep.Value.ExposureChangePercentPerYear, 0, true)} % exposure a year; Mann-Kendall {P(trend.Creep.Value.Test.Test.PValue)}."
            : $"No slope: {trend.Creep.Why}";
        double start = trend.Months[0].From.Year * 12 + trend.Months[0].From.Month;
        double Fitted(int index) => trend.Creep.Value!.SlopePerYear.Intercept + (trend.Creep.Value.SlopePerYear.Slope * ((trend.Months[index].From.Year * 12) + trend.Months[index].From.Month) / 12.0);
        double Place(int index) => (trend.Months[index].From.Year * 12) + trend.Months[index].From.Month - start;
        int places = (int)Place(trend.Months.Count - 1) + 1;
        return new Chart
        {
            Title = trend.Key is null ? "Deviation index over the months" : $"Deviation index over the months: {trend.Key}",
            Definition = $"Median of each month with its 95 % interval. {RepeatDefinitions.Creep.Text} {creep}",
            CountText = $"n = {Count(trend.Figures.Sum(figures => figures.WithIndex))} exposures with a deviation index in {trend.Months.Count} months",
            Period = where,
            Across = new ChartAxis("Month", [.. Enumerable.Range(0, places).Select(month => trend.Months[0].From.AddMonths(month).ToString("yyyy-MM", CultureInfo.InvariantCulture))], RunsOn: true),
            Up = new ChartAxis("Median deviation index"),
            Series =
            [
                .. trend.Creep.IsMeasured ? new[] { new ChartSeries("slope", ChartShape.DashedCurve, ChartTone.Quiet, [new ChartPoint(Place(0), Fitted(0)), new ChartPoint(Place(trend.Months.Count - 1), Fitted(trend.Months.Count - 1))]) } : [],
                new ChartSeries("median with its 95 % interval", ChartShape.Dots, ChartTone.Main, [.. trend.Figures.Select((figures, index) => new ChartPoint(Place(index), figures.Median.Value!.Value)
                {
                    Low = figures.Median.Value.Interval.Value?.Lower,
                    High = figures.Median.Value.Interval.Value?.Upper,
                    Description = $"{trend.Months[index].Key}: median {Median(figures)}, {Count(figures.WithIndex)} exposures",
                    Link = linkTo?.Invoke((trend.Key is null ? question.Counted : Picked(question.Counted, LogDimension.Receptor, trend.Key)) with { From = trend.Months[index].From, Before = trend.Months[index].Before }),
                })]),
            ],
            Lines = [new ChartLine(0, "on target")],
            Table = new ChartTable(
                ["Month", "With an index", "Median", "95 % interval", "Beyond ±1, %", "Beyond ±3, %", "Index missing, %"],
                [.. trend.Figures.Select((figures, index) => new ChartTableRow([trend.Months[index].Key, Count(figures.WithIndex), FigureText.Number(figures.Median.Value!.Value, 2, true), figures.Median.Value.Interval.Value is { } interval ? Ends(interval, true) : "too few", Percents(figures.BeyondOne), Percents(figures.BeyondThree), Percents(figures.Missing)]))]),
        };
    }

    /// <summary>Deviation indices of groups.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="by">What the groups are of.</param>
    /// <param name="groups">Their figures.</param>
    /// <returns>The chart; null where no group has an index.</returns>
    public Chart? IndexGroups(RepeatQuestion question, LogDimension by, IReadOnlyList<IndexFigures> groups)
    {
        ArgumentNullException.ThrowIfNull(question);
        IndexFigures[] shown = [.. groups.Where(figures => figures.Median.IsMeasured).OrderByDescending(figures => figures.Median.Value!.Value)];
        return shown.Length == 0 ? null : new Chart
        {
            Title = $"Deviation index by {Of(by)}",
            Definition = $"Median of each {Of(by)} with its 95 % interval. {RepeatDefinitions.DeviationIndex.Text}",
            CountText = $"n = {Count(shown.Sum(figures => figures.WithIndex))} exposures with a deviation index",
            Period = where,
            IsSideways = true,
            Across = new ChartAxis("Median deviation index"),
            Up = new ChartAxis(string.Empty, [.. shown.Select(figures => nameOf(by, figures.Key))]),
            Series =
            [
                new ChartSeries("median", ChartShape.Dots, ChartTone.Main, [.. shown.Select((figures, place) => new ChartPoint(place, figures.Median.Value!.Value)
                {
                    Low = figures.Median.Value.Interval.Value?.Lower,
                    High = figures.Median.Value.Interval.Value?.Upper,
                    Description = $"{nameOf(by, figures.Key)}: median {Median(figures)}, {Count(figures.WithIndex)} exposures",
                    Link = linkTo?.Invoke(Picked(question.Counted, by, figures.Key)),
                })]),
            ],
            Lines = [new ChartLine(0, "on target")],
            Table = new ChartTable(
                [Capital(Of(by)), "Exposures", "With an index", "Median", "95 % interval", "Standard deviation", "Beyond ±1, %", "Beyond ±3, %", "Index missing, %"],
                [.. groups.OrderByDescending(figures => figures.Median.Value?.Value ?? double.MinValue).Select(figures => new ChartTableRow(
                    [nameOf(by, figures.Key), Count(figures.Exposures), Count(figures.WithIndex), figures.Median.IsMeasured ? FigureText.Number(figures.Median.Value.Value, 2, true) : "none", figures.Median.Value?.Interval.Value is { } interval ? Ends(interval, true) : "too few", figures.MeanAndDeviation.IsMeasured ? FigureText.Number(figures.MeanAndDeviation.Value.StandardDeviation, 2) : "none", Percents(figures.BeyondOne), Percents(figures.BeyondThree), Percents(figures.Missing)],
                    linkTo?.Invoke(Picked(question.Counted, by, figures.Key))))]),
        };
    }

    /// <summary>Rates before and after a training.</summary>
    /// <param name="question">What was asked.</param>
    /// <param name="comparison">The comparison.</param>
    /// <returns>The chart; null where a side is empty.</returns>
    public Chart? Comparison(RepeatQuestion question, TrainingComparison comparison)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(comparison);
        (string Name, Figure<ProportionEstimate> Rate)[] rates =
        [
            ("before", comparison.Group.RateBefore), ("after", comparison.Group.RateAfter),
            .. comparison.Control is { } control ? new[] { ("control before", control.RateBefore), ("control after", control.RateAfter) } : [],
        ];
        if (rates.Any(rate => !rate.Rate.IsMeasured))
        {
            return null;
        }

        return new Chart
        {
            Title = $"{question.RateName} before and after {Day(comparison.Date)}",
            Definition = $"{DefinitionOf(question.Kind).Text} {RepeatDefinitions.Comparison.Text}",
            CountText = $"n = {Count(comparison.Group.Before.Total)} exposures before, {Count(comparison.Group.After.Total)} after",
            Period = where,
            IsSideways = true,
            Across = new ChartAxis($"{question.RateName}, % of exposures", From: 0),
            Up = new ChartAxis(string.Empty, [.. rates.Select(rate => rate.Name)]),
            Series =
            [
                new ChartSeries(string.Empty, ChartShape.Dots, ChartTone.Main, [.. rates.Select((rate, place) => (rate, place)).Where(each => each.place < 2).Select(each => RatePoint(each.rate, each.place))]),
                new ChartSeries(string.Empty, ChartShape.Dots, ChartTone.Second, [.. rates.Select((rate, place) => (rate, place)).Where(each => each.place >= 2).Select(each => RatePoint(each.rate, each.place))]),
            ],
            Table = new ChartTable(
                ["Time", "Exposures", EventWord(question, true), "Rate, %", "95 % interval, %"],
                [.. rates.Select(rate => new ChartTableRow([rate.Name, Count(rate.Rate.Value!.Count.Total), Count(rate.Rate.Value.Count.Events), Percents(rate.Rate.Value.Fraction), Percent(rate.Rate.Value.Interval)]))]),
        };
    }

    /// <summary>Definition of a rate.</summary>
    /// <param name="kind">Which rate.</param>
    public static FigureDefinition DefinitionOf(RateKind kind) => kind == RateKind.Rejects ? RepeatDefinitions.RejectRate : RepeatDefinitions.RepeatRate;

    /// <summary>A query narrowed to one group.</summary>
    /// <param name="query">The query.</param>
    /// <param name="by">What the group is of.</param>
    /// <param name="key">The group; null: not told.</param>
    public static LogQuery Picked(LogQuery query, LogDimension by, string? key)
    {
        ArgumentNullException.ThrowIfNull(query);
        return by switch
        {
            LogDimension.Projection => query with { ProjectionIds = [key] },
            LogDimension.Room => query with { Rooms = [key] },
            LogDimension.Receptor => query with { Receptors = [key] },
            LogDimension.Performer => query with { Performers = [key] },
            LogDimension.Shift => query with { Shifts = [Enum.TryParse(key, out Shift shift) ? shift : Shift.Unknown] },
            LogDimension.AgeGroup => query with { AgeGroups = [Enum.TryParse(key, out AgeGroup group) ? group : AgeGroup.Unknown] },
            _ => query,
        };
    }

    private static ChartPoint RatePoint((string Name, Figure<ProportionEstimate> Rate) rate, int place) => new(place, 100 * rate.Rate.Value!.Fraction)
    {
        Low = 100 * rate.Rate.Value.Interval.Lower,
        High = 100 * rate.Rate.Value.Interval.Upper,
        Description = $"{rate.Name}: {Rate(rate.Rate)}",
    };

    private ChartPoint Point(RateRow row, int place, RepeatQuestion question, LogDimension by)
    {
        ProportionEstimate rate = row.Rate(question.Kind).Value!;
        return new ChartPoint(place, 100 * rate.Fraction)
        {
            Low = 100 * rate.Interval.Lower,
            High = 100 * rate.Interval.Upper,
            Description = $"{nameOf(by, row.Key)}: {Rate(row.Rate(question.Kind))}",
            Link = Link(question, Picked(question.Counted, by, row.Key)),
        };
    }

    private ChartTableRow Row(RateRow row, RepeatGroups groups)
    {
        RepeatQuestion question = groups.Question;
        Figure<ProportionEstimate> rate = row.Rate(question.Kind);
        string[] blank = groups.Funnel is null ? [string.Empty, string.Empty, string.Empty] : [string.Empty, string.Empty, string.Empty, string.Empty, string.Empty];
        if (!rate.IsMeasured)
        {
            return new ChartTableRow([nameOf(groups.By, row.Key), rate.Why, .. blank]);
        }

        StandardisedRatio? ratio = row.Key is not null && groups.Funnel?.Ratios.TryGetValue(row.Key, out Figure<StandardisedRatio>? found) == true ? found.Value : null;
        string[] adjusted = groups.Funnel is null ? [] : ratio is null ? ["–", "–"] : [FigureText.Number(ratio.Ratio, 2), Ends(ratio.Interval)];
        return new ChartTableRow(
            [nameOf(groups.By, row.Key), Count(rate.Value.Count.Total), Count(rate.Value.Count.Events), Percents(rate.Value.Fraction), Percent(rate.Value.Interval), .. adjusted],
            Link(question, Picked(question.Counted, groups.By, row.Key)));
    }

    /// <summary>The list of the events behind a point: rejects where rejects are counted, all exposures otherwise.</summary>
    private string? Link(RepeatQuestion question, LogQuery query) => linkTo?.Invoke(question.Kind == RateKind.Rejects
        ? query with { Uses = [ExposureUse.Rejected], Reasons = question.IsOfOneReason ? [question.Reason] : [] }
        : query);

    private static RejectReason? ReasonOf(string name) => Enum.TryParse(name, out RejectReason reason) ? reason : null;

    private static string CountText(RepeatQuestion question, long exposures, long events) => $"n = {Count(exposures)} exposures, {Count(events)} {EventWord(question, false)}";

    private static string EventWord(RepeatQuestion question, bool capital)
    {
        string word = question.Kind == RateKind.Repeats ? "repeats" : question.IsOfOneReason ? $"rejects for {Of(question.Reason)}" : "rejects";
        return capital ? Capital(word) : word;
    }

    private static string Percents(double? fraction) => fraction is { } value ? FigureText.Number(100 * value, 1) : "none";

    private static string Percents(Figure<ProportionEstimate> share) => share.IsMeasured ? Percents(share.Value.Fraction) : "none";

    private static string Ends(Interval interval, bool signed = false) => $"{FigureText.Number(interval.Lower, 2, signed)} to {FigureText.Number(interval.Upper, 2, signed)}";

    private static string Median(IndexFigures figures)
        => FigureText.Number(figures.Median.Value!.Value, 2, true) + (figures.Median.Value.Interval.Value is { } interval ? $" ({Ends(interval, true)})" : string.Empty);

    private static string Capital(string word) => word.Length == 0 ? word : char.ToUpperInvariant(word[0]) + word[1..];

    private static string Broken(string name)
    {
        // Two or three short lines under a bar instead of one long one.
        string[] words = name.Split(' ');
        return words.Length <= 1 ? name : words.Length <= 3 ? string.Join('\n', words) : $"{words[0]} {words[1]}\n{string.Join(' ', words[2..])}";
    }

    /// <summary>Top of a trend's axis: the limits of a week with a handful of exposures would press all the others flat.</summary>
    private static double Highest(ShewhartChart chart)
    {
        double[] limits = [.. chart.Points.Select(point => point.Upper).OfType<double>().Order()];
        double values = chart.Points.Max(point => point.Value ?? 0);
        return Math.Min(100, 115 * Math.Max(0.02, Math.Max(values, limits.Length == 0 ? 0 : limits[limits.Length / 2])));
    }

    private static DateOnly? Later(DateOnly? first, DateOnly second) => first is { } day && day > second ? day : second;

    private static DateOnly? Earlier(DateOnly? first, DateOnly second) => first is { } day && day < second ? day : second;
}
