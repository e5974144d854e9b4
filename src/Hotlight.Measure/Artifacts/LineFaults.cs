using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Artifacts;

/// <summary>A line or step along a whole row or column.</summary>
/// <param name="AlongColumns">True for a column (a line down the rows), false for a row.</param>
/// <param name="First">First row or column of the fault; a step lies between it and the one before.</param>
/// <param name="Last">Last row or column; for a step as <paramref name="First"/>.</param>
/// <param name="From">Where it begins along itself, in pixels.</param>
/// <param name="To">Where it ends, in pixels.</param>
/// <param name="Size">Difference from what is beside it (a step: of the higher index from the lower), on the attenuation scale.</param>
/// <param name="SizeSigma">One standard deviation of the size.</param>
/// <param name="Strength">Statistic over its limit, 1 or more.</param>
/// <param name="IsStep">Whether it is a step of gain rather than a line.</param>
internal readonly record struct LineFault(bool AlongColumns, int First, int Last, int From, int To, double Size, double SizeSigma, double Strength, bool IsStep);

/// <summary>Finds dead or partly corrected rows and columns, steps of gain exactly along a row or column, and bands, from the steps between neighbours.</summary>
/// <remarks>
/// <para>Each band's steps, less the median of their neighbours on both sides, are measured in that band's own robust spread and clipped at 4; their sum over the bands, over √bands, is standard normal where there is nothing. A step stands alone; a line is a step and its opposite within a few pixels.</para>
/// </remarks>
internal static class LineFaults
{
    /// <summary>Limit of the statistic: of 6000 lines of a clean image, a normal one passes 7 with a chance below 1e-8; the rest of the distance is for structure.</summary>
    public const double Limit = 7;

    // Lines up to this many pixels across.
    private const int WidestLine = 2;

    // Clip of one band's residual, so that one strong edge of the anatomy cannot make a line.
    private const double BandClip = 4;

    // At least this share of the bands must lean the same way.
    private const double LeastAgreement = 0.8;

    // A line that is dead over a part only: this many bands in a row, each this far out.
    private const int LeastPartBands = 3;
    private const double PartSigmas = 8;

    // Beside a line both sides were exposed and have noise; a side of which this share holds one value was drawn, masked or burned out.
    private const double MostOfOneValue = 0.6;

    // A step where the signal is unknown must be this much clearer: frames and insets are drawn into pictures.
    private const double UnknownScale = 1.25;

    // Lines over which a residual's usual size is taken: this block and its neighbours.
    private const int SpreadBlock = 48;

    // The document's least step, as a share of the signal, or of the field's range where the signal is unknown.
    private const double LeastStep = 0.003;
    private const double LeastStepOfRange = 0.001;

    /// <summary>What the steps of one direction show.</summary>
    /// <param name="Faults">Lines and steps.</param>
    /// <param name="BandingSigma">Root mean square of the lines' own offsets beyond noise, on the attenuation scale; 0 where there are none.</param>
    /// <param name="BandingStrength">Spread of the statistic over its expected 1.</param>
    internal readonly record struct Result(List<LineFault> Faults, double BandingSigma, double BandingStrength);

