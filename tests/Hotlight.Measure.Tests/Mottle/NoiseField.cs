namespace Hotlight.Measure.Tests.Mottle;

/// <summary>Noise and texture whose deviation is known in closed form.</summary>
internal sealed class NoiseField
{
    private readonly Random random;

    public NoiseField(int seed) => random = new Random(seed);

    /// <summary>One draw of the standard normal distribution (Box and Muller).</summary>
    public double Gaussian() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    /// <summary>One count of a Poisson process; exact below 400, by its normal limit above.</summary>
    public double Poisson(double mean)
    {
        if (mean > 400)
        {
            return Math.Round(mean + (Math.Sqrt(mean) * Gaussian()));
        }

        double limit = Math.Exp(-mean);
        double product = random.NextDouble();
        int count = 0;
        while (product > limit)
        {
            product *= random.NextDouble();
            count++;
        }

        return count;
    }

    /// <summary>White noise of deviation 1 filtered by a sampled, normalised Gaussian, and scaled back to deviation 1 by the filter's own root of the sum of squares (exact for white input).</summary>
    public double[,] Correlated(int rows, int columns, double blurPixels)
    {
        int reach = blurPixels > 0 ? (int)Math.Ceiling(5 * blurPixels) : 0;
        double[] kernel = Enumerable.Range(-reach, (2 * reach) + 1).Select(x => blurPixels > 0 ? Math.Exp(-x * x / (2 * blurPixels * blurPixels)) : 1).ToArray();
        double root = Math.Sqrt(kernel.Sum(k => k * k));
        kernel = kernel.Select(k => k / root).ToArray();
        var across = new double[rows + (2 * reach), columns];
        var line = new double[columns + (2 * reach)];
        for (int row = 0; row < rows + (2 * reach); row++)
        {
            for (int at = 0; at < line.Length; at++)
            {
                line[at] = Gaussian();
            }

            for (int column = 0; column < columns; column++)
            {
                double sum = 0;
                for (int k = 0; k < kernel.Length; k++)
                {
                    sum += kernel[k] * line[column + k];
                }

                across[row, column] = sum;
            }
        }

        var field = new double[rows, columns];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                double sum = 0;
                for (int k = 0; k < kernel.Length; k++)
                {
                    sum += kernel[k] * across[row + k, column];
                }

                field[row, column] = sum;
            }
        }

        return field;
    }

    /// <summary>Structure with a power of about f⁻³: octaves of random lattices, smoothly joined, each of amplitude ∝ √(wavelength); deviation about 1.</summary>
    public double[,] Texture(int rows, int columns, int finestCell = 2)
    {
        var field = new double[rows, columns];
        double power = 0;
        for (int cell = 250; cell >= finestCell; cell /= 2)
        {
            double amplitude = Math.Sqrt(cell);
            power += amplitude * amplitude * 0.5;
            var lattice = new double[(rows / cell) + 3, (columns / cell) + 3];
            for (int y = 0; y < lattice.GetLength(0); y++)
            {
                for (int x = 0; x < lattice.GetLength(1); x++)
                {
                    lattice[y, x] = Gaussian();
                }
            }

            for (int row = 0; row < rows; row++)
            {
                int y = row / cell;
                double v = Ease((row % cell) / (double)cell);
                for (int column = 0; column < columns; column++)
                {
                    int x = column / cell;
                    double u = Ease((column % cell) / (double)cell);
                    double upper = lattice[y, x] + (u * (lattice[y, x + 1] - lattice[y, x]));
                    double lower = lattice[y + 1, x] + (u * (lattice[y + 1, x + 1] - lattice[y + 1, x]));
                    field[row, column] += amplitude * (upper + (v * (lower - upper)));
                }
            }
        }

        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                field[row, column] /= Math.Sqrt(power);
            }
        }

        return field;
    }

    private static double Ease(double t) => t * t * t * ((t * ((6 * t) - 15)) + 10);
}
