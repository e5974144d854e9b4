using System.Buffers;
using System.Numerics;
using System.Runtime.Intrinsics;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>One side of the collimator's shadow on the reduced image: its outward normal and where it lies along itself, in cells.</summary>
/// <param name="Role">0 right, 1 bottom, 2 left, 3 top, in turn of the outward normal from the tilt.</param>
/// <param name="NormalX">Outward normal, x.</param>
/// <param name="NormalY">Outward normal, y.</param>
/// <param name="Rho">n·p on the side.</param>
/// <param name="FromT">Start along d = (−n.y, n.x).</param>
/// <param name="ToT">End along d.</param>
/// <param name="Coherence">Mean of the clipped step inwards along the side, −1 to 1.</param>
internal readonly record struct ShadowSide(int Role, double NormalX, double NormalY, double Rho, double FromT, double ToT, double Coherence);

/// <summary>
/// Finds the collimator's shadow as a rectangle: straight sides along which exposure falls outwards nearly everywhere, and never rises.
/// </summary>
/// <remarks>
/// An edge of anatomy is crossed by exposure going up in one place and down in another, or is not straight; a collimator's is neither.
/// The step counts by its sign, not its size, so that a side is judged alike where it crosses direct exposure and where it crosses bone,
/// and so that noise beyond the beam (large in a logarithmic image) averages out.
/// </remarks>
internal sealed class BeamShadow
{
    private const int LongSideCells = 320;

    // A step inwards of 2 % of the image's range counts in full.
    private const double FullStepShare = 0.02;

    // A side gains by the coherence it has above this; the frame gains nothing.
    private const double LeastCoherence = 0.5;
    private const int CandidatesPerSide = 9;

    // A side within a ghost's rim: nearly as coherent as any, two and a half times as strong a step in logarithmic pixels as the rim, up to half the field farther in.
    private const double LeastGhostCoherence = 0.8;
    private const double GhostRatio = 2.5;
    private const double MostGhostShare = 0.5;
    private const int LeastGhostCells = 6;

    // How far to each side, in cells, a step is compared with its neighbours.
    private const int CrestReach = 5;
    private const int MaximumTilts = 10;

    private readonly float[] exposure;
    private readonly int rows;
    private readonly int columns;
    private readonly double scale;
    private readonly float fullStep;

    private BeamShadow(ReducedImage image, GradientField gradient, int sign, FieldShape masks)
    {
        int factor = Math.Max(1, (int)Math.Round(Math.Max(image.Rows, image.Columns) / (double)LongSideCells));
        rows = image.Rows / factor;
        columns = image.Columns / factor;
        scale = factor;
        exposure = new float[rows * columns];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                float sum = 0;
                for (int y = 0; y < factor; y++)
                {
                    for (int x = 0; x < factor; x++)
                    {
                        sum += image.Mean[(((row * factor) + y) * image.Columns) + (column * factor) + x];
                    }
                }

                exposure[(row * columns) + column] = sign * sum / (factor * factor);
            }

