using System.Globalization;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Workflows.Cases;

namespace Hotlight.Web.Worklist;

/// <summary>What a reader has set on the worklist. It stands in the page's address, so that the browser's way back leads to the same list.</summary>
public sealed record WorklistView
{
    /// <summary>Word of the address for "none": no projection chosen, nobody to read, no verdict.</summary>
    public const string None = "none";

    /// <summary>Begins a region among the projections.</summary>
    public const string RegionPrefix = "region:";

    /// <summary>Words that are looked for, as typed.</summary>
    public string Search { get; init; } = string.Empty;

    /// <summary>The state; null: any.</summary>
    public CaseState? State { get; init; }

    /// <summary>Term of the verdict, or <see cref="None"/>; null: any.</summary>
    public string? Verdict { get; init; }

    /// <summary>Identifier of a projection, "region:wrist", or <see cref="None"/>; null: any.</summary>
    public string? Projection { get; init; }

    /// <summary>Identifier of who is to read, or <see cref="None"/>; null: anybody.</summary>
    public string? Person { get; init; }

    /// <summary>How the files came in; null: any way.</summary>
    public CaseOrigin? Origin { get; init; }

    /// <summary>First day of exposure; null: no limit.</summary>
    public DateOnly? From { get; init; }

    /// <summary>Last day of exposure; null: no limit.</summary>
    public DateOnly? To { get; init; }

    /// <summary>Only invented cases, or only real ones; null: both.</summary>
    public bool? IsInvented { get; init; }

    /// <summary>The column that orders.</summary>
    public WorklistSort Sort { get; init; }

    /// <summary>Whether the order is turned round.</summary>
    public bool IsDescending { get; init; }

    /// <summary>What stands together; null: nothing.</summary>
    public WorklistGrouping? Grouping { get; init; }

    /// <summary>Whether anything but order and grouping is set.</summary>
    public bool IsFiltered => this with { Sort = WorklistSort.AsItComes, IsDescending = false, Grouping = null } != new WorklistView();

    /// <summary>Reads an address; what it holds that cannot be is left out.</summary>
    /// <param name="value">Gives the value of a parameter by name; null where it is not there.</param>
    public static WorklistView Read(Func<string, string?> value)
    {
        ArgumentNullException.ThrowIfNull(value);
        static string? Text(string? text) => string.IsNullOrWhiteSpace(text) || text.Length > 200 ? null : text;
        return new WorklistView
        {
            Search = Text(value("q")) ?? string.Empty,
            State = Term<CaseState>(value("state")),
            Verdict = Text(value("verdict")),
            Projection = Text(value("projection")),
            Person = Text(value("person")),
            Origin = Term<CaseOrigin>(value("origin")),
            From = Day(value("from")),
            To = Day(value("to")),
            IsInvented = value("invented") switch { "yes" => true, "no" => false, _ => null },
            Sort = Term<WorklistSort>(value("sort")) ?? WorklistSort.AsItComes,
            IsDescending = value("down") == "yes",
            Grouping = Term<WorklistGrouping>(value("group")),
        };
    }

    /// <summary>The parameters of the address; null takes one away.</summary>
    public IReadOnlyDictionary<string, object?> Address() => new Dictionary<string, object?>(StringComparer.Ordinal)
    {
        ["q"] = Search.Length == 0 ? null : Search,
        ["state"] = State is { } state ? Term(state) : null,
        ["verdict"] = Verdict,
        ["projection"] = Projection,
        ["person"] = Person,
        ["origin"] = Origin is { } origin ? Term(origin) : null,
        ["from"] = From?.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
        ["to"] = To?.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
        ["invented"] = IsInvented switch { true => "yes", false => "no", _ => null },
        ["sort"] = Sort == WorklistSort.AsItComes ? null : Term(Sort),
        ["down"] = IsDescending ? "yes" : null,
        ["group"] = Grouping is { } grouping ? Term(grouping) : null,
    };

    /// <summary>The question to the store.</summary>
    /// <param name="projections">The projections, by whose names words are looked for too.</param>
    /// <param name="zone">The zone the days are meant in.</param>
    public WorklistQuery Query(IReadOnlyList<Projection> projections, TimeZoneInfo zone)
    {
        ArgumentNullException.ThrowIfNull(projections);
        ArgumentNullException.ThrowIfNull(zone);
        DateTimeOffset Midnight(DateOnly day)
        {
            DateTime local = day.ToDateTime(TimeOnly.MinValue);
            return new DateTimeOffset(local, zone.GetUtcOffset(local));
        }

        return new WorklistQuery
        {
            Words =
            [
                .. Search.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries).Take(8).Select(word => new SearchWord(
                    word,
                    [.. projections.Where(each => each.Name.Contains(word, StringComparison.CurrentCultureIgnoreCase) || each.OtherNames.Any(name => name.Contains(word, StringComparison.CurrentCultureIgnoreCase))).Select(each => each.Id)])),
            ],
            States = State is { } state ? [state] : [],
            Verdicts = Verdict is null ? [] : [Verdict == None ? string.Empty : Verdict],
            ProjectionIds = Projection switch
            {
                null => [],
                None => [string.Empty],

                // A region that the catalogue does not know holds nothing; an empty list would hold all.
                _ when Projection.StartsWith(RegionPrefix, StringComparison.Ordinal) => projections.Where(each => each.Region == Projection[RegionPrefix.Length..]).Select(each => each.Id) is { } ids && ids.Any() ? [.. ids] : [Projection],
                _ => [Projection],
            },
            AssigneeId = Person is null ? null : Guid.TryParse(Person, out Guid person) ? person : Guid.Empty,
            Origins = Origin is { } origin ? [origin] : [],
            From = From is { } from ? Midnight(from) : null,
            Before = To is { } to && to < DateOnly.MaxValue ? Midnight(to.AddDays(1)) : null,
            IsInvented = IsInvented,
            Sort = Sort,
            IsDescending = IsDescending,
        };
    }

    /// <summary>A value as a word of the address, such as "in-work".</summary>
    /// <param name="value">The value.</param>
    public static string Term(Enum value)
    {
        ArgumentNullException.ThrowIfNull(value);
        return JsonNamingPolicy.KebabCaseLower.ConvertName(value.ToString());
    }

    private static T? Term<T>(string? text)
        where T : struct, Enum
    {
        foreach (T value in Enum.GetValues<T>())
        {
            if (Term(value) == text)
            {
                return value;
            }
        }

        return null;
    }

    private static DateOnly? Day(string? text) => DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly day) ? day : null;
}
