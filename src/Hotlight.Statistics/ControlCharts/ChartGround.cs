namespace Hotlight.Statistics.ControlCharts;

/// <summary>What counts were standardised by.</summary>
/// <param name="Centre">Centre: a fraction, a rate or a count.</param>
/// <param name="SigmaZ">Laney's factor; 1 where it was not asked for.</param>
/// <param name="BaselineEvents">Events in the baseline.</param>
/// <param name="BaselineSize">Exposures or area of opportunity in the baseline.</param>
public sealed record ChartGround(double Centre, double SigmaZ, long BaselineEvents, double BaselineSize);
