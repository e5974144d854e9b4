using System.Numerics;
using System.Runtime.Intrinsics;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Bone of a limb: what takes away more than the anatomy around it does on the mean.</summary>
/// <remarks>
/// Soft tissue of a limb thickens over centimetres, bone within millimetres. Only a limb with air beside it is judged: in a trunk bone lies over most of the field
/// and soft tissue alone is hardly seen.
/// </remarks>
internal static class BoneCells
{
    /// <summary>One standard deviation of the share, in points, from the phantom lab's limbs (docs/methods/anatomy.md).</summary>
    internal const double ShareUncertainty = 4.5;

    // Standard deviation of the surroundings' weight: half the width of a limb's larger bones, common practice, no source.
    private const double SurroundingsMm = 12;

    // Farther from skin than this lies no limb's axis.
    private const double MostDepthMm = 80;

    /// <summary>The cells under which bone lies; null where bone is not told.</summary>
    /// <param name="smooth">Exposure, one a cell.</param>
    /// <param name="anatomy">Whether a cell is anatomy.</param>
    /// <param name="cells">The field's cells.</param>
    /// <param name="cellMm">Side of a cell in mm at the receptor; null where unknown.</param>
    internal static bool[]? Find(float[] smooth, bool[] anatomy, FieldCells cells, double? cellMm)
    {
        if (cellMm is not { } mm || Depth(anatomy, cells) * mm > MostDepthMm)
        {
            return null;
        }

        int rows = cells.Rows, columns = cells.Columns, radius = Math.Max(1, (int)Math.Round(SurroundingsMm / mm));
        var sum = new float[anatomy.Length];
        var weight = new float[anatomy.Length];
        for (int i = 0; i < anatomy.Length; i++)
        {
            bool counts = anatomy[i] && cells.Kind[i] >= 2;
            sum[i] = counts ? smooth[i] : 0;
            weight[i] = counts ? 1 : 0;
        }

        // Three running means of this half-width have a standard deviation of about their half-width: r·(r + 1)/3 three times.
        var between = new float[anatomy.Length];
        for (int pass = 0; pass < 3; pass++)
        {
            Blur(sum, between, rows, columns, radius);
            Blur(weight, between, rows, columns, radius);
        }

        var bone = new bool[anatomy.Length];
        for (int i = 0; i < bone.Length; i++)
        {
            bone[i] = anatomy[i] && weight[i] > 1e-4f && smooth[i] < sum[i] / weight[i];
        }

        return bone;
    }

    // The greatest distance of anatomy from what is not, in cells; the frame of the field does not count, where anatomy may go on.
    private static double Depth(bool[] anatomy, FieldCells cells)
    {
        int rows = cells.Rows, columns = cells.Columns;
        var distance = new float[anatomy.Length];
        for (int i = 0; i < distance.Length; i++)
        {
            distance[i] = anatomy[i] || cells.Kind[i] < 2 ? 1e9f : 0;
        }

        // Distances of 1 and √2 to the neighbours, once forwards and once backwards (Borgefors, Computer Vision, Graphics and Image Processing 1986;34:344).
        for (int row = 0; row < rows; row++)
        {
            Span<float> line = distance.AsSpan(row * columns, columns);
            if (row > 0)
            {
                FromNext(line, distance.AsSpan((row - 1) * columns, columns));
            }

            for (int column = 1; column < columns; column++)
            {
                line[column] = MathF.Min(line[column], line[column - 1] + 1);
            }
        }

        float most = 0;
        for (int row = rows - 1; row >= 0; row--)
        {
            Span<float> line = distance.AsSpan(row * columns, columns);
            ReadOnlySpan<bool> own = anatomy.AsSpan(row * columns, columns);
            if (row < rows - 1)
            {
                FromNext(line, distance.AsSpan((row + 1) * columns, columns));
            }

            for (int column = columns - 2; column >= 0; column--)
            {
                line[column] = MathF.Min(line[column], line[column + 1] + 1);
            }

            for (int column = 0; column < columns; column++)
            {
                most = own[column] && line[column] < 1e8f ? MathF.Max(most, line[column]) : most;
            }
        }

        return most;
    }

    // What the row above or below offers each cell of a row.
    private static void FromNext(Span<float> line, ReadOnlySpan<float> next)
    {
        const float Diagonal = 1.4142f;
        int columns = line.Length, wide = Vector<float>.Count, column = 1;
        Vector<float> straight = Vector<float>.One, diagonal = new(Diagonal);
        for (; column <= columns - 1 - wide; column += wide)
        {
            Vector<float> least = Vector.Min(new Vector<float>(line[column..]), new Vector<float>(next[column..]) + straight);
            Vector<float> slanted = Vector.Min(new Vector<float>(next[(column - 1)..]), new Vector<float>(next[(column + 1)..])) + diagonal;
            Vector.Min(least, slanted).CopyTo(line[column..]);
        }

        for (int at = 0; at < columns; at = at == 0 ? Math.Max(1, column) : at + 1)
        {
            float least = MathF.Min(line[at], next[at] + 1);
            least = at > 0 ? MathF.Min(least, next[at - 1] + Diagonal) : least;
            line[at] = at < columns - 1 ? MathF.Min(least, next[at + 1] + Diagonal) : least;
        }
    }

