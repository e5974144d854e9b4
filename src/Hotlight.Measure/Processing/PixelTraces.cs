using System.Numerics;
using Hotlight.Core;
using Hotlight.Measure.Artifacts;

namespace Hotlight.Measure.Processing;

/// <summary>Means over many lines of how each pixel differs from its neighbours along one axis: what blocks and interpolation leave behind.</summary>
/// <remarks>
/// <para>Blocks of a lossy encoder: their borders fall on every eighth pixel, and the mean |step| across a border is larger than within (the idea of blocking measures such as Wang, Bovik and Evans, ICIP 2000, from memory).
/// Interpolation: the mean |second difference| varies with the place between the old samples, so its spectrum has a peak (Gallagher, CRV 2005, from memory).</para>
/// </remarks>
internal sealed class PixelTraces
{
    private const int Block = 8;
    private const int TraceLength = 1024;
    private const int Strip = 16;

    private PixelTraces(double[] steps, double[] seconds)
    {
        Steps = steps;
        Seconds = seconds;
    }

    /// <summary>Mean |v[i + 1] − v[i]|, NaN outside the field.</summary>
    public double[] Steps { get; }

    /// <summary>Mean |v[i − 1] − 2·v[i] + v[i + 1]|, NaN outside the field.</summary>
    public double[] Seconds { get; }

    /// <summary>Traces along one axis from every fourth line of the field.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="span">The field.</param>
    /// <param name="alongRows">True for steps from column to column.</param>
    public static PixelTraces Of(ReadOnlyRaster<ushort> pixels, FieldSpan span, bool alongRows)
    {
        int length = alongRows ? pixels.Columns : pixels.Rows;
        var steps = new double[length];
        var seconds = new double[length];
        var counts = new int[length];
        if (alongRows)
        {
            AlongRows(pixels, span, steps, seconds, counts);
        }
        else
        {
            // Strips of 16 columns, a quarter of them: neighbours in a row lie side by side in memory.
            for (int row = 1; row < pixels.Rows - 1; row++)
            {
                ReadOnlySpan<ushort> above = pixels.Row(row - 1), line = pixels.Row(row), below = pixels.Row(row + 1);
                (int first, int end) = span.Row(row);
                (int nextFirst, int nextEnd) = span.Row(row + 1);
                first = Math.Max(first, nextFirst);
                end = Math.Min(end, nextEnd);
                long step = 0, second = 0;
                int count = 0;
                for (int from = (first + 63) & ~63; from + Strip <= end; from += 64)
                {
                    (uint ownSteps, uint ownSeconds) = DownStrip(above.Slice(from, Strip), line.Slice(from, Strip), below.Slice(from, Strip));
                    step += ownSteps;
                    second += ownSeconds;
                    count += Strip;
                }

                steps[row] = step;
                seconds[row] = second;
                counts[row] = count;
            }
        }

        for (int at = 0; at < length; at++)
        {
            steps[at] = counts[at] >= 64 ? steps[at] / counts[at] : double.NaN;
            seconds[at] = counts[at] >= 64 ? seconds[at] / counts[at] : double.NaN;
        }

        return new PixelTraces(steps, seconds);
    }

