using System.Data.Common;
using System.Globalization;
using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>Counting: whole periods from the summaries, ragged edges of months and what no summary holds from the entries.</summary>
public abstract partial class ExposureLog
{
    /// <inheritdoc/>
    public async Task<IReadOnlyList<LogCount>> CountAsync(LogQuery query, IReadOnlyList<LogDimension> by, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        ArgumentNullException.ThrowIfNull(by);
        if (by.Count > 2 || by.Distinct().Count() != by.Count || by.Count(IsPeriod) > 1)
        {
            throw new ArgumentException("Counts are told apart by at most two dimensions, each once, and one of them a period.", nameof(by));
        }

        var sums = new Dictionary<(int First, int Second), long[]>();
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        string filter = DimensionFilter(query, string.Empty) + (by.Contains(LogDimension.Reason) ? " AND outcome <> 0" : string.Empty);
        foreach (Part part in PartsOf(query, by, LogSummary.Counts))
        {
            string rejected = part.Summary.RejectColumn;
            string[] keys = [.. by.Select(KeyOf)];
            string listed = string.Concat(keys.Select((key, place) => $"{key} AS k{place}, "));
            string grouped = keys.Length == 0 ? string.Empty : $" GROUP BY {string.Join(", ", keys.Select((_, place) => $"k{place}"))}";
            await using DbCommand command = log.Command($"""
                SELECT {listed}SUM(n), SUM(CASE WHEN {rejected} <> 0 THEN n ELSE 0 END), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro),
                  SUM(CASE WHEN {rejected} <> 0 THEN kap_n ELSE 0 END), SUM(CASE WHEN {rejected} <> 0 THEN kap_micro ELSE 0 END)
                FROM {part.Summary.Table} WHERE {filter}{part.Period}{grouped}
                """);
            await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
            while (await reader.ReadAsync(cancellation))
            {
                if (reader.IsDBNull(keys.Length))
                {
                    continue;
                }

                (int, int) key = (keys.Length > 0 ? reader.GetInt32(0) : 0, keys.Length > 1 ? reader.GetInt32(1) : 0);
                if (!sums.TryGetValue(key, out long[]? sum))
                {
                    sums.Add(key, sum = new long[8]);
                }

                for (int place = 0; place < sum.Length; place++)
                {
                    sum[place] += SumOf(reader, keys.Length + place);
                }
            }
        }

        IEnumerable<KeyValuePair<(int First, int Second), long[]>> found = sums.Where(each => each.Value[0] + each.Value[3] > 0);
        if (by.Count > 0)
        {
            found = found.OrderBy(each => each.Key.First, OrderOf(by[0])).ThenBy(each => each.Key.Second, OrderOf(by.Count > 1 ? by[1] : LogDimension.Day));
        }

        LogCount[] counts =
        [
            .. found.Select(each => new LogCount
            {
                Keys = [.. by.Select((dimension, place) => TextOf(dimension, place == 0 ? each.Key.First : each.Key.Second))],
                Exposures = each.Value[0],
                Rejected = each.Value[1],
                Repeats = each.Value[2],
                Tests = each.Value[3],
                WithKermaAreaProduct = each.Value[4],
                KermaAreaProductDgyCm2 = each.Value[5] / 1e6,
                RejectedWithKermaAreaProduct = each.Value[6],
                RejectedKermaAreaProductDgyCm2 = each.Value[7] / 1e6,
            }),
        ];

        // "One count of all" is there even when nothing is.
        return counts.Length == 0 && by.Count == 0 ? [new LogCount { Keys = [] }] : counts;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<IndexSpread>> IndexAsync(LogQuery query, LogDimension? by, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        LogDimension[] dimensions = by is { } dimension ? [dimension] : [];
        var spreads = new Dictionary<int, Spread>();
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        string filter = DimensionFilter(query, string.Empty) + (by == LogDimension.Reason ? " AND outcome <> 0" : string.Empty);
        foreach (Part part in PartsOf(query, dimensions, LogSummary.Indices))
        {
            string key = by is null ? "0" : KeyOf(by.Value);
            await using DbCommand command = log.Command($"SELECT {key} AS k0, bin, CAST(SUM(n) AS bigint), CAST(SUM(missing) AS bigint) FROM {part.Summary.Table} WHERE {filter}{part.Period} GROUP BY {(by is null ? "bin" : "k0, bin")}");
            await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
            while (await reader.ReadAsync(cancellation))
            {
                int code = reader.GetInt32(0);
                if (!spreads.TryGetValue(code, out Spread? spread))
                {
                    spreads.Add(code, spread = new Spread());
                }

                spread.Add(reader.GetInt32(1), reader.GetInt64(2), reader.GetInt64(3));
            }
        }

        IndexSpread[] found =
        [
            .. spreads.Where(each => each.Value.Exposures > 0).OrderBy(each => each.Key, OrderOf(by ?? LogDimension.Day))
                .Select(each => each.Value.Told(by is null ? null : TextOf(by.Value, each.Key))),
        ];
        return found.Length == 0 && by is null ? [new IndexSpread { Key = null, Bins = new Dictionary<int, long>() }] : found;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<IndexMonths>> IndexByMonthAsync(LogQuery query, LogDimension by, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        if (IsPeriod(by))
        {
            throw new ArgumentException("Months of a period are not told apart once more.", nameof(by));
        }

        var spreads = new Dictionary<(int Key, int Month), Spread>();
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        string filter = DimensionFilter(query, string.Empty) + (by == LogDimension.Reason ? " AND outcome <> 0" : string.Empty);
        foreach (Part part in PartsOf(query, [by, LogDimension.Month], LogSummary.Indices))
        {
            // Rows of a table of months are hardly fewer when they are added up there; they are here in any case.
            string columns = $"{KeyOf(by)} AS k0, month, bin";
            await using DbCommand command = log.Command(part.Summary.Grain == LogGrain.Month
                ? $"SELECT {columns}, n, missing FROM {part.Summary.Table} WHERE {filter}{part.Period}"
                : $"SELECT {columns}, CAST(SUM(n) AS bigint), CAST(SUM(missing) AS bigint) FROM {part.Summary.Table} WHERE {filter}{part.Period} GROUP BY k0, month, bin");
            await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
            while (await reader.ReadAsync(cancellation))
            {
                (int, int) key = (reader.GetInt32(0), reader.GetInt32(1));
                if (!spreads.TryGetValue(key, out Spread? spread))
                {
                    spreads.Add(key, spread = new Spread());
                }

                spread.Add(reader.GetInt32(2), reader.GetInt64(3), reader.GetInt64(4));
            }
        }

        return
        [
            .. spreads.Where(each => each.Value.Exposures > 0).GroupBy(each => each.Key.Key).OrderBy(group => group.Key, OrderOf(by))
                .Select(group => new IndexMonths(TextOf(by, group.Key), [.. group.OrderBy(each => each.Key.Month).Select(each => each.Value.Told(TextOf(LogDimension.Month, each.Key.Month)))])),
        ];
    }

    /// <inheritdoc/>
    public async Task<long> CountEntriesAsync(LogQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        long count = 0;
        if (query is { DeviationBeyond: null, HasIndex: null, ImportId: null })
        {
            string uses = query.Uses.Count == 0 || query.Uses.Distinct().Count() == 3 ? "n + tests" : string.Join(" + ", query.Uses.Distinct().Select(use => use switch
            {
                ExposureUse.Kept => "CASE WHEN outcome = 0 THEN n ELSE 0 END",
                ExposureUse.Rejected => "CASE WHEN outcome <> 0 THEN n ELSE 0 END",
                _ => "tests",
            }));
            string filter = DimensionFilter(query, string.Empty) + ReasonFilter(query, string.Empty);
            foreach (Part part in PartsOf(query, [LogDimension.Reason], LogSummary.Counts))
            {
                await using DbCommand sum = log.Command($"SELECT SUM({uses}) FROM {part.Summary.Table} WHERE {filter}{part.Period}");
                await using DbDataReader reader = await sum.ExecuteReaderAsync(cancellation);
                await reader.ReadAsync(cancellation);
                count += reader.IsDBNull(0) ? 0 : SumOf(reader, 0);
            }

            return count;
        }

        int? import = query.ImportId is { } importId ? await ImportNumberAsync(log, importId, cancellation) ?? NameCodes.Unknown : null;
        await using DbCommand command = log.Command($"SELECT COUNT(*) FROM log_entries WHERE {EntryFilter(query, import, string.Empty)}");
        return Convert.ToInt64(await command.ExecuteScalarAsync(cancellation), CultureInfo.InvariantCulture);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<TargetUse>> TargetsAsync(LogQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        int? import = query.ImportId is { } importId ? await ImportNumberAsync(log, importId, cancellation) ?? NameCodes.Unknown : null;
        await using DbCommand command = log.Command($"""
            SELECT receptor, projection, target_exposure_index, CAST(COUNT(*) AS bigint), MIN(day), MAX(day) FROM log_entries
            WHERE {EntryFilter(query, import, string.Empty)} AND target_exposure_index > 0 AND exposure_use <> {Whole((int)ExposureUse.Test)}
            GROUP BY receptor, projection, target_exposure_index
            """);
        List<TargetUse> uses = [];
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            uses.Add(new TargetUse(
                TextOf(LogDimension.Receptor, reader.GetInt32(0)),
                TextOf(LogDimension.Projection, reader.GetInt32(1)),
                reader.GetDouble(2),
                reader.GetInt64(3),
                DateOnly.FromDayNumber(reader.GetInt32(4)),
                DateOnly.FromDayNumber(reader.GetInt32(5))));
        }

        return [.. uses.OrderBy(use => use.Receptor, StringComparer.Ordinal).ThenBy(use => use.ProjectionId, StringComparer.Ordinal).ThenBy(use => use.First).ThenBy(use => use.Target)];
    }

    private static bool IsPeriod(LogDimension dimension) => dimension is LogDimension.Day or LogDimension.Week or LogDimension.Month;

    // PostgreSQL sums whole numbers of 64 bits as numeric.
    private static long SumOf(DbDataReader reader, int place) => reader.GetValue(place) switch
    {
        long whole => whole,
        decimal exact => (long)exact,
        object other => Convert.ToInt64(other, CultureInfo.InvariantCulture),
    };

    // Day 0 is 1 January 0001, a Monday.
    private static string KeyOf(LogDimension dimension) => dimension switch
    {
        LogDimension.Day => "day",
        LogDimension.Week => "day - day % 7",
        LogDimension.Month => "month",
        _ => LogSummary.ColumnOf(dimension),
    };

    private static List<Part> PartsOf(LogQuery query, IReadOnlyList<LogDimension> by, IReadOnlyList<LogSummary> summaries)
    {
        HashSet<LogDimension> needed = [.. by.Where(dimension => !IsPeriod(dimension))];
        void Need(LogDimension dimension, int listed)
        {
            if (listed > 0)
            {
                needed.Add(dimension);
            }
        }

        Need(LogDimension.Projection, query.ProjectionIds.Count);
        Need(LogDimension.Room, query.Rooms.Count);
        Need(LogDimension.Receptor, query.Receptors.Count);
        Need(LogDimension.Performer, query.Performers.Count);
        Need(LogDimension.Shift, query.Shifts.Count);
        Need(LogDimension.AgeGroup, query.AgeGroups.Count);
        LogGrain coarsest = by.Contains(LogDimension.Day) || by.Contains(LogDimension.Week) ? LogGrain.Day : by.Contains(LogDimension.Month) ? LogGrain.Month : LogGrain.Year;
        var parts = new List<Part>();
        AddParts(parts, query.From, query.Before, coarsest, [.. summaries.Where(each => needed.All(each.Dimensions.Contains))]);
        return parts;
    }

    // Whole years from a summary of years, whole months of what is left from one of months, days from one of days or from the entries.
    private static void AddParts(List<Part> parts, DateOnly? from, DateOnly? before, LogGrain coarsest, LogSummary[] summaries)
    {
        LogSummary summary = summaries.FirstOrDefault(each => each.Grain <= coarsest) ?? LogSummary.Facts;
        if (summary.Grain == LogGrain.Day)
        {
            parts.Add(new Part(summary, summary == LogSummary.Facts ? DaysBetween(from, before) + TimesBetween(from, before) : DaysBetween(from, before)));
            return;
        }

        bool isByYear = summary.Grain == LogGrain.Year;
        LogGrain finer = isByYear ? LogGrain.Month : LogGrain.Day;
        DateOnly StartOf(DateOnly day) => new(day.Year, isByYear ? 1 : day.Month, 1);
        int NumberOf(DateOnly start) => isByYear ? start.Year : EntryColumns.MonthOf(start);
        DateOnly? end = before is { } last ? StartOf(last) : null;
        DateOnly? first = from is not { } day ? null : StartOf(day) == day ? day : isByYear ? StartOf(day).AddYears(1) : StartOf(day).AddMonths(1);
        if (first >= end)
        {
            AddParts(parts, from, before, finer, summaries);
            return;
        }

        parts.Add(new Part(summary, Between(isByYear ? "year" : "month", first is { } opening ? NumberOf(opening) : null, end is { } closing ? NumberOf(closing) : null)));
        if (first > from)
        {
            AddParts(parts, from, first, finer, summaries);
        }

        if (end < before)
        {
            AddParts(parts, end, before, finer, summaries);
        }
    }

    // Entries are found by their time; by their day too, which the parts of a large table are told apart by.
    private static string TimesBetween(DateOnly? from, DateOnly? before)
        => (from is { } first ? $" AND exposed_at >= {Whole(first.ToDateTime(TimeOnly.MinValue).Ticks)}" : string.Empty) + (before is { } end ? $" AND exposed_at < {Whole(end.ToDateTime(TimeOnly.MinValue).Ticks)}" : string.Empty);

    private static string DaysBetween(DateOnly? from, DateOnly? before) => Between("day", from?.DayNumber, before?.DayNumber);

    private static string Between(string column, int? from, int? before)
        => (from is { } first ? $" AND {column} >= {Whole(first)}" : string.Empty) + (before is { } end ? $" AND {column} < {Whole(end)}" : string.Empty);

    private static string ReasonFilter(LogQuery query, string table)
        => query.Reasons.Count == 0
            ? string.Empty
            : $" AND {table}outcome IN ({string.Join(", ", query.Reasons.Select(reason => Whole(EntryColumns.OutcomeOf(ExposureUse.Rejected, reason))).Distinct())})";

    private string DimensionFilter(LogQuery query, string table)
    {
        string filter = $"{table}site = {Whole(codes.CodeOf(NameKind.Site, query.Site))}";
        void Named(string column, NameKind kind, IReadOnlyList<string?> names) => Numbered(column, [.. names.Select(name => codes.CodeOf(kind, name))]);
        void Numbered(string column, IReadOnlyList<int> numbers)
        {
            if (numbers.Count > 0)
            {
                filter += $" AND {table}{column} IN ({string.Join(", ", numbers.Distinct().Select(number => Whole(number)))})";
            }
        }

        Named("projection", NameKind.Projection, query.ProjectionIds);
        Named("room", NameKind.Room, query.Rooms);
        Named("receptor", NameKind.Receptor, query.Receptors);
        Named("performer", NameKind.Performer, query.Performers);
        Numbered("shift", [.. query.Shifts.Select(each => (int)each)]);
        Numbered("age_group", [.. query.AgeGroups.Select(each => (int)each)]);
        return filter;
    }

    private string EntryFilter(LogQuery query, int? import, string table)
    {
        string filter = DimensionFilter(query, table) + ReasonFilter(query, table);

        // By the time itself, which the indexes are ordered by, and by the day, which the parts of a large table are told apart by.
        if (query.From is { } from)
        {
            filter += $" AND {table}exposed_at >= {Whole(from.ToDateTime(TimeOnly.MinValue).Ticks)} AND {table}day >= {Whole(from.DayNumber)}";
        }

        if (query.Before is { } before)
        {
            filter += $" AND {table}exposed_at < {Whole(before.ToDateTime(TimeOnly.MinValue).Ticks)} AND {table}day < {Whole(before.DayNumber)}";
        }

        if (query.Uses.Count > 0)
        {
            filter += $" AND {table}exposure_use IN ({string.Join(", ", query.Uses.Distinct().Select(use => Whole((int)use)))})";
            filter += query.Uses.All(use => use == ExposureUse.Rejected) ? $" AND {table}outcome <> 0" : string.Empty;
        }
        else if (query.Reasons.Count > 0)
        {
            filter += $" AND {table}outcome <> 0";
        }

        if (query.DeviationBeyond is { } beyond)
        {
            string limit = double.IsFinite(beyond) ? beyond.ToString("R", CultureInfo.InvariantCulture) : throw new ArgumentOutOfRangeException(nameof(query), beyond, "The deviation index is finite.");
            filter += $" AND ABS({table}deviation_index) >= {limit}";
        }

        if (query.HasIndex is { } hasIndex)
        {
            filter += $" AND {table}exposure_index IS {(hasIndex ? "NOT " : string.Empty)}NULL";
        }

        return import is { } number ? $"{filter} AND {table}import = {Whole(number)}" : filter;
    }

    /// <summary>Names in ordinal order and "not told" last; periods, shifts, groups of age and reasons in their own.</summary>
    private Comparer<int> OrderOf(LogDimension dimension) => IsNamed(dimension)
        ? Comparer<int>.Create((one, other) => one == NameCodes.NotTold || other == NameCodes.NotTold
            ? (one == NameCodes.NotTold).CompareTo(other == NameCodes.NotTold)
            : string.CompareOrdinal(codes.NameOf(one), codes.NameOf(other)))
        : Comparer<int>.Default;

    private static bool IsNamed(LogDimension dimension) => dimension is LogDimension.Projection or LogDimension.Room or LogDimension.Receptor or LogDimension.Performer;

    private string? TextOf(LogDimension dimension, int key) => dimension switch
    {
        LogDimension.Day or LogDimension.Week => DateOnly.FromDayNumber(key).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
        LogDimension.Month => EntryColumns.FirstDayOf(key).ToString("yyyy-MM", CultureInfo.InvariantCulture),
        LogDimension.Shift => ((Shift)key).ToString(),
        LogDimension.AgeGroup => ((AgeGroup)key).ToString(),
        LogDimension.Reason => key == EntryColumns.RejectedWithoutReason ? null : ((RejectReason)key).ToString(),
        _ => codes.NameOf(key),
    };

    /// <summary>A table that answers for a part of the time asked for.</summary>
    private sealed record Part(LogSummary Summary, string Period);

    /// <summary>A spread while it is added up.</summary>
    private sealed class Spread
    {
        private readonly SortedDictionary<int, long> bins = [];
        private long missing;

        public long Exposures { get; private set; }

        public void Add(int bin, long entries, long without)
        {
            if (bin != EntryColumns.NoBin && entries != 0)
            {
                bins[bin] = bins.GetValueOrDefault(bin) + entries;
            }

            Exposures += entries;
            missing += without;
        }

        public IndexSpread Told(string? key) => new() { Key = key, Exposures = Exposures, Missing = missing, Bins = bins };
    }
}
