using Hotlight.Core;

namespace Hotlight.Statistics.Proportions;

/// <summary>A row of a table as it may be shown.</summary>
/// <param name="Name">The group's name.</param>
/// <param name="Count">Its count; cannot-tell, without any number of its own, when suppressed.</param>
public sealed record ShownGroup(string Name, Figure<EventCount> Count);

/// <summary>A table as it may be shown.</summary>
/// <param name="Groups">The rows, in the order given.</param>
/// <param name="Sum">Sum over all groups, suppressed ones too; cannot-tell where it would give a small group away.</param>
/// <param name="LeastTotal">Least total that may be shown.</param>
/// <param name="ComplementarySuppressed">How many groups are hidden only so that another cannot be worked out.</param>
public sealed record SuppressedTable(IReadOnlyList<ShownGroup> Groups, Figure<EventCount> Sum, int LeastTotal, int ComplementarySuppressed);
