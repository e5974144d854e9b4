using System.Buffers;
using System.Numerics;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>A plane or quadratic surface fitted to chosen cells by least squares, slightly ridged towards flat so that it does not swing where there are none.</summary>
internal static class SurfaceFit
{
    // A surface of six terms is as well known from these as from all cells.
    private const int MostSamples = 20_000;

    /// <summary>The surface at each cell, but never above a ceiling.</summary>
    /// <param name="surface">Coefficients of 1, x, y, x², xy, y², with x and y from −1 to 1 over columns and rows.</param>
    /// <param name="rows">Rows.</param>
    /// <param name="columns">Columns.</param>
    /// <param name="ceiling">The most that a cell gets.</param>
    /// <param name="level">Rows × columns, filled.</param>
    internal static void Evaluate(double[] surface, int rows, int columns, double ceiling, float[] level)
    {
        // What depends on the column alone, once for all rows.
        double[] alone = ArrayPool<double>.Shared.Rent(columns), square = ArrayPool<double>.Shared.Rent(columns), mixed = ArrayPool<double>.Shared.Rent(columns);
        for (int column = 0; column < columns; column++)
        {
            double x = (2.0 * column / columns) - 1;
            alone[column] = surface[0] + (surface[1] * x);
            square[column] = surface[3] * x * x;
            mixed[column] = surface[4] * x;
        }

        int wide = Vector<double>.Count;
        var top = new Vector<double>(ceiling);
        for (int row = 0; row < rows; row++)
        {
            double y = (2.0 * row / rows) - 1, slope = surface[2] * y, last = surface[5] * y * y;
            Span<float> line = level.AsSpan(row * columns, columns);
            int column = 0;
            for (; column <= columns - (2 * wide); column += 2 * wide)
            {
                Vector.Narrow(Lane(column), Lane(column + wide)).CopyTo(line[column..]);
            }

            for (; column < columns; column++)
            {
                line[column] = (float)Math.Min(ceiling, alone[column] + slope + square[column] + (mixed[column] * y) + last);
            }

            Vector<double> Lane(int at)
                => Vector.Min(top, new Vector<double>(alone, at) + new Vector<double>(slope) + new Vector<double>(square, at) + (new Vector<double>(mixed, at) * y) + new Vector<double>(last));
        }

        ArrayPool<double>.Shared.Return(alone);
        ArrayPool<double>.Shared.Return(square);
        ArrayPool<double>.Shared.Return(mixed);
    }

    internal static bool Fit(float[] values, bool[] chosen, int rows, int columns, int terms, ref double[] surface, out double sigma)
    {
        sigma = 0;
        var normal = new double[6, 7];
        int count = 0, stride = Math.Max(1, values.Length / MostSamples), most = (values.Length / stride) + 1;
        double[] bases = ArrayPool<double>.Shared.Rent(6 * most), samples = ArrayPool<double>.Shared.Rent(most);
        try
        {
            for (int i = 0; i < values.Length; i += stride)
            {
                if (chosen[i])
                {
                    int row = i / columns;
                    Basis(i - (row * columns), row, columns, rows, bases.AsSpan(6 * count, 6));
                    samples[count++] = values[i];
                }
            }

            if (count < 20)
            {
                return false;
            }

            Sum(bases, samples, count, terms, surface[0], normal);
            for (int a = 1; a < terms; a++)
            {
                normal[a, a] += 0.002 * count;
            }

            var solved = new double[6];
            if (!Solve(normal, terms, solved))
            {
                return false;
            }

            solved[0] += surface[0];
            for (int k = 0; k < count; k++)
            {
                ReadOnlySpan<double> basis = bases.AsSpan(6 * k, 6);
                double fitted = solved[0] + (solved[1] * basis[1]) + (solved[2] * basis[2]) + (solved[3] * basis[1] * basis[1]) + (solved[4] * basis[1] * basis[2]) + (solved[5] * basis[2] * basis[2]);
                samples[k] = Math.Abs(samples[k] - fitted);
            }

            sigma = OrderStatistic.At(samples.AsSpan(0, count), count / 2) / 0.6745;
            surface = solved;
            return true;
        }
        finally
        {
            ArrayPool<double>.Shared.Return(bases);
            ArrayPool<double>.Shared.Return(samples);
        }
    }

    // The normal equations: sums of products of the basis, and of the basis with what the values have above the middle.
    private static void Sum(double[] bases, double[] samples, int count, int terms, double middle, double[,] normal)
    {
        Span<double> sums = stackalloc double[6 * 7];
        sums.Clear();
        for (int k = 0; k < count; k++)
        {
            ReadOnlySpan<double> basis = bases.AsSpan(6 * k, 6);
            double value = samples[k] - middle;
            for (int a = 0; a < terms; a++)
            {
                double own = basis[a];
                for (int b = a; b < terms; b++)
                {
                    sums[(7 * a) + b] += own * basis[b];
                }

                sums[(7 * a) + 6] += own * value;
            }
        }

        for (int a = 0; a < terms; a++)
        {
            for (int b = 0; b < terms; b++)
            {
                normal[a, b] = sums[(7 * Math.Min(a, b)) + Math.Max(a, b)];
            }

            normal[a, 6] = sums[(7 * a) + 6];
        }
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
