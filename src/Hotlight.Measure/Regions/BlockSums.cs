using System.Numerics;

namespace Hotlight.Measure.Regions;

/// <summary>Sums of pixels over square blocks, a row of blocks at a time: down the rows many columns at once, then along.</summary>
/// <remarks>Of 16-bit pixels a block of up to 65,537 of them has a sum below 2³².</remarks>
internal static class BlockSums
{
    /// <summary>Adds a row of pixels to the columns' sums.</summary>
    /// <param name="line">The row.</param>
    /// <param name="sums">Sums of the columns, at least as long as the row.</param>
    internal static void Add(ReadOnlySpan<ushort> line, Span<uint> sums)
    {
        int wide = Vector<ushort>.Count, half = Vector<uint>.Count, at = 0;
        for (; at <= line.Length - wide; at += wide)
        {
            Vector.Widen(new Vector<ushort>(line[at..]), out Vector<uint> low, out Vector<uint> high);
            Span<uint> own = sums.Slice(at, wide);
            (new Vector<uint>(own) + low).CopyTo(own);
            (new Vector<uint>(own[half..]) + high).CopyTo(own[half..]);
        }

        for (; at < line.Length; at++)
        {
            sums[at] += line[at];
        }
    }

    /// <summary>The sums of blocks from the sums of their columns; what is left at the right end is a narrower block where there is room for it.</summary>
    /// <param name="columns">Sums of the columns; used up.</param>
    /// <param name="step">Columns of a block, 1 or more.</param>
    /// <param name="blocks">Sums of the blocks.</param>
    internal static void Along(Span<uint> columns, int step, Span<uint> blocks)
    {
        int whole = Math.Min(blocks.Length, columns.Length / step);
        if (whole < blocks.Length)
        {
            uint rest = 0;
            foreach (uint sum in columns[(whole * step)..])
            {
                rest += sum;
            }

            blocks[whole] = rest;
        }

        if (step > 1)
        {
            // Each place takes the ones to its right, from which nothing was taken over yet.
            int end = (whole - 1) * step, at = 0;
            for (; at <= end && at + Vector<uint>.Count + step - 1 <= columns.Length; at += Vector<uint>.Count)
            {
                var sum = new Vector<uint>(columns[at..]);
                for (int next = 1; next < step; next++)
                {
                    sum += new Vector<uint>(columns[(at + next)..]);
                }

                sum.CopyTo(columns[at..]);
            }

            for (; at <= end; at++)
            {
                for (int next = 1; next < step; next++)
                {
                    columns[at] += columns[at + next];
                }
            }
        }

        for (int block = 0, at = 0; block < whole; block++, at += step)
        {
            blocks[block] = columns[at];
        }
    }
}
