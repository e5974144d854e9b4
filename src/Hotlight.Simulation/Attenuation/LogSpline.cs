namespace Hotlight.Simulation.Attenuation;

/// <summary>Cubic spline of log y against log x with not-a-knot ends; straight pieces where there are fewer than four points.</summary>
internal sealed class LogSpline
{
    private readonly double[] x;
    private readonly double[] y;
    private readonly double[] curvature;

    public LogSpline(double[] abscissae, double[] values)
    {
        x = [.. abscissae.Select(value => Math.Log(value))];
        y = [.. values.Select(value => Math.Log(value))];
        curvature = x.Length < 4 ? new double[x.Length] : Curvatures(x, y);
    }

    /// <summary>The value at an abscissa; beyond the ends the last piece goes on.</summary>
    public double At(double abscissa)
    {
        double at = Math.Log(abscissa);
        int k = 1;
        while (k < x.Length - 1 && at > x[k])
        {
            k++;
        }

        if (x.Length == 1)
        {
            return Math.Exp(y[0]);
        }

        double h = x[k] - x[k - 1];
        double a = (x[k] - at) / h;
        double b = 1 - a;
        return Math.Exp((a * y[k - 1]) + (b * y[k])
            + (((a * ((a * a) - 1) * curvature[k - 1]) + (b * ((b * b) - 1) * curvature[k])) * h * h / 6));
    }

    // Second derivatives at the points: continuity of the slope inside, of the third derivative at the second and the last but one point.
    private static double[] Curvatures(double[] x, double[] y)
    {
        int n = x.Length;
        double[,] matrix = new double[n, n + 1];
        double H(int k) => x[k + 1] - x[k];
        double Slope(int k) => (y[k + 1] - y[k]) / H(k);
        for (int k = 1; k < n - 1; k++)
        {
            matrix[k, k - 1] = H(k - 1);
            matrix[k, k] = 2 * (H(k - 1) + H(k));
            matrix[k, k + 1] = H(k);
            matrix[k, n] = 6 * (Slope(k) - Slope(k - 1));
        }

        matrix[0, 0] = H(1);
        matrix[0, 1] = -(H(0) + H(1));
        matrix[0, 2] = H(0);
        matrix[n - 1, n - 3] = H(n - 2);
        matrix[n - 1, n - 2] = -(H(n - 3) + H(n - 2));
        matrix[n - 1, n - 1] = H(n - 3);
        return Solved(matrix, n);
    }

    // Gaussian elimination with row exchange; a stretch has fewer than twenty points.
    private static double[] Solved(double[,] matrix, int n)
    {
        for (int column = 0; column < n; column++)
        {
            int pivot = column;
            for (int row = column + 1; row < n; row++)
            {
                if (Math.Abs(matrix[row, column]) > Math.Abs(matrix[pivot, column]))
                {
                    pivot = row;
                }
            }

            for (int k = column; k <= n; k++)
            {
                (matrix[column, k], matrix[pivot, k]) = (matrix[pivot, k], matrix[column, k]);
            }

            for (int row = column + 1; row < n; row++)
            {
                double factor = matrix[row, column] / matrix[column, column];
                for (int k = column; k <= n; k++)
                {
                    matrix[row, k] -= factor * matrix[column, k];
                }
            }
        }

        double[] solution = new double[n];
        for (int row = n - 1; row >= 0; row--)
        {
            double sum = matrix[row, n];
            for (int k = row + 1; k < n; k++)
            {
                sum -= matrix[row, k] * solution[k];
            }

            solution[row] = sum / matrix[row, row];
        }

        return solution;
    }
}
