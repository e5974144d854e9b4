using System.Globalization;
using Hotlight.Core;
using Hotlight.Drawing.Charts;
using Hotlight.Printing;
using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Statistics.Proportions;
using static Hotlight.Workflows.Repeats.RepeatWords;

namespace Hotlight.Workflows.Repeats;

/// <summary>The repeat analysis of one month on paper, with the twelve months that end with it. It holds no figure of a single person.</summary>
/// <param name="workflow">Asks the log.</param>
/// <param name="nameOf">Name of a group: its dimension and key.</param>
public sealed class MonthlyReport(RepeatWorkflow workflow, Func<LogDimension, string?, string> nameOf)
{
    /// <summary>Fewest exposures of a group in the report's tables: it may be read outside the department.</summary>
    public const int LeastTotal = RateTable.PeopleLeastTotal;

    private const int PlotWidth = 720;
    private const int PlotHeight = 300;
    private const int MostAlerts = 8;

    /// <summary>Makes the report.</summary>
    /// <param name="site">The site; empty for the clinic's own.</param>
    /// <param name="month">The first day of the month.</param>
    /// <param name="made">When it is made.</param>
    /// <param name="progress">Told in a few words what is being done; null: nobody is.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>A PDF file.</returns>
    public async Task<byte[]> MakeAsync(string site, DateOnly month, DateTimeOffset made, IProgress<string>? progress = null, CancellationToken cancellation = default)
        => ReportPrinter.Print(await ComposeAsync(site, month, progress, cancellation), made);

    /// <summary>The report's blocks.</summary>
    /// <param name="site">The site.</param>
    /// <param name="month">The first day of the month.</param>
    /// <param name="progress">Told in a few words what is being done.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<ReportDocument> ComposeAsync(string site, DateOnly month, IProgress<string>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(site);
        var first = new DateOnly(month.Year, month.Month, 1);
        var own = new RepeatQuestion { Query = new LogQuery { Site = site, From = first, Before = first.AddMonths(1) } };
        var year = new RepeatQuestion { Query = own.Query with { From = first.AddMonths(-11) } };
        RepeatOverview overview = await workflow.OverviewAsync(own, Within(progress, "the month"), cancellation);
        RepeatOverview whole = await workflow.OverviewAsync(year, Within(progress, "twelve months"), cancellation);
        progress?.Report("the month: counting rooms and projections");
        RepeatGroups rooms = await workflow.GroupsAsync(own, LogDimension.Room, cancellation);
        RepeatGroups projections = await workflow.GroupsAsync(own, LogDimension.Projection, cancellation);
        IndexAnswer index = await workflow.IndexAsync(year, Within(progress, "twelve months"), cancellation);
        IndexAnswer ownIndex = await workflow.IndexAsync(own, Within(progress, "the month"), cancellation);
        progress?.Report("drawing the pages");
        var charts = new RepeatCharts(RepeatWhere.Of(year, nameOf), nameOf);
        var ownCharts = new RepeatCharts(RepeatWhere.Of(own, nameOf), nameOf);
        string name = first.ToString("MMMM yyyy", CultureInfo.InvariantCulture);
        List<ReportBlock> blocks = [new ReportNotice(RepeatDefinitions.Caution)];
        if (IsInvented(site))
        {
            blocks.Add(new ReportNotice("Invented: this department does not exist. Its figures were chosen for teaching and are no reference."));
        }

        blocks.Add(new ReportHeading("The month at a glance"));
        if (overview.Counts.Exposures == 0)
        {
            blocks.Add(new ReportParagraph($"There are no exposures of patients in {name}."));
        }
        else
        {
            blocks.Add(Glance(overview, whole, ownIndex));
            blocks.Add(new ReportParagraph($"{RepeatDefinitions.RejectRate.Text} {RepeatDefinitions.RepeatRate.Text} {RepeatDefinitions.Interval.Text} {RepeatDefinitions.Dose.Text}", IsQuiet: true));
        }

