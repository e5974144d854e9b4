using System.Globalization;
using Hotlight.Core;
using Hotlight.Records;
using Hotlight.Statistics;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Workflows.Repeats;

/// <summary>Terms and figures of the repeat analysis in words.</summary>
public static class RepeatWords
{
    /// <summary>What stands where a source did not tell.</summary>
    public const string NotTold = "not told";

    /// <summary>A reason in words.</summary>
    /// <param name="reason">The reason; null: none was given.</param>
    public static string Of(RejectReason? reason) => reason switch
    {
        null => "no reason given",
        RejectReason.ClippedAnatomy => "clipped anatomy",
        RejectReason.WrongPatientOrPart => "wrong patient or part",
        RejectReason.Test => "test filed as a patient's",
        { } other => other.ToString().ToLowerInvariant(),
    };

    /// <summary>A reason's name in the log in words.</summary>
    /// <param name="name">Name of a <see cref="RejectReason"/>; null or empty: none was given.</param>
    public static string OfReasonName(string? name) => Enum.TryParse(name, out RejectReason reason) ? Of(reason) : Of((RejectReason?)null);

    /// <summary>A dimension in words.</summary>
    /// <param name="dimension">The dimension.</param>
    /// <param name="many">Whether in the plural.</param>
    public static string Of(LogDimension dimension, bool many = false) => (dimension, many) switch
    {
        (LogDimension.Performer, false) => "person",
        (LogDimension.Performer, true) => "people",
        (LogDimension.AgeGroup, false) => "group of age",
        (LogDimension.AgeGroup, true) => "groups of age",
        (_, false) => dimension.ToString().ToLowerInvariant(),
        _ => dimension.ToString().ToLowerInvariant() + "s",
    };

    /// <summary>A shift's or age group's name in the log in words.</summary>
    /// <param name="name">Name of a member.</param>
    public static string OfName(string? name) => name is null or "Unknown" ? NotTold : name switch { "Child" => "children", "Adult" => "adults", _ => name.ToLowerInvariant() };

    /// <summary>What became of an exposure.</summary>
    /// <param name="use">The use.</param>
    public static string Of(ExposureUse use) => use switch { ExposureUse.Kept => "kept", ExposureUse.Rejected => "rejected", _ => "test" };

    /// <summary>A whole number with its thousands apart.</summary>
    /// <param name="count">The number.</param>
    public static string Count(long count) => count.ToString("N0", CultureInfo.InvariantCulture);

    /// <summary>A share in percent, one decimal.</summary>
    /// <param name="fraction">The share as a fraction.</param>
    public static string Percent(double fraction) => FigureText.Number(100 * fraction, 1) + " %";

    /// <summary>An interval of a share in percent.</summary>
    /// <param name="interval">The interval as fractions.</param>
    /// <param name="signed">Whether ends carry their sign.</param>
    public static string Percent(Interval interval, bool signed = false)
    {
        ArgumentNullException.ThrowIfNull(interval);
        return $"{FigureText.Number(100 * interval.Lower, 1, signed)} to {FigureText.Number(100 * interval.Upper, 1, signed)} %";
    }

    /// <summary>A rate with its interval and count, or why there is none.</summary>
    /// <param name="rate">The rate.</param>
    public static string Rate(Figure<ProportionEstimate> rate)
    {
        ArgumentNullException.ThrowIfNull(rate);
        return rate.IsMeasured
            ? $"{Percent(rate.Value.Fraction)} ({Percent(rate.Value.Interval)}; {Count(rate.Value.Count.Events)} of {Count(rate.Value.Count.Total)})"
            : rate.Why;
    }

    /// <summary>A p value.</summary>
    /// <param name="p">The value, 0 to 1.</param>
    public static string P(double p) => p < 0.0001 ? "p < 0.0001" : string.Create(CultureInfo.InvariantCulture, $"p = {p:0.####}");

    /// <summary>A site's name.</summary>
    /// <param name="site">The site; empty for the clinic's own.</param>
    public static string Site(string site) => string.IsNullOrEmpty(site) ? "This clinic" : site;

    /// <summary>Whether a site's records are invented.</summary>
    /// <param name="site">The site.</param>
    public static bool IsInvented(string site)
    {
        ArgumentNullException.ThrowIfNull(site);
        return site.EndsWith("(invented)", StringComparison.Ordinal);
    }

    /// <summary>A period in words, the last day included.</summary>
    /// <param name="from">First day; null: from the beginning.</param>
    /// <param name="before">The day after the last; null: to the end.</param>
    public static string Period(DateOnly? from, DateOnly? before) => (from, before) switch
    {
        ({ } first, { } next) => $"{Day(first)} to {Day(next.AddDays(-1))}",
        ({ } first, null) => $"from {Day(first)}",
        (null, { } next) => $"to {Day(next.AddDays(-1))}",
        _ => "all of the time",
    };

    /// <summary>A day.</summary>
    /// <param name="day">The day.</param>
    public static string Day(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
