using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Finds a side at full resolution: sub-pixel places where profiles across it pass halfway, and a robust straight line through them.</summary>
internal static class SideRefiner
{
    private const int MaximumProfiles = 240;

    /// <summary>Refines a side that is known to about a cell of the reduced image; null where no profile shows a step.</summary>
    /// <param name="pixels">Pixels, rows × columns.</param>
    /// <param name="start">The side as found, in pixels.</param>
    /// <param name="step">Side of a cell of the reduced image, in pixels: how well the side is known.</param>
    /// <param name="constantTolerance">Largest difference that still counts as one constant value: 0, or 2 where the file was compressed with loss.</param>
    /// <param name="signedStepsPerEFold">Pixel steps for e times the exposure, negative where pixels fall with exposure; 0 where unknown: halfway is then taken in pixel values.</param>
    internal static RefinedSide? Refine(ReadOnlyRaster<ushort> pixels, SideLine start, int step, int constantTolerance, double signedStepsPerEFold = 0)
    {
        SideLine line = start;
        int reach = (4 * step) + 6;
        int most = Math.Max(reach, Math.Min(pixels.Rows, pixels.Columns) / 14);
        RefinedSide? found = null;
        for (int pass = 0; pass < 5; pass++)
        {
            ProfileSet profiles = ProfileSet.Read(pixels, line, reach, MaximumProfiles);
            if (profiles.Count < 12)
            {
                return found;
            }

            double width = profiles.Width(out bool levelled);
            if (!levelled && reach < most && pass < 3)
            {
                reach = Math.Min(most, reach * 2);
                continue;
            }

            LineFit? fit = profiles.FitCrossings(signedStepsPerEFold);
            if (fit is not { } crossing)
            {
                return found;
            }

            line = line.Moved(crossing.Offset, crossing.Slope);
            found = new RefinedSide(
                line,
                Math.Sqrt((crossing.MiddleUncertainty * crossing.MiddleUncertainty) + (0.05 * 0.05)),
                crossing.SlopeUncertainty * 180 / Math.PI,
                width,
                crossing.Spread,
                crossing.InlierShare * profiles.CrossingShare,
                profiles.ConstantBeyond(width, constantTolerance, out ushort value),
                value,
                profiles.StepMedian);
            int narrowed = Math.Max(5, (int)Math.Ceiling((2.2 * width) + 3));
            if (pass >= 1 && narrowed >= reach)
            {
                break;
            }

            reach = Math.Min(reach, narrowed);
        }

        return found;
    }

    /// <summary>The image between its pixels, bilinear; NaN off the image.</summary>
    internal static double At(ReadOnlyRaster<ushort> pixels, double x, double y)
    {
        int column = (int)Math.Floor(x), row = (int)Math.Floor(y);
        if (column < 0 || row < 0 || column >= pixels.Columns - 1 || row >= pixels.Rows - 1)
        {
            if (x < -0.01 || y < -0.01 || x > pixels.Columns - 0.99 || y > pixels.Rows - 0.99)
            {
                return double.NaN;
            }

            return pixels[Math.Clamp((int)Math.Round(y), 0, pixels.Rows - 1), Math.Clamp((int)Math.Round(x), 0, pixels.Columns - 1)];
        }

        ReadOnlySpan<ushort> upper = pixels.Samples.Slice((row * pixels.Columns) + column, pixels.Columns + 2);
        double fx = x - column, fy = y - row;
        int a = upper[0], b = upper[1], c = upper[pixels.Columns], d = upper[pixels.Columns + 1];
        double above = a + (fx * (b - a)), below = c + (fx * (d - c));
        return above + (fy * (below - above));
    }

    private sealed class ProfileSet
    {
        private readonly int reach;
        private readonly double[] ts;
        private readonly float[] values;
        private readonly double[] inners;
        private readonly double[] outers;

        private ProfileSet(int reach, double[] ts, float[] values)
        {
            this.reach = reach;
            this.ts = ts;
            this.values = values;
            inners = new double[ts.Length];
            outers = new double[ts.Length];
            for (int k = 0; k < ts.Length; k++)
            {
                FindLevels(k);
            }
        }

        internal int Count => ts.Length;

