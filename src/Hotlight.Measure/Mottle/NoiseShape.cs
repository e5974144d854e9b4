namespace Hotlight.Measure.Mottle;

/// <summary>The radial power spectrum of noise of variance 1: how a receptor's blur correlates it, the same at every place of one image.</summary>
internal sealed class NoiseShape
{
    private const int FirstWholeBin = 3;

    private readonly int side;

    private NoiseShape(double[] power, int side, bool isFromDirectExposure)
    {
        Power = power;
        this.side = side;
        IsFromDirectExposure = isFromDirectExposure;
    }

    /// <summary>Power of each radial bin; the mean over all frequencies is 1.</summary>
    public double[] Power { get; }

    /// <summary>Power towards frequency 0, over the variance of a single pixel: 1 for white noise, more for noise through a blur.</summary>
    public double AtZero => Power[0];

    /// <summary>Whether it was read from direct exposure, where there is no structure, and not from a model of the tissue's spectrum.</summary>
    public bool IsFromDirectExposure { get; }

    /// <summary>The mean spectrum of squares of direct exposure.</summary>
    /// <param name="squares">Squares that hold noise and a smooth trend alone; at least one.</param>
    /// <param name="periodograms">What made their spectra.</param>
    public static NoiseShape OfDirectExposure(IReadOnlyCollection<Square> squares, PeriodogramSquares periodograms)
    {
        var power = new double[periodograms.Bins];
        foreach (Square square in squares)
        {
            for (int bin = 0; bin < power.Length; bin++)
            {
                power[bin] += square.Power[bin] / square.PowerAbove;
            }
        }

        // The trend was taken out of the lowest bins, and what is left of a heel effect and of scatter beside the part lies there too: they take what the model of noise through a blur gives.
        NoiseSpectrum spectrum = NoiseSpectrum.Fit(periodograms.MeanFrequency, power, periodograms.Modes, firstBin: 2);
        for (int bin = 0; bin < FirstWholeBin; bin++)
        {
            power[bin] = spectrum.NoiseAt(periodograms.MeanFrequency[bin]);
        }

        return Normalised(power, periodograms, isFromDirectExposure: true);
    }

    /// <summary>The noise of a fitted model.</summary>
    /// <param name="spectrum">The model.</param>
    /// <param name="periodograms">The bins.</param>
    public static NoiseShape Of(NoiseSpectrum spectrum, PeriodogramSquares periodograms)
    {
        var power = new double[periodograms.Bins];
        for (int bin = 0; bin < power.Length; bin++)
        {
            power[bin] = spectrum.NoiseAt(periodograms.MeanFrequency[bin]);
        }

        return Normalised(power, periodograms, isFromDirectExposure: false);
    }

    /// <summary>Power at a frequency, straight between the bins.</summary>
    /// <param name="frequency">Cycles per pixel.</param>
    public double At(double frequency)
    {
        double at = Math.Min(frequency * side, Power.Length - 1.001);
        int lower = (int)at;
        return Power[lower] + ((at - lower) * (Power[lower + 1] - Power[lower]));
    }

    /// <summary>Variance left after averaging square cells, over the variance of single pixels.</summary>
    /// <param name="cellPixels">Side of a cell, in pixels, 1 or more.</param>
    public double VarianceShareAfterAveraging(double cellPixels)
    {
        const int Samples = 96;
        Span<double> shares = stackalloc double[Samples];
        for (int at = 0; at < Samples; at++)
        {
            double f = (at + 0.5) / (2 * Samples);
            double sinc = Math.Sin(Math.PI * cellPixels * f) / (cellPixels * Math.Sin(Math.PI * f));
            shares[at] = sinc * sinc;
        }

        double all = 0;
        double left = 0;
        for (int y = 0; y < Samples; y++)
        {
            for (int x = 0; x < Samples; x++)
            {
                double fx = (x + 0.5) / (2 * Samples);
                double fy = (y + 0.5) / (2 * Samples);
                double noise = At(Math.Sqrt((fx * fx) + (fy * fy)));
                all += noise;
                left += noise * shares[x] * shares[y];
            }
        }

        return all > 0 ? left / all : 0;
    }

    private static NoiseShape Normalised(double[] power, PeriodogramSquares periodograms, bool isFromDirectExposure)
    {
        double sum = 0;
        for (int bin = 0; bin < power.Length; bin++)
        {
            sum += power[bin] * periodograms.Modes[bin] / ((double)periodograms.Side * periodograms.Side);
        }

        for (int bin = 0; bin < power.Length; bin++)
        {
            power[bin] /= sum;
        }

        return new NoiseShape(power, periodograms.Side, isFromDirectExposure);
    }
}
