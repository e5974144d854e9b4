using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;

namespace Hotlight.Measure.Artifacts;

/// <summary>The two-dimensional power spectrum of the field: the geometric mean of the periodograms of tiles spread over it.</summary>
/// <remarks>
/// <para>Each tile has a plane taken out and a Hann window put on. The mean of ln(power) of n tiles of noise has the standard deviation √(π²/6/n) = 1.2825/√n about ln S − 0.5772 (an exponential variate's logarithm), and one tile with something special in it moves it by no more than its share: Welch's method (IEEE Trans Audio Electroacoust 1967;15:70) with a geometric in place of the arithmetic mean.</para>
/// </remarks>
internal sealed class FieldSpectrum
{
    private const int UsualMostTiles = 40;

    private FieldSpectrum(int side, double[] meanLog, List<(int Row, int Column)> corners)
    {
        Side = side;
        MeanLog = meanLog;
        Corners = corners;
    }

    /// <summary>Pixels along a tile's side: 128, or 64 in a small field.</summary>
    public int Side { get; }

    /// <summary>Mean of ln(power), row-major: frequency row/side (down) and column/side (along a row) in cycles per pixel, the upper half standing for negative ones.</summary>
    public double[] MeanLog { get; }

    /// <summary>Upper left pixel of every tile.</summary>
    public IReadOnlyList<(int Row, int Column)> Corners { get; }

    /// <summary>Number of tiles.</summary>
    public int Tiles => Corners.Count;

    /// <summary>Standard deviation of one value of <see cref="MeanLog"/> for noise.</summary>
    public double LogSigma => Math.PI / Math.Sqrt(6 * Tiles);

    /// <summary>The value at a frequency in bins, of either sign.</summary>
    public double At(int row, int column) => MeanLog[((row & (Side - 1)) * Side) + (column & (Side - 1))];

    /// <summary>The spectrum; null where fewer than eight tiles fit into the field.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="table">Value on the scale of every pixel value.</param>
    /// <param name="span">The field.</param>
    /// <param name="without">Whether a square (row, column, side) is to be left out.</param>
    /// <param name="mostTiles">At most this many tiles, even.</param>
    public static FieldSpectrum? Of(ReadOnlyRaster<ushort> pixels, float[] table, FieldSpan span, Func<int, int, int, bool>? without = null, int mostTiles = UsualMostTiles)
        => Of(pixels, table, span, without, mostTiles, 128) ?? Of(pixels, table, span, without, mostTiles, 64);

    private static FieldSpectrum? Of(ReadOnlyRaster<ushort> pixels, float[] table, FieldSpan span, Func<int, int, int, bool>? without, int mostTiles, int side)
    {
        var corners = new List<(int Row, int Column)>();
        for (int row = 0; row + side <= pixels.Rows; row += side)
        {
            (int firstTop, int endTop) = span.Row(row);
            (int firstBottom, int endBottom) = span.Row(row + side - 1);
            int first = Math.Max(firstTop, firstBottom), end = Math.Min(endTop, endBottom);
            int count = Math.Max(0, end - first) / side;
            int start = first + ((Math.Max(0, end - first) - (count * side)) / 2);
            for (int tile = 0; tile < count; tile++)
            {
                if (without is null || !without(row, start + (tile * side), side))
                {
                    corners.Add((row, start + (tile * side)));
                }
            }
        }

        if (corners.Count < 8)
        {
            return null;
        }

        // Evenly over the list, and so over the field; the golden step keeps it from running down one column of tiles.
        int wanted = Math.Min(mostTiles, corners.Count) & ~1;
        var chosen = new List<(int Row, int Column)>();
        for (int at = 0; at < wanted; at++)
        {
            chosen.Add(corners[(int)((at + 0.5) * corners.Count / wanted)]);
        }

        var total = new double[side * side];
        var used = new bool[wanted];
        double[] window = Window(side);
        var gate = new Lock();
        Parallel.For(0, wanted / 2, () => (Sum: new double[side * side], First: new float[side * side], Second: new float[side * side]), (pair, _, own) =>
        {
            bool one = Fill(pixels, table, chosen[2 * pair], side, window, own.First), two = Fill(pixels, table, chosen[(2 * pair) + 1], side, window, own.Second);
            if (one && two)
            {
                Transform(own.First, own.Second, side);
                AddLogPower(own.First, own.Second, side, own.Sum);
                used[2 * pair] = used[(2 * pair) + 1] = true;
            }

            return own;
        }, own =>
        {
            lock (gate)
            {
                for (int at = 0; at < total.Length; at++)
                {
                    total[at] += own.Sum[at];
                }
            }
        });
        List<(int Row, int Column)> kept = [.. chosen.Where((_, at) => used[at])];
        if (kept.Count < 8)
        {
            return null;
        }

        for (int at = 0; at < total.Length; at++)
        {
            total[at] /= kept.Count;
        }

        return new FieldSpectrum(side, total, kept);
    }

