namespace Hotlight.Poses;

/// <summary>Small symmetric matrices that are positive definite.</summary>
internal static class Matrices
{
    /// <summary>The lower triangle whose square is the matrix; null where it is not positive definite.</summary>
    public static double[,]? Cholesky(double[,] matrix)
    {
        int count = matrix.GetLength(0);
        double[,] lower = new double[count, count];
        for (int row = 0; row < count; row++)
        {
            for (int column = 0; column <= row; column++)
            {
                double sum = matrix[row, column];
                for (int inner = 0; inner < column; inner++)
                {
                    sum -= lower[row, inner] * lower[column, inner];
                }

                if (row != column)
                {
                    lower[row, column] = sum / lower[column, column];
                }
                else if (sum > 0 && double.IsFinite(sum))
                {
                    lower[row, row] = Math.Sqrt(sum);
                }
                else
                {
                    return null;
                }
            }
        }

        return lower;
    }

    /// <summary>Solves for one right side by a triangle of <see cref="Cholesky"/>.</summary>
    public static double[] Solve(double[,] lower, ReadOnlySpan<double> right)
    {
        int count = right.Length;
        double[] result = right.ToArray();
        for (int row = 0; row < count; row++)
        {
            for (int column = 0; column < row; column++)
            {
                result[row] -= lower[row, column] * result[column];
            }

            result[row] /= lower[row, row];
        }

        for (int row = count - 1; row >= 0; row--)
        {
            for (int column = row + 1; column < count; column++)
            {
                result[row] -= lower[column, row] * result[column];
            }

            result[row] /= lower[row, row];
        }

        return result;
    }

    /// <summary>The inverse; null where the matrix is not positive definite.</summary>
    public static double[,]? Inverse(double[,] matrix)
    {
        int count = matrix.GetLength(0);
        if (Cholesky(matrix) is not { } lower)
        {
            return null;
        }

        double[,] inverse = new double[count, count];
        double[] unit = new double[count];
        for (int column = 0; column < count; column++)
        {
            Array.Clear(unit);
            unit[column] = 1;
            double[] solved = Solve(lower, unit);
            for (int row = 0; row < count; row++)
            {
                inverse[row, column] = solved[row];
            }
        }

        return inverse;
    }

    /// <summary>Twice the sum of the logarithms of a triangle's diagonal: the logarithm of its square's determinant.</summary>
    public static double LogDeterminant(double[,] lower)
    {
        double sum = 0;
        for (int row = 0; row < lower.GetLength(0); row++)
        {
            sum += 2 * Math.Log(lower[row, row]);
        }

        return sum;
    }
}
