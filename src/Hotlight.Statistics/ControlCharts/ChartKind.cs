namespace Hotlight.Statistics.ControlCharts;

/// <summary>What a chart of counts assumes of chance.</summary>
public enum ChartKind
{
    /// <summary>p chart: each of the subgroup's exposures is an event or not; binomial.</summary>
    Proportion,

    /// <summary>u chart: any number of events in the subgroup's area of opportunity; Poisson.</summary>
    Rate,

    /// <summary>c chart: events in subgroups of one size; Poisson.</summary>
    Count,
}