    /// <summary>Looks along columns or rows.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="scale">The attenuation scale.</param>
    /// <param name="span">The field.</param>
    /// <param name="scan">The steps.</param>
    /// <param name="alongColumns">True for columns.</param>
    public static Result Find(ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span, ArtifactScan scan, bool alongColumns)
    {
        float[][] steps = alongColumns ? scan.ColumnSteps : scan.RowSteps;
        int[][] counts = alongColumns ? scan.ColumnCounts : scan.RowCounts;
        int length = steps[0].Length, bandLength = ArtifactScan.BandLength(alongColumns ? pixels.Rows : pixels.Columns, scan.Step);
        var residual = new float[ArtifactScan.Bands][];
        var sum = new double[length];
        var squares = new double[length];
        var bands = new int[length];
        var leaning = new int[length];
        for (int band = 0; band < ArtifactScan.Bands; band++)
        {
            residual[band] = Residuals(steps[band], counts[band], bandLength / 2, scan.DifferenceSigma);
            for (int at = 0; at < length; at++)
            {
                float own = residual[band][at];
                if (float.IsFinite(own))
                {
                    sum[at] += Math.Clamp(own, -BandClip, BandClip);
                    bands[at]++;
                    leaning[at] += Math.Sign(own);
                }
            }
        }

        var statistic = new double[length];
        var usual = new List<double>(length);
        for (int at = 0; at < length; at++)
        {
            statistic[at] = bands[at] >= 3 ? sum[at] / Math.Sqrt(bands[at]) : 0;
            if (bands[at] >= 3)
            {
                usual.Add(Math.Abs(statistic[at]));
            }
        }

        usual.Sort();
        double spread = usual.Count < 50 ? 1 : Math.Max(1, usual[usual.Count / 2] / 0.6745);
        var faults = new List<LineFault>();
        var taken = new bool[length];
        double limit = Limit * spread;
        for (int at = 1; at < length - 1; at++)
        {
            if (taken[at] || !Passes(at) || !IsInside(at))
            {
                continue;
            }

            int opposite = 0;
            for (int away = 1; away <= WidestLine && at + away < length && opposite == 0; away++)
            {
                if (Math.Sign(statistic[at + away]) == -Math.Sign(statistic[at]) && Math.Abs(statistic[at + away]) > 0.6 * Math.Abs(statistic[at]) && Math.Abs(leaning[at + away]) >= LeastAgreement * 0.8 * bands[at + away])
                {
                    opposite = at + away;
                }
            }

            if (opposite > 0)
            {
                // The curved foot of a penumbra has such pairs too, but its steps go on beyond them.
                taken[at] = taken[opposite] = true;
                if (Math.Abs(statistic[at - 1]) > 0.5 * Math.Abs(statistic[at]) || Math.Abs(statistic[Math.Min(opposite + 1, length - 1)]) > 0.5 * Math.Abs(statistic[at]))
                {
                    continue;
                }

                (double size, double sigma) = SizeOf(pixels, scale, span, alongColumns, at + 1, opposite, isStep: false);
                if (IsWorth(size) && BothSidesExposed(at + 1, opposite, 0, int.MaxValue))
                {
                    (int from, int to) = Extent(at);
                    faults.Add(new LineFault(alongColumns, at + 1, opposite, from, to, size, sigma, Math.Abs(statistic[at]) / limit, false));
                }
            }
            else if (StandsAlone(at) && Math.Abs(statistic[at]) > (scale.IsLogarithm ? limit : UnknownScale * limit))
            {
                taken[at] = true;
                (double size, double sigma) = SizeOf(pixels, scale, span, alongColumns, at + 1, at + 1, isStep: true);
                if (IsWorth(size) && Math.Abs(size) > 4 * sigma && Math.Sign(size) == Math.Sign(statistic[at]))
                {
                    (int from, int to) = Extent(at);
                    faults.Add(new LineFault(alongColumns, at + 1, at + 1, from, to, size, sigma, Math.Abs(statistic[at]) / limit, true));
                }
            }
        }

        Parts();
        return new Result(faults, spread > 2 ? OffsetSigma() : 0, spread);

        bool Passes(int at) => Math.Abs(statistic[at]) > limit && Math.Abs(leaning[at]) >= ((2 * LeastAgreement) - 1) * bands[at];

        bool IsInside(int at)
        {
            (int from, int to) = Extent(at);
            return to - from >= (alongColumns ? pixels.Rows : pixels.Columns) / 4;
        }

        // A blurred edge of the anatomy or of an object is spread over neighbouring steps; a step of gain is in one.
        bool StandsAlone(int at) => Math.Abs(statistic[at - 1]) < 0.5 * Math.Abs(statistic[at]) && Math.Abs(statistic[at + 1]) < 0.5 * Math.Abs(statistic[at]);

        bool BothSidesExposed(int first, int last, int from, int to)
            => OneValueShare(first - 2, from, to) < MostOfOneValue && OneValueShare(last + 2, from, to) < MostOfOneValue;

        // Share of the most frequent value along one row or column, within the field.
        double OneValueShare(int index, int from, int to)
        {
            var counts = new Dictionary<ushort, int>();
            int across = alongColumns ? pixels.Rows : pixels.Columns, total = 0;
            for (int place = from; place < across && place <= to; place++)
            {
                if (alongColumns ? span.Holds(place, index) : span.Holds(index, place))
                {
                    ushort value = alongColumns ? pixels[place, index] : pixels[index, place];
                    counts[value] = counts.GetValueOrDefault(value) + 1;
                    total++;
                }
            }

            return total == 0 ? 0 : counts.Values.Max() / (double)total;
        }

        bool IsWorth(double size) => Math.Abs(size) >= (scale.IsLogarithm ? LeastStep : Math.Max(LeastStepOfRange * scale.Range, 0.3 * scale.Step));

        (int From, int To) Extent(int at)
        {
            int across = alongColumns ? pixels.Rows : pixels.Columns, from = 0, to = across - 1;
            while (from < to && !(alongColumns ? span.Holds(from, at) : span.Holds(at, from)))
            {
                from++;
            }

            while (to > from && !(alongColumns ? span.Holds(to, at) : span.Holds(at, to)))
            {
                to--;
            }

            return (from, to);
        }

        // Lines that are dead over a part of their length.
        void Parts()
        {
            for (int at = 1; at < length - 1; at++)
            {
                if (taken[at])
                {
                    continue;
                }

                int run = 0, best = 0, bestEnd = 0, sign = 0;
                for (int band = 0; band < ArtifactScan.Bands; band++)
                {
                    float own = residual[band][at], other = residual[band][at + 1];
                    bool dead = Math.Abs(own) > PartSigmas && Math.Abs(other) > PartSigmas && own * other < 0 && (run == 0 || Math.Sign(own) == sign);
                    run = dead ? run + 1 : 0;
                    sign = dead ? Math.Sign(own) : 0;
                    if (run > best)
                    {
                        best = run;
                        bestEnd = band;
                    }
                }

                if (best >= LeastPartBands && IsInside(at))
                {
                    taken[at] = taken[at + 1] = true;
                    int across = alongColumns ? pixels.Rows : pixels.Columns;
                    int from = (bestEnd - best + 1) * bandLength, to = Math.Min(across - 1, ((bestEnd + 1) * bandLength) - 1);
                    (double size, double sigma) = SizeOf(pixels, scale, span, alongColumns, at + 1, at + 1, isStep: false, from, to);
                    if (IsWorth(size) && Math.Abs(size) > 4 * sigma && BothSidesExposed(at + 1, at + 1, from, to))
                    {
                        faults.Add(new LineFault(alongColumns, at + 1, at + 1, from, to, size, sigma, PartSigmas / Limit, false));
                    }
                }
            }
        }

        // The lines' own offsets: the covariance of neighbouring bands' residuals is what the bands share, and noise shares nothing.
        double OffsetSigma()
        {
            double shared = 0, weight = 0;
            for (int band = 1; band < ArtifactScan.Bands; band++)
            {
                var products = new List<double>(length);
                for (int at = 0; at < length; at++)
                {
                    if (float.IsFinite(residual[band][at]) && float.IsFinite(residual[band - 1][at]) && !taken[at])
                    {
                        products.Add(Math.Clamp(residual[band][at], -BandClip, BandClip) * Math.Clamp(residual[band - 1][at], -BandClip, BandClip));
                    }
                }

                if (products.Count > 0)
                {
                    shared += products.Average() * RobustSigma(steps[band], counts[band]) * RobustSigma(steps[band - 1], counts[band - 1]);
                    weight++;
                }
            }

            // A step is the difference of two lines' offsets, so its variance is twice theirs.
            return weight > 0 ? Math.Sqrt(Math.Max(0, shared / weight) / 2) : 0;
        }
    }