    /// <summary>A Hann window.</summary>
    /// <param name="side">Its length.</param>
    private static double[] Window(int side) => [.. Enumerable.Range(0, side).Select(at => 0.5 * (1 - Math.Cos(2 * Math.PI * (at + 0.5) / side)))];

    /// <summary>One tile as it was transformed: windowed, without its plane.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="table">Value on the scale of every pixel value.</param>
    /// <param name="corner">Upper left pixel of the tile.</param>
    /// <param name="to">Side × side values, row-major.</param>
    public void Fill(ReadOnlyRaster<ushort> pixels, float[] table, (int Row, int Column) corner, float[] to) => Fill(pixels, table, corner, Side, Window(Side), to);

    private static bool Fill(ReadOnlyRaster<ushort> pixels, float[] table, (int Row, int Column) corner, int side, double[] window, float[] to)
    {
        double sum = 0, sumY = 0, middle = (side - 1) / 2.0;
        int same = 0;

        // Sums down the columns as well as along the rows: the first moment along a row is that of the columns' sums.
        Span<double> columnSums = stackalloc double[side];
        columnSums.Clear();
        for (int row = 0; row < side; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(corner.Row + row).Slice(corner.Column, side);
            Span<float> own = to.AsSpan(row * side, side);
            for (int column = 0; column < own.Length; column++)
            {
                own[column] = table[line[column]];
            }

            same += SameAsBefore(line);
            double rowSum = AddTo(own, columnSums);
            sum += rowSum;
            sumY += rowSum * (row - middle);
        }

        // Mostly one value: a mask, a saturated patch or a drawn label has no spectrum of its own.
        if (same > 0.9 * side * side)
        {
            return false;
        }

        double sumX = 0;
        for (int column = 0; column < side; column++)
        {
            sumX += columnSums[column] * (column - middle);
        }

        double count = (double)side * side, moment = count * ((count - 1) / 12);
        double mean = sum / count, slopeX = sumX / moment, slopeY = sumY / moment;
        Span<double> slope = stackalloc double[side];
        for (int column = 0; column < side; column++)
        {
            slope[column] = slopeX * (column - middle);
        }

        for (int row = 0; row < side; row++)
        {
            WithoutPlane(to.AsSpan(row * side, side), mean, slope, slopeY * (row - middle), window[row], window);
        }

        return true;
    }

    /// <summary>How many pixels are like the one before them.</summary>
    private static int SameAsBefore(ReadOnlySpan<ushort> line)
    {
        int wide = Vector<ushort>.Count, at = 1;
        Vector<ushort> same = Vector<ushort>.Zero;
        for (; at + wide <= line.Length; at += wide)
        {
            same -= Vector.Equals(new Vector<ushort>(line[at..]), new Vector<ushort>(line[(at - 1)..]));
        }

        int count = Vector.Sum(same);
        for (; at < line.Length; at++)
        {
            count += line[at] == line[at - 1] ? 1 : 0;
        }

        return count;
    }

