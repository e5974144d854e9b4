namespace Hotlight.Statistics.ControlCharts;

/// <summary>A p, u or c chart, or Laney's p' or u'.</summary>
/// <param name="Kind">What it assumes of chance.</param>
/// <param name="Centre">Centre line: a fraction, a rate or a count.</param>
/// <param name="SigmaZ">Laney's factor on the limits: spread between subgroups over what chance gives; 1 where it is not asked for.</param>
/// <param name="BaselineEvents">Events in the baseline.</param>
/// <param name="BaselineSize">Exposures or area of opportunity in the baseline.</param>
/// <param name="Points">The points, in order.</param>
/// <param name="Signals">Calls for a look, in order; those in the baseline too.</param>
/// <param name="FalseAlarms">How sure they are.</param>
/// <param name="Method">Method and source.</param>
public sealed record ShewhartChart(ChartKind Kind, double Centre, double SigmaZ, long BaselineEvents, double BaselineSize, IReadOnlyList<ChartPoint> Points, IReadOnlyList<ChartSignal> Signals, FalseAlarms FalseAlarms, StatisticalMethod Method);
