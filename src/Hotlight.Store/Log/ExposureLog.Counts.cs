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
            string[] keys = [.. by.Select(dimension => KeyOf(dimension, part.Summary))];
            string listed = string.Concat(keys.Select((key, place) => $"{key} AS k{place}, "));
            string grouped = keys.Length == 0 ? string.Empty : $" GROUP BY {string.Join(", ", keys.Select((_, place) => $"k{place}"))}";
            await using DbCommand command = log.Command($"""
                SELECT {listed}SUM(n), SUM(CASE WHEN outcome <> 0 THEN n ELSE 0 END), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro),
                  SUM(CASE WHEN outcome <> 0 THEN kap_n ELSE 0 END), SUM(CASE WHEN outcome <> 0 THEN kap_micro ELSE 0 END)
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
        var spreads = new Dictionary<int, (long Exposures, long Missing, SortedDictionary<int, long> Bins)>();
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        string filter = DimensionFilter(query, string.Empty) + (by == LogDimension.Reason ? " AND outcome <> 0" : string.Empty);
        foreach (Part part in PartsOf(query, dimensions, LogSummary.Indices))
        {
            string key = by is null ? "0" : KeyOf(by.Value, part.Summary);
            await using DbCommand command = log.Command($"SELECT {key} AS k0, bin, SUM(n), SUM(missing) FROM {part.Summary.Table} WHERE {filter}{part.Period} GROUP BY {(by is null ? "bin" : "k0, bin")}");
            await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
            while (await reader.ReadAsync(cancellation))
            {
                int code = reader.GetInt32(0);
                (long exposures, long missing, SortedDictionary<int, long> bins) = spreads.GetValueOrDefault(code, (0, 0, []));
                int bin = reader.GetInt32(1);
                long entries = SumOf(reader, 2);
                if (bin != EntryColumns.NoBin && entries != 0)
                {
                    bins[bin] = bins.GetValueOrDefault(bin) + entries;
                }

                spreads[code] = (exposures + entries, missing + SumOf(reader, 3), bins);
            }
        }

        IndexSpread[] found =
        [
            .. spreads.Where(each => each.Value.Exposures > 0).OrderBy(each => each.Key, OrderOf(by ?? LogDimension.Day)).Select(each => new IndexSpread
            {
                Key = by is null ? null : TextOf(by.Value, each.Key),
                Exposures = each.Value.Exposures,
                Missing = each.Value.Missing,
                Bins = each.Value.Bins,
            }),
        ];
        return found.Length == 0 && by is null ? [new IndexSpread { Key = null, Bins = new Dictionary<int, long>() }] : found;
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

    private static bool IsPeriod(LogDimension dimension) => dimension is LogDimension.Day or LogDimension.Week or LogDimension.Month;

    // PostgreSQL sums whole numbers of 64 bits as numeric.
    private static long SumOf(DbDataReader reader, int place) => reader.GetValue(place) switch
    {
        long whole => whole,
        decimal exact => (long)exact,
        object other => Convert.ToInt64(other, CultureInfo.InvariantCulture),
    };

    // Day 0 is 1 January 0001, a Monday.
    private static string KeyOf(LogDimension dimension, LogSummary summary) => dimension switch
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
        bool byDay = by.Contains(LogDimension.Day) || by.Contains(LogDimension.Week);
        LogSummary summary = summaries.FirstOrDefault(each => needed.All(each.Dimensions.Contains) && (each.IsDaily || !byDay)) ?? LogSummary.Facts;
        if (summary.IsDaily)
        {
            return [new Part(summary, DaysBetween(query.From, query.Before))];
        }

        // Whole months from the summary; days of a month that is not asked for whole from the entries.
        int? first = query.From is { } from ? EntryColumns.MonthOf(from) + (from.Day > 1 ? 1 : 0) : null;
        int? end = query.Before is { } before ? EntryColumns.MonthOf(before) : null;
        if (first >= end)
        {
            return [new Part(LogSummary.Facts, DaysBetween(query.From, query.Before))];
        }

        var parts = new List<Part> { new(summary, Between("month", first, end)) };
        if (first is { } firstMonth && EntryColumns.FirstDayOf(firstMonth) is { } whole && whole > query.From)
        {
            parts.Add(new Part(LogSummary.Facts, DaysBetween(query.From, whole)));
        }

        if (end is { } lastMonth && EntryColumns.FirstDayOf(lastMonth) is { } rest && rest < query.Before)
        {
            parts.Add(new Part(LogSummary.Facts, DaysBetween(rest, query.Before)));
        }

        return parts;
    }

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
}