    // A running mean along rows and then along columns.
    private static void Blur(float[] values, float[] between, int rows, int columns, int radius)
    {
        const int Lines = 4;
        Parallel.For(0, (rows + Lines - 1) / Lines, part =>
        {
            int row = part * Lines;
            if (row + Lines <= rows)
            {
                BlurRows(values, between, row * columns, columns, radius);
            }
            else
            {
                for (; row < rows; row++)
                {
                    BlurRow(values.AsSpan(row * columns, columns), between.AsSpan(row * columns, columns), radius);
                }
            }
        });
        int bands = Math.Max(1, columns / 64);
        Parallel.For(0, bands, band => BlurColumns(between, values, rows, columns, band * columns / bands, (band + 1) * columns / bands, radius));
    }

    private static void BlurRow(ReadOnlySpan<float> from, Span<float> to, int radius)
    {
        double sum = 0, width = (2 * radius) + 1;
        for (int k = 0; k < Math.Min(radius, from.Length); k++)
        {
            sum += from[k];
        }

        for (int k = 0; k < from.Length; k++)
        {
            sum += k + radius < from.Length ? from[k + radius] : 0;
            sum -= k - radius - 1 >= 0 ? from[k - radius - 1] : 0;
            to[k] = (float)(sum / width);
        }
    }

    // Four rows at a time: each sum waits for the one before, so that four take no longer than one.
    private static void BlurRows(float[] from, float[] to, int first, int columns, int radius)
    {
        ReadOnlySpan<float> a = from.AsSpan(first, columns), b = from.AsSpan(first + columns, columns), c = from.AsSpan(first + (2 * columns), columns), d = from.AsSpan(first + (3 * columns), columns);
        Vector256<double> sums = Vector256<double>.Zero, width = Vector256.Create((2.0 * radius) + 1);
        for (int k = 0; k < Math.Min(radius, columns); k++)
        {
            sums += Vector256.Create(a[k], b[k], c[k], (double)d[k]);
        }

        for (int k = 0; k < columns; k++)
        {
            int entering = k + radius, leaving = k - radius - 1;
            if (entering < columns)
            {
                sums += Vector256.Create(a[entering], b[entering], c[entering], (double)d[entering]);
            }

            if (leaving >= 0)
            {
                sums -= Vector256.Create(a[leaving], b[leaving], c[leaving], (double)d[leaving]);
            }

            Vector256<double> means = sums / width;
            int at = first + k;
            to[at] = (float)means[0];
            to[at + columns] = (float)means[1];
            to[at + (2 * columns)] = (float)means[2];
            to[at + (3 * columns)] = (float)means[3];
        }
    }

    // Down a band of columns, all of them at once.
    private static void BlurColumns(float[] from, float[] to, int rows, int columns, int firstColumn, int endColumn, int radius)
    {
        int count = endColumn - firstColumn, wide = Vector<double>.Count;
        var sums = new double[count];
        var width = new Vector<double>((2.0 * radius) + 1);
        for (int row = 0; row < Math.Min(radius, rows); row++)
        {
            ReadOnlySpan<float> line = from.AsSpan((row * columns) + firstColumn, count);
            for (int k = 0; k < count; k++)
            {
                sums[k] += line[k];
            }
        }

        for (int row = 0; row < rows; row++)
        {
            // Beyond the frame there is nothing to add or to take away.
            ReadOnlySpan<float> entering = row + radius < rows ? from.AsSpan(((row + radius) * columns) + firstColumn, count) : [];
            ReadOnlySpan<float> leaving = row - radius - 1 >= 0 ? from.AsSpan(((row - radius - 1) * columns) + firstColumn, count) : [];
            Span<float> line = to.AsSpan((row * columns) + firstColumn, count);
            int k = 0;
            for (; k <= count - (2 * wide); k += 2 * wide)
            {
                Vector<double> low = new(sums, k), high = new(sums, k + wide);
                if (!entering.IsEmpty)
                {
                    Vector.Widen(new Vector<float>(entering[k..]), out Vector<double> a, out Vector<double> b);
                    low += a;
                    high += b;
                }

                if (!leaving.IsEmpty)
                {
                    Vector.Widen(new Vector<float>(leaving[k..]), out Vector<double> a, out Vector<double> b);
                    low -= a;
                    high -= b;
                }

                low.CopyTo(sums, k);
                high.CopyTo(sums, k + wide);
                Vector.Narrow(low / width, high / width).CopyTo(line[k..]);
            }

            for (; k < count; k++)
            {
                sums[k] += entering.IsEmpty ? 0 : entering[k];
                sums[k] -= leaving.IsEmpty ? 0 : leaving[k];
                line[k] = (float)(sums[k] / ((2.0 * radius) + 1));
            }
        }
    }
}
