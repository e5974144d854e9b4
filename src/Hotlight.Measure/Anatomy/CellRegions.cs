namespace Hotlight.Measure.Anatomy;

/// <summary>Connected regions of a mask of cells (4-neighbours).</summary>
internal sealed class CellRegions
{
    private CellRegions(int[] label, List<int> sizes)
    {
        Label = label;
        Sizes = sizes;
    }

    /// <summary>Number of each cell's region from 1, 0 where the mask is false.</summary>
    internal int[] Label { get; }

    /// <summary>Cells of each region; entry 0 is unused.</summary>
    internal List<int> Sizes { get; }

    internal static CellRegions Of(ReadOnlySpan<bool> mask, int rows, int columns)
    {
        var runs = new CellRuns { Columns = columns };
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<bool> line = mask.Slice(row * columns, columns);
            runs.BeginRow(isBelow: row > 0);
            for (int column = 0; column < columns;)
            {
                int start = line[column..].IndexOf(true);
                if (start < 0)
                {
                    break;
                }

                start += column;
                int length = line[start..].IndexOf(false), end = length < 0 ? columns : start + length;
                runs.Add(row * columns, start, end, isMarked: false);
                column = end;
            }
        }

        // A region's root is its first run, so that regions are numbered by their first cells.
        var label = new int[mask.Length];
        var sizes = new List<int> { 0 };
        var numbers = new int[runs.Count];
        for (int run = 0; run < runs.Count; run++)
        {
            int root = runs.Root(run), start = runs.Start(run), length = runs.End(run) - start;
            if (root == run)
            {
                numbers[run] = sizes.Count;
                sizes.Add(0);
            }

            sizes[numbers[root]] += length;
            label.AsSpan(start, length).Fill(numbers[root]);
        }

        return new CellRegions(label, sizes);
    }
}
