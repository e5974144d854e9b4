using System.Globalization;
using Hotlight.Workflows.Readings;
using Microsoft.AspNetCore.Http.Extensions;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Extensions.Primitives;

namespace Hotlight.Web;

/// <summary>Which readings count, as the query of the page's address and back. What an address holds that cannot be is left out, never an error.</summary>
internal static class AgreementAddress
{
    private const string DayFormat = "yyyy-MM-dd";

    /// <summary>Reads a query.</summary>
    /// <param name="address">The page's address.</param>
    public static AgreementQuery Read(Uri address)
    {
        ArgumentNullException.ThrowIfNull(address);
        Dictionary<string, StringValues> values = QueryHelpers.ParseQuery(address.Query);
        StringValues Of(string name) => values.GetValueOrDefault(name);
        string? Text(string name) => Of(name) is [{ Length: > 0 } first, ..] ? first : null;
        DateTimeOffset? DayOf(string name, int later) => DateTime.TryParseExact(Text(name), DayFormat, CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime day) && day.Year is > 1900 and < 2200 ? Midnight(day.AddDays(later)) : null;
        IReadOnlyList<Guid> Ids(string name) => [.. Of(name).Select(value => Guid.TryParse(value, out Guid id) ? id : (Guid?)null).OfType<Guid>().Distinct()];
        return new AgreementQuery
        {
            Tag = Text("tag"),
            ProjectionId = Text("projection"),
            From = DayOf("from", 0),
            Before = DayOf("to", 1),
            ReaderIds = Ids("reader"),
            CaseIds = Ids("case"),
            BlindOnly = Text("blind") is not null,
            WithLinesLeft = Text("left") is not null,
        };
    }

    /// <summary>The query of an address, with its question mark; empty where nothing is chosen.</summary>
    /// <param name="query">Which readings count.</param>
    public static string Write(AgreementQuery query)
    {
        ArgumentNullException.ThrowIfNull(query);
        var builder = new QueryBuilder();
        void Add(string name, string? value)
        {
            if (value is not null)
            {
                builder.Add(name, value);
            }
        }

        Add("tag", query.Tag);
        Add("projection", query.ProjectionId);
        Add("from", Day(query.From));
        Add("to", Day(query.Before?.AddDays(-1)));
        builder.Add("reader", query.ReaderIds.Select(id => id.ToString()));
        builder.Add("case", query.CaseIds.Select(id => id.ToString()));
        Add("blind", query.BlindOnly ? "yes" : null);
        Add("left", query.WithLinesLeft ? "yes" : null);
        return builder.ToQueryString().Value ?? string.Empty;
    }

    /// <summary>The day of a time, as a field of the page and the address hold it; null without one.</summary>
    /// <param name="time">The time.</param>
    public static string? Day(DateTimeOffset? time) => time?.ToLocalTime().ToString(DayFormat, CultureInfo.InvariantCulture);

    /// <summary>The beginning of a day where the bench runs.</summary>
    /// <param name="day">The day; its time of day counts.</param>
    public static DateTimeOffset Midnight(DateTime day) => new(DateTime.SpecifyKind(day, DateTimeKind.Local));
}
