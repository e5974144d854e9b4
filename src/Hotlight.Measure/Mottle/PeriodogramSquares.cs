using System.Numerics;

namespace Hotlight.Measure.Mottle;

/// <summary>Radially averaged periodograms of square pieces of an image, after a quadratic trend is taken out and a Hann window put on.</summary>
/// <remarks>Scaled so that the mean over all frequencies of the unit square (cycles per pixel) is the variance: S(f) of white noise is σ² everywhere.</remarks>
internal sealed class PeriodogramSquares
{
    private readonly int side;
    private readonly int log2;
    private readonly float[] window;
    private readonly float[] cosines;
    private readonly float[] sines;
    private readonly int[] bins;

    public PeriodogramSquares(int side)
    {
        this.side = side;
        log2 = int.Log2(side);
        window = new float[side];
        double squares = 0;
        for (int at = 0; at < side; at++)
        {
            double value = 0.5 * (1 - Math.Cos(2 * Math.PI * (at + 0.5) / side));
            window[at] = (float)value;
            squares += value * value;
        }

        // Two windows multiply, one for rows and one for columns: with each of unit power, the sum of squares of their product is side².
        float scale = (float)(1 / Math.Sqrt(squares / side));
        for (int at = 0; at < side; at++)
        {
            window[at] *= scale;
        }

        cosines = new float[side / 2];
        sines = new float[side / 2];
        for (int at = 0; at < side / 2; at++)
        {
            cosines[at] = (float)Math.Cos(2 * Math.PI * at / side);
            sines[at] = (float)-Math.Sin(2 * Math.PI * at / side);
        }

        Bins = (int)Math.Round(side / 2 * Math.Sqrt(2)) + 1;
        bins = new int[side * side];
        Modes = new int[Bins];
        MeanFrequency = new double[Bins];
        for (int row = 0; row < side; row++)
        {
            int y = row < side / 2 ? row : row - side;
            for (int column = 0; column < side; column++)
            {
                int x = column < side / 2 ? column : column - side;
                double radius = Math.Sqrt((x * x) + (y * y));
                int bin = (int)Math.Round(radius);
                bins[(row * side) + column] = bin;
                Modes[bin]++;
                MeanFrequency[bin] += radius / side;
            }
        }

        for (int bin = 0; bin < Bins; bin++)
        {
            MeanFrequency[bin] /= Math.Max(1, Modes[bin]);
        }
    }

    /// <summary>Side of the squares, in pixels.</summary>
    public int Side => side;

    /// <summary>Number of radial bins; bin k holds frequencies about k / side cycles per pixel.</summary>
    public int Bins { get; }

    /// <summary>Number of frequencies in each bin, of side² in all.</summary>
    public int[] Modes { get; }

    /// <summary>Mean frequency of each bin, in cycles per pixel.</summary>
    public double[] MeanFrequency { get; }

    /// <summary>The periodograms of two squares at once (one as the real, one as the imaginary part of one transform).</summary>
    /// <param name="first">side × side samples; overwritten.</param>
    /// <param name="second">side × side samples; overwritten.</param>
    /// <returns>The mean power of each bin, of the first and of the second.</returns>
    public (double[] First, double[] Second) Transform(float[] first, float[] second)
    {
        TakeTrendAndWindow(first);
        TakeTrendAndWindow(second);

        // Along the rows, then down the columns; each as a transform of all columns at once, many to a register.
        Transpose(first);
        Transpose(second);
        FourierOfColumns(first, second);
        Transpose(first);
        Transpose(second);
        FourierOfColumns(first, second);

        var powerFirst = new double[Bins];
        var powerSecond = new double[Bins];
        double scale = 1.0 / ((double)side * side);
        for (int row = 0; row < side; row++)
        {
            int mirrorRow = ((side - row) & (side - 1)) * side;
            for (int column = 0; column < side; column++)
            {
                int at = (row * side) + column;
                int mirror = mirrorRow + ((side - column) & (side - 1));
                float realFirst = (first[at] + first[mirror]) / 2;
                float imaginaryFirst = (second[at] - second[mirror]) / 2;
                float realSecond = (second[at] + second[mirror]) / 2;
                float imaginarySecond = (first[mirror] - first[at]) / 2;
                powerFirst[bins[at]] += (realFirst * realFirst) + (imaginaryFirst * imaginaryFirst);
                powerSecond[bins[at]] += (realSecond * realSecond) + (imaginarySecond * imaginarySecond);
            }
        }

        for (int bin = 0; bin < Bins; bin++)
        {
            powerFirst[bin] *= scale / Math.Max(1, Modes[bin]);
            powerSecond[bin] *= scale / Math.Max(1, Modes[bin]);
        }

        return (powerFirst, powerSecond);
    }

