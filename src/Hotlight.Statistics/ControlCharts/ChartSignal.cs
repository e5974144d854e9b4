namespace Hotlight.Statistics.ControlCharts;

/// <summary>A call for a look at one point.</summary>
/// <param name="Index">Index of the point that completes the pattern.</param>
/// <param name="Higher">Whether the events are more than the centre; otherwise fewer.</param>
/// <param name="Rule">The rule, in one sentence.</param>
/// <param name="Since">Index of the point from which the change may date: the first of the pattern, or where a cumulative sum last left 0.</param>
public sealed record ChartSignal(int Index, bool Higher, string Rule, int Since);