        internal double CrossingShare { get; private set; }

        internal double StepMedian { get; private set; }

        private int Length => (2 * reach) + 1;

        internal static ProfileSet Read(ReadOnlyRaster<ushort> pixels, SideLine line, int reach, int maximum)
        {
            double length = line.ToT - line.FromT, from = line.FromT + (0.03 * length), to = line.ToT - (0.03 * length);
            int count = Math.Clamp((int)(to - from), 0, maximum);
            double spacing = count == 0 ? 1 : (to - from) / count;
            int lanes = Math.Clamp((int)spacing, 1, 5);
            var ts = new double[count];
            var values = new float[count * ((2 * reach) + 1)];
            double dx = -line.NormalY, dy = line.NormalX;
            for (int k = 0; k < count; k++)
            {
                ts[k] = from + ((k + 0.5) * spacing);
                Span<float> profile = values.AsSpan(k * ((2 * reach) + 1), (2 * reach) + 1);
                if (IsWithin(pixels, line, reach, ts[k], ((lanes - 1) / 2.0) * spacing / lanes))
                {
                    Within(pixels, line, reach, ts[k], spacing, lanes, profile);
                    continue;
                }

                for (int u = -reach; u <= reach; u++)
                {
                    double sum = 0;
                    int seen = 0;
                    for (int lane = 0; lane < lanes; lane++)
                    {
                        double t = ts[k] + ((lane - ((lanes - 1) / 2.0)) * spacing / lanes);
                        double value = At(pixels, (line.NormalX * (line.Rho + u)) + (dx * t), (line.NormalY * (line.Rho + u)) + (dy * t));
                        if (!double.IsNaN(value))
                        {
                            sum += value;
                            seen++;
                        }
                    }

                    profile[u + reach] = seen == 0 ? float.NaN : (float)(sum / seen);
                }
            }

            return new ProfileSet(reach, ts, values);
        }

        // Whether the strip of a profile, 2·reach + 1 long and twice the half-width across, lies in the image with a pixel to spare.
        private static bool IsWithin(ReadOnlyRaster<ushort> pixels, SideLine line, int reach, double t, double halfWidth)
        {
            double x = (line.NormalX * line.Rho) - (line.NormalY * t), y = (line.NormalY * line.Rho) + (line.NormalX * t);
            double nx = Math.Abs(line.NormalX), ny = Math.Abs(line.NormalY), farX = (nx * reach) + (ny * halfWidth) + 1, farY = (ny * reach) + (nx * halfWidth) + 1;
            return x - farX > 0 && y - farY > 0 && x + farX < pixels.Columns - 1 && y + farY < pixels.Rows - 1;
        }

        // The same where every sample lies between four pixels.
        private static void Within(ReadOnlyRaster<ushort> pixels, SideLine line, int reach, double t, double spacing, int lanes, Span<float> profile)
        {
            double dx = -line.NormalY, dy = line.NormalX;
            int columns = pixels.Columns;
            ReadOnlySpan<ushort> samples = pixels.Samples;
            Span<double> across = stackalloc double[lanes], down = stackalloc double[lanes];
            for (int lane = 0; lane < lanes; lane++)
            {
                double own = t + ((lane - ((lanes - 1) / 2.0)) * spacing / lanes);
                across[lane] = dx * own;
                down[lane] = dy * own;
            }

            for (int u = -reach; u <= reach; u++)
            {
                double baseX = line.NormalX * (line.Rho + u), baseY = line.NormalY * (line.Rho + u), sum = 0;
                for (int lane = 0; lane < lanes; lane++)
                {
                    double x = baseX + across[lane], y = baseY + down[lane];
                    int column = (int)x, row = (int)y, at = (row * columns) + column;
                    double fx = x - column, fy = y - row;
                    int a = samples[at], b = samples[at + 1], c = samples[at + columns], d = samples[at + columns + 1];
                    double above = a + (fx * (b - a)), below = c + (fx * (d - c));
                    sum += above + (fy * (below - above));
                }

                profile[u + reach] = (float)(sum / lanes);
            }
        }

