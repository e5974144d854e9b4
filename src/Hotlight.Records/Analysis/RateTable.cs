using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Records.Analysis;

/// <summary>Which rate is meant. A reject and a repeat are not the same set (AAPM TG-305).</summary>
public enum RateKind
{
    /// <summary>Rejected exposures out of all exposures of patients.</summary>
    Rejects,

    /// <summary>Exposures made again out of all exposures of patients.</summary>
    Repeats,
}

/// <summary>One group of a table of rates.</summary>
/// <param name="Key">What the group shares; null: not told.</param>
/// <param name="Counts">Its counts; cannot-tell where it is suppressed, and then no figure of it is shown.</param>
/// <param name="Rejects">Reject rate with its interval.</param>
/// <param name="Repeats">Repeat rate with its interval.</param>
public sealed record RateRow(string? Key, Figure<LogCount> Counts, Figure<ProportionEstimate> Rejects, Figure<ProportionEstimate> Repeats)
{
    /// <summary>The rate of a kind.</summary>
    /// <param name="kind">Which rate.</param>
    public Figure<ProportionEstimate> Rate(RateKind kind) => kind == RateKind.Rejects ? Rejects : Repeats;
}

/// <summary>Rates of the groups of one dimension and of all together.</summary>
/// <param name="Rows">The groups, in the order of their counts.</param>
/// <param name="All">All groups together; its counts are cannot-tell where they would give a suppressed group away.</param>
/// <param name="Suppressed">Groups that are not shown.</param>
/// <param name="LeastTotal">Least number of exposures that is shown; 0 where nothing is suppressed.</param>
public sealed record RateTable(IReadOnlyList<RateRow> Rows, RateRow All, int Suppressed, int LeastTotal)
{
    /// <summary>Least exposures of a person whose figures are shown; fewer name somebody more than they say something. Common practice of official statistics, no source.</summary>
    public const int PeopleLeastTotal = 10;

    /// <summary>Works out the rates of counts by one dimension.</summary>
    /// <param name="counts">Counts with one key each.</param>
    /// <param name="leastTotal">Least exposures of a group that is shown; 0: all are.</param>
    /// <exception cref="ArgumentException">A key occurs twice.</exception>
    public static RateTable Of(IReadOnlyList<LogCount> counts, int leastTotal = 0)
    {
        ArgumentNullException.ThrowIfNull(counts);
        LogCount all = Sum(counts);
        if (leastTotal <= 0)
        {
            return new RateTable([.. counts.Select(count => Row(count.Keys[0], count))], Row(null, all), 0, 0);
        }

        // Names are told apart from "not told" by their place in the list.
        SuppressedTable shown = SmallGroups.Suppress([.. counts.Select((count, index) => new GroupCount($"{index}", Events(count, RateKind.Rejects)))], leastTotal);
        RateRow[] rows = [.. counts.Select((count, index) => shown.Groups[index].Count.IsMeasured ? Row(count.Keys[0], count) : Hidden(count.Keys[0], shown.Groups[index].Count.Why!))];
        return new RateTable(rows, shown.Sum.IsMeasured ? Row(null, all) : Hidden(null, shown.Sum.Why), rows.Count(row => !row.Counts.IsMeasured), leastTotal);
    }

    /// <summary>Rates of all counts together.</summary>
    /// <param name="counts">The counts; keys are passed over.</param>
    public static RateRow Together(IReadOnlyList<LogCount> counts) => Row(null, Sum(counts));

    /// <summary>Events of a kind out of the exposures of a count.</summary>
    /// <param name="count">The count.</param>
    /// <param name="kind">Which events.</param>
    public static EventCount Events(LogCount count, RateKind kind)
    {
        ArgumentNullException.ThrowIfNull(count);
        return new EventCount(kind == RateKind.Rejects ? count.Rejected : count.Repeats, count.Exposures);
    }

    /// <summary>Counts added up; the sum has no keys.</summary>
    /// <param name="counts">The counts.</param>
    public static LogCount Sum(IEnumerable<LogCount> counts)
    {
        ArgumentNullException.ThrowIfNull(counts);
        return counts.Aggregate(new LogCount { Keys = [] }, (sum, each) => sum with
        {
            Exposures = sum.Exposures + each.Exposures,
            Rejected = sum.Rejected + each.Rejected,
            Repeats = sum.Repeats + each.Repeats,
            Tests = sum.Tests + each.Tests,
            WithKermaAreaProduct = sum.WithKermaAreaProduct + each.WithKermaAreaProduct,
            KermaAreaProductDgyCm2 = sum.KermaAreaProductDgyCm2 + each.KermaAreaProductDgyCm2,
            RejectedWithKermaAreaProduct = sum.RejectedWithKermaAreaProduct + each.RejectedWithKermaAreaProduct,
            RejectedKermaAreaProductDgyCm2 = sum.RejectedKermaAreaProductDgyCm2 + each.RejectedKermaAreaProductDgyCm2,
        });
    }

    private static RateRow Row(string? key, LogCount count)
        => new(key, Figure<LogCount>.Measured(count), ProportionIntervals.Wilson(Events(count, RateKind.Rejects)), ProportionIntervals.Wilson(Events(count, RateKind.Repeats)));

    private static RateRow Hidden(string? key, string why)
        => new(key, Figure<LogCount>.CannotTell(why), Figure<ProportionEstimate>.CannotTell(why), Figure<ProportionEstimate>.CannotTell(why));
}
