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
    internal const double ShareUncertainty = 9;

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
        for (int pass = 0; pass < 3; pass++)
        {
            Blur(sum, rows, columns, radius);
            Blur(weight, rows, columns, radius);
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

        const float Diagonal = 1.4142f;
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                int i = (row * columns) + column;
                float least = distance[i];
                least = column > 0 ? Math.Min(least, distance[i - 1] + 1) : least;
                least = row > 0 ? Math.Min(least, distance[i - columns] + 1) : least;
                least = row > 0 && column > 0 ? Math.Min(least, distance[i - columns - 1] + Diagonal) : least;
                distance[i] = row > 0 && column < columns - 1 ? Math.Min(least, distance[i - columns + 1] + Diagonal) : least;
            }
        }

        float most = 0;
        for (int row = rows - 1; row >= 0; row--)
        {
            for (int column = columns - 1; column >= 0; column--)
            {
                int i = (row * columns) + column;
                float least = distance[i];
                least = column < columns - 1 ? Math.Min(least, distance[i + 1] + 1) : least;
                least = row < rows - 1 ? Math.Min(least, distance[i + columns] + 1) : least;
                least = row < rows - 1 && column < columns - 1 ? Math.Min(least, distance[i + columns + 1] + Diagonal) : least;
                distance[i] = row < rows - 1 && column > 0 ? Math.Min(least, distance[i + columns - 1] + Diagonal) : least;
                most = anatomy[i] ? Math.Max(most, distance[i]) : most;
            }
        }

        return most;
    }

    // A running mean along rows and then along columns.
    private static void Blur(float[] values, int rows, int columns, int radius)
    {
        Parallel.For(0, rows, row => BlurLine(values, row * columns, 1, columns, radius));
        Parallel.For(0, columns, column => BlurLine(values, column, columns, rows, radius));
    }

    private static void BlurLine(float[] values, int first, int stride, int count, int radius)
    {
        var copy = new float[count];
        double sum = 0;
        for (int k = 0; k < count; k++)
        {
            copy[k] = values[first + (k * stride)];
            sum += k < radius ? copy[k] : 0;
        }

        for (int k = 0; k < count; k++)
        {
            sum += k + radius < count ? copy[k + radius] : 0;
            sum -= k - radius - 1 >= 0 ? copy[k - radius - 1] : 0;
            values[first + (k * stride)] = (float)(sum / ((2 * radius) + 1));
        }
    }
}
