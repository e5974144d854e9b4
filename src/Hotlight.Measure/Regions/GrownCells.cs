using System.Numerics;
using System.Runtime.InteropServices;

namespace Hotlight.Measure.Regions;

/// <summary>Cells grown by a square: a cell is taken where one within a reach of it, along rows and columns, is.</summary>
internal static class GrownCells
{
    /// <summary>Grows cells.</summary>
    /// <param name="cells">The cells, rows × columns, row-major.</param>
    /// <param name="rows">Number of rows.</param>
    /// <param name="columns">Number of columns.</param>
    /// <param name="reach">How far, in cells, 0 or more.</param>
    /// <param name="beyond">Whether what lies beyond the frame is taken.</param>
    internal static bool[] Of(ReadOnlySpan<bool> cells, int rows, int columns, int reach, bool beyond = false)
    {
        // By doubling: of 1, 2, 4 … cells on, until the window is 2·reach + 1 wide; first along the rows, then down them.
        int window = (2 * reach) + 1, height = rows + (2 * reach);
        byte[] block = GC.AllocateUninitializedArray<byte>(height * columns);
        var line = new byte[columns + (2 * reach)];
        byte outside = beyond ? (byte)1 : (byte)0;
        ReadOnlySpan<byte> from = MemoryMarshal.AsBytes(cells);
        block.AsSpan(0, reach * columns).Fill(outside);
        block.AsSpan((reach + rows) * columns).Fill(outside);
        for (int row = 0; row < rows; row++)
        {
            line.AsSpan(0, reach).Fill(outside);
            from.Slice(row * columns, columns).CopyTo(line.AsSpan(reach));
            line.AsSpan(reach + columns).Fill(outside);
            for (int width = 1; width < window;)
            {
                int shift = Math.Min(width, window - width);
                Join(line.AsSpan(0, line.Length - shift), line.AsSpan(shift));
                width += shift;
            }

            line.AsSpan(0, columns).CopyTo(block.AsSpan((reach + row) * columns));
        }

        for (int width = 1; width < window;)
        {
            int shift = Math.Min(width, window - width);
            Join(block.AsSpan(0, block.Length - (shift * columns)), block.AsSpan(shift * columns));
            width += shift;
        }

        return MemoryMarshal.Cast<byte, bool>(block.AsSpan(0, rows * columns)).ToArray();
    }

    // Each place takes what is farther on, from which nothing was taken over yet.
    private static void Join(Span<byte> to, ReadOnlySpan<byte> with)
    {
        int at = 0;
        for (; at + Vector<byte>.Count <= to.Length; at += Vector<byte>.Count)
        {
            (new Vector<byte>(to[at..]) | new Vector<byte>(with[at..])).CopyTo(to[at..]);
        }

        for (; at < to.Length; at++)
        {
            to[at] |= with[at];
        }
    }
}
