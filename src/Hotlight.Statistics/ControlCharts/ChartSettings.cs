namespace Hotlight.Statistics.ControlCharts;

/// <summary>How a chart of counts is made.</summary>
public sealed record ChartSettings
{
    /// <summary>Index of the baseline's first subgroup, 0 or more.</summary>
    public int BaselineFirst { get; init; }

    /// <summary>Number of subgroups in the baseline, 1 or more; null: all, and the chart then looks back at its own baseline.</summary>
    /// <remarks>Limits from a baseline apart from what is watched do not move with the change they should show.</remarks>
    public int? BaselineSubgroups { get; init; }

    /// <summary>Centre line given as a target (a fraction, a rate or a count); null: the baseline's own rate.</summary>
    public double? GivenCentre { get; init; }

    /// <summary>Half width of the limits in standard deviations; 3 is Shewhart's.</summary>
    public double LimitSigmas { get; init; } = 3;

    /// <summary>Whether the spread between subgroups beyond chance is taken into the limits, by Laney's p' and u'.</summary>
    public bool Overdispersion { get; init; }

    /// <summary>Rules of a Shewhart chart; the first alone by default.</summary>
    public IReadOnlyList<RunRule> Rules { get; init; } = [RunRule.BeyondLimits];
}
