using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Workflows.Records;

namespace Hotlight.Workflows.Repeats;

/// <summary>Asks the log for counts and works out what they say. Keeps nothing.</summary>
/// <param name="log">Where the exposures are.</param>
public sealed class RepeatWorkflow(IExposureLog log)
{
    /// <summary>Most receptors whose creep is looked at one by one.</summary>
    public const int MostReceptors = 24;

    /// <summary>The last twelve months of a site with data: the clinic's own before others.</summary>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Null where there is no entry at all.</returns>
    public async Task<LogQuery?> DefaultAsync(CancellationToken cancellation = default)
    {
        IReadOnlyList<LogExtent> extents = await log.ExtentsAsync(cancellation);
        LogExtent? extent = extents.Where(each => each.Entries > 0).OrderBy(each => each.Site.Length > 0).ThenByDescending(each => each.Last).FirstOrDefault();
        return extent is null ? null : LastYear(extent);
    }

    /// <summary>The last twelve months of a site: whole months, the last one with an entry included.</summary>
    /// <param name="extent">How far the site's records reach.</param>
    public static LogQuery LastYear(LogExtent extent)
    {
        ArgumentNullException.ThrowIfNull(extent);
        var next = new DateOnly(extent.Last.Year, extent.Last.Month, 1);
        next = next.AddMonths(1);
        return new LogQuery { Site = extent.Site, From = next.AddMonths(-12), Before = next };
    }