    // Every fourth row, many columns at once. Sums are of whole numbers, below 2³² over 8192 rows, after which they are put by.
    private static void AlongRows(ReadOnlyRaster<ushort> pixels, FieldSpan span, double[] steps, double[] seconds, int[] counts)
    {
        const int MostRows = 8192;
        int length = pixels.Columns, wide = Vector<ushort>.Count, half = Vector<uint>.Count, added = 0;
        var stepSums = new uint[length];
        var secondSums = new uint[length];
        for (int row = 0; row < pixels.Rows; row += 4)
        {
            ReadOnlySpan<ushort> line = pixels.Row(row);
            (int first, int end) = span.Row(row);
            int column = first + 1;
            for (; column + wide < end; column += wide)
            {
                Vector.Widen(new Vector<ushort>(line[(column - 1)..]), out Vector<uint> before, out Vector<uint> beforeHigh);
                Vector.Widen(new Vector<ushort>(line[column..]), out Vector<uint> own, out Vector<uint> ownHigh);
                Vector.Widen(new Vector<ushort>(line[(column + 1)..]), out Vector<uint> after, out Vector<uint> afterHigh);
                AddSizes(before, own, after, stepSums, secondSums, column);
                AddSizes(beforeHigh, ownHigh, afterHigh, stepSums, secondSums, column + half);
            }

            for (; column < end - 1; column++)
            {
                int step = line[column + 1] - line[column];
                stepSums[column] += (uint)Math.Abs(step);
                secondSums[column] += (uint)Math.Abs(step - (line[column] - line[column - 1]));
            }

            // Where a row's part begins and where it is over; made into sums at the end.
            if (end - 1 > first + 1)
            {
                counts[first + 1]++;
                counts[end - 1]--;
            }

            if (++added == MostRows)
            {
                PutBy();
                added = 0;
            }
        }

        PutBy();
        int running = 0;
        for (int column = 0; column < length; column++)
        {
            running += counts[column];
            counts[column] = running;
        }

        void PutBy()
        {
            for (int column = 0; column < length; column++)
            {
                steps[column] += stepSums[column];
                seconds[column] += secondSums[column];
            }

            Array.Clear(stepSums);
            Array.Clear(secondSums);
        }
    }

    private static void AddSizes(Vector<uint> before, Vector<uint> own, Vector<uint> after, uint[] steps, uint[] seconds, int at)
    {
        Vector<int> step = (after - own).As<uint, int>(), second = step - (own - before).As<uint, int>();
        (new Vector<uint>(steps, at) + Vector.Abs(step).As<int, uint>()).CopyTo(steps, at);
        (new Vector<uint>(seconds, at) + Vector.Abs(second).As<int, uint>()).CopyTo(seconds, at);
    }

    private static (uint Steps, uint Seconds) DownStrip(ReadOnlySpan<ushort> above, ReadOnlySpan<ushort> line, ReadOnlySpan<ushort> below)
    {
        uint steps = 0, seconds = 0;
        int column = 0;
        for (; column + Vector<ushort>.Count <= line.Length; column += Vector<ushort>.Count)
        {
            Vector.Widen(new Vector<ushort>(above[column..]), out Vector<uint> before, out Vector<uint> beforeHigh);
            Vector.Widen(new Vector<ushort>(line[column..]), out Vector<uint> own, out Vector<uint> ownHigh);
            Vector.Widen(new Vector<ushort>(below[column..]), out Vector<uint> after, out Vector<uint> afterHigh);
            Vector<int> step = (after - own).As<uint, int>(), stepHigh = (afterHigh - ownHigh).As<uint, int>();
            Vector<int> second = step - (own - before).As<uint, int>(), secondHigh = stepHigh - (ownHigh - beforeHigh).As<uint, int>();
            steps += (uint)Vector.Sum(Vector.Abs(step) + Vector.Abs(stepHigh));
            seconds += (uint)Vector.Sum(Vector.Abs(second) + Vector.Abs(secondHigh));
        }

        for (; column < line.Length; column++)
        {
            int own = below[column] - line[column];
            steps += (uint)Math.Abs(own);
            seconds += (uint)Math.Abs(own - (line[column] - above[column]));
        }

        return (steps, seconds);
    }

