using Hotlight.Records;
using static Hotlight.Workflows.Repeats.RepeatWords;

namespace Hotlight.Workflows.Repeats;

/// <summary>Says in words what a question picks.</summary>
public static class RepeatWhere
{
    /// <summary>Site, period and filters, such as "Saltmarsh Lane (invented), 2025-11-01 to 2026-10-31, Room 2".</summary>
    /// <param name="question">The question.</param>
    /// <param name="nameOf">Name of a group: its dimension and key.</param>
    public static string Of(RepeatQuestion question, Func<LogDimension, string?, string> nameOf)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(nameOf);
        LogQuery query = question.Query;
        IEnumerable<string> Names(LogDimension by, IReadOnlyList<string?> keys) => keys.Count == 0 ? [] : [string.Join(" or ", keys.Select(key => nameOf(by, key)))];
        return string.Join(
            ", ",
            [
                Site(query.Site),
                Period(query.From, query.Before),
                .. Names(LogDimension.Projection, query.ProjectionIds),
                .. Names(LogDimension.Room, query.Rooms),
                .. Names(LogDimension.Receptor, query.Receptors),
                .. Names(LogDimension.Performer, query.Performers),
                .. Names(LogDimension.Shift, [.. query.Shifts.Select(shift => shift.ToString())]),
                .. Names(LogDimension.AgeGroup, [.. query.AgeGroups.Select(group => group.ToString())]),
            ]);
    }
}
