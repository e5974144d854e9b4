namespace Hotlight.Measure.Mottle;

/// <summary>The radial power spectrum of soft tissue, parted into noise and the structure of the anatomy.</summary>
/// <remarks>
/// <para>Model: S(f) = A·exp(−b·f²) + C + T·f⁻³ + U·f⁻⁶. The first is quantum noise through the receptor's blur (b = 4π²σ² for a Gaussian of σ pixels; 0 for white noise), the second white noise added after the blur, the third anatomical structure,
/// whose power falls about as f⁻³ in radiographs (Burgess, Jacobson and Judy, Med Phys 2001;28:419, from memory: 3 for breast tissue), the fourth smooth thickness that the quadratic trend left (its cubic part, through the window). Fitted by Whittle's likelihood (least squares with weights from the fitted spectrum, repeated).</para>
/// </remarks>
internal readonly record struct NoiseSpectrum(double Blurred, double Falloff, double White, double Structure, double Thickness)
{
    private const int Shapes = 4;
    private const int Width = Shapes + 1;
    private const int Iterations = 12;
    private const double LargestBlurPixels = 4;

    private const double TailFraction = 0.02;

    // Without a bound, white noise under structure is taken for white noise under a strong, broad blur: +12 % on drawn texture. A receptor's electronic noise is well below its quantum noise at low frequencies.
    private const double MostWhiteOverBlurred = 0.1;

    /// <summary>Power of the noise alone at a frequency.</summary>
    /// <param name="frequency">Cycles per pixel.</param>
    public double NoiseAt(double frequency) => (Blurred * Math.Exp(-Falloff * frequency * frequency)) + White;

    /// <summary>Power of the structure at a frequency above 0.</summary>
    /// <param name="frequency">Cycles per pixel.</param>
    public double StructureAt(double frequency) => (Structure + (Thickness / (frequency * frequency * frequency))) / (frequency * frequency * frequency);

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
            NoiseSpectrum fit = FitAt(4 * Math.PI * Math.PI * blur * blur, frequency, power, modes, firstBin, level, out double loss);
            if (loss < bestLoss)
            {
                bestLoss = loss;
                best = fit;
            }
        }

        return best;
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
                double noise = NoiseAt(Math.Sqrt((fx * fx) + (fy * fy)));
                all += noise;
                left += noise * shares[x] * shares[y];
            }
        }

        return all > 0 ? left / all : 0;
    }

    private static NoiseSpectrum FitAt(double falloff, double[] frequency, double[] power, int[] modes, int firstBin, double level, out double loss)
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
            shapes[0][bin] = Math.Exp(-falloff * f * f);
            shapes[1][bin] = falloff > 0 ? shapes[0][bin] + MostWhiteOverBlurred : 0;
            shapes[2][bin] = 1 / (f * f * f);
            shapes[3][bin] = shapes[2][bin] * shapes[2][bin];
            fitted[bin] = Math.Max(power[bin], 0) + level;
        }

        double[] amplitudes = [];
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            amplitudes = NonNegativeLeastSquares(shapes, power, fitted, modes, firstBin);
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

        return new NoiseSpectrum(amplitudes[0] + amplitudes[1], falloff, MostWhiteOverBlurred * amplitudes[1], amplitudes[2], amplitudes[3]);
    }

    /// <summary>Four amplitudes of 0 or more: of the sixteen choices of which are 0, the best whose solution is not negative.</summary>
    private static double[] NonNegativeLeastSquares(double[][] shapes, double[] power, double[] fitted, int[] modes, int firstBin)
    {
        Span<double> products = stackalloc double[Shapes * Shapes];
        Span<double> sides = stackalloc double[Shapes];
        products.Clear();
        sides.Clear();
        for (int bin = firstBin; bin < power.Length; bin++)
        {
            double weight = modes[bin] / (fitted[bin] * fitted[bin]);
            for (int a = 0; a < Shapes; a++)
            {
                double weighted = weight * shapes[a][bin];
                sides[a] += weighted * power[bin];
                for (int b = 0; b < Shapes; b++)
                {
                    products[(Shapes * a) + b] += weighted * shapes[b][bin];
                }
            }
        }

        double[] best = new double[Shapes];
        double bestGain = 0;
        for (int chosen = 1; chosen < 1 << Shapes; chosen++)
        {
            var solution = new double[Shapes];
            if (!Solve(products, sides, chosen, solution) || solution.Any(amplitude => amplitude < 0))
            {
                continue;
            }

            double gain = (solution[0] * sides[0]) + (solution[1] * sides[1]) + (solution[2] * sides[2]) + (solution[3] * sides[3]);
            if (gain > bestGain)
            {
                bestGain = gain;
                best = solution;
            }
        }

        return best;
    }

    private static bool Solve(ReadOnlySpan<double> products, ReadOnlySpan<double> sides, int chosen, double[] solution)
    {
        Span<int> index = stackalloc int[Shapes];
        int size = 0;
        for (int at = 0; at < Shapes; at++)
        {
            if ((chosen >> at & 1) != 0)
            {
                index[size++] = at;
            }
        }

        Span<double> matrix = stackalloc double[Shapes * Width];
        for (int row = 0; row < size; row++)
        {
            for (int column = 0; column < size; column++)
            {
                matrix[(row * Width) + column] = products[(Shapes * index[row]) + index[column]];
            }

            matrix[(row * Width) + Shapes] = sides[index[row]];
        }

        for (int pivot = 0; pivot < size; pivot++)
        {
            double diagonal = matrix[(pivot * Width) + pivot];
            if (!(diagonal > 1e-12 * products[(Shapes + 1) * index[pivot]]))
            {
                return false;
            }

            for (int row = 0; row < size; row++)
            {
                if (row == pivot)
                {
                    continue;
                }

                double factor = matrix[(row * Width) + pivot] / diagonal;
                for (int column = pivot; column < Width; column++)
                {
                    matrix[(row * Width) + column] -= factor * matrix[(pivot * Width) + column];
                }
            }
        }

        for (int row = 0; row < size; row++)
        {
            solution[index[row]] = matrix[(row * Width) + Shapes] / matrix[(row * Width) + row];
        }

        return true;
    }
}