    /// <summary>Mean step across the borders of blocks of eight over the mean within, and how many standard deviations above 1 it is.</summary>
    public (double Ratio, double Sigmas) BlockRatio()
    {
        // Each step over the mean of its four neighbours takes the anatomy's slopes out.
        var sums = new double[Block];
        var squares = new double[Block];
        var counts = new int[Block];
        for (int at = 2; at < Steps.Length - 3; at++)
        {
            double beside = (Steps[at - 2] + Steps[at - 1] + Steps[at + 1] + Steps[at + 2]) / 4, own = Steps[at] / beside;
            if (double.IsFinite(own) && beside > 0)
            {
                own = Math.Min(own, 3);
                sums[at % Block] += own;
                squares[at % Block] += own * own;
                counts[at % Block]++;
            }
        }

        int best = 0;
        double bestMean = double.NegativeInfinity;
        for (int phase = 0; phase < Block; phase++)
        {
            if (counts[phase] < 10)
            {
                return (1, 0);
            }

            double mean = sums[phase] / counts[phase];
            if (mean > bestMean)
            {
                bestMean = mean;
                best = phase;
            }
        }

        // One border in eight stands out alone; a pattern of two or four pixels has others like it.
        double second = double.NegativeInfinity;
        for (int phase = 0; phase < Block; phase++)
        {
            second = phase == best ? second : Math.Max(second, sums[phase] / counts[phase]);
        }

        double others = (sums.Sum() - sums[best]) / (counts.Sum() - counts[best]);
        double variance = Math.Max(1e-12, (squares[best] / counts[best]) - (bestMean * bestMean));
        return bestMean - second < 0.5 * (bestMean - others) ? (1, 0) : (bestMean / others, (bestMean - others) / Math.Sqrt(variance / counts[best]));
    }

    /// <summary>The strongest periodic variation of the first or second difference: its frequency in cycles per pixel, and its power over the median of the spectrum; null where the field is too short.</summary>
    /// <remarks>Both are needed: enlarged by exactly two about pixel centres, all second differences are alike and the first alternate.</remarks>
    /// <param name="withoutEighths">Whether frequencies of k/8 are left out: those of an encoder's blocks.</param>
    public (double Frequency, double Ratio)? Periodicity(bool withoutEighths)
        => Periodicity(Seconds, withoutEighths) is { } second && Periodicity(Steps, withoutEighths) is { } first
            ? first.Ratio > second.Ratio ? first : second
            : null;

    private static (double Frequency, double Ratio)? Periodicity(double[] trace, bool withoutEighths)
    {
        int first = Array.FindIndex(trace, double.IsFinite), last = Array.FindLastIndex(trace, double.IsFinite);
        int length = TraceLength;
        while (length > last - first + 1)
        {
            length /= 2;
        }

        if (first < 0 || length < 256)
        {
            return null;
        }

        int start = first + ((last - first + 1 - length) / 2);
        var real = new float[length];
        var imaginary = new float[length];
        for (int at = 0; at < length; at++)
        {
            int place = start + at;
            double local = 0;
            int count = 0;
            for (int away = -8; away <= 8; away++)
            {
                if (place + away >= 0 && place + away < trace.Length && double.IsFinite(trace[place + away]))
                {
                    local += trace[place + away];
                    count++;
                }
            }

            double own = double.IsFinite(trace[place]) && local > 0 ? Math.Min(4, trace[place] * count / local) : 1;
            real[at] = (float)((own - 1) * 0.5 * (1 - Math.Cos(2 * Math.PI * (at + 0.5) / length)));
        }

        var cosines = new float[length / 2];
        var sines = new float[length / 2];
        for (int at = 0; at < length / 2; at++)
        {
            cosines[at] = (float)Math.Cos(2 * Math.PI * at / length);
            sines[at] = (float)-Math.Sin(2 * Math.PI * at / length);
        }

        FieldSpectrum.Fourier(real, imaginary, cosines, sines);
        var powers = new List<double>();
        double most = 0;
        int where = 0;
        for (int bin = length / 12; bin <= length / 2; bin++)
        {
            double eighth = bin * 8.0 / length;
            if (withoutEighths && Math.Abs(eighth - Math.Round(eighth)) < 24.0 / length)
            {
                continue;
            }

            double power = ((double)real[bin] * real[bin]) + ((double)imaginary[bin] * imaginary[bin]);
            powers.Add(power);
            if (power > most)
            {
                most = power;
                where = bin;
            }
        }

        powers.Sort();
        double median = powers.Count > 0 ? powers[powers.Count / 2] : 0;
        return median > 0 ? ((double)where / length, most / median) : null;
    }
}
