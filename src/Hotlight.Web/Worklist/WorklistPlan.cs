namespace Hotlight.Web.Worklist;

/// <summary>A part of the worklist whose cases stand together.</summary>
/// <param name="Key">What it is told by.</param>
/// <param name="Cases">How many cases it has, 1 or more.</param>
/// <param name="HasHead">Whether a line of its own stands above it.</param>
/// <param name="IsFolded">Whether only that line is shown.</param>
public sealed record WorklistPart(string Key, int Cases, bool HasHead, bool IsFolded)
{
    /// <summary>How many lines it takes.</summary>
    public int Lines => (HasHead ? 1 : 0) + (IsFolded ? 0 : Cases);
}

/// <summary>A line of the worklist.</summary>
/// <param name="Line">Its number in the list, from 0.</param>
/// <param name="Part">Its part.</param>
/// <param name="CaseInPart">Which case of the part it is, from 0; null: the part's own line.</param>
/// <param name="CaseInList">Which case of the whole list it is, folded ones counted, from 0; for the part's own line its first.</param>
public readonly record struct WorklistLine(int Line, WorklistPart Part, int? CaseInPart, int CaseInList);

/// <summary>Which line of a long worklist holds what, without holding the lines.</summary>
public sealed class WorklistPlan
{
    private readonly IReadOnlyList<WorklistPart> parts;
    private readonly int[] firstLines;
    private readonly int[] firstCases;

    /// <summary>Creates the plan.</summary>
    /// <param name="parts">The parts, in the list's order.</param>
    public WorklistPlan(IReadOnlyList<WorklistPart> parts)
    {
        ArgumentNullException.ThrowIfNull(parts);
        this.parts = parts;
        firstLines = new int[parts.Count];
        firstCases = new int[parts.Count];
        for (int index = 0; index < parts.Count; index++)
        {
            firstLines[index] = Lines;
            firstCases[index] = Cases;
            Lines += parts[index].Lines;
            Cases += parts[index].Cases;
        }
    }

    /// <summary>How many lines the list has.</summary>
    public int Lines { get; }

    /// <summary>How many cases the list has, folded ones counted.</summary>
    public int Cases { get; }

    /// <summary>Some lines of the list; those past its ends are left out.</summary>
    /// <param name="first">The first line.</param>
    /// <param name="count">How many.</param>
    public IReadOnlyList<WorklistLine> Window(int first, int count)
    {
        int begin = Math.Clamp(first, 0, Lines);
        int end = (int)Math.Clamp((long)first + count, begin, Lines);
        if (begin == end)
        {
            return [];
        }

        int index = Array.BinarySearch(firstLines, begin);
        index = index >= 0 ? index : ~index - 1;

        // Parts without a line of their own cannot come up, so the search meets the right one.
        var lines = new List<WorklistLine>(end - begin);
        for (int line = begin; line < end; line++)
        {
            while (line >= firstLines[index] + parts[index].Lines)
            {
                index++;
            }

            int within = line - firstLines[index] - (parts[index].HasHead ? 1 : 0);
            lines.Add(new WorklistLine(line, parts[index], within < 0 ? null : within, firstCases[index] + Math.Max(within, 0)));
        }

        return lines;
    }
}
