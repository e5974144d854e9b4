using System.Globalization;

namespace Hotlight.Statistics.ControlCharts;

/// <summary>How sure a chart's signals are: how many it would give had nothing changed.</summary>
/// <param name="Points">Points watched.</param>
/// <param name="AverageRunLength">Points from one false alarm to the next on average, with the centre and the spread known; null where chance alone cannot bring one.</param>
/// <param name="Expected">False alarms expected in that many points.</param>
/// <param name="Method">How it was worked out, and where that comes from.</param>
public sealed record FalseAlarms(int Points, double? AverageRunLength, double Expected, StatisticalMethod Method)
{
    /// <summary>Chance of at least one false alarm in that many points, 0 to 1: 1 − (1 − 1/ARL)^points.</summary>
    public double ChanceOfAny => AverageRunLength is { } length ? 1 - Math.Pow(1 - Math.Min(1, 1 / length), Points) : 0;

    /// <summary>The same in one sentence for the reader.</summary>
    public string Sentence => AverageRunLength is null ? $"Had nothing changed, none of {Points} points could fall outside." : string.Create(CultureInfo.InvariantCulture, $"Had nothing changed, {Points} points would bring about {Expected:0.##} false alarms, one in {AverageRunLength:0} points.");
}
