using System.Globalization;
using Hotlight.Records.Analysis;

namespace Hotlight.Records.Tests.Analysis;

/// <summary>Counts entries plainly, one by one, as the log does by its sums.</summary>
internal static class CountedEntries
{
    public static IReadOnlyList<LogCount> By(IEnumerable<ExposureEntry> entries, params LogDimension[] by)
        => [.. entries.Where(entry => !by.Contains(LogDimension.Reason) || entry.Use == ExposureUse.Rejected)
            .GroupBy(entry => string.Join('\u001f', by.Select(each => KeyOf(entry, each) ?? "\u0000")))
            .OrderBy(group => group.Key, StringComparer.Ordinal)
            .Select(group => new LogCount
            {
                Keys = [.. by.Select(each => KeyOf(group.First(), each))],
                Exposures = group.LongCount(entry => entry.Use != ExposureUse.Test),
                Rejected = group.LongCount(entry => entry.Use == ExposureUse.Rejected),
                Repeats = group.LongCount(entry => entry.Use != ExposureUse.Test && entry.IsRepeat),
                Tests = group.LongCount(entry => entry.Use == ExposureUse.Test),
                WithKermaAreaProduct = group.LongCount(entry => entry.Use != ExposureUse.Test && entry.KermaAreaProductDgyCm2 is not null),
                KermaAreaProductDgyCm2 = group.Where(entry => entry.Use != ExposureUse.Test).Sum(entry => entry.KermaAreaProductDgyCm2 ?? 0),
                RejectedWithKermaAreaProduct = group.LongCount(entry => entry.Use == ExposureUse.Rejected && entry.KermaAreaProductDgyCm2 is not null),
                RejectedKermaAreaProductDgyCm2 = group.Where(entry => entry.Use == ExposureUse.Rejected).Sum(entry => entry.KermaAreaProductDgyCm2 ?? 0),
            })];

    public static IReadOnlyList<IndexSpread> Index(IEnumerable<ExposureEntry> entries, LogDimension by)
        => [.. entries.Where(entry => entry.Use != ExposureUse.Test)
            .GroupBy(entry => KeyOf(entry, by))
            .OrderBy(group => group.Key, StringComparer.Ordinal)
            .Select(group => new IndexSpread
            {
                Key = group.Key,
                Exposures = group.LongCount(),
                Missing = group.LongCount(entry => entry.ExposureIndex is null),
                Bins = group.Where(entry => entry.DeviationIndex is not null).GroupBy(entry => IndexSpread.BinOf(entry.DeviationIndex!.Value)).ToDictionary(bin => bin.Key, bin => bin.LongCount()),
            })];

    private static string? KeyOf(ExposureEntry entry, LogDimension by)
    {
        var day = DateOnly.FromDateTime(entry.ExposedAt);
        return by switch
        {
            LogDimension.Day => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
            LogDimension.Week => LogPeriod.Holding(LogDimension.Week, day).Key,
            LogDimension.Month => day.ToString("yyyy-MM", CultureInfo.InvariantCulture),
            LogDimension.Projection => entry.ProjectionId,
            LogDimension.Room => entry.Room,
            LogDimension.Receptor => entry.Receptor,
            LogDimension.Performer => entry.Performer,
            LogDimension.Shift => entry.Shift.ToString(),
            LogDimension.AgeGroup => entry.AgeGroup.ToString(),
            _ => entry.Reason?.ToString(),
        };
    }
}
