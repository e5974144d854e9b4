namespace Hotlight.Measure.Anatomy;

/// <summary>Runs of cells along rows, joined where they touch a run of the row above (4-neighbours): regions without visiting each cell's neighbours.</summary>
/// <remarks>Rosenfeld and Pfaltz, Journal of the ACM 1966;13:471: runs and equivalences.</remarks>
internal sealed class CellRuns
{
    private int[] starts = new int[1024];
    private int[] ends = new int[1024];
    private int[] parents = new int[1024];
    private bool[] marks = new bool[1024];
    private int rowFirst;
    private int above;
    private int aboveEnd;

    /// <summary>Cells in a row.</summary>
    internal required int Columns { get; init; }

    /// <summary>Runs so far.</summary>
    internal int Count { get; private set; }

    /// <summary>Forgets all runs.</summary>
    internal void Clear()
    {
        Count = 0;
        rowFirst = above = aboveEnd = 0;
    }

    /// <summary>Begins the next row.</summary>
    /// <param name="isBelow">Whether it lies right below the row before.</param>
    internal void BeginRow(bool isBelow)
    {
        above = isBelow ? rowFirst : Count;
        aboveEnd = Count;
        rowFirst = Count;
    }

    /// <summary>Adds the next run of the row; columns ascend.</summary>
    /// <param name="row">Index of the row's first cell.</param>
    /// <param name="start">Column of the first cell.</param>
    /// <param name="end">Column after the last cell.</param>
    /// <param name="isMarked">Whether its region is marked by it.</param>
    internal void Add(int row, int start, int end, bool isMarked)
    {
        if (Count == starts.Length)
        {
            Array.Resize(ref starts, 2 * Count);
            Array.Resize(ref ends, 2 * Count);
            Array.Resize(ref parents, 2 * Count);
            Array.Resize(ref marks, 2 * Count);
        }

        int run = Count++;
        starts[run] = row + start;
        ends[run] = row + end;
        parents[run] = run;
        marks[run] = isMarked;
        int from = row + start - Columns, to = row + end - Columns;
        while (above < aboveEnd && ends[above] <= from)
        {
            above++;
        }

        for (int k = above; k < aboveEnd && starts[k] < to; k++)
        {
            Join(run, k);
        }
    }

    /// <summary>First cell of a run.</summary>
    internal int Start(int run) => starts[run];

    /// <summary>The cell after a run's last.</summary>
    internal int End(int run) => ends[run];

    /// <summary>The first run of a run's region, in the order of rows.</summary>
    internal int Root(int run)
    {
        while (parents[run] != run)
        {
            parents[run] = parents[parents[run]];
            run = parents[run];
        }

        return run;
    }

    /// <summary>Whether any run of the region of a run is marked.</summary>
    internal bool IsMarked(int run) => marks[Root(run)];

    private void Join(int a, int b)
    {
        a = Root(a);
        b = Root(b);
        if (a != b)
        {
            (int first, int second) = a < b ? (a, b) : (b, a);
            parents[second] = first;
            marks[first] |= marks[second];
        }
    }
}
