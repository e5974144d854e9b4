namespace Hotlight.Measure.Anatomy;

/// <summary>A plane or quadratic surface fitted to chosen cells by least squares, slightly ridged towards flat so that it does not swing where there are none.</summary>
internal static class SurfaceFit
{
    // A surface of six terms is as well known from these as from all cells.
    private const int MostSamples = 20_000;

    internal static double At(double[] surface, int column, int row, int columns, int rows)
    {
        double x = (2.0 * column / columns) - 1, y = (2.0 * row / rows) - 1;
        return surface[0] + (surface[1] * x) + (surface[2] * y) + (surface[3] * x * x) + (surface[4] * x * y) + (surface[5] * y * y);
    }

    internal static bool Fit(float[] values, bool[] chosen, int rows, int columns, int terms, ref double[] surface, out double sigma)
    {
        sigma = 0;
        var normal = new double[6, 7];
        int count = 0, stride = Math.Max(1, values.Length / MostSamples);
        Span<double> basis = stackalloc double[6];
        double middle = surface[0];
        for (int i = 0; i < values.Length; i += stride)
        {
            if (!chosen[i])
            {
                continue;
            }

            Basis(i % columns, i / columns, columns, rows, basis);
            double value = values[i] - middle;
            for (int a = 0; a < terms; a++)
            {
                for (int b = 0; b < terms; b++)
                {
                    normal[a, b] += basis[a] * basis[b];
                }

                normal[a, 6] += basis[a] * value;
            }

            count++;
        }

        if (count < 20)
        {
            return false;
        }

        for (int a = 1; a < terms; a++)
        {
            normal[a, a] += 0.002 * count;
        }

        var solved = new double[6];
        if (!Solve(normal, terms, solved))
        {
            return false;
        }

        solved[0] += middle;
        var residuals = new List<double>();
        for (int i = 0; i < values.Length; i += stride)
        {
            if (chosen[i])
            {
                residuals.Add(Math.Abs(values[i] - At(solved, i % columns, i / columns, columns, rows)));
            }
        }

        residuals.Sort();
        sigma = residuals[residuals.Count / 2] / 0.6745;
        surface = solved;
        return true;
    }

    private static void Basis(int column, int row, int columns, int rows, Span<double> basis)
    {
        double x = (2.0 * column / columns) - 1, y = (2.0 * row / rows) - 1;
        basis[0] = 1;
        basis[1] = x;
        basis[2] = y;
        basis[3] = x * x;
        basis[4] = x * y;
        basis[5] = y * y;
    }

    private static bool Solve(double[,] m, int n, double[] solution)
    {
        for (int a = 0; a < n; a++)
        {
            int pivot = a;
            for (int r = a + 1; r < n; r++)
            {
                if (Math.Abs(m[r, a]) > Math.Abs(m[pivot, a]))
                {
                    pivot = r;
                }
            }

            if (Math.Abs(m[pivot, a]) < 1e-12)
            {
                return false;
            }

            for (int c = 0; c < 7; c++)
            {
                (m[a, c], m[pivot, c]) = (m[pivot, c], m[a, c]);
            }

            for (int r = 0; r < n; r++)
            {
                if (r != a)
                {
                    double f = m[r, a] / m[a, a];
                    for (int c = a; c < 7; c++)
                    {
                        m[r, c] -= f * m[a, c];
                    }
                }
            }
        }

        for (int a = 0; a < n; a++)
        {
            solution[a] = m[a, 6] / m[a, a];
        }

        return true;
    }
}