        // 10 % to 90 % width of the median profile after each is scaled to its own two levels.
        internal double Width(out bool levelled)
        {
            var steps = new List<double>();
            for (int k = 0; k < Count; k++)
            {
                if (!Levels(k, out double inner, out double outer))
                {
                    continue;
                }

                steps.Add(outer - inner);
            }

            levelled = true;
            if (steps.Count == 0)
            {
                return 1;
            }

            StepMedian = OrderStatistic.At(CollectionsMarshal.AsSpan(steps), steps.Count / 2);
            double least = 0.3 * Math.Abs(StepMedian);

            // Place by place: the scaled values of all profiles there.
            var scaled = new float[Length * Count];
            var counts = new int[Length];
            for (int k = 0; k < Count; k++)
            {
                if (Levels(k, out double inner, out double outer) && Math.Abs(outer - inner) >= least && Math.Sign(outer - inner) == Math.Sign(StepMedian))
                {
                    for (int i = 0; i < Length; i++)
                    {
                        float value = values[(k * Length) + i];
                        if (!float.IsNaN(value))
                        {
                            scaled[(i * Count) + counts[i]++] = (float)((value - inner) / (outer - inner));
                        }
                    }
                }
            }

            var median = new double[Length];
            for (int i = 0; i < Length; i++)
            {
                median[i] = counts[i] == 0 ? (i > reach ? 1 : 0) : OrderStatistic.At(scaled.AsSpan(i * Count, counts[i]), counts[i] / 2);
            }

            double low = Crossing(median, 0.1), high = Crossing(median, 0.9);
            double width = Math.Max(0.5, high - low);
            levelled = width < 0.8 * reach;
            return width;
        }

        internal LineFit? FitCrossings(double signedStepsPerEFold)
        {
            var place = new List<double>();
            var at = new List<double>();
            double least = 0.2 * Math.Abs(StepMedian);
            for (int k = 0; k < Count; k++)
            {
                if (!Levels(k, out double inner, out double outer) || Math.Abs(outer - inner) < least)
                {
                    continue;
                }

                double crossing = NearestCrossing(k, Halfway(inner, outer, signedStepsPerEFold), Math.Sign(outer - inner));
                if (!double.IsNaN(crossing))
                {
                    at.Add(ts[k]);
                    place.Add(crossing);
                }
            }

            CrossingShare = (double)at.Count / Math.Max(1, Count);
            return at.Count < 8 ? null : StraightFit.Fit(at, place);
        }

        // The pixel value of the mean exposure of two pixel values.
        private static double Halfway(double inner, double outer, double signedStepsPerEFold)
            => signedStepsPerEFold == 0
                ? (inner + outer) / 2
                : outer + (signedStepsPerEFold * Math.Log((1 + Math.Exp((inner - outer) / signedStepsPerEFold)) / 2));

        // Share of profiles that hold one value, the same for all, from just beyond the edge to the end of what was read.
        internal double ConstantBeyond(double width, int tolerance, out ushort value)
        {
            var ends = new List<float>();
            int start = reach + (int)Math.Ceiling(Math.Max(1.5, width * 0.75)) + 1;
            for (int k = 0; k < Count; k++)
            {
                for (int i = start; i < Length; i++)
                {
                    float v = values[(k * Length) + i];
                    if (!float.IsNaN(v))
                    {
                        ends.Add(v);
                    }
                }
            }

            value = 0;
            if (ends.Count < 8)
            {
                return 0;
            }

            Span<float> order = CollectionsMarshal.AsSpan(ends);
            float middle = OrderStatistic.At(order, order.Length / 2);
            value = (ushort)Math.Round(middle);
            int same = 0;
            foreach (float v in order)
            {
                same += Math.Abs(v - middle) <= tolerance + 0.01f ? 1 : 0;
            }

            return (double)same / order.Length;
        }

        private bool Levels(int k, out double inner, out double outer)
        {
            (inner, outer) = (inners[k], outers[k]);
            return !double.IsNaN(inner) && !double.IsNaN(outer) && inner != outer;
        }

        private void FindLevels(int k)
        {
            inners[k] = MedianOf(k, 0, reach / 2);
            outers[k] = MedianOf(k, Length - (reach / 2), Length);
            if (double.IsNaN(outers[k]))
            {
                // Beyond the image's edge: what little there is past the middle.
                outers[k] = MedianOf(k, reach + 1, Length);
            }
        }