    /// <summary>The overview of a period.</summary>
    /// <param name="question">What is asked.</param>
    /// <param name="progress">Told in a few words what is being counted; null: nobody is.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<RepeatOverview> OverviewAsync(RepeatQuestion question, IProgress<string>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        LogQuery query = question.Counted;
        progress?.Report("counting the exposures");
        LogCount all = RateTable.Sum(await log.CountAsync(query, [LogDimension.AgeGroup], cancellation));
        progress?.Report("counting the reasons");
        ReasonPareto reasons = ReasonPareto.Of(await log.CountAsync(query, [LogDimension.Reason], cancellation));
        progress?.Report($"counting the {LogPeriod.Word(question.Period, many: true)}");
        RateTrend trend = await TrendAsync(question, cancellation);
        progress?.Report("holding the rooms against each other");
        MixFunnel rooms = await FunnelAsync(question, LogDimension.Room, null, cancellation);
        progress?.Report("following the receptors' exposure indices");
        IReadOnlyList<IndexTrend> receptors = await ReceptorTrendsAsync(query, cancellation);
        RepeatAlert[] alerts = [.. RepeatAlerts.Of(trend), .. RepeatAlerts.Of(rooms), .. RepeatAlerts.Of(LogDimension.Receptor, receptors)];
        return new RepeatOverview(question, RateTable.Together([all]), all, RejectDose.Of(all), reasons, trend, alerts, Expected(trend, rooms, receptors));
    }

    /// <summary>The rate over time with its control charts.</summary>
    /// <param name="question">What is asked.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<RateTrend> TrendAsync(RepeatQuestion question, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        IReadOnlyList<LogCount> counts = await CountAsync(question.Counted, question, question.Period, cancellation);

        // A period that ends after the last entry would be watched as if nothing had been exposed in it.
        return RateTrend.Of(question.Kind, question.Period, counts);
    }

    /// <summary>Rates of the groups of a dimension.</summary>
    /// <param name="question">What is asked.</param>
    /// <param name="by">Projection, room, receptor, shift or performer.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<RepeatGroups> GroupsAsync(RepeatQuestion question, LogDimension by, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        bool people = by == LogDimension.Performer;
        RateTable table = RateTable.Of(await CountAsync(question.Counted, question, by, cancellation), people ? RateTable.PeopleLeastTotal : 0);
        HashSet<string> hidden = [.. table.Rows.Where(row => !row.Counts.IsMeasured && row.Key is not null).Select(row => row.Key!)];
        MixFunnel? funnel = by == LogDimension.Projection || question.IsOfOneReason ? null : await FunnelAsync(question, by, hidden, cancellation);
        return new RepeatGroups(question, by, table, funnel);
    }

    /// <summary>The deviation indices of a period.</summary>
    /// <param name="question">What is asked.</param>
    /// <param name="progress">Told in a few words what is being counted; null: nobody is.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<IndexAnswer> IndexAsync(RepeatQuestion question, IProgress<string>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        LogQuery query = question.Counted;
        progress?.Report("sorting the exposure indices");
        IndexSpread all = (await log.IndexAsync(query, null, cancellation)).FirstOrDefault() ?? new IndexSpread { Key = null, Bins = new Dictionary<int, long>() };
        IReadOnlyList<IndexSpread> receptors = await log.IndexAsync(query, LogDimension.Receptor, cancellation);
        IReadOnlyList<IndexSpread> projections = await log.IndexAsync(query, LogDimension.Projection, cancellation);
        progress?.Report("following them over the months");
        IReadOnlyList<IndexSpread> months = await log.IndexAsync(query, LogDimension.Month, cancellation);
        return new IndexAnswer(
            question,
            IndexFigures.Of(all),
            [.. receptors.Select(IndexFigures.Of)],
            [.. projections.Select(IndexFigures.Of)],
            IndexTrend.Of(null, months),
            await ReceptorTrendsAsync(query, cancellation));
    }

    /// <summary>Target exposure indices that changed, or were used beside each other, in the period asked for.</summary>
    /// <param name="question">What is asked.</param>
    /// <param name="cancellation">Stops it.</param>
    public async Task<IReadOnlyList<TargetHistory>> TargetsAsync(RepeatQuestion question, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        return TargetHistory.Of(await log.TargetsAsync(question.Counted, cancellation));
    }

    /// <summary>A training's time before and after, in the period asked for.</summary>
    /// <param name="question">What is asked, with the date of the training.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="ArgumentException">No date is given.</exception>
    public async Task<TrainingComparison> CompareAsync(RepeatQuestion question, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(question);
        DateOnly date = question.Training ?? throw new ArgumentException("A comparison needs the date of the training.", nameof(question));
        LogQuery query = question.Counted;
        Task<IReadOnlyList<LogCount>> Before(LogQuery picked) => CountAsync(picked with { Before = date }, question, LogDimension.Projection, cancellation);
        Task<IReadOnlyList<LogCount>> After(LogQuery picked) => CountAsync(picked with { From = date }, question, LogDimension.Projection, cancellation);
        if (question.ControlRoom is not { } room)
        {
            return TrainingComparison.Of(date, question.Kind, await Before(query), await After(query));
        }

        // The control is never part of the group: exposures counted on both sides would hide the difference.
        IReadOnlyList<string?> rooms = query.Rooms.Count > 0 ? query.Rooms : await log.NamesAsync(query.Site, LogDimension.Room, cancellation);
        LogQuery group = query with { Rooms = [.. rooms.Where(each => each != room)] };
        LogQuery control = query with { Rooms = [room] };
        return group.Rooms.Count == 0
            ? TrainingComparison.Of(date, question.Kind, await Before(control), await After(control))
            : TrainingComparison.Of(date, question.Kind, await Before(group), await After(group), await Before(control), await After(control));
    }

    /// <summary>Each receptor's deviation indices over the months.</summary>
    private async Task<IReadOnlyList<IndexTrend>> ReceptorTrendsAsync(LogQuery query, CancellationToken cancellation)
    {
        IReadOnlyList<string?> names = query.Receptors.Count > 0 ? query.Receptors : await log.NamesAsync(query.Site, LogDimension.Receptor, cancellation);
        string[] watched = [.. names.OfType<string>().Take(MostReceptors)];
        if (watched.Length == 0)
        {
            return [];
        }

        Dictionary<string, IReadOnlyList<IndexSpread>> months = (await log.IndexByMonthAsync(query with { Receptors = watched }, LogDimension.Receptor, cancellation)).ToDictionary(each => each.Key!, each => each.Months, StringComparer.Ordinal);
        return [.. watched.Select(name => IndexTrend.Of(name, months.GetValueOrDefault(name, [])))];
    }

    private async Task<MixFunnel> FunnelAsync(RepeatQuestion question, LogDimension by, IReadOnlySet<string>? hidden, CancellationToken cancellation)
        => MixFunnel.Of(by, question.Kind, await log.CountAsync(question.Counted, [by, LogDimension.Projection], cancellation), hidden);

    /// <summary>Counts by a dimension; where only one reason counts, rejects for others count as exposures alone.</summary>
    private async Task<IReadOnlyList<LogCount>> CountAsync(LogQuery query, RepeatQuestion question, LogDimension by, CancellationToken cancellation)
    {
        IReadOnlyList<LogCount> counts = await log.CountAsync(query, [by], cancellation);
        if (!question.IsOfOneReason)
        {
            return counts;
        }

        string reason = question.Reason!.Value.ToString();
        ILookup<string, LogCount> ofReason = (await log.CountAsync(query, [by, LogDimension.Reason], cancellation)).Where(count => count.Keys[1] == reason).ToLookup(count => count.Keys[0] ?? string.Empty, StringComparer.Ordinal);
        return [.. counts.Select(count => count with { Rejected = ofReason[count.Keys[0] ?? string.Empty].Sum(each => each.Rejected) })];
    }

    private static double Expected(RateTrend trend, MixFunnel rooms, IReadOnlyList<IndexTrend> receptors)
        => (trend.Chart.Value?.FalseAlarms.Expected ?? 0)
            + (trend.Ewma.Value?.FalseAlarms.Expected ?? 0)
            + (trend.Cusum.Value?.FalseAlarms.Expected ?? 0)
            + (rooms.Funnel.Value?.ExpectedOutside[^1] ?? 0)
            + receptors.Where(trend => trend.Creep.IsMeasured).Sum(trend => 1 - trend.Creep.Value!.SlopePerYear.Interval.Level);
}