    /// <summary>Adds a row to the columns' sums; its own sum. Its length is a multiple of a register's width.</summary>
    private static double AddTo(ReadOnlySpan<float> line, Span<double> sums)
    {
        int wide = Vector<double>.Count;
        Vector<double> own = Vector<double>.Zero;
        for (int at = 0; at < line.Length; at += 2 * wide)
        {
            Vector.Widen(new Vector<float>(line[at..]), out Vector<double> low, out Vector<double> high);
            own += low + high;
            (new Vector<double>(sums[at..]) + low).CopyTo(sums[at..]);
            (new Vector<double>(sums[(at + wide)..]) + high).CopyTo(sums[(at + wide)..]);
        }

        return Vector.Sum(own);
    }

    private static void WithoutPlane(Span<float> line, double mean, ReadOnlySpan<double> slope, double tilt, double down, ReadOnlySpan<double> window)
    {
        int wide = Vector<double>.Count;
        Vector<double> level = new(mean), fall = new(tilt), weight = new(down);
        for (int at = 0; at < line.Length; at += 2 * wide)
        {
            Vector.Widen(new Vector<float>(line[at..]), out Vector<double> low, out Vector<double> high);
            low = (low - level - new Vector<double>(slope[at..]) - fall) * weight * new Vector<double>(window[at..]);
            high = (high - level - new Vector<double>(slope[(at + wide)..]) - fall) * weight * new Vector<double>(window[(at + wide)..]);
            Vector.Narrow(low, high).CopyTo(line[at..]);
        }
    }

    private static void AddLogPower(float[] real, float[] imaginary, int side, double[] sum)
    {
        // A frequency and its negative have the same power: the upper half of the rows, and of the two rows that are their own mirror all.
        for (int row = 0; row <= side / 2; row++)
        {
            int mirrorRow = ((side - row) & (side - 1)) * side;
            bool isOwnMirror = mirrorRow == row * side;
            for (int column = 0; column < side; column++)
            {
                int at = (row * side) + column, mirror = mirrorRow + ((side - column) & (side - 1));
                float a = (real[at] + real[mirror]) / 2, b = (imaginary[at] - imaginary[mirror]) / 2;
                float c = (imaginary[at] + imaginary[mirror]) / 2, d = (real[mirror] - real[at]) / 2;
                double power = MathF.Log(((a * a) + (b * b) + 1e-30f) * ((c * c) + (d * d) + 1e-30f));
                sum[at] += power;
                if (!isOwnMirror)
                {
                    sum[mirror] += power;
                }
            }
        }
    }

    /// <summary>The mean of ln(power) over rings of frequency.</summary>
    /// <param name="bins">Number of rings up to 0.5 cycles per pixel.</param>
    /// <returns>Ring k holds frequencies from k to k + 1 over 2·bins cycles per pixel; axes are left out, where edges of the frame and faults of the receptor lie.</returns>
    public double[] Rings(int bins)
    {
        var sums = new double[bins];
        var counts = new int[bins];
        int half = Side / 2;
        for (int row = -half + 1; row < half; row++)
        {
            for (int column = -half + 1; column < half; column++)
            {
                int ring = (int)(Math.Sqrt((row * row) + (column * column)) / half * bins);
                if (ring < bins && Math.Abs(row) > 1 && Math.Abs(column) > 1)
                {
                    sums[ring] += At(row, column);
                    counts[ring]++;
                }
            }
        }

        for (int ring = 0; ring < bins; ring++)
        {
            sums[ring] = counts[ring] > 0 ? sums[ring] / counts[ring] : double.NaN;
        }

        return sums;
    }

    private static void Transform(float[] real, float[] imaginary, int side)
    {
        var cosines = new float[side / 2];
        var sines = new float[side / 2];
        for (int at = 0; at < side / 2; at++)
        {
            cosines[at] = (float)Math.Cos(2 * Math.PI * at / side);
            sines[at] = (float)-Math.Sin(2 * Math.PI * at / side);
        }

        for (int pass = 0; pass < 2; pass++)
        {
            Transpose(real, side);
            Transpose(imaginary, side);
            FourierDown(real, imaginary, side, cosines, sines);
        }
    }

    private static void Transpose(float[] samples, int side)
    {
        for (int row = 0; row < side; row++)
        {
            for (int column = row + 1; column < side; column++)
            {
                (samples[(row * side) + column], samples[(column * side) + row]) = (samples[(column * side) + row], samples[(row * side) + column]);
            }
        }
    }

