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

    internal static CellRegions Of(bool[] mask, int rows, int columns)
    {
        var label = new int[mask.Length];
        var sizes = new List<int> { 0 };
        var stack = new Stack<int>();
        for (int start = 0; start < mask.Length; start++)
        {
            if (!mask[start] || label[start] != 0)
            {
                continue;
            }

            int number = sizes.Count, size = 0;
            label[start] = number;
            stack.Push(start);
            while (stack.TryPop(out int i))
            {
                size++;
                int row = i / columns, column = i % columns;
                if (row > 0)
                {
                    Visit(i - columns);
                }

                if (row < rows - 1)
                {
                    Visit(i + columns);
                }

                if (column > 0)
                {
                    Visit(i - 1);
                }

                if (column < columns - 1)
                {
                    Visit(i + 1);
                }
            }

            sizes.Add(size);

            void Visit(int i)
            {
                if (mask[i] && label[i] == 0)
                {
                    label[i] = number;
                    stack.Push(i);
                }
            }
        }

        return new CellRegions(label, sizes);
    }
}
