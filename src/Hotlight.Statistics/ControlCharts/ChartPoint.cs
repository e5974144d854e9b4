namespace Hotlight.Statistics.ControlCharts;

/// <summary>One point of a chart of counts.</summary>
/// <param name="Subgroup">What it stands for.</param>
/// <param name="Value">Events over size; null for an empty subgroup.</param>
/// <param name="Lower">Lower limit for this subgroup's size, not below 0; null for an empty subgroup.</param>
/// <param name="Upper">Upper limit for this subgroup's size, not above 1 on a p chart; null for an empty subgroup.</param>
/// <param name="Z">Distance from the centre in standard deviations of this subgroup, over-dispersion taken in; null for an empty subgroup.</param>
/// <param name="InBaseline">Whether it helped to set the limits.</param>
public sealed record ChartPoint(Subgroup Subgroup, double? Value, double? Lower, double? Upper, double? Z, bool InBaseline);