    /// <summary>Radix-2 transform in place, decimation in time.</summary>
    /// <param name="real">Real parts, a power of two.</param>
    /// <param name="imaginary">Imaginary parts.</param>
    /// <param name="cosines">cos(2πk/n) for k up to n/2.</param>
    /// <param name="sines">−sin(2πk/n).</param>
    internal static void Fourier(Span<float> real, Span<float> imaginary, float[] cosines, float[] sines)
    {
        int side = real.Length;
        for (int at = 1, swap = 0; at < side; at++)
        {
            int bit = side >> 1;
            for (; (swap & bit) != 0; bit >>= 1)
            {
                swap ^= bit;
            }

            swap |= bit;
            if (at < swap)
            {
                (real[at], real[swap]) = (real[swap], real[at]);
                (imaginary[at], imaginary[swap]) = (imaginary[swap], imaginary[at]);
            }
        }

        for (int length = 2; length <= side; length <<= 1)
        {
            int half = length >> 1, turn = side / length;
            for (int start = 0; start < side; start += length)
            {
                for (int at = 0; at < half; at++)
                {
                    float c = cosines[at * turn], s = sines[at * turn];
                    int low = start + at, high = low + half;
                    float x = (real[high] * c) - (imaginary[high] * s), y = (real[high] * s) + (imaginary[high] * c);
                    real[high] = real[low] - x;
                    imaginary[high] = imaginary[low] - y;
                    real[low] += x;
                    imaginary[low] += y;
                }
            }
        }
    }

    /// <summary>Radix-2 transform of every column in place, decimation in time: whole rows are added and subtracted, many columns at once.</summary>
    /// <param name="real">Real parts, side × side, row-major; side a power of two.</param>
    /// <param name="imaginary">Imaginary parts.</param>
    /// <param name="side">Rows, and columns.</param>
    /// <param name="cosines">cos(2πk/side) for k up to side/2.</param>
    /// <param name="sines">−sin(2πk/side).</param>
    internal static void FourierDown(float[] real, float[] imaginary, int side, float[] cosines, float[] sines)
    {
        for (int at = 1, swap = 0; at < side; at++)
        {
            int bit = side >> 1;
            for (; (swap & bit) != 0; bit >>= 1)
            {
                swap ^= bit;
            }

            swap |= bit;
            if (at < swap)
            {
                Swap(real.AsSpan(at * side, side), real.AsSpan(swap * side, side));
                Swap(imaginary.AsSpan(at * side, side), imaginary.AsSpan(swap * side, side));
            }
        }

        for (int length = 2; length <= side; length <<= 1)
        {
            int half = length >> 1, turn = side / length;
            for (int start = 0; start < side; start += length)
            {
                for (int at = 0; at < half; at++)
                {
                    int low = (start + at) * side, high = low + (half * side);
                    Butterfly(real.AsSpan(low, side), imaginary.AsSpan(low, side), real.AsSpan(high, side), imaginary.AsSpan(high, side), cosines[at * turn], sines[at * turn]);
                }
            }
        }
    }

    private static void Butterfly(Span<float> lowReal, Span<float> lowImaginary, Span<float> highReal, Span<float> highImaginary, float c, float s)
    {
        Span<Vector<float>> a = MemoryMarshal.Cast<float, Vector<float>>(lowReal), b = MemoryMarshal.Cast<float, Vector<float>>(lowImaginary);
        Span<Vector<float>> p = MemoryMarshal.Cast<float, Vector<float>>(highReal), q = MemoryMarshal.Cast<float, Vector<float>>(highImaginary);
        for (int at = 0; at < a.Length; at++)
        {
            Vector<float> x = (p[at] * c) - (q[at] * s), y = (p[at] * s) + (q[at] * c);
            p[at] = a[at] - x;
            q[at] = b[at] - y;
            a[at] += x;
            b[at] += y;
        }
    }

    private static void Swap(Span<float> one, Span<float> other)
    {
        for (int at = 0; at < one.Length; at++)
        {
            (one[at], other[at]) = (other[at], one[at]);
        }
    }
}
