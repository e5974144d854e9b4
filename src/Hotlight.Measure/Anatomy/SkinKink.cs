using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Whether what was taken for direct exposure ends as direct exposure does: even up to the skin, and falling from there on.</summary>
/// <remarks>
/// A body of any round shape begins at its skin with no thickness and at once grows thick (its thickness goes with the root of the depth), so exposure has a
/// kink there. A level within the body, such as lung or a flank, falls off on both sides of any threshold that is put through it.
/// </remarks>
internal static class SkinKink
{
    // Fall from five cells to one cell inside over fall from one cell to five cells outside: direct exposure in the phantom lab 0.01 to 0.15 (0.3 where a
    // second level lay in it), levels within the body 0.4 to 1.5.
    private const double MostRatio = 0.35;
    private const int Reach = 6;
    private const int LeastPlaces = 40;

    /// <summary>Judges the border of a region of cells.</summary>
    /// <param name="exposure">Exposure, one a cell.</param>
    /// <param name="level">Direct exposure expected at each cell.</param>
    /// <param name="direct">Whether a cell is taken for direct exposure.</param>
    /// <param name="cells">The field's cells.</param>
    internal static bool IsSeen(float[] exposure, float[] level, bool[] direct, FieldCells cells)
    {
        int rows = cells.Rows, columns = cells.Columns, places = 0;
        double inside = 0, outside = 0;
        for (int row = Reach; row < rows - Reach; row++)
        {
            for (int column = Reach; column < columns - Reach; column++)
            {
                int i = (row * columns) + column;
                if (cells.Kind[i] < 3 || !IsDirect(i))
                {
                    continue;
                }

                foreach (int offset in (ReadOnlySpan<int>)[1, -1, columns, -columns])
                {
                    if (!IsDirect(i + offset) && IsClean(i, offset))
                    {
                        places++;
                        inside += Missing(i) - Missing(i - (4 * offset));
                        outside += Missing(i + (5 * offset)) - Missing(i + offset);
                    }
                }
            }
        }

        // Too little of a border to judge by: a field of air, or skin that runs along its side.
        return places < LeastPlaces || inside <= MostRatio * outside;

        double Missing(int i) => level[i] - exposure[i];

        bool IsDirect(int i) => direct[i];

        bool IsClean(int i, int offset)
        {
            for (int k = 1; k < Reach; k++)
            {
                if (cells.Kind[i + (k * offset)] < 2 || !IsDirect(i - (k * offset)))
                {
                    return false;
                }
            }

            return true;
        }
    }
}