            if (masks.Found.Count > 0)
            {
                // What a mask covers is no part of the exposure; its rim belongs to neither.
                (double from, double to) = ConvexOutline.AcrossRow(masks.Outline, image.ToPixel((row * factor) + ((factor - 1) / 2.0)));
                for (int column = 0; column < columns; column++)
                {
                    double x = image.ToPixel((column * factor) + ((factor - 1) / 2.0)), rim = 1.5 * factor * image.Step;
                    if (x < from + rim || x > to - rim || from >= to)
                    {
                        exposure[(row * columns) + column] = float.NaN;
                    }
                }
            }
        }

        fullStep = (float)FullStepShare * gradient.Range;
    }

    /// <summary>The sides of the best rectangle; empty where there is none.</summary>
    /// <param name="image">The reduced image.</param>
    /// <param name="gradient">Its gradient.</param>
    /// <param name="sign">+1 when a higher pixel value is more exposure.</param>
    /// <param name="masks">The masks found before; what they cover counts as off the frame.</param>
    /// <param name="withinGhosts">The same with sides moved in from the rim of an earlier exposure's ghost; empty where there is no such rim.</param>
    internal static List<ShadowSide> Find(ReducedImage image, GradientField gradient, int sign, FieldShape masks, out List<ShadowSide> withinGhosts)
    {
        if (Math.Min(image.Rows, image.Columns) < 24)
        {
            withinGhosts = [];
            return [];
        }

        var shadow = new BeamShadow(image, gradient, sign, masks);
        double[] tilts = Tilts(gradient);
        var found = new Rectangle[tilts.Length];
        Parallel.For(
            0,
            tilts.Length,
            () => new Buffers(shadow.rows, shadow.columns),
            (k, _, buffers) =>
            {
                found[k] = shadow.BestAt(tilts[k], buffers);
                return buffers;
            },
            buffers => buffers.GiveBack());
        Rectangle best = found.MaxBy(rectangle => rectangle.Score);
        if (best.Score <= 0)
        {
            withinGhosts = [];
            return [];
        }

        var again = new Buffers(shadow.rows, shadow.columns);
        Turned turned = shadow.Turn(best.Tilt, again);
        withinGhosts = shadow.ToSides(best, turned, again, withinGhosts: true);
        List<ShadowSide> sides = shadow.ToSides(best, turned, again, withinGhosts: false);
        again.GiveBack();
        return sides;
    }

    // The directions that strong gradients share, folded to a quarter turn; 0 always among them.
    private static double[] Tilts(GradientField gradient)
    {
        const int PerDegree = 2;
        var weight = new double[90 * PerDegree];
        float least = 0.02f * gradient.Range;
        for (int i = 0; i < gradient.Magnitude.Length; i++)
        {
            if (gradient.Magnitude[i] > least)
            {
                double degrees = FieldCombination.FoldedTilt(Math.Atan2(gradient.Y[i], gradient.X[i]) * 180 / Math.PI);
                weight[Math.Clamp((int)Math.Floor((degrees + 45) * PerDegree), 0, weight.Length - 1)] += 1;
            }
        }

        var smooth = new double[weight.Length];
        for (int k = 0; k < weight.Length; k++)
        {
            for (int d = -2; d <= 2; d++)
            {
                smooth[k] += weight[(k + d + weight.Length) % weight.Length];
            }
        }

        var tilts = new List<double> { 0 };
        foreach (int k in Enumerable.Range(0, smooth.Length).OrderByDescending(k => smooth[k]))
        {
            double tilt = ((k + 0.5) / PerDegree) - 45;
            if (tilts.Count < MaximumTilts && tilts.TrueForAll(other => Math.Abs(FieldCombination.FoldedTilt(other - tilt)) > 0.9))
            {
                tilts.Add(tilt);
            }
        }

        return [.. tilts];
    }

    private readonly record struct Rectangle(double Score, double Tilt, int Right, int Bottom, int Left, int Top, double[]? Coherence);

    // One thread's room for turned images, used again for each tilt.
    private sealed class Buffers
    {
        internal Buffers(int rows, int columns)
        {
            int side = (int)Math.Ceiling(Math.Sqrt(((double)rows * rows) + ((double)columns * columns))) + 3;

            // A turned image is at most as wide and as high as the diagonal.
            int area = side * side;
            Turned = ArrayPool<float>.Shared.Rent(area);
            StepRight = ArrayPool<float>.Shared.Rent(area);
            StepDown = ArrayPool<float>.Shared.Rent(area);
            Across = ArrayPool<float>.Shared.Rent(area + side);
            Down = ArrayPool<float>.Shared.Rent(area + side);
            SeenAlongColumn = ArrayPool<short>.Shared.Rent(area + side);
            SeenAlongRow = ArrayPool<short>.Shared.Rent(area + side);
            First = new int[side];
            End = new int[side];
        }

        internal void GiveBack()
        {
            foreach (float[] buffer in new[] { Turned, StepRight, StepDown, Across, Down })
            {
                ArrayPool<float>.Shared.Return(buffer);
            }

            ArrayPool<short>.Shared.Return(SeenAlongColumn);
            ArrayPool<short>.Shared.Return(SeenAlongRow);
        }

        // Cells of each row that lie on the frame: from First to before End.
        internal int[] First { get; }

        internal int[] End { get; }

        internal float[] Turned { get; }

        internal float[] StepRight { get; }

        internal float[] StepDown { get; }

        internal float[] Across { get; }

        internal float[] Down { get; }

        internal short[] SeenAlongColumn { get; }

        internal short[] SeenAlongRow { get; }
    }

    // The image turned so that the sides lie along its axes; cells off the frame do not count.
    private sealed class Turned
    {
        internal required int Width { get; init; }

        internal required int Height { get; init; }

        internal required double OriginU { get; init; }

        internal required double OriginV { get; init; }

        // Sums from the start of each line of the clipped step to the right (across) and downwards (down), and of cells that count.
        internal required float[] Across { get; init; }

        internal required float[] Down { get; init; }

        internal required short[] SeenAlongColumn { get; init; }

        internal required short[] SeenAlongRow { get; init; }

        // Cells of each row that lie on the frame: from First to before End.
        internal required int[] First { get; init; }

        internal required int[] End { get; init; }
    }

    private Turned Turn(double tilt, Buffers buffers)
    {
        (double sine, double cosine) = Math.SinCos(tilt * Math.PI / 180);

        // u = x·cos + y·sin, v = −x·sin + y·cos.
        double[] us = [0, (columns - 1) * cosine, (rows - 1) * sine, ((columns - 1) * cosine) + ((rows - 1) * sine)];
        double[] vs = [0, -(columns - 1) * sine, (rows - 1) * cosine, (-(columns - 1) * sine) + ((rows - 1) * cosine)];
        double u0 = Math.Floor(us.Min()), v0 = Math.Floor(vs.Min());
        int width = (int)Math.Ceiling(us.Max() - u0) + 1, height = (int)Math.Ceiling(vs.Max() - v0) + 1;
        for (int v = 0; v < height; v++)
        {
            (buffers.First[v], buffers.End[v]) = TurnRow(buffers.Turned.AsSpan(v * width, width), u0, v + v0, sine, cosine);
        }

        Steps(buffers, width, height);
        Array.Clear(buffers.Across, 0, width);
        Array.Clear(buffers.SeenAlongColumn, 0, width);
        for (int v = 0; v < height; v++)
        {
            SumRow(buffers, v, width, height);
        }

        return new Turned
        {
            Width = width,
            Height = height,
            OriginU = u0,
            OriginV = v0,
            Across = buffers.Across,
            Down = buffers.Down,
            SeenAlongColumn = buffers.SeenAlongColumn,
            SeenAlongRow = buffers.SeenAlongRow,
            First = buffers.First,
            End = buffers.End,
        };
    }

    // One row of the turned image, NaN off the frame; the cells on the frame are in one piece.
    private (int First, int End) TurnRow(Span<float> line, double u0, double v, double sine, double cosine)
    {
        // Where both coordinates can round to a cell; what is tried beyond is found to be off the frame.
        double from = double.NegativeInfinity, to = double.PositiveInfinity, x0 = v * sine, y0 = v * cosine;
        Narrow(cosine, x0, columns, ref from, ref to);
        Narrow(sine, -y0, rows, ref from, ref to);
        int first = (int)Math.Clamp(Math.Floor(from - u0) - 1, 0, line.Length), end = (int)Math.Clamp(Math.Ceiling(to - u0) + 2, first, line.Length);
        line[..first].Fill(float.NaN);
        line[end..].Fill(float.NaN);
        for (int u = first; u < end; u++)
        {
            double x = ((u + u0) * cosine) - x0, y = ((u + u0) * sine) + y0;
            int column = (int)Math.Round(x), row = (int)Math.Round(y);
            line[u] = (uint)column < (uint)columns && (uint)row < (uint)rows ? exposure[(row * columns) + column] : float.NaN;
        }

        return (first, end);

        // slope · u − offset from −1/2 to count − 1/2.
        static void Narrow(double slope, double offset, int count, ref double from, ref double to)
        {
            if (Math.Abs(slope) < 1e-9)
            {
                return;
            }

            double a = (offset - 0.5) / slope, b = (offset + count - 0.5) / slope;
            from = Math.Max(from, Math.Min(a, b));
            to = Math.Min(to, Math.Max(a, b));
        }
    }

    // The step at each cell from the two cells before to the two cells after, to the right and downwards, in full steps; 0 where the frame is in the way.
    private void Steps(Buffers buffers, int width, int height)
    {
        float[] turned = buffers.Turned;
        for (int v = 0; v < height; v++)
        {
            Span<float> right = buffers.StepRight.AsSpan(v * width, width), down = buffers.StepDown.AsSpan(v * width, width);
            right.Clear();
            down.Clear();
            int first = Math.Max(2, buffers.First[v]), end = Math.Min(width - 2, buffers.End[v]);
            StepLine(turned, v * width, 1, first, end, right);
            if (v >= 2 && v <= height - 3)
            {
                StepLine(turned, v * width, width, buffers.First[v], buffers.End[v], down);
            }
        }
    }

    private void StepLine(float[] turned, int line, int stride, int first, int end, Span<float> steps)
    {
        int wide = Vector<float>.Count, u = first;
        var full = new Vector<float>(fullStep);
        for (; u <= end - wide; u += wide)
        {
            int at = line + u;
            Vector<float> before = new Vector<float>(turned, at - stride) + new Vector<float>(turned, at - (2 * stride));
            Vector<float> after = new Vector<float>(turned, at + stride) + new Vector<float>(turned, at + (2 * stride));
            Vector<float> step = 0.5f * (after - before);
            Vector.ConditionalSelect(Vector.Equals(step, step), step / full, Vector<float>.Zero).CopyTo(steps[u..]);
        }

        for (; u < end; u++)
        {
            int at = line + u;
            float before = turned[at - stride] + turned[at - (2 * stride)], after = turned[at + stride] + turned[at + (2 * stride)];
            float step = 0.5f * (after - before);
            steps[u] = float.IsNaN(step) ? 0 : step / fullStep;
        }
    }

    // The sums of one row: down its columns from the row above, and along it.
    private static void SumRow(Buffers buffers, int v, int width, int height)
    {
        int at = v * width, line = v * (width + 1), first = buffers.First[v], end = buffers.End[v];
        ReadOnlySpan<float> across = buffers.Across.AsSpan(at, width);
        Span<float> acrossNext = buffers.Across.AsSpan(at + width, width), down = buffers.Down.AsSpan(line, width + 1);
        across.CopyTo(acrossNext);
        ReadOnlySpan<short> seenColumn = buffers.SeenAlongColumn.AsSpan(at, width);
        Span<short> seenNext = buffers.SeenAlongColumn.AsSpan(at + width, width), seenRow = buffers.SeenAlongRow.AsSpan(line, width + 1);
        seenColumn.CopyTo(seenNext);
        down[..(first + 1)].Clear();
        seenRow[..(first + 1)].Clear();

        // Crests of steps down wait in the place of their own sums.
        Span<float> crests = down[1..];
        int wide = Vector<float>.Count, u = first, middle = Math.Max(first, Math.Min(CrestReach, end));
        for (; u < middle; u++)
        {
            Both(u, acrossNext, crests);
        }

        int upwards = -Math.Min(CrestReach, v), downwards = Math.Min(CrestReach, height - 1 - v);
        for (; u <= Math.Min(end, width - CrestReach) - wide; u += wide)
        {
            (new Vector<float>(across[u..]) + Crests(buffers.StepRight, at + u, 1, -CrestReach, CrestReach)).CopyTo(acrossNext[u..]);
            Crests(buffers.StepDown, at + u, width, upwards, downwards).CopyTo(crests[u..]);
        }

        for (; u < end; u++)
        {
            Both(u, acrossNext, crests);
        }

        float sum = 0;
        short seen = 0;
        ReadOnlySpan<float> values = buffers.Turned.AsSpan(at, width);
        for (u = first; u < end; u++)
        {
            short one = (short)(float.IsNaN(values[u]) ? 0 : 1);
            sum += crests[u];
            crests[u] = sum;
            seen += one;
            seenRow[u + 1] = seen;
            seenNext[u] += one;
        }

        crests[end..].Fill(sum);
        seenRow[(end + 1)..].Fill(seen);

        void Both(int u, Span<float> acrossNext, Span<float> crests)
        {
            acrossNext[u] += Crest(buffers.StepRight, at + u, 1, u, width);
            crests[u] = Crest(buffers.StepDown, at + u, width, v, height);
        }
    }

    // A step counts where it is the steepest nearby and less on its slopes: the long tail of scatter beyond an edge falls outwards too.
    private static Vector<float> Crests(float[] steps, int at, int stride, int from, int to)
    {
        Vector<float> here = new(steps, at), size = Vector.Abs(here), most = size;
        for (int k = from; k <= to; k++)
        {
            most = Vector.Max(most, Vector.Abs(new Vector<float>(steps, at + (k * stride))));
        }

        Vector<float> crest = Vector.Min(Vector.Max(here, -Vector<float>.One), Vector<float>.One) * (size / most);
        return Vector.ConditionalSelect(Vector.Equals(here, Vector<float>.Zero), Vector<float>.Zero, crest);
    }

    private static float Crest(float[] steps, int at, int stride, int place, int length)
    {
        float here = steps[at];
        if (here == 0)
        {
            return 0;
        }

        float most = MathF.Abs(here);
        int from = -Math.Min(CrestReach, place), to = Math.Min(CrestReach, length - 1 - place);
        for (int k = from; k <= to; k++)
        {
            most = MathF.Max(most, MathF.Abs(steps[at + (k * stride)]));
        }

        return Math.Clamp(here, -1, 1) * (MathF.Abs(here) / most);
    }

    private Rectangle BestAt(double tilt, Buffers buffers)
    {
        Turned t = Turn(tilt, buffers);
        (double[] leftGains, double[] rightGains) = GainsOfColumns(t);
        (double[] topGains, double[] bottomGains) = GainsOfRows(t);
        int[] lefts = Candidates(leftGains), rights = Candidates(rightGains), tops = Candidates(topGains), bottoms = Candidates(bottomGains);
        double shortSide = Math.Min(rows, columns);
        var best = new Rectangle(0, tilt, -1, -1, -1, -1, null);
        Span<double> coherence = stackalloc double[4];
        foreach (int left in lefts)
        {
            foreach (int right in rights)
            {
                int l = left < 0 ? 0 : left, r = right < 0 ? t.Width - 1 : right;
                if (r - l < 0.12 * shortSide)
                {
                    continue;
                }

                foreach (int top in tops)
                {
                    foreach (int bottom in bottoms)
                    {
                        int a = top < 0 ? 0 : top, b = bottom < 0 ? t.Height - 1 : bottom;
                        if (b - a < 0.12 * shortSide)
                        {
                            continue;
                        }

                        double score = 0;
                        coherence.Clear();
                        bool possible = Gain(t, 0, right, a, b, ref score, coherence)
                            && Gain(t, 1, bottom, l, r, ref score, coherence)
                            && Gain(t, 2, left, a, b, ref score, coherence)
                            && Gain(t, 3, top, l, r, ref score, coherence);
                        if (possible && score > best.Score)
                        {
                            best = new Rectangle(score, tilt, right, bottom, left, top, coherence.ToArray());
                        }
                    }
                }
            }
        }

        return best;
    }

    // What a side adds: its length times its coherence above the least; a side that has less makes the rectangle impossible.
    private static bool Gain(Turned t, int role, int place, int from, int to, ref double score, Span<double> coherence)
    {
        if (place < 0)
        {
            return true;
        }

        double sum, seen;
        if (role is 0 or 2)
        {
            sum = t.Across[((to + 1) * t.Width) + place] - t.Across[(from * t.Width) + place];
            seen = t.SeenAlongColumn[((to + 1) * t.Width) + place] - t.SeenAlongColumn[(from * t.Width) + place];
        }
        else
        {
            int line = place * (t.Width + 1);
            sum = t.Down[line + to + 1] - t.Down[line + from];
            seen = t.SeenAlongRow[line + to + 1] - t.SeenAlongRow[line + from];
        }

        if (seen < 12)
        {
            return false;
        }

        double mean = (role is 0 or 1 ? -sum : sum) / seen;
        coherence[role] = mean;
        score += seen * (mean - LeastCoherence);
        return mean > LeastCoherence;
    }

    // The most that any piece of each column gains as a left and as a right side (Kadane), many columns at once.
    private static (double[] Rising, double[] Falling) GainsOfColumns(Turned t)
    {
        int wide = Vector<short>.Count, half = Vector<float>.Count, quarter = Vector<double>.Count;
        double[] rising = new double[t.Width], falling = new double[t.Width];
        double[] risingNow = new double[t.Width], fallingNow = new double[t.Width];
        for (int v = 0; v < t.Height; v++)
        {
            int at = v * t.Width, next = at + t.Width, u = t.First[v];
            for (; u <= t.End[v] - wide; u += wide)
            {
                Vector.Widen(new Vector<short>(t.SeenAlongColumn, next + u) - new Vector<short>(t.SeenAlongColumn, at + u), out Vector<int> seenLow, out Vector<int> seenHigh);
                Advance(u, new Vector<float>(t.Across, next + u) - new Vector<float>(t.Across, at + u), Vector.ConvertToSingle(seenLow));
                Advance(u + half, new Vector<float>(t.Across, next + u + half) - new Vector<float>(t.Across, at + u + half), Vector.ConvertToSingle(seenHigh));
            }

            for (; u < t.End[v]; u++)
            {
                float step = t.Across[next + u] - t.Across[at + u];
                double cost = LeastCoherence * (t.SeenAlongColumn[next + u] - t.SeenAlongColumn[at + u]);
                risingNow[u] = Math.Max(0, risingNow[u] + step - cost);
                fallingNow[u] = Math.Max(0, fallingNow[u] - step - cost);
                rising[u] = Math.Max(rising[u], risingNow[u]);
                falling[u] = Math.Max(falling[u], fallingNow[u]);
            }
        }

        return (rising, falling);

        void Advance(int u, Vector<float> steps, Vector<float> seen)
        {
            Vector.Widen(steps, out Vector<double> stepLow, out Vector<double> stepHigh);
            Vector.Widen(seen, out Vector<double> seenLow, out Vector<double> seenHigh);
            AdvanceHalf(u, stepLow, seenLow * LeastCoherence);
            AdvanceHalf(u + quarter, stepHigh, seenHigh * LeastCoherence);
        }

        void AdvanceHalf(int u, Vector<double> step, Vector<double> cost)
        {
            Vector<double> up = Vector.Max(Vector<double>.Zero, new Vector<double>(risingNow, u) + step - cost);
            Vector<double> down = Vector.Max(Vector<double>.Zero, new Vector<double>(fallingNow, u) - step - cost);
            up.CopyTo(risingNow, u);
            down.CopyTo(fallingNow, u);
            Vector.Max(up, new Vector<double>(rising, u)).CopyTo(rising, u);
            Vector.Max(down, new Vector<double>(falling, u)).CopyTo(falling, u);
        }
    }

    // The same of each row as an upper and as a lower side; both at once.
    private static (double[] Rising, double[] Falling) GainsOfRows(Turned t)
    {
        double[] rising = new double[t.Height], falling = new double[t.Height];
        for (int v = 0; v < t.Height; v++)
        {
            int line = v * (t.Width + 1);
            ReadOnlySpan<float> sums = t.Down.AsSpan(line, t.Width + 1);
            ReadOnlySpan<short> seen = t.SeenAlongRow.AsSpan(line, t.Width + 1);
            Vector128<double> running = Vector128<double>.Zero, most = Vector128<double>.Zero;
            for (int u = t.First[v]; u < t.End[v]; u++)
            {
                double step = sums[u + 1] - sums[u];
                running = Vector128.Max(Vector128<double>.Zero, running + Vector128.Create(step, -step) - Vector128.Create(LeastCoherence * (seen[u + 1] - seen[u])));
                most = Vector128.Max(most, running);
            }

            (rising[v], falling[v]) = (most[0], most[1]);
        }

        return (rising, falling);
    }

    // The lines that gain most, without neighbours; −1, the frame, is always among them.
    private static int[] Candidates(double[] gains)
    {
        var kept = new List<int> { -1 };
        while (kept.Count <= CandidatesPerSide)
        {
            int best = -1;
            for (int line = 0; line < gains.Length; line++)
            {
                best = gains[line] >= 4 && (best < 0 || gains[line] > gains[best]) ? line : best;
            }

            if (best < 0)
            {
                break;
            }

            kept.Add(best);
            for (int line = Math.Max(0, best - 2); line <= Math.Min(gains.Length - 1, best + 2); line++)
            {
                gains[line] = 0;
            }
        }

        return [.. kept];
    }

    // An exposure read before leaves a faint ghost (lag): its rim ends in the dark as the beam does, but the beam's own side, farther in, is a far
    // stronger step along the whole of its length.
    private static int StrongerWithin(Turned t, Buffers buffers, int role, int place, int opposite, int from, int to)
    {
        double rim = MeanStep(place);
        Span<double> coherence = stackalloc double[4];
        int inwards = role is 0 or 1 ? -1 : 1, most = (int)(MostGhostShare * Math.Abs(place - opposite)), best = place;
        double strongest = GhostRatio * Math.Max(rim, 1);
        for (int k = LeastGhostCells; k <= most; k++)
        {
            int at = place + (k * inwards);
            double step = MeanStep(at), unused = 0;
            if (step > strongest && Gain(t, role, at, from, to, ref unused, coherence) && coherence[role] >= LeastGhostCoherence)
            {
                (strongest, best) = (step, at);
            }
        }

        return best;

        double MeanStep(int at)
        {
            double sum = 0;
            for (int k = from; k <= to; k++)
            {
                sum += role is 0 or 2 ? buffers.StepRight[(k * t.Width) + at] : buffers.StepDown[(at * t.Width) + k];
            }

            return (role is 0 or 1 ? -sum : sum) / (to - from + 1);
        }
    }

    private List<ShadowSide> ToSides(Rectangle rectangle, Turned t, Buffers buffers, bool withinGhosts)
    {
        (double sine, double cosine) = Math.SinCos(rectangle.Tilt * Math.PI / 180);
        int[] places = [rectangle.Right, rectangle.Bottom, rectangle.Left, rectangle.Top];
        if (withinGhosts)
        {
            int[] ends = [places[0] < 0 ? t.Width - 1 : places[0], places[1] < 0 ? t.Height - 1 : places[1], Math.Max(0, places[2]), Math.Max(0, places[3])];
            int[] inner = [.. places];
            for (int role = 0; role < 4; role++)
            {
                if (places[role] >= 0)
                {
                    (int start, int end) = role is 0 or 2 ? (ends[3], ends[1]) : (ends[2], ends[0]);
                    inner[role] = StrongerWithin(t, buffers, role, places[role], ends[(role + 2) % 4], start, end);
                }
            }

            if (inner.SequenceEqual(places))
            {
                return [];
            }

            rectangle = rectangle with { Right = inner[0], Bottom = inner[1], Left = inner[2], Top = inner[3] };
            places = inner;
        }

        double right = rectangle.Right < 0 ? t.Width - 1 : rectangle.Right, left = rectangle.Left < 0 ? 0 : rectangle.Left;
        double bottom = rectangle.Bottom < 0 ? t.Height - 1 : rectangle.Bottom, top = rectangle.Top < 0 ? 0 : rectangle.Top;
        var sides = new List<ShadowSide>();
        for (int role = 0; role < 4; role++)
        {
            if (places[role] < 0)
            {
                continue;
            }

            // Outward normals in (u, v): right (1, 0), bottom (0, 1), left (−1, 0), top (0, −1); along = (−n.v, n.u).
            (double nu, double nv) = role switch { 0 => (1, 0), 1 => (0, 1), 2 => (-1.0, 0.0), _ => (0.0, -1.0) };
            double nx = (nu * cosine) - (nv * sine), ny = (nu * sine) + (nv * cosine);
            double place = places[role] + (role is 0 or 2 ? t.OriginU : t.OriginV);
            double rho = role is 0 or 1 ? place : -place;
            (double from, double to) = role switch
            {
                0 => (top + t.OriginV, bottom + t.OriginV),
                1 => (-(right + t.OriginU), -(left + t.OriginU)),
                2 => (-(bottom + t.OriginV), -(top + t.OriginV)),
                _ => (left + t.OriginU, right + t.OriginU),
            };
            double half = (scale - 1) / 2;
            sides.Add(new ShadowSide(
                role,
                nx,
                ny,
                (rho * scale) + (half * (nx + ny)),
                (from * scale) + (half * (nx - ny)),
                (to * scale) + (half * (nx - ny)),
                rectangle.Coherence![role]));
        }

        return sides;
    }
}
