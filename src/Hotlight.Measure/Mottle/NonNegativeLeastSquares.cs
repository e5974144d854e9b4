namespace Hotlight.Measure.Mottle;

/// <summary>Weighted least squares for a few shapes with amplitudes of 0 or more.</summary>
internal static class NonNegativeLeastSquares
{
    /// <summary>Most shapes of one fit: the choices of which amplitudes are 0 are all tried.</summary>
    public const int MostShapes = 4;

    private const int Width = MostShapes + 1;

    /// <summary>Amplitudes of 0 or more: of the choices of which are 0, the best whose solution is not negative.</summary>
    /// <param name="shapes">The shapes, one value a bin; at most <see cref="MostShapes"/>.</param>
    /// <param name="power">What they add up to.</param>
    /// <param name="fitted">What the last fit gave, above 0: a bin's deviation is this over the root of its modes.</param>
    /// <param name="modes">Number of frequencies in each bin.</param>
    /// <param name="firstBin">First bin used.</param>
    /// <param name="amplitudes">Receives one amplitude a shape.</param>
    public static void Fit(double[][] shapes, ReadOnlySpan<double> power, ReadOnlySpan<double> fitted, ReadOnlySpan<int> modes, int firstBin, Span<double> amplitudes)
    {
        int count = shapes.Length;
        Span<double> products = stackalloc double[MostShapes * MostShapes];
        Span<double> sides = stackalloc double[MostShapes];
        products.Clear();
        sides.Clear();
        for (int bin = firstBin; bin < power.Length; bin++)
        {
            double weight = modes[bin] / (fitted[bin] * fitted[bin]);
            for (int a = 0; a < count; a++)
            {
                double weighted = weight * shapes[a][bin];
                sides[a] += weighted * power[bin];
                for (int b = a; b < count; b++)
                {
                    products[(MostShapes * a) + b] += weighted * shapes[b][bin];
                }
            }
        }

        for (int a = 0; a < count; a++)
        {
            for (int b = 0; b < a; b++)
            {
                products[(MostShapes * a) + b] = products[(MostShapes * b) + a];
            }
        }

        amplitudes.Clear();
        Span<double> solution = stackalloc double[MostShapes];
        double bestGain = 0;
        for (int chosen = 1; chosen < 1 << count; chosen++)
        {
            solution.Clear();
            if (!Solve(products, sides, chosen, count, solution))
            {
                continue;
            }

            double gain = 0;
            bool isNegative = false;
            for (int a = 0; a < count; a++)
            {
                isNegative |= solution[a] < 0;
                gain += solution[a] * sides[a];
            }

            if (!isNegative && gain > bestGain)
            {
                bestGain = gain;
                solution[..count].CopyTo(amplitudes);
            }
        }
    }

    private static bool Solve(ReadOnlySpan<double> products, ReadOnlySpan<double> sides, int chosen, int count, Span<double> solution)
    {
        Span<int> index = stackalloc int[MostShapes];
        int size = 0;
        for (int at = 0; at < count; at++)
        {
            if ((chosen >> at & 1) != 0)
            {
                index[size++] = at;
            }
        }

        Span<double> matrix = stackalloc double[MostShapes * Width];
        for (int row = 0; row < size; row++)
        {
            for (int column = 0; column < size; column++)
            {
                matrix[(row * Width) + column] = products[(MostShapes * index[row]) + index[column]];
            }

            matrix[(row * Width) + MostShapes] = sides[index[row]];
        }

        for (int pivot = 0; pivot < size; pivot++)
        {
            double diagonal = matrix[(pivot * Width) + pivot];
            if (!(diagonal > 1e-12 * products[(MostShapes + 1) * index[pivot]]))
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
            solution[index[row]] = matrix[(row * Width) + MostShapes] / matrix[(row * Width) + row];
        }

        return true;
    }
}
