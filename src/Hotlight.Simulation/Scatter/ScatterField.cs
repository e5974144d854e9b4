using Hotlight.Core;

namespace Hotlight.Simulation.Scatter;

/// <summary>Scatter over the receptor, inside and outside the beam.</summary>
internal static class ScatterField
{
    /// <summary>Side of a cell of the coarse grid on which scatter is computed, in mm.</summary>
    public const double CellMm = 4;

    /// <summary>Scatter without a grid, in the unit of the primary, a new block of the same size.</summary>
    /// <param name="primary">Primary radiation at the receptor without a grid, collimated; not changed.</param>
    /// <param name="waterEquivalentMm">Water with the same scatter that each pixel's ray crosses, in mm: mass crossed in g/cm² times 10 is near enough for tissue.</param>
    /// <param name="kernel">The kernel of beam and air gap.</param>
    /// <param name="spacingMm">Distance of pixel centres, in mm.</param>
    /// <param name="samplesAcross">Pixels along a cell's side that are looked at, 1 or more.</param>
    /// <remarks>
    /// Each place of the part sends its primary times its kernel; the kernels are those of its own thickness. Nothing scatters in from outside the receptor.
    /// Cells of 4 mm, each from up to 16 pixels of it (4 in a quick picture); between cells by straight lines: an error below 1 % of the scatter away from the beam's edges.
    /// </remarks>
    public static Raster<float> Behind(Raster<float> primary, Raster<float> waterEquivalentMm, ScatterKernel kernel, double spacingMm, int samplesAcross = 4)
    {
        if (primary.Rows != waterEquivalentMm.Rows || primary.Columns != waterEquivalentMm.Columns)
        {
            throw new ArgumentException($"The thickness has {waterEquivalentMm.Rows} rows of {waterEquivalentMm.Columns}; the primary has {primary.Rows} of {primary.Columns}.", nameof(waterEquivalentMm));
        }

        int side = Math.Max(1, (int)Math.Round(CellMm / Preconditions.AboveZero(spacingMm)));
        int rows = ((primary.Rows - 1) / side) + 1;
        int columns = ((primary.Columns - 1) / side) + 1;
        double cellMm = side * spacingMm;
        int kinds = ScatterKernel.SigmasMm.Count;
        float[][] sources = new float[kinds][];
        for (int j = 0; j < kinds; j++)
        {
            sources[j] = new float[rows * columns];
        }

        int stride = Math.Max(1, side / samplesAcross);
        Parallel.For(0, rows, row =>
        {
            Span<float> shares = stackalloc float[kinds];
            Span<float> sums = stackalloc float[kinds];
            for (int column = 0; column < columns; column++)
            {
                sums.Clear();
                int count = 0;
                for (int y = (row * side) + (stride / 2); y < Math.Min((row + 1) * side, primary.Rows); y += stride)
                {
                    ReadOnlySpan<float> line = primary.Row(y);
                    ReadOnlySpan<float> water = waterEquivalentMm.Row(y);
                    for (int x = (column * side) + (stride / 2); x < Math.Min((column + 1) * side, primary.Columns); x += stride)
                    {
                        count++;
                        if (line[x] > 0 && water[x] > 0)
                        {
                            kernel.SharesAt(water[x], shares);
                            for (int j = 0; j < kinds; j++)
                            {
                                sums[j] += line[x] * shares[j];
                            }
                        }
                    }
                }

                for (int j = 0; j < kinds; j++)
                {
                    sources[j][(row * columns) + column] = count == 0 ? 0 : sums[j] / count;
                }
            }
        });
        float[] field = new float[rows * columns];
        float[][] spread = new float[kinds][];
        Parallel.For(0, kinds, j => spread[j] = Spread(sources[j], rows, columns, ScatterKernel.SigmasMm[j] / cellMm));
        for (int j = 0; j < kinds; j++)
        {
            for (int k = 0; k < field.Length; k++)
            {
                field[k] += spread[j][k];
            }
        }

        return Enlarged(field, rows, columns, side, primary.Rows, primary.Columns);
    }

    // Gaussian integrated over cells, nothing beyond the edge.
    private static float[] Spread(float[] source, int rows, int columns, double sigmaCells)
    {
        int reach = Math.Min(Math.Max(rows, columns), (int)Math.Ceiling(4 * sigmaCells) + 1);
        float[] weights = new float[reach + 1];
        for (int k = 0; k <= reach; k++)
        {
            weights[k] = (float)(NormalShare((k + 0.5) / sigmaCells) - NormalShare((k - 0.5) / sigmaCells));
        }

        float[] across = new float[source.Length];
        for (int row = 0; row < rows; row++)
        {
            Pass(source, across, row * columns, 1, columns, weights);
        }

        float[] both = new float[source.Length];
        for (int column = 0; column < columns; column++)
        {
            Pass(across, both, column, columns, rows, weights);
        }

        return both;
    }

    private static void Pass(float[] from, float[] to, int start, int step, int count, float[] weights)
    {
        int reach = weights.Length - 1;
        for (int at = 0; at < count; at++)
        {
            float sum = 0;
            for (int k = Math.Max(0, at - reach); k <= Math.Min(count - 1, at + reach); k++)
            {
                sum += from[start + (k * step)] * weights[Math.Abs(k - at)];
            }

            to[start + (at * step)] = sum;
        }
    }

    // Φ by Abramowitz and Stegun 7.1.26 with |error| below 1.5e-7.
    private static double NormalShare(double z)
    {
        double x = Math.Abs(z) / Math.Sqrt(2);
        double t = 1 / (1 + (0.3275911 * x));
        double tail = t * (0.254829592 + (t * (-0.284496736 + (t * (1.421413741 + (t * (-1.453152027 + (t * 1.061405429)))))))) * Math.Exp(-x * x);
        return z >= 0 ? 1 - (0.5 * tail) : 0.5 * tail;
    }

    private static Raster<float> Enlarged(float[] field, int rows, int columns, int side, int fullRows, int fullColumns)
    {
        Raster<float> full = new(fullRows, fullColumns);
        Parallel.For(0, fullRows, row =>
        {
            float y = Math.Clamp(((row + 0.5f) / side) - 0.5f, 0, rows - 1);
            int top = Math.Min((int)y, Math.Max(0, rows - 2));
            int bottom = Math.Min(top + 1, rows - 1);
            float down = y - top;
            Span<float> line = stackalloc float[columns];
            for (int column = 0; column < columns; column++)
            {
                float upper = field[(top * columns) + column];
                line[column] = upper + ((field[(bottom * columns) + column] - upper) * down);
            }

            Span<float> to = full.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                float x = Math.Clamp(((column + 0.5f) / side) - 0.5f, 0, columns - 1);
                int left = Math.Min((int)x, Math.Max(0, columns - 2));
                int right = Math.Min(left + 1, columns - 1);
                to[column] = line[left] + ((line[right] - line[left]) * (x - left));
            }
        });
        return full;
    }
}