    private static float[] Residuals(float[] steps, int[] counts, int leastCount, float sigma)
    {
        var residual = new float[steps.Length];
        Array.Fill(residual, float.NaN);
        var sizes = new List<float>(steps.Length);
        float[] beside = MediansBeside(steps);
        for (int at = 6; at < steps.Length - 7; at++)
        {
            if (counts[at] < leastCount || counts[at - 6] < leastCount || counts[at + 6] < leastCount)
            {
                continue;
            }

            residual[at] = steps[at] - beside[at];
            sizes.Add(Math.Abs(residual[at]));
        }

        if (sizes.Count < 20)
        {
            Array.Fill(residual, float.NaN);
            return residual;
        }

        // The spread of the places around, by blocks: beside a steep skin line it is not what it is in direct exposure.
        // No finer than a fifth of what independent noise would give: a picture smoothed to nothing has steps of exactly 0.
        float least = 0.2f * sigma / MathF.Sqrt(2 * Math.Max(1, leastCount));
        var spreads = new float[((residual.Length - 1) / SpreadBlock) + 1];
        for (int block = 0; block < spreads.Length; block++)
        {
            sizes.Clear();
            for (int at = Math.Max(0, (block - 1) * SpreadBlock); at < Math.Min(residual.Length, (block + 2) * SpreadBlock); at++)
            {
                if (float.IsFinite(residual[at]))
                {
                    sizes.Add(Math.Abs(residual[at]));
                }
            }

            spreads[block] = sizes.Count < 20 ? float.PositiveInfinity : Math.Max(OrderStatistic.At(CollectionsMarshal.AsSpan(sizes), sizes.Count / 2) / 0.6745f, least);
        }

        for (int at = 0; at < residual.Length; at++)
        {
            residual[at] /= spreads[at / SpreadBlock];
        }

        return residual;
    }

