namespace Hotlight.Drawing.Charts;

/// <summary>A chart of figures: what is drawn, what it means and the same figures as a table. Immutable; knows nothing of how it is drawn.</summary>
public sealed record Chart
{
    /// <summary>Title, such as "Reject rate by week".</summary>
    public required string Title { get; init; }

    /// <summary>What the figures mean; stands under every copy of the chart.</summary>
    public required string Definition { get; init; }

    /// <summary>How many it rests on, such as "n = 9,412 exposures, 803 rejects".</summary>
    public required string CountText { get; init; }

    /// <summary>Which records: site, period, filters.</summary>
    public required string Period { get; init; }

    /// <summary>Horizontal axis.</summary>
    public required ChartAxis Across { get; init; }

    /// <summary>Vertical axis.</summary>
    public required ChartAxis Up { get; init; }

    /// <summary>What is drawn, the first at the back.</summary>
    public IReadOnlyList<ChartSeries> Series { get; init; } = [];

    /// <summary>Lines to hold the figures against.</summary>
    public IReadOnlyList<ChartLine> Lines { get; init; } = [];

    /// <summary>Whether values run across and the names stand at the left, the first on top.</summary>
    public bool IsSideways { get; init; }

    /// <summary>The same figures as a table.</summary>
    public required ChartTable Table { get; init; }
}

/// <summary>An axis.</summary>
/// <param name="Title">Title with the unit.</param>
/// <param name="Names">Names of places 0, 1, …; null: a scale of numbers. An empty name has no tick.</param>
/// <param name="From">Least value shown; null: by the figures.</param>
/// <param name="To">Greatest value shown; null: by the figures.</param>
/// <param name="RunsOn">Whether the names across run on, as days do: then as many are written as have room, evenly; else every one is.</param>
public sealed record ChartAxis(string Title, IReadOnlyList<string>? Names = null, double? From = null, double? To = null, bool RunsOn = false);

/// <summary>How a series is drawn. Shapes differ as well as colours, so that grey print and colour-blind eyes tell them apart.</summary>
public enum ChartShape
{
    /// <summary>Dots joined by a line.</summary>
    JoinedDots,

    /// <summary>Dots, each with its interval as a line through it.</summary>
    Dots,

    /// <summary>Bars from 0.</summary>
    Bars,

    /// <summary>A dashed line in steps, one step a place: limits of a control chart.</summary>
    DashedSteps,

    /// <summary>A dashed curve: limits of a funnel.</summary>
    DashedCurve,

    /// <summary>A dotted curve: wider or older limits.</summary>
    DottedCurve,

    /// <summary>A plain line.</summary>
    Line,
}

/// <summary>How much a series stands forward.</summary>
public enum ChartTone
{
    /// <summary>The figures themselves.</summary>
    Main,

    /// <summary>A second set of figures.</summary>
    Second,

    /// <summary>Limits and other lines beside the figures.</summary>
    Quiet,
}

/// <summary>A series of points.</summary>
/// <param name="Name">What it is, for the legend; empty: not in the legend.</param>
/// <param name="Shape">How it is drawn.</param>
/// <param name="Tone">How much it stands forward.</param>
/// <param name="Points">Its points, in order.</param>
public sealed record ChartSeries(string Name, ChartShape Shape, ChartTone Tone, IReadOnlyList<ChartPoint> Points);

/// <summary>A point.</summary>
/// <param name="Place">Where along the axis of names or numbers.</param>
/// <param name="Value">Its value; null: a gap.</param>
public sealed record ChartPoint(double Place, double? Value)
{
    /// <summary>Lower end of its interval; null: none.</summary>
    public double? Low { get; init; }

    /// <summary>Upper end of its interval; null: none.</summary>
    public double? High { get; init; }

    /// <summary>Whether it calls for a look: drawn as a diamond with a ring.</summary>
    public bool CallsForALook { get; init; }

    /// <summary>The point in words with its figures: read out where it has a link.</summary>
    public string Description { get; init; } = string.Empty;

    /// <summary>Where the entries behind it are listed; null: nowhere.</summary>
    public string? Link { get; init; }
}

/// <summary>A line across the chart at one value.</summary>
/// <param name="Value">The value.</param>
/// <param name="Label">What it is, in a few words.</param>
public sealed record ChartLine(double Value, string Label);

/// <summary>Figures in rows.</summary>
/// <param name="Columns">Headings with units.</param>
/// <param name="Rows">The rows.</param>
public sealed record ChartTable(IReadOnlyList<string> Columns, IReadOnlyList<ChartTableRow> Rows);

/// <summary>A row of figures.</summary>
/// <param name="Cells">One text a column; the first names the row.</param>
/// <param name="Link">Where the entries behind it are listed; null: nowhere.</param>
public sealed record ChartTableRow(IReadOnlyList<string> Cells, string? Link = null);
