namespace Hotlight.Statistics.ControlCharts;

/// <summary>One point of an EWMA chart.</summary>
/// <param name="Index">Index of the subgroup or value.</param>
/// <param name="Average">Exponentially weighted moving average after it.</param>
/// <param name="Lower">Lower limit, exact for this point.</param>
/// <param name="Upper">Upper limit, exact for this point.</param>
public sealed record EwmaPoint(int Index, double Average, double Lower, double Upper);

/// <summary>An EWMA chart: sees small lasting shifts sooner than a Shewhart chart.</summary>
/// <param name="Target">Target in the values' unit; 0 for standardised counts.</param>
/// <param name="Sigma">Standard deviation of one value in its unit; 1 for standardised counts.</param>
/// <param name="Weight">Weight λ of the newest point.</param>
/// <param name="LimitSigmas">Half width L of the limits in standard deviations of the average.</param>
/// <param name="Points">Points watched.</param>
/// <param name="Signals">Every point outside its limits.</param>
/// <param name="FalseAlarms">How sure they are.</param>
/// <param name="Ground">The counts' centre and spread that the points are standardised by; null for values.</param>
/// <param name="Method">Method and source.</param>
public sealed record EwmaChart(double Target, double Sigma, double Weight, double LimitSigmas, IReadOnlyList<EwmaPoint> Points, IReadOnlyList<ChartSignal> Signals, FalseAlarms FalseAlarms, ChartGround? Ground, StatisticalMethod Method);
