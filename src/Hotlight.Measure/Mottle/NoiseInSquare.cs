namespace Hotlight.Measure.Mottle;

/// <summary>The noise of one square, parted from the structure under it by a known spectrum of the noise.</summary>
/// <param name="Square">The square.</param>
/// <param name="Variance">Variance of the noise, rounding taken off.</param>
/// <param name="StructureShare">Power of structure above 0.08 cycles per pixel over the variance of the noise.</param>
/// <param name="Steps">Standard deviation of the noise in grey steps of the file.</param>
/// <remarks>
/// Model: P(f) = A·Q(f) + C + Q(f)·(T·f⁻³ + U·f⁻⁶), no amplitude below 0. Q is the spectrum of the noise; C white noise added after the blur, which counts more where the signal is low;
/// the last two are structure of the anatomy and smooth thickness, which come through the same blur as the noise. Fitted by Whittle's likelihood (least squares with weights from the fit, repeated).
/// </remarks>
internal readonly record struct NoiseInSquare(Square Square, double Variance, double StructureShare, double Steps)
{
    private const int FirstBin = 2;
    private const int Iterations = 8;

    // As in NoiseSpectrum: a deep tail holds no variance and must not rule the fit.
    private const double TailFraction = 0.005;

    /// <summary>Parts the spectrum of a square.</summary>
    /// <param name="square">The square.</param>
    /// <param name="shape">The noise's spectrum.</param>
    /// <param name="periodograms">What made the square's spectrum.</param>
    /// <param name="step">Grey step in units of the signal at the square's mean.</param>
    public static NoiseInSquare Of(Square square, NoiseShape shape, PeriodogramSquares periodograms, double step)
    {
        int bins = periodograms.Bins;
        double rounding = step * step / 12;
        var shapes = new double[NonNegativeLeastSquares.MostShapes][];
        for (int at = 0; at < shapes.Length; at++)
        {
            shapes[at] = new double[bins];
        }

        Span<double> power = stackalloc double[bins];
        Span<double> fitted = stackalloc double[bins];
        double level = 0;
        for (int bin = FirstBin; bin < bins; bin++)
        {
            double f = periodograms.MeanFrequency[bin];
            double noise = shape.Power[bin];
            shapes[0][bin] = noise;
            shapes[1][bin] = 1;
            shapes[2][bin] = noise / (f * f * f);
            shapes[3][bin] = shapes[2][bin] / (f * f * f);
            power[bin] = square.Power[bin] - rounding;
            level = Math.Max(level, TailFraction * square.Power[bin] * (bin >= Square.FirstBinAbove(square.Side) ? 1 : 0));
        }

        for (int bin = FirstBin; bin < bins; bin++)
        {
            fitted[bin] = Math.Max(power[bin], 0) + level;
        }

        Span<double> amplitudes = stackalloc double[NonNegativeLeastSquares.MostShapes];
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            NonNegativeLeastSquares.Fit(shapes, power, fitted, periodograms.Modes, FirstBin, amplitudes);
            for (int bin = FirstBin; bin < bins; bin++)
            {
                fitted[bin] = level;
                for (int at = 0; at < shapes.Length; at++)
                {
                    fitted[bin] += amplitudes[at] * shapes[at][bin];
                }
            }
        }

        double variance = amplitudes[0] + amplitudes[1];
        double structure = 0;
        for (int bin = Square.FirstBinAbove(square.Side); bin < bins; bin++)
        {
            structure += ((amplitudes[2] * shapes[2][bin]) + (amplitudes[3] * shapes[3][bin])) * periodograms.Modes[bin];
        }

        structure /= (double)square.Side * square.Side;
        return new NoiseInSquare(square, variance, variance > 0 ? structure / variance : double.PositiveInfinity, step > 0 ? Math.Sqrt(variance) / step : double.PositiveInfinity);
    }
}