    /// <summary>Takes out 1, x, y, x², xy, y² (orthogonal over the square) and applies the window.</summary>
    private void TakeTrendAndWindow(float[] samples)
    {
        double middle = (side - 1) / 2.0;
        double meanSquare = ((side * (double)side) - 1) / 12;
        double powerSquare = 0;
        for (int at = 0; at < side; at++)
        {
            double square = ((at - middle) * (at - middle)) - meanSquare;
            powerSquare += square * square;
        }

        double one = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
        int wide = Vector<double>.Count;
        for (int row = 0; row < side; row++)
        {
            double offsetRow = row - middle;

            // Sides are multiples of two registers.
            Vector<double> ones = Vector<double>.Zero, xs = ones, xxs = ones, offset = Vector<double>.Indices - new Vector<double>(middle), next = new(wide), level = new(meanSquare);
            for (int column = 0; column < side; column += 2 * wide)
            {
                Vector.Widen(new Vector<float>(samples, (row * side) + column), out Vector<double> low, out Vector<double> high);
                Vector<double> beside = offset + next;
                ones += low + high;
                xs += (low * offset) + (high * beside);
                xxs += (low * ((offset * offset) - level)) + (high * ((beside * beside) - level));
                offset = beside + next;
            }

            double rowOne = Vector.Sum(ones), rowX = Vector.Sum(xs), rowXx = Vector.Sum(xxs);
            one += rowOne;
            x += rowX;
            y += rowOne * offsetRow;
            xx += rowXx;
            xy += rowX * offsetRow;
            yy += rowOne * ((offsetRow * offsetRow) - meanSquare);
        }

        double count = (double)side * side;
        one /= count;
        x /= count * meanSquare;
        y /= count * meanSquare;
        xx /= side * powerSquare;
        yy /= side * powerSquare;
        xy /= count * meanSquare * meanSquare;
        for (int row = 0; row < side; row++)
        {
            double offsetRow = row - middle;
            double constant = one + (y * offsetRow) + (yy * ((offsetRow * offsetRow) - meanSquare)) - (xx * meanSquare);
            double slope = x + (xy * offsetRow);
            Vector<double> offset = Vector<double>.Indices - new Vector<double>(middle), next = new(wide), level = new(constant), rise = new(slope), bend = new(xx);
            var down = new Vector<float>(window[row]);
            for (int column = 0; column < side; column += 2 * wide)
            {
                int at = (row * side) + column;
                Vector.Widen(new Vector<float>(samples, at), out Vector<double> low, out Vector<double> high);
                Vector<double> beside = offset + next;
                low -= level + (offset * (rise + (bend * offset)));
                high -= level + (beside * (rise + (bend * beside)));
                (Vector.Narrow(low, high) * down * new Vector<float>(window, column)).CopyTo(samples, at);
                offset = beside + next;
            }
        }
    }

    private void Transpose(float[] samples)
    {
        for (int row = 1; row < side; row++)
        {
            for (int column = 0; column < row; column++)
            {
                (samples[(row * side) + column], samples[(column * side) + row]) = (samples[(column * side) + row], samples[(row * side) + column]);
            }
        }
    }

    /// <summary>Radix-2 transform in place of every column; side is a power of two.</summary>
    private void FourierOfColumns(float[] real, float[] imaginary)
    {
        for (int at = 0; at < side; at++)
        {
            int reversed = (int)(ReverseBits((uint)at) >> (32 - log2));
            if (reversed > at)
            {
                Swap(real.AsSpan(at * side, side), real.AsSpan(reversed * side, side));
                Swap(imaginary.AsSpan(at * side, side), imaginary.AsSpan(reversed * side, side));
            }
        }

        for (int half = 1; half < side; half *= 2)
        {
            int stride = side / (2 * half);
            for (int start = 0; start < side; start += 2 * half)
            {
                for (int at = 0; at < half; at++)
                {
                    int upper = (start + at) * side;
                    Butterflies(real, imaginary, upper, upper + (half * side), cosines[at * stride], sines[at * stride]);
                }
            }
        }
    }

    /// <summary>The butterflies of two rows; sides are multiples of a register's width.</summary>
    private void Butterflies(float[] real, float[] imaginary, int upper, int lower, float cosine, float sine)
    {
        int wide = Vector<float>.Count;
        for (int at = 0; at < side; at += wide)
        {
            var upperReal = new Vector<float>(real, upper + at);
            var upperImaginary = new Vector<float>(imaginary, upper + at);
            var wholeReal = new Vector<float>(real, lower + at);
            var wholeImaginary = new Vector<float>(imaginary, lower + at);
            Vector<float> lowerReal = (wholeReal * cosine) - (wholeImaginary * sine);
            Vector<float> lowerImaginary = (wholeReal * sine) + (wholeImaginary * cosine);
            (upperReal - lowerReal).CopyTo(real, lower + at);
            (upperImaginary - lowerImaginary).CopyTo(imaginary, lower + at);
            (upperReal + lowerReal).CopyTo(real, upper + at);
            (upperImaginary + lowerImaginary).CopyTo(imaginary, upper + at);
        }
    }

    private static void Swap(Span<float> one, Span<float> other)
    {
        for (int at = 0; at < one.Length; at++)
        {
            (one[at], other[at]) = (other[at], one[at]);
        }
    }

    private static uint ReverseBits(uint value)
    {
        value = ((value >> 1) & 0x55555555) | ((value & 0x55555555) << 1);
        value = ((value >> 2) & 0x33333333) | ((value & 0x33333333) << 2);
        value = ((value >> 4) & 0x0F0F0F0F) | ((value & 0x0F0F0F0F) << 4);
        value = ((value >> 8) & 0x00FF00FF) | ((value & 0x00FF00FF) << 8);
        return (value >> 16) | (value << 16);
    }
}
