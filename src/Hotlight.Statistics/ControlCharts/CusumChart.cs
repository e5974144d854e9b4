namespace Hotlight.Statistics.ControlCharts;

/// <summary>One point of a CUSUM chart.</summary>
/// <param name="Index">Index of the subgroup or value.</param>
/// <param name="High">Sum on the high side, 0 or more.</param>
/// <param name="Low">Sum on the low side, 0 or more.</param>
public sealed record CusumPoint(int Index, double High, double Low);

/// <summary>A tabular CUSUM chart: quickest to find a lasting shift of twice its reference value.</summary>
/// <param name="Target">Target in the values' unit; 0 for standardised counts.</param>
/// <param name="Sigma">Standard deviation of one value in its unit; 1 for standardised counts.</param>
/// <param name="Reference">Reference value k, in the values' unit.</param>
/// <param name="Decision">Decision interval h, in the values' unit.</param>
/// <param name="Points">Points watched. The sums go on after a signal.</param>
/// <param name="Signals">Every point whose sum is above h; its <see cref="ChartSignal.Since"/> is the first point after the sum was last 0.</param>
/// <param name="FalseAlarms">How sure they are.</param>
/// <param name="Ground">The counts' centre and spread that the points are standardised by; null for values.</param>
/// <param name="Method">Method and source.</param>
public sealed record CusumChart(double Target, double Sigma, double Reference, double Decision, IReadOnlyList<CusumPoint> Points, IReadOnlyList<ChartSignal> Signals, FalseAlarms FalseAlarms, ChartGround? Ground, StatisticalMethod Method);
