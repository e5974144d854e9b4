using Hotlight.Records;
using Hotlight.Workflows.Records;

namespace Hotlight.Benchmarks.Records;

/// <summary>A question of the pages, to the log and, in words of its own, to DuckDB.</summary>
/// <param name="Name">What is asked, for the table.</param>
/// <param name="Ask">Asks the log and says how many rows came.</param>
/// <param name="Sql">The same question over one table <c>e</c> of single exposures; null: not asked there.</param>
internal sealed record PageQuestion(string Name, Func<IExposureLog, Task<int>> Ask, string? Sql)
{
    private const string Sums = "count(*) FILTER (exposure_use <> 'Test'), count(*) FILTER (exposure_use = 'Rejected'), count(*) FILTER (is_repeat AND exposure_use <> 'Test'), count(*) FILTER (exposure_use = 'Test'), sum(kap) FILTER (exposure_use <> 'Test'), sum(kap) FILTER (exposure_use = 'Rejected')";

    /// <summary>All of them.</summary>
    /// <param name="end">The day after the last entry.</param>
    public static IReadOnlyList<PageQuestion> All(DateOnly end)
    {
        DateOnly year = end.AddYears(-1);
        DateOnly ragged = end.AddDays(-1000);
        string from = year.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture);
        string odd = ragged.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture);
        return
        [
            Count("all, one count", new LogQuery(), [], $"SELECT {Sums} FROM e"),
            Count("by month, all years", new LogQuery(), [LogDimension.Month], $"SELECT date_trunc('month', exposed_at) k, {Sums} FROM e GROUP BY k"),
            Count("by week, all years", new LogQuery(), [LogDimension.Week], $"SELECT date_trunc('week', exposed_at) k, {Sums} FROM e GROUP BY k"),
            Count("by day, last year", new LogQuery { From = year }, [LogDimension.Day], $"SELECT CAST(exposed_at AS DATE) k, {Sums} FROM e WHERE exposed_at >= '{from}' GROUP BY k"),
            Count("by projection, all years", new LogQuery(), [LogDimension.Projection], $"SELECT projection k, {Sums} FROM e GROUP BY k"),
            Count("by room, all years", new LogQuery(), [LogDimension.Room], $"SELECT room k, {Sums} FROM e GROUP BY k"),
            Count("by receptor, last 1000 days", new LogQuery { From = ragged }, [LogDimension.Receptor], $"SELECT receptor k, {Sums} FROM e WHERE exposed_at >= '{odd}' GROUP BY k"),
            Count("by person, all years", new LogQuery(), [LogDimension.Performer], $"SELECT performer k, {Sums} FROM e GROUP BY k"),
            Count("by reason, all years", new LogQuery(), [LogDimension.Reason], $"SELECT reason k, {Sums} FROM e WHERE exposure_use = 'Rejected' GROUP BY k"),
            Count("person by projection (case mix), all years", new LogQuery(), [LogDimension.Performer, LogDimension.Projection], $"SELECT performer k, projection l, {Sums} FROM e GROUP BY k, l"),
            Count("room by projection (case mix), all years", new LogQuery(), [LogDimension.Room, LogDimension.Projection], $"SELECT room k, projection l, {Sums} FROM e GROUP BY k, l"),
            Count("person by room, last 1000 days", new LogQuery { From = ragged }, [LogDimension.Performer, LogDimension.Room], $"SELECT performer k, room l, {Sums} FROM e WHERE exposed_at >= '{odd}' GROUP BY k, l"),
            Count("projection by reason, last 1000 days", new LogQuery { From = ragged }, [LogDimension.Projection, LogDimension.Reason], $"SELECT projection k, reason l, {Sums} FROM e WHERE exposure_use = 'Rejected' AND exposed_at >= '{odd}' GROUP BY k, l"),
            Count("month by room of nights and children", new LogQuery { Shifts = [Shift.Night], AgeGroups = [AgeGroup.Child] }, [LogDimension.Month, LogDimension.Room], $"SELECT date_trunc('month', exposed_at) k, room l, {Sums} FROM e WHERE shift = 'Night' AND age_group = 'Child' GROUP BY k, l"),
            Count("week of the commonest projection", new LogQuery { ProjectionIds = ["projection-000"] }, [LogDimension.Week], $"SELECT date_trunc('week', exposed_at) k, {Sums} FROM e WHERE projection = 'projection-000' GROUP BY k"),
            Count("week of one person", new LogQuery { Performers = ["Person 003"] }, [LogDimension.Week], $"SELECT date_trunc('week', exposed_at) k, {Sums} FROM e WHERE performer = 'Person 003' GROUP BY k"),
            Count("week of one projection in one room (entries)", new LogQuery { ProjectionIds = ["projection-002"], Rooms = ["Room 3"] }, [LogDimension.Week], $"SELECT date_trunc('week', exposed_at) k, {Sums} FROM e WHERE projection = 'projection-002' AND room = 'Room 3' GROUP BY k"),
            Index("index, all", new LogQuery(), null, "SELECT floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' GROUP BY b"),
            Index("index by month", new LogQuery(), LogDimension.Month, "SELECT date_trunc('month', exposed_at) k, floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' GROUP BY k, b"),
            Index("index by week", new LogQuery(), LogDimension.Week, "SELECT date_trunc('week', exposed_at) k, floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' GROUP BY k, b"),
            Index("index by receptor", new LogQuery(), LogDimension.Receptor, "SELECT receptor k, floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' GROUP BY k, b"),
            Index("index by projection of children", new LogQuery { AgeGroups = [AgeGroup.Child] }, LogDimension.Projection, "SELECT projection k, floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' AND age_group = 'Child' GROUP BY k, b"),
            Index("index by week of one projection (entries)", new LogQuery { ProjectionIds = ["projection-002"] }, LogDimension.Week, "SELECT date_trunc('week', exposed_at) k, floor(deviation_index / 0.1 + 0.5) b, count(*) FROM e WHERE exposure_use <> 'Test' AND projection = 'projection-002' GROUP BY k, b"),
            List("newest 50", new LogQuery(), "SELECT * FROM e ORDER BY exposed_at DESC LIMIT 50"),
            List("50 rejects of a reason in a room", new LogQuery { Reasons = [RejectReason.Motion], Rooms = ["Room 2"] }, "SELECT * FROM e WHERE reason = 'Motion' AND exposure_use = 'Rejected' AND room = 'Room 2' ORDER BY exposed_at DESC LIMIT 50"),
            List("50 of one person and a projection", new LogQuery { Performers = ["Person 005"], ProjectionIds = ["projection-001"] }, "SELECT * FROM e WHERE performer = 'Person 005' AND projection = 'projection-001' ORDER BY exposed_at DESC LIMIT 50"),
            List("50 far outliers of the index", new LogQuery { DeviationBeyond = 5 }, "SELECT * FROM e WHERE abs(deviation_index) >= 5 ORDER BY exposed_at DESC LIMIT 50"),
            new("how many a list has, by room and shift", async log => (int)await log.CountEntriesAsync(new LogQuery { Rooms = ["Room 1"], Shifts = [Shift.Late], Uses = [ExposureUse.Rejected] }), "SELECT count(*) FROM e WHERE room = 'Room 1' AND shift = 'Late' AND exposure_use = 'Rejected'"),
            new("names of rooms", async log => (await log.NamesAsync(string.Empty, LogDimension.Room)).Count, "SELECT DISTINCT room FROM e"),
            new("sites and days", async log => (await log.ExtentsAsync()).Count, "SELECT min(exposed_at), max(exposed_at), count(*) FROM e"),
        ];
    }

    private static PageQuestion Count(string name, LogQuery query, LogDimension[] by, string sql) => new(name, async log => (await log.CountAsync(query, by)).Count, sql);

    private static PageQuestion Index(string name, LogQuery query, LogDimension? by, string sql) => new(name, async log => (await log.IndexAsync(query, by)).Count, sql);

    private static PageQuestion List(string name, LogQuery query, string sql) => new(name, async log => (await log.ListAsync(query, 0, 50)).Count, sql);
}