    /// <summary>For each place the median of the ten values two to six away on both sides: the mean of the fifth and the sixth; 0 nearer to the ends.</summary>
    internal static float[] MediansBeside(float[] steps)
    {
        var medians = new float[steps.Length];
        Span<float> ten = stackalloc float[10];
        int at = 6;
        for (; at + Vector<float>.Count <= steps.Length - 7; at += Vector<float>.Count)
        {
            // Many places at once: the five before in order, the five after in order; then the fifth and sixth of both together.
            (Vector<float> a0, Vector<float> a1, Vector<float> a2, Vector<float> a3, Vector<float> a4) = InOrder(steps, at - 6);
            (Vector<float> b0, Vector<float> b1, Vector<float> b2, Vector<float> b3, Vector<float> b4) = InOrder(steps, at + 2);

            // Of two lists in order the five lowest are the lower of each of the one with the opposite of the other (Batcher, AFIPS Proc 1968;32:307); the highest of them is the fifth.
            Vector<float> fifth = Vector.Max(Vector.Max(Vector.Max(Vector.Min(a0, b4), Vector.Min(a1, b3)), Vector.Max(Vector.Min(a2, b2), Vector.Min(a3, b1))), Vector.Min(a4, b0));
            Vector<float> sixth = Vector.Min(Vector.Min(Vector.Min(Vector.Max(a0, b4), Vector.Max(a1, b3)), Vector.Min(Vector.Max(a2, b2), Vector.Max(a3, b1))), Vector.Max(a4, b0));
            ((fifth + sixth) / 2).CopyTo(medians, at);
        }

        for (; at < steps.Length - 7; at++)
        {
            steps.AsSpan(at - 6, 5).CopyTo(ten);
            steps.AsSpan(at + 2, 5).CopyTo(ten[5..]);
            ten.Sort();
            medians[at] = (ten[4] + ten[5]) / 2;
        }

        return medians;
    }

