using System.Globalization;

namespace Hotlight.Records.Analysis;

/// <summary>A day, week or month of the log.</summary>
/// <param name="Key">As the log names it: "2026-10-31", the week's Monday, "2026-10".</param>
/// <param name="From">First day.</param>
/// <param name="Before">The day after the last.</param>
public sealed record LogPeriod(string Key, DateOnly From, DateOnly Before)
{
    /// <summary>Reads a key.</summary>
    /// <param name="by">Day, week or month.</param>
    /// <param name="key">The key.</param>
    /// <exception cref="ArgumentException">Not a period, or not its key.</exception>
    public static LogPeriod Of(LogDimension by, string key)
    {
        bool isMonth = by == LogDimension.Month;
        if (by is not (LogDimension.Day or LogDimension.Week or LogDimension.Month) || !DateOnly.TryParseExact(isMonth ? key + "-01" : key, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly first))
        {
            throw new ArgumentException($"'{key}' is not the key of a period.", nameof(key));
        }

        return Starting(by, first);
    }

    /// <summary>The period a day lies in.</summary>
    /// <param name="by">Day, week or month.</param>
    /// <param name="day">The day.</param>
    public static LogPeriod Holding(LogDimension by, DateOnly day) => Starting(by, by switch
    {
        LogDimension.Month => new DateOnly(day.Year, day.Month, 1),
        LogDimension.Week => day.AddDays(-(((int)day.DayOfWeek + 6) % 7)),
        _ => day,
    });

    /// <summary>The periods from one to another, none left out.</summary>
    /// <param name="by">Day, week or month.</param>
    /// <param name="from">A day in the first.</param>
    /// <param name="before">The day after the last day.</param>
    public static IReadOnlyList<LogPeriod> Between(LogDimension by, DateOnly from, DateOnly before)
    {
        List<LogPeriod> periods = [];
        for (LogPeriod period = Holding(by, from); period.From < before; period = Starting(by, period.Before))
        {
            periods.Add(period);
        }

        return periods;
    }

    /// <summary>The word for one or more periods.</summary>
    /// <param name="by">Day, week or month.</param>
    /// <param name="many">Whether more than one.</param>
    public static string Word(LogDimension by, bool many = false) => (by switch { LogDimension.Day => "day", LogDimension.Week => "week", _ => "month" }) + (many ? "s" : string.Empty);

    private static LogPeriod Starting(LogDimension by, DateOnly first) => by switch
    {
        LogDimension.Month => new LogPeriod(first.ToString("yyyy-MM", CultureInfo.InvariantCulture), first, first.AddMonths(1)),
        LogDimension.Week => new LogPeriod(first.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture), first, first.AddDays(7)),
        _ => new LogPeriod(first.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture), first, first.AddDays(1)),
    };
}
