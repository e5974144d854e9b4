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
            _ => { });
        Rectangle best = found.MaxBy(rectangle => rectangle.Score);

        withinGhosts = best.Score <= 0 ? [] : shadow.ToSides(best, withinGhosts: true);
        return best.Score <= 0 ? [] : shadow.ToSides(best, withinGhosts: false);
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
            Turned = new float[area];
            StepRight = new float[area];
            StepDown = new float[area];
            Across = new float[area + side];
            Down = new float[area + side];
            SeenAlongColumn = new short[area + side];
            SeenAlongRow = new short[area + side];
        }

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
    }

    private Turned Turn(double tilt, Buffers buffers)
    {
        (double sine, double cosine) = Math.SinCos(tilt * Math.PI / 180);

        // u = x·cos + y·sin, v = −x·sin + y·cos.
        double[] us = [0, (columns - 1) * cosine, (rows - 1) * sine, ((columns - 1) * cosine) + ((rows - 1) * sine)];
        double[] vs = [0, -(columns - 1) * sine, (rows - 1) * cosine, (-(columns - 1) * sine) + ((rows - 1) * cosine)];
        double u0 = Math.Floor(us.Min()), v0 = Math.Floor(vs.Min());
        int width = (int)Math.Ceiling(us.Max() - u0) + 1, height = (int)Math.Ceiling(vs.Max() - v0) + 1;
        float[] turned = buffers.Turned, stepRight = buffers.StepRight, stepDown = buffers.StepDown, across = buffers.Across, down = buffers.Down;
        short[] seenColumn = buffers.SeenAlongColumn, seenRow = buffers.SeenAlongRow;
        for (int v = 0; v < height; v++)
        {
            for (int u = 0; u < width; u++)
            {
                double x = ((u + u0) * cosine) - ((v + v0) * sine), y = ((u + u0) * sine) + ((v + v0) * cosine);
                int column = (int)Math.Round(x), row = (int)Math.Round(y);
                turned[(v * width) + u] = (uint)column < (uint)columns && (uint)row < (uint)rows ? exposure[(row * columns) + column] : float.NaN;
            }
        }

        for (int v = 0; v < height; v++)
        {
            for (int u = 0; u < width; u++)
            {
                int at = (v * width) + u;
                stepRight[at] = Step(turned, at, 1, u, width);
                stepDown[at] = Step(turned, at, width, v, height);
            }
        }

        Array.Clear(across, 0, width);
        Array.Clear(seenColumn, 0, width);
        for (int v = 0; v < height; v++)
        {
            down[v * (width + 1)] = 0;
            seenRow[v * (width + 1)] = 0;
            for (int u = 0; u < width; u++)
            {
                int at = (v * width) + u;
                float value = turned[at];
                float right = Crest(stepRight, at, 1, u, width), below = Crest(stepDown, at, width, v, height);
                bool seen = !float.IsNaN(value);
                across[((v + 1) * width) + u] = across[at] + right;
                seenColumn[((v + 1) * width) + u] = (short)(seenColumn[at] + (seen ? 1 : 0));
                int line = (v * (width + 1)) + u;
                down[line + 1] = down[line] + below;
                seenRow[line + 1] = (short)(seenRow[line] + (seen ? 1 : 0));
            }
        }

        return new Turned { Width = width, Height = height, OriginU = u0, OriginV = v0, Across = across, Down = down, SeenAlongColumn = seenColumn, SeenAlongRow = seenRow };
    }

    // The step from the two cells before to the two cells after, in full steps; 0 where the frame is in the way.
    private float Step(float[] turned, int at, int stride, int place, int length)
    {
        if (place < 2 || place > length - 3)
        {
            return 0;
        }

        float before = turned[at - stride] + turned[at - (2 * stride)], after = turned[at + stride] + turned[at + (2 * stride)];
        float step = 0.5f * (after - before);
        return float.IsNaN(step) ? 0 : step / fullStep;
    }

    // A step counts where it is the steepest nearby and less on its slopes: the long tail of scatter beyond an edge falls outwards too.
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
        int[] lefts = Candidates(t.Across, t.SeenAlongColumn, t.Width, t.Height, lineStride: 1, alongStride: t.Width, direction: 1);
        int[] rights = Candidates(t.Across, t.SeenAlongColumn, t.Width, t.Height, lineStride: 1, alongStride: t.Width, direction: -1);
        int[] tops = Candidates(t.Down, t.SeenAlongRow, t.Height, t.Width, lineStride: t.Width + 1, alongStride: 1, direction: 1);
        int[] bottoms = Candidates(t.Down, t.SeenAlongRow, t.Height, t.Width, lineStride: t.Width + 1, alongStride: 1, direction: -1);
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

    // Lines by the most that any piece of them gains (Kadane), without neighbours; −1, the frame, is always among them.
    private static int[] Candidates(float[] sums, short[] seen, int lines, int length, int lineStride, int alongStride, int direction)
    {
        var gain = new double[lines];
        for (int line = 0; line < lines; line++)
        {
            double running = 0, most = 0;
            int at = line * lineStride;
            for (int k = 0; k < length; k++, at += alongStride)
            {
                int next = at + alongStride;
                running = Math.Max(0, running + (direction * (sums[next] - sums[at])) - (LeastCoherence * (seen[next] - seen[at])));
                most = Math.Max(most, running);
            }

            gain[line] = most;
        }

        var kept = new List<int> { -1 };
        foreach (int line in Enumerable.Range(0, lines).OrderByDescending(line => gain[line]))
        {
            if (gain[line] < 4 || kept.Count > CandidatesPerSide)
            {
                break;
            }

            if (!kept.Exists(other => other >= 0 && Math.Abs(other - line) < 3))
            {
                kept.Add(line);
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

    private List<ShadowSide> ToSides(Rectangle rectangle, bool withinGhosts)
    {
        var buffers = new Buffers(rows, columns);
        Turned t = Turn(rectangle.Tilt, buffers);
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