    private static (Vector<float> A, Vector<float> B, Vector<float> C, Vector<float> D, Vector<float> E) InOrder(float[] steps, int from)
    {
        var a = new Vector<float>(steps, from);
        var b = new Vector<float>(steps, from + 1);
        var c = new Vector<float>(steps, from + 2);
        var d = new Vector<float>(steps, from + 3);
        var e = new Vector<float>(steps, from + 4);

        // Nine exchanges put five in order (Knuth, The Art of Computer Programming 3, 5.3.4).
        Exchange(ref a, ref b);
        Exchange(ref d, ref e);
        Exchange(ref c, ref e);
        Exchange(ref c, ref d);
        Exchange(ref b, ref e);
        Exchange(ref a, ref d);
        Exchange(ref a, ref c);
        Exchange(ref b, ref d);
        Exchange(ref b, ref c);
        return (a, b, c, d, e);

        static void Exchange(ref Vector<float> low, ref Vector<float> high)
        {
            Vector<float> least = Vector.Min(low, high);
            high = Vector.Max(low, high);
            low = least;
        }
    }

    private static double RobustSigma(float[] steps, int[] counts)
    {
        var sizes = new List<float>(steps.Length);
        for (int at = 1; at < steps.Length - 1; at++)
        {
            if (counts[at] > 0)
            {
                sizes.Add(Math.Abs(steps[at] - ((steps[at - 1] + steps[at + 1]) / 2)));
            }
        }

        // A value less the mean of its neighbours: √1.5 of one value's spread.
        return sizes.Count == 0 ? 0 : OrderStatistic.At(CollectionsMarshal.AsSpan(sizes), sizes.Count / 2) / 0.6745 / Math.Sqrt(1.5);
    }

    /// <summary>The size of a line or step by the median over rows (or columns), less that of places beside it, with the standard deviation of that median.</summary>
    private static (double Size, double Sigma) SizeOf(
        ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span, bool alongColumns, int first, int last, bool isStep, int from = 0, int to = int.MaxValue)
    {
        int across = alongColumns ? pixels.Rows : pixels.Columns, length = alongColumns ? pixels.Columns : pixels.Rows;
        int stride = Math.Max(1, across / 3000);
        var own = new List<double>(across / stride);
        for (int place = Math.Max(0, from); place < Math.Min(across, (long)to + 1); place += stride)
        {
            double value = isStep ? Step(place, first) : Line(place);
            if (double.IsFinite(value))
            {
                own.Add(value);
            }
        }

        if (own.Count < 20)
        {
            return (0, double.PositiveInfinity);
        }

        own.Sort();
        double median = own[own.Count / 2], spread = (own[(int)(0.8413 * own.Count)] - own[(int)(0.1587 * own.Count)]) / 2;

        // A median's standard deviation is 1.2533 of a mean's for normal values.
        return (median, 1.2533 * spread / Math.Sqrt(own.Count));

        double At(int place, int index) => index < 0 || index >= length || !(alongColumns ? span.Holds(place, index) : span.Holds(index, place))
            ? double.NaN
            : scale.ByPixelValue[alongColumns ? pixels[place, index] : pixels[index, place]];

        // Three pixels on either side; a slope common to both sides is that of the six beyond, taken off.
        double Step(int place, int index)
        {
            double near = At(place, index) + At(place, index + 1) + At(place, index + 2) - At(place, index - 1) - At(place, index - 2) - At(place, index - 3);
            double right = At(place, index + 3) + At(place, index + 4) + At(place, index + 5) - At(place, index) - At(place, index + 1) - At(place, index + 2);
            double left = At(place, index - 1) + At(place, index - 2) + At(place, index - 3) - At(place, index - 4) - At(place, index - 5) - At(place, index - 6);
            return (near - ((left + right) / 2)) / 3;
        }

        double Line(int place)
        {
            double sum = 0;
            for (int index = first; index <= last; index++)
            {
                sum += At(place, index);
            }

            return (sum / (last - first + 1)) - ((At(place, first - 2) + At(place, first - 1) + At(place, last + 1) + At(place, last + 2)) / 4);
        }
    }
}
