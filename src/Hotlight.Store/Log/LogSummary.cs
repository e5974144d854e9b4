using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>A table of sums over entries, kept by the database itself in the transaction that changes an entry.</summary>
/// <param name="Table">Name of the table.</param>
/// <param name="IsDaily">Whether it tells days apart; else months.</param>
/// <param name="Dimensions">What else it tells apart.</param>
internal sealed record LogSummary(string Table, bool IsDaily, IReadOnlyList<LogDimension> Dimensions)
{
    /// <summary>Sums for counts, the smaller first: a question goes to the first that holds it.</summary>
    public static IReadOnlyList<LogSummary> Counts { get; } =
    [
        new("log_day_projections", true, [LogDimension.Projection, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_days", true, [LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_month_performers", false, [LogDimension.Performer, LogDimension.Projection, LogDimension.AgeGroup, LogDimension.Reason]),
        new("log_day_performers", true, [LogDimension.Performer, LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.Reason]),
        new("log_months", false, [LogDimension.Projection, LogDimension.Room, LogDimension.Receptor, LogDimension.Shift, LogDimension.AgeGroup, LogDimension.Reason]),
    ];

    /// <summary>Sums for the spread of the deviation index, the smaller first.</summary>
    public static IReadOnlyList<LogSummary> Indices { get; } =
    [
        new("log_index_rooms", false, [LogDimension.Room, LogDimension.Receptor]),
        new("log_index_projections", false, [LogDimension.Projection, LogDimension.AgeGroup]),
        new("log_index_days", true, [LogDimension.Shift, LogDimension.AgeGroup]),
        new("log_index_performers", false, [LogDimension.Performer]),
    ];

    /// <summary>What every entry adds, as a table as fine as the entries: for what no summary holds.</summary>
    public static LogSummary Facts { get; } = new("log_facts", true, Enum.GetValues<LogDimension>());

    /// <summary>Columns that make a row of the summary one of its kind, behind <c>site</c>.</summary>
    /// <param name="isIndex">Whether it is one of <see cref="Indices"/>.</param>
    public IReadOnlyList<string> KeyColumns(bool isIndex)
        => [IsDaily ? "day" : "month", .. Dimensions.Select(ColumnOf), .. isIndex ? ["bin"] : Array.Empty<string>()];

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
}
