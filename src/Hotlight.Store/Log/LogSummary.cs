using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>How finely a summary tells times apart.</summary>
internal enum LogGrain
{
    /// <summary>Days, with the month of each beside it.</summary>
    Day,

    /// <summary>Months.</summary>
    Month,

    /// <summary>Years.</summary>
    Year,
}

/// <summary>A table of sums over entries, kept by the database itself in the transaction that changes an entry.</summary>
/// <param name="Table">Name of the table.</param>
/// <param name="Grain">How finely it tells times apart.</param>
/// <param name="Dimensions">What else it tells apart.</param>
/// <param name="IsIndex">Whether it sums the spread of the deviation index; else counts.</param>
internal sealed record LogSummary(string Table, LogGrain Grain, IReadOnlyList<LogDimension> Dimensions, bool IsIndex = false)
{
    /// <summary>Sums for counts, the smaller first: a question goes to the first that holds it. Those without reasons tell rejects from others all the same.</summary>
    public static IReadOnlyList<LogSummary> Counts { get; } =
    [
        new("log_year_performer_rooms", LogGrain.Year, [LogDimension.Performer, LogDimension.Room]),
        new("log_day_totals", LogGrain.Day, [LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_month_projections", LogGrain.Month, [LogDimension.Projection, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_month_performer_totals", LogGrain.Month, [LogDimension.Performer, LogDimension.Reason]),
        new("log_month_rooms", LogGrain.Month, [LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_year_performer_projections", LogGrain.Year, [LogDimension.Performer, LogDimension.Projection]),
        new("log_year_room_projections", LogGrain.Year, [LogDimension.Projection, LogDimension.Room, LogDimension.Receptor, LogDimension.Shift]),
        new("log_day_projections", LogGrain.Day, [LogDimension.Projection, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_days", LogGrain.Day, [LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_month_performers", LogGrain.Month, [LogDimension.Performer, LogDimension.Projection, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_day_performers", LogGrain.Day, [LogDimension.Performer, LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.Reason]),
        new("log_months", LogGrain.Month, [LogDimension.Projection, LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
    ];

    /// <summary>Sums for the spread of the deviation index, the smaller first.</summary>
    public static IReadOnlyList<LogSummary> Indices { get; } =
    [
        new("log_index_year_rooms", LogGrain.Year, [LogDimension.Room, LogDimension.Receptor], IsIndex: true),
        new("log_index_months", LogGrain.Month, [LogDimension.Shift, LogDimension.AgeGroup], IsIndex: true),
        new("log_index_year_projections", LogGrain.Year, [LogDimension.Projection], IsIndex: true),
        new("log_index_rooms", LogGrain.Month, [LogDimension.Room, LogDimension.Receptor], IsIndex: true),
        new("log_index_projections", LogGrain.Month, [LogDimension.Projection, LogDimension.AgeGroup], IsIndex: true),
        new("log_index_days", LogGrain.Day, [LogDimension.Shift, LogDimension.AgeGroup], IsIndex: true),
        new("log_index_performers", LogGrain.Month, [LogDimension.Performer], IsIndex: true),
    ];

    /// <summary>Every table of sums.</summary>
    public static IReadOnlyList<LogSummary> All { get; } = [.. Counts, .. Indices];

    /// <summary>What every entry adds, as a table as fine as the entries: for what no summary holds.</summary>
    public static LogSummary Facts { get; } = new("log_facts", LogGrain.Day, Enum.GetValues<LogDimension>());

    /// <summary>The column that is 0 for what was not rejected: reasons where they are told apart, else 1 for a reject.</summary>
    public string RejectColumn => Dimensions.Contains(LogDimension.Reason) ? "outcome" : "rejected";

    /// <summary>Columns that make a row of the summary one of its kind, behind <c>site</c>.</summary>
    public IReadOnlyList<string> KeyColumns =>
    [
        Grain switch { LogGrain.Day => "day", LogGrain.Month => "month", _ => "year" },
        .. Dimensions.Select(ColumnOf),
        .. IsIndex ? ["bin"] : Dimensions.Contains(LogDimension.Reason) ? Array.Empty<string>() : ["rejected"],
    ];

    /// <summary>Columns that are summed.</summary>
    public IReadOnlyList<string> SumColumns => IsIndex ? ["n", "missing"] : ["n", "repeats", "tests", "kap_n", "kap_micro"];

    /// <summary>The column of a dimension that is no period.</summary>
    /// <param name="dimension">The dimension.</param>
    public static string ColumnOf(LogDimension dimension) => dimension switch
    {
        LogDimension.Projection => "projection",
        LogDimension.Room => "room",
        LogDimension.Receptor => "receptor",
        LogDimension.Performer => "performer",
        LogDimension.Shift => "shift",
        LogDimension.AgeGroup => "age_group",
        LogDimension.Reason => "outcome",
        _ => throw new ArgumentOutOfRangeException(nameof(dimension), dimension, "A period has no column of its own."),
    };

    /// <summary>The statement that adds what entries add to the sums.</summary>
    /// <param name="entries">Condition on the entries, over <c>log_facts</c>.</param>
    public string AddingStatement(string entries)
    {
        string keys = string.Join(", ", KeyColumns.Prepend("site"));
        string columns = Grain == LogGrain.Day ? $"{keys}, month" : keys;
        return $"""
            INSERT INTO {Table} ({columns}, {string.Join(", ", SumColumns)})
            SELECT {columns}, {string.Join(", ", SumColumns.Select(sum => $"SUM({sum})"))} FROM log_facts WHERE {entries}{(IsIndex ? " AND n > 0" : string.Empty)}
            GROUP BY {columns} ORDER BY {keys}
            ON CONFLICT ({keys}) DO UPDATE SET {string.Join(", ", SumColumns.Select(sum => $"{sum} = {Table}.{sum} + excluded.{sum}"))}
            """;
    }
}
