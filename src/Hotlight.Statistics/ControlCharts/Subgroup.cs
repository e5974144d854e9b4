namespace Hotlight.Statistics.ControlCharts;

/// <summary>One point of a chart: the exposures of a week, a month, a shift.</summary>
/// <param name="Label">What stands under the point, such as "2026-10".</param>
/// <param name="Events">Events in it, 0 or more.</param>
/// <param name="Size">What they are out of: exposures for a p chart (a whole number), the area of opportunity for a u chart (such as hundreds of examinations), 1 for a c chart. 0 where nothing was done: the point has no value and no signal.</param>
public sealed record Subgroup(string Label, long Events, double Size);