        blocks.Add(new ReportHeading("What calls for a look"));
        RepeatAlert[] alerts = [.. whole.Alerts.Where(alert => alert.Before is null || alert.Before > first)];
        blocks.Add(alerts.Length == 0
            ? new ReportParagraph("Nothing in this month, seen with the eleven months before it.")
            : new ReportList([.. alerts.Take(MostAlerts).Select(alert => $"{alert.Sentence} {alert.Sureness}"), .. alerts.Length > MostAlerts ? new[] { $"{alerts.Length - MostAlerts} more; see the page Repeats." } : []]));
        blocks.Add(new ReportParagraph($"All charts, rooms and receptors watched over the twelve months would call about {FigureText.Number(whole.ExpectedFalse, 1)} times had nothing changed.", IsQuiet: true));
        blocks.Add(new ReportHeading("Twelve months"));
        Picture(blocks, charts.Trend(year, whole.Trend), PlotHeight + 20);
        blocks.Add(new ReportHeading($"Reasons in {name}"));
        Picture(blocks, ownCharts.Reasons(own, overview.Reasons), PlotHeight - 20);
        blocks.Add(new ReportHeading($"Rooms in {name}"));
        Groups(blocks, rooms);
        blocks.Add(new ReportHeading($"Projections in {name}"));
        Groups(blocks, projections);
        blocks.Add(new ReportHeading("Exposure index"));
        Picture(blocks, charts.IndexMonths(year, index.Months), PlotHeight);
        blocks.Add(new ReportHeading("Where the definitions come from"));
        blocks.Add(new ReportParagraph(
            string.Join(" ", new[] { RepeatDefinitions.RejectRate, RepeatDefinitions.Interval, RepeatDefinitions.Trend, RepeatDefinitions.Funnel, RepeatDefinitions.DeviationIndex, RepeatDefinitions.Creep }.Select(definition => $"{definition.Name}: {definition.Source}."))
                + $" Reference lines: {string.Join("; ", RateReference.Adult.Select(line => $"{line.Label}, {line.Source}"))}.",
            IsQuiet: true));
        return new ReportDocument
        {
            Title = $"Repeats and rejects, {name}",
            Subtitle = $"{Site(site)}; {Period(own.Query.From, own.Query.Before)}, charts over time from {Day(year.Query.From!.Value)}",
            Foot = ChartPicture.Caution,
            Blocks = blocks,
        };
    }

    private static ReportTable Glance(RepeatOverview month, RepeatOverview year, IndexAnswer index)
    {
        IReadOnlyList<string> Line(string name, Func<RepeatOverview, Figure<ProportionEstimate>> rate) => [name, .. Cells(rate(month)), .. Cells(rate(year)).Take(2)];
        static string[] Cells(Figure<ProportionEstimate> rate) => rate.IsMeasured
            ? [Percent(rate.Value.Fraction), Percent(rate.Value.Interval), $"{Count(rate.Value.Count.Events)} of {Count(rate.Value.Count.Total)}"]
            : ["none", string.Empty, string.Empty];
        List<IReadOnlyList<string>> rows =
        [
            Line("Reject rate", each => each.All.Rejects),
            Line("Repeat rate", each => each.All.Repeats),
            ["Tests, not counted", Count(month.Counts.Tests), string.Empty, string.Empty, Count(year.Counts.Tests), string.Empty],
            ["KAP of rejects, dGy·cm²", month.Dose.Known > 0 ? FigureText.Number(month.Dose.SumDgyCm2, 1) : "not known", string.Empty, $"{Count(month.Dose.Lacking)} lack it", year.Dose.Known > 0 ? FigureText.Number(year.Dose.SumDgyCm2, 1) : "not known", string.Empty],
            ["Median deviation index", index.All.Median.Value is { } median ? FigureText.Number(median.Value, 2, true) : "none", index.All.Median.Value?.Interval.Value is { } interval ? $"{FigureText.Number(interval.Lower, 2, true)} to {FigureText.Number(interval.Upper, 2, true)}" : string.Empty, $"of {Count(index.All.WithIndex)}", string.Empty, string.Empty],
            ["Exposure index missing", .. Cells(index.All.Missing), string.Empty, string.Empty],
        ];
        return new ReportTable([string.Empty, "Month", "95 % interval", "n", "12 months", "95 % interval"], rows);
    }

    private void Groups(List<ReportBlock> blocks, RepeatGroups groups)
    {
        // Small groups are kept back here, whatever the page shows: paper goes further than the department.
        RateTable table = RateTable.Of([.. groups.Table.Rows.Where(row => row.Counts.IsMeasured).Select(row => row.Counts.Value! with { Keys = [row.Key] })], LeastTotal);
        RateRow[] shown = [.. table.Rows.Where(row => row.Rejects.IsMeasured).OrderByDescending(row => row.Rejects.Value!.Fraction)];
        if (shown.Length == 0)
        {
            blocks.Add(new ReportParagraph($"No {Of(groups.By)} has {LeastTotal} exposures or more."));
            return;
        }

        string[] ratio = groups.Funnel is null ? [] : ["seen / expected"];
        blocks.Add(new ReportTable(
            [Of(groups.By), "exposures", "rejects", "reject rate", "95 % interval", .. ratio],
            [.. shown.Select(row => (IReadOnlyList<string>)
            [
                nameOf(groups.By, row.Key),
                Count(row.Counts.Value!.Exposures),
                Count(row.Counts.Value.Rejected),
                Percent(row.Rejects.Value!.Fraction),
                Percent(row.Rejects.Value.Interval),
                .. ratio.Select(_ => row.Key is not null && groups.Funnel!.Ratios.TryGetValue(row.Key, out Figure<StandardisedRatio>? found) && found.IsMeasured ? FigureText.Number(found.Value.Ratio, 2) : "–"),
            ])]));
        string words = groups.Funnel is null ? "A rate is held against nothing here: projections differ in how hard they are." : RepeatDefinitions.Funnel.Text;
        blocks.Add(new ReportParagraph(
            table.Suppressed > 0 ? $"{words} {table.Suppressed} {Of(groups.By, table.Suppressed != 1)} not shown: fewer than {LeastTotal} exposures, or hidden so that such a one cannot be worked out." : words,
            IsQuiet: true));
    }

    /// <summary>Progress that says of which time the figures are.</summary>
    private static IProgress<string>? Within(IProgress<string>? progress, string time) => progress is null ? null : new Timed(progress, time);

    private static void Picture(List<ReportBlock> blocks, Chart? chart, int height)
    {
        if (chart is null)
        {
            blocks.Add(new ReportParagraph("There are too few exposures for this chart."));
            return;
        }

        blocks.Add(new ReportPicture(
            chart.Title,
            ChartPicture.PlotPdf(chart, PlotWidth, height),
            height / (double)PlotWidth,
            $"Chart: {chart.Title}. {chart.CountText}. {string.Join("; ", chart.Table.Rows.Take(60).Select(row => string.Join(' ', row.Cells.Take(4))))}",
            $"{chart.CountText}. {chart.Definition}"));
    }

    /// <summary>Puts the time before each step; told at once, in the order of the steps.</summary>
    private sealed class Timed(IProgress<string> progress, string time) : IProgress<string>
    {
        public void Report(string value) => progress.Report($"{time}: {value}");
    }
}