        private double MedianOf(int k, int from, int to)
        {
            Span<float> buffer = stackalloc float[Math.Max(1, to - from)];
            int count = 0;
            for (int i = from; i < to; i++)
            {
                float value = values[(k * Length) + i];
                if (!float.IsNaN(value))
                {
                    buffer[count++] = value;
                }
            }

            if (count == 0)
            {
                return double.NaN;
            }

            return OrderStatistic.At(buffer[..count], count / 2);
        }

        private double NearestCrossing(int k, double level, int direction)
        {
            double best = double.NaN;
            for (int i = 0; i < Length - 1; i++)
            {
                double a = values[(k * Length) + i], b = values[(k * Length) + i + 1];
                if (double.IsNaN(a) || double.IsNaN(b) || (b - a) * direction <= 0 || (a - level) * (b - level) > 0)
                {
                    continue;
                }

                double u = i - reach + ((level - a) / (b - a));
                if (double.IsNaN(best) || Math.Abs(u) < Math.Abs(best))
                {
                    best = u;
                }
            }

            return best;
        }

        private double Crossing(double[] profile, double level)
        {
            double best = double.NaN;
            for (int i = 0; i < Length - 1; i++)
            {
                if (profile[i] <= level && profile[i + 1] > level)
                {
                    double u = i - reach + ((level - profile[i]) / (profile[i + 1] - profile[i]));
                    if (double.IsNaN(best) || Math.Abs(u) < Math.Abs(best))
                    {
                        best = u;
                    }
                }
            }

            return double.IsNaN(best) ? (level < 0.5 ? -reach : reach) : best;
        }
    }
}

/// <summary>A side as a line in pixels: n·p = Rho, from and to along d = (−n.y, n.x).</summary>
internal readonly record struct SideLine(double NormalX, double NormalY, double Rho, double FromT, double ToT)
{
    internal double NormalDegrees => Math.Atan2(NormalY, NormalX) * 180 / Math.PI;

    internal double TiltDegrees => FieldCombination.FoldedTilt(NormalDegrees);

    /// <summary>The line moved to u = offset + slope·t.</summary>
    internal SideLine Moved(double offset, double slope)
    {
        double dx = -NormalY, dy = NormalX, length = Math.Sqrt(1 + (slope * slope));
        double newDx = (dx + (slope * NormalX)) / length, newDy = (dy + (slope * NormalY)) / length;
        double px = NormalX * (Rho + offset), py = NormalY * (Rho + offset);
        double nx = newDy, ny = -newDx, rho = (nx * px) + (ny * py);
        double startX = px + (dx * FromT) + (slope * FromT * NormalX), startY = py + (dy * FromT) + (slope * FromT * NormalY);
        double endX = px + (dx * ToT) + (slope * ToT * NormalX), endY = py + (dy * ToT) + (slope * ToT * NormalY);
        return new SideLine(nx, ny, rho, (newDx * startX) + (newDy * startY), (newDx * endX) + (newDy * endY));
    }
}

/// <summary>A side at full resolution; lengths in pixels.</summary>
/// <param name="Line">Where it lies.</param>
/// <param name="PositionUncertainty">One standard deviation across itself, at its middle.</param>
/// <param name="TiltDegreesUncertainty">One standard deviation of its angle.</param>
/// <param name="Width">10 % to 90 % width of the step.</param>
/// <param name="Spread">Spread of the places about the line.</param>
/// <param name="SeenShare">Share of profiles with a step on the line.</param>
/// <param name="ConstantShare">Share of samples beyond that hold one value.</param>
/// <param name="BeyondValue">That value.</param>
/// <param name="Step">Median step outwards, in pixel values.</param>
internal sealed record RefinedSide(
    SideLine Line,
    double PositionUncertainty,
    double TiltDegreesUncertainty,
    double Width,
    double Spread,
    double SeenShare,
    double ConstantShare,
    ushort BeyondValue,
    double Step)
{
    /// <summary>The part of <see cref="PositionUncertainty"/> that all sides of an image share, outwards or inwards alike: that of the scale of exposure, where it was found rather than known.</summary>
    internal double SharedUncertainty { get; init; }
}
