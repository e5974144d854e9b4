using Hotlight.Core;

namespace Hotlight.Statistics.Proportions;

/// <summary>Keeps the counts of small groups from being shown, or from being worked out from what is shown.</summary>
public static class SmallGroups
{
    /// <summary>Suppresses groups of a table whose sum is shown beside it.</summary>
    /// <remarks>
    /// <para>Method: every group with a total above 0 and below the least n is suppressed. The sum less the groups shown gives away what the suppressed ones have together, so while only one is suppressed, or those suppressed have together fewer than the least n, the smallest group still shown is suppressed with them (complementary suppression). An empty group is shown as empty: it names nobody.</para>
    /// <para>Holds for one table and its sum. Two tables that cut the same exposures in two ways can still give a group away; show only one of them to those who may not see persons.</para>
    /// <para>Source: common practice of official statistics, no source.</para>
    /// </remarks>
    /// <param name="groups">The groups, each named once; order is kept.</param>
    /// <param name="leastTotal">Least total that may be shown, 1 or more.</param>
    /// <returns>The table as it may be shown; a suppressed row carries no count, only the reason.</returns>
    /// <exception cref="ArgumentException">A name occurs twice, or the least total is below 1.</exception>
    public static SuppressedTable Suppress(IReadOnlyList<GroupCount> groups, int leastTotal)
    {
        ArgumentNullException.ThrowIfNull(groups);
        Preconditions.AtLeastOne(leastTotal);
        if (groups.Select(group => group.Name).Distinct(StringComparer.Ordinal).Count() != groups.Count)
        {
            throw new ArgumentException("A group's name occurs twice.", nameof(groups));
        }

        HashSet<int> small = [.. Enumerable.Range(0, groups.Count).Where(index => groups[index].Count.Total > 0 && groups[index].Count.Total < leastTotal)];
        HashSet<int> hidden = [.. small];
        while (hidden.Count > 0 && (hidden.Count == 1 || hidden.Sum(index => groups[index].Count.Total) < leastTotal))
        {
            int next = Enumerable.Range(0, groups.Count)
                .Where(index => groups[index].Count.Total > 0 && !hidden.Contains(index))
                .OrderBy(index => groups[index].Count.Total).ThenBy(index => index)
                .Cast<int?>().FirstOrDefault() ?? -1;
            if (next < 0)
            {
                break;
            }

            hidden.Add(next);
        }

        // A lone small group with nothing to hide behind: then the sum would be its count.
        bool sumShown = hidden.Count != 1 && (hidden.Count == 0 || hidden.Sum(index => groups[index].Count.Total) >= leastTotal);
        ShownGroup[] rows = [.. groups.Select((group, index) => new ShownGroup(group.Name, hidden.Contains(index)
            ? Figure<EventCount>.CannotTell(small.Contains(index)
                ? $"Not shown: fewer than {leastTotal}."
                : "Not shown: with it, the count of a small group could be worked out.")
            : Figure<EventCount>.Measured(group.Count)))];
        EventCount sum = new(groups.Sum(group => group.Count.Events), groups.Sum(group => group.Count.Total));
        return new SuppressedTable(rows, sumShown ? Figure<EventCount>.Measured(sum) : Figure<EventCount>.CannotTell("Not shown: the sum would give a small group's count away."), leastTotal, hidden.Count - small.Count);
    }
}
