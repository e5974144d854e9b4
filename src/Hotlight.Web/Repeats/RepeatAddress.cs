using System.Globalization;
using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Workflows.Repeats;

namespace Hotlight.Web.Repeats;

/// <summary>A view of the repeat analysis. It stands in the path of the page's address.</summary>
public enum RepeatView
{
    /// <summary>Rates, reasons, trend, what calls for a look.</summary>
    Overview,

    /// <summary>By projection.</summary>
    Projections,

    /// <summary>By room.</summary>
    Rooms,

    /// <summary>By receptor.</summary>
    Receptors,

    /// <summary>By shift.</summary>
    Shifts,

    /// <summary>By person, for those who may see it.</summary>
    People,

    /// <summary>Exposure indices.</summary>
    Index,

    /// <summary>Before and after a training.</summary>
    Training,

    /// <summary>The entries themselves.</summary>
    Entries,
}

/// <summary>A question as the query of an address and back. What an address holds that cannot be is left out, never an error.</summary>
internal static class RepeatAddress
{
    /// <summary>Path of the overview.</summary>
    public const string Root = "/repeats";

    private const string None = "none";

    /// <summary>A view by its word in the path; the overview where there is no such view.</summary>
    public static RepeatView ViewOf(string? word) => Enum.TryParse(word, ignoreCase: true, out RepeatView view) && Enum.IsDefined(view) && !int.TryParse(word, out _) ? view : RepeatView.Overview;

    /// <summary>Reads a question.</summary>
    /// <param name="values">Values of a parameter by its name; empty where it is not there.</param>
    /// <param name="fallback">Site and period where the address has none.</param>
    public static RepeatQuestion Read(Func<string, IReadOnlyList<string?>> values, LogQuery fallback)
    {
        string? One(string name) => values(name) is [{ } first, ..] ? first : null;
        DateOnly? Day(string name) => DateOnly.TryParseExact(One(name), "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly day) && day.Year is > 1900 and < 2200 ? day : null;
        IReadOnlyList<string?> Names(string name) => [.. values(name).Where(value => value is { Length: <= ExposureEntry.NameMaxLength }).Select(value => string.IsNullOrEmpty(value) ? null : value).Distinct()];
        IReadOnlyList<T> Members<T>(string name)
            where T : struct, Enum
            => [.. values(name).Select(value => Enum.TryParse(value, ignoreCase: true, out T member) && Enum.IsDefined(member) && !int.TryParse(value, out _) ? member : (T?)null).OfType<T>().Distinct()];
        DateOnly? from = Day("from");
        DateOnly? to = Day("to");
        bool whole = One("period") == "all";
        string? reason = One("reason");
        RejectReason? only = Members<RejectReason>("reason") is [var first, ..] ? first : null;
        return new RepeatQuestion
        {
            Query = new LogQuery
            {
                Site = values("site").Count > 0 ? One("site") ?? string.Empty : fallback.Site,
                From = whole ? null : from ?? (to is null ? fallback.From : null),
                Before = whole ? null : to?.AddDays(1) ?? (from is null ? fallback.Before : null),
                ProjectionIds = Names("projection"),
                Rooms = Names("room"),
                Receptors = Names("receptor"),
                Performers = Names("person"),
                Shifts = Members<Shift>("shift"),
                AgeGroups = Members<AgeGroup>("age"),
                Uses = Members<ExposureUse>("use"),
                Reasons = reason == None ? [null] : only is null ? [] : [only],
                DeviationBeyond = double.TryParse(One("beyond"), NumberStyles.Float, CultureInfo.InvariantCulture, out double beyond) && beyond is > 0 and <= 20 ? beyond : null,
                HasIndex = One("index") switch { "yes" => true, "no" => false, _ => null },
            },
            Period = One("by") switch { "day" => LogDimension.Day, "month" => LogDimension.Month, _ => LogDimension.Week },
            Kind = One("rate") == "repeats" ? RateKind.Repeats : RateKind.Rejects,
            Reason = only,
            Training = Day("training"),
            ControlRoom = One("control") is { Length: > 0 and <= ExposureEntry.NameMaxLength } room ? room : null,
        };
    }

    /// <summary>The address of a question under a view. It says all that is set, so that it can be given to somebody else of the clinic.</summary>
    public static string Write(RepeatView view, RepeatQuestion question)
    {
        LogQuery query = question.Query;
        List<string> parts = [$"site={Uri.EscapeDataString(query.Site)}"];
        void Add(string name, string? value) => parts.Add($"{name}={Uri.EscapeDataString(value ?? string.Empty)}");
        void Each<T>(string name, IEnumerable<T> values)
        {
            foreach (T value in values)
            {
                Add(name, value is Enum ? value.ToString()!.ToLowerInvariant() : value?.ToString());
            }
        }

        if (query.From is null && query.Before is null)
        {
            Add("period", "all");
        }

        if (query.From is { } from)
        {
            Add("from", RepeatWords.Day(from));
        }

        if (query.Before is { } before)
        {
            Add("to", RepeatWords.Day(before.AddDays(-1)));
        }

        Each("projection", query.ProjectionIds);
        Each("room", query.Rooms);
        Each("receptor", query.Receptors);
        Each("person", query.Performers);
        Each("shift", query.Shifts);
        Each("age", query.AgeGroups);
        if (view == RepeatView.Entries)
        {
            Each("use", query.Uses);
            Each("reason", query.Reasons.Select(reason => reason?.ToString().ToLowerInvariant() ?? None));
            if (query.DeviationBeyond is { } beyond)
            {
                Add("beyond", beyond.ToString(CultureInfo.InvariantCulture));
            }

            if (query.HasIndex is { } has)
            {
                Add("index", has ? "yes" : "no");
            }
        }
        else if (question.Reason is { } reason)
        {
            Add("reason", reason.ToString().ToLowerInvariant());
        }

        if (question.Period != LogDimension.Week)
        {
            Add("by", LogPeriod.Word(question.Period));
        }

        if (question.Kind == RateKind.Repeats)
        {
            Add("rate", "repeats");
        }

        if (question.Training is { } day)
        {
            Add("training", RepeatWords.Day(day));
        }

        if (question.ControlRoom is { } room)
        {
            Add("control", room);
        }

        return $"{Root}{(view == RepeatView.Overview ? string.Empty : "/" + view.ToString().ToLowerInvariant())}?{string.Join('&', parts)}";
    }

    /// <summary>The dimension of a view by groups; null for another view.</summary>
    public static LogDimension? DimensionOf(RepeatView view) => view switch
    {
        RepeatView.Projections => LogDimension.Projection,
        RepeatView.Rooms => LogDimension.Room,
        RepeatView.Receptors => LogDimension.Receptor,
        RepeatView.Shifts => LogDimension.Shift,
        RepeatView.People => LogDimension.Performer,
        _ => null,
    };
}
