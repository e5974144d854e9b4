namespace Hotlight.Measure.Mottle;

/// <summary>How the variance of the noise goes with the linear signal: variance / signal = coefficient · (signal / reference)^slope.</summary>
/// <remarks>
/// <para>Counted quanta alone give slope 0: variance in proportion to signal. A beam that hardens behind thick tissue (fewer quanta for the same signal) and white noise of the read-out, which weighs more where the signal is low, make it slightly negative.</para>
/// <para>Fitted in logarithms with the weights of least absolute deviations, so that squares whose noise still holds some structure do not pull it.</para>
/// </remarks>
/// <param name="LogCoefficient">ln(variance / signal) at the reference.</param>
/// <param name="Slope">Exponent of the signal.</param>
/// <param name="Reference">Signal of the reference, above 0.</param>
internal readonly record struct NoiseRelation(double LogCoefficient, double Slope, double Reference)
{
    private const int Iterations = 30;

    // Residuals below this are statistical for one square (√(2 / modes) of 64 × 64 pixels under a blur), so they weigh alike.
    private const double LeastResidual = 0.05;

    // Where all squares have one signal the slope is not in the data: 0 for counted quanta, and −0.2 already for a read-out noise of a fifth of the variance.
    private const double PriorSlopeDeviation = 0.15;
    private const double ResidualDeviation = 0.1;

    /// <summary>Variance of the noise at a signal.</summary>
    /// <param name="signal">Linear signal, above 0.</param>
    public double VarianceAt(double signal) => signal * Math.Exp(LogCoefficient + (Slope * Math.Log(signal / Reference)));

    /// <summary>Squared standard deviation over squared signal.</summary>
    /// <param name="signal">Linear signal, above 0.</param>
    public double RelativeVarianceAt(double signal) => VarianceAt(signal) / (signal * signal);

    /// <summary>Fits the relation.</summary>
    /// <param name="signals">Mean signal of each square, above 0.</param>
    /// <param name="variances">Variance of its noise, above 0.</param>
    public static NoiseRelation Fit(ReadOnlySpan<double> signals, ReadOnlySpan<double> variances)
    {
        int count = signals.Length;
        var x = new double[count];
        var y = new double[count];
        var weights = new double[count];
        double middle = 0;
        for (int at = 0; at < count; at++)
        {
            x[at] = Math.Log(signals[at]);
            y[at] = Math.Log(variances[at]) - x[at];
            weights[at] = 1;
            middle += x[at] / count;
        }

        double level = 0;
        double slope = 0;
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            double w = 0, wx = 0, wy = 0, wxx = ResidualDeviation * ResidualDeviation / (PriorSlopeDeviation * PriorSlopeDeviation), wxy = 0;
            for (int at = 0; at < count; at++)
            {
                double offset = x[at] - middle;
                w += weights[at];
                wx += weights[at] * offset;
                wy += weights[at] * y[at];
                wxx += weights[at] * offset * offset;
                wxy += weights[at] * offset * y[at];
            }

            slope = ((w * wxy) - (wx * wy)) / ((w * wxx) - (wx * wx));
            level = (wy - (slope * wx)) / w;
            for (int at = 0; at < count; at++)
            {
                double residual = Math.Abs(y[at] - level - (slope * (x[at] - middle)));
                weights[at] = LeastResidual / Math.Max(residual, LeastResidual);
            }
        }

        return new NoiseRelation(level, slope, Math.Exp(middle));
    }
}
