namespace Hotlight.Measure.Mottle;

/// <summary>The radial power spectrum of soft tissue, parted into noise and the structure of the anatomy.</summary>
/// <remarks>
/// <para>Model: S(f) = A·B(f) + C + (T·f⁻³ + U·f⁻⁶)·M(f). B is exp(−b·f²), a Gaussian blur, or (1 + b·f²/2)⁻², a scintillator's (Siewerdsen et al., Med Phys 1997, from memory), whichever fits better; M is 1 with the first and B with the second. The first term is quantum noise through the receptor's blur (b = 4π²σ² for a Gaussian of σ pixels; 0 for white noise), the second white noise added after the blur, the third anatomical structure,
/// whose power falls about as f⁻³ in radiographs (Burgess, Jacobson and Judy, Med Phys 2001;28:419, from memory: 3 for breast tissue), the fourth smooth thickness that the quadratic trend left (its cubic part, through the window). Fitted by Whittle's likelihood (least squares with weights from the fitted spectrum, repeated).</para>
/// </remarks>
internal readonly record struct NoiseSpectrum(double Blurred, double Falloff, bool IsScintillator, double White, double Structure, double Thickness)
{
    private const int Shapes = 4;
    private const int Iterations = 12;
    private const double LargestBlurPixels = 4;

    private const double TailFraction = 0.02;

    // Without a bound, white noise under structure is taken for white noise under a strong, broad blur: +12 % on drawn texture. A receptor's electronic noise is well below its quantum noise at low frequencies.
    private const double MostWhiteOverBlurred = 0.1;

    /// <summary>Power of the noise alone at a frequency.</summary>
    /// <param name="frequency">Cycles per pixel.</param>
    public double NoiseAt(double frequency) => (Blurred * BlurAt(Falloff, IsScintillator, frequency)) + White;

    /// <summary>Power of the structure at a frequency above 0.</summary>
    /// <param name="frequency">Cycles per pixel.</param>
    public double StructureAt(double frequency)
        => (Structure + (Thickness / (frequency * frequency * frequency))) / (frequency * frequency * frequency) * (IsScintillator ? BlurAt(Falloff, true, frequency) : 1);

    /// <summary>Fits the model.</summary>
    /// <param name="frequency">Mean frequency of each bin, in cycles per pixel.</param>
    /// <param name="power">Mean power of each bin.</param>
    /// <param name="modes">Number of frequencies in each bin.</param>
    /// <param name="firstBin">First bin used: below it the trend was taken out.</param>
    public static NoiseSpectrum Fit(double[] frequency, double[] power, int[] modes, int firstBin)
    {
        // A level of 2 % of the low frequencies is added to both sides: the deep tail of a strongly blurred spectrum would otherwise rule the fit,
        // though it holds no variance, and forbid any structure (f⁻³ cannot follow it down).
        double level = TailFraction * power.Skip(firstBin).Take(power.Length / 5).Average();
        NoiseSpectrum best = default;
        double bestLoss = double.PositiveInfinity;
        const int Steps = 48;
        for (int step = 0; step <= Steps; step++)
        {
            double blur = LargestBlurPixels * step / Steps;
            for (int kind = 0; kind < (step == 0 ? 1 : 2); kind++)
            {
                NoiseSpectrum fit = FitAt(4 * Math.PI * Math.PI * blur * blur, isScintillator: kind == 1, frequency, power, modes, firstBin, level, out double loss);
                if (loss < bestLoss)
                {
                    bestLoss = loss;
                    best = fit;
                }
            }
        }

        return best;
    }

    /// <summary>Squared transfer of the blur: Gaussian, or a scintillator's 1/(1 + H·f²), squared, with the same curvature at 0.</summary>
    private static double BlurAt(double falloff, bool isScintillator, double frequency)
        => isScintillator
            ? 1 / ((1 + (falloff * frequency * frequency / 2)) * (1 + (falloff * frequency * frequency / 2)))
            : Math.Exp(-falloff * frequency * frequency);

    private static NoiseSpectrum FitAt(double falloff, bool isScintillator, double[] frequency, double[] power, int[] modes, int firstBin, double level, out double loss)
    {
        int count = frequency.Length;
        var fitted = new double[count];
        var shapes = new double[Shapes][];
        for (int shape = 0; shape < Shapes; shape++)
        {
            shapes[shape] = new double[count];
        }

        for (int bin = firstBin; bin < count; bin++)
        {
            double f = frequency[bin];
            shapes[0][bin] = BlurAt(falloff, isScintillator, f);
            shapes[1][bin] = falloff > 0 ? shapes[0][bin] + MostWhiteOverBlurred : 0;
            shapes[2][bin] = (isScintillator ? shapes[0][bin] : 1) / (f * f * f);
            shapes[3][bin] = shapes[2][bin] / (f * f * f);
            fitted[bin] = Math.Max(power[bin], 0) + level;
        }

        Span<double> amplitudes = stackalloc double[NonNegativeLeastSquares.MostShapes];
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            NonNegativeLeastSquares.Fit(shapes, power, fitted, modes, firstBin, amplitudes);
            for (int bin = firstBin; bin < count; bin++)
            {
                double sum = (amplitudes[0] * shapes[0][bin]) + (amplitudes[1] * shapes[1][bin]) + (amplitudes[2] * shapes[2][bin]) + (amplitudes[3] * shapes[3][bin]);
                fitted[bin] = sum + level;
            }
        }

        loss = 0;
        for (int bin = firstBin; bin < count; bin++)
        {
            if (modes[bin] > 0)
            {
                loss += modes[bin] * (Math.Log(fitted[bin]) + ((power[bin] + level) / fitted[bin]));
            }
        }

        return new NoiseSpectrum(amplitudes[0] + amplitudes[1], falloff, isScintillator, MostWhiteOverBlurred * amplitudes[1], amplitudes[2], amplitudes[3]);
    }
}
