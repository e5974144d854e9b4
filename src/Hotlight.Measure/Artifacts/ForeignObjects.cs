using System.Buffers;
using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Artifacts;

/// <summary>A dense object with sharp edges.</summary>
/// <param name="Center">Middle of its pixels.</param>
/// <param name="AreaPixels">Area in stored pixels.</param>
/// <param name="Outline">Convex outline, in pixels.</param>
/// <param name="Contrast">Median difference from what is beside it, on the attenuation scale.</param>
/// <param name="Strength">Contrast of its clearest edges over the limit.</param>
internal sealed record DenseObject(PixelPoint Center, double AreaPixels, IReadOnlyList<PixelPoint> Outline, double Contrast, double Strength)
{
    /// <summary>Left bound, in pixels.</summary>
    public double Left { get; } = Outline.Min(point => point.X);

    /// <summary>Right bound.</summary>
    public double Right { get; } = Outline.Max(point => point.X);

    /// <summary>Upper bound.</summary>
    public double Top { get; } = Outline.Min(point => point.Y);

    /// <summary>Lower bound.</summary>
    public double Bottom { get; } = Outline.Max(point => point.Y);
}

/// <summary>Finds dense objects with sharp edges: rings, pins, zips, wires, plates.</summary>
/// <remarks>
/// <para>Two ways, both on block means of 0.3 mm. Thin things: denser than what is within 0.3 mm, and than an opening of 2.7 mm, so dense between two less dense sides; the anatomy has no such ridges as steep as metal's. Wide things: an edge over 1.2 mm that is steeper than any of the anatomy's.
/// The limits follow the image's own anatomy, so that they hold for any grey scale; where the signal is known they have a floor in it.
/// An object is grown from there to half of the edge's contrast, and kept only if most of its border is sharp; parts less than 4 mm apart are one object (the teeth of a zip).</para>
/// </remarks>
internal static class ForeignObjects
{
    // Windows, in mm: the edge of a thin thing, of a wide one, and the opening that thin things vanish in.
    private const double FineMm = 0.6;
    private const double EdgeMm = 1.2;
    private const double OpeningMm = 2.7;

    // Times the 90th percentile over the anatomy: metal over a few percent of it does not move that. In the lab's tuning exposures the anatomy's own largest single values are 5 to 14 times (thin) and 5 to 11 times (wide), metal's 14 to 46 (docs/methods/artifacts.md).
    private const double ThinOverUsual = 12.2;
    private const double WideOverUsual = 12;

    // Floors, as a share of the range (transparent 1st to dense 95th percentile of the field): in a smooth image the usual edge is nearly nothing.
    private const double ThinOfRange = 0.15;
    private const double WideOfRange = 0.55;

    // Where the signal is known, −ln of it: edge-on bone reaches 0.5 (thin, a few single cells 0.8) and 1.4 (wide); metal 0.6 and more even under the spine's scatter.
    private const double LeastThinLogarithm = 0.45;
    private const double LeastWideLogarithm = 1.5;
    private const double MostWideLogarithm = 1.8;

    // Fainter things, such as a plastic button or thin metal over bone, are told from bone by a sharp border that closes around them: limits and floors of
    // their edge as above, and what shares of the border must be sharp and of the whole be enclosed.
    private const double FaintOverUsual = 5;
    private const double LeastFaintLogarithm = 0.55;
    private const double FaintOfRange = 0.22;
    private const double LeastSharpClosed = 0.9;
    private const double FilledOverRim = 1.1;
    private const double MostFaintMm2 = 900;

    // Clear places an object must have together, in mm²: the anatomy's largest values are single cells.
    private const double LeastClearMm2 = 0.7;

    // From its clear places an object goes on to where this share of their contrast is left.
    private const float GrowShare = 0.5f;

    // Share of an object's border along which the edge is at least half of the limit.
    private const double LeastSharpBorder = 0.5;

    // A thin thing stands free: what lies on either side of it is about as far below it. The cortex of a bone has marrow on the one side and flesh on the other,
    // so that it rises above the one by a good deal less. Its ridge over its edge contrast, at least, and how unlike its two sides may be.
    private const double LeastRidgeOfEdge = 0.9;
    private const double MostLopsided = 0.2;

    // What encloses less than this, over its own cells, is taken for thin.
    private const double ThinFilled = 1.1;

    // Pixels wider than this leave less than a pixel and a half across what is to be told from the cortex of a bone, in mm: only wide things are looked for there.
    private const double CoarsePixelMm = 0.4;

    // A drawn line goes from ground to full height within one pixel; through the receptor's blur of half a pixel and more no more than 0.68 of an edge lies in one step.
    private const double DrawnHardness = 0.8;

    // What lies along the field's edge for more than this share of its border is the edge's own shadow, or too much cut off to be told from it.
    private const double MostCutBorder = 0.3;

    // Parts closer than this are one object, in mm.
    private const double GapMm = 4;

    // Smaller than this is no object that a radiographer would see, in mm².
    private const double LeastAreaMm2 = 1.5;

    // What lies this close to the field's edge is left out: the penumbra, in mm.
    private const double EdgeMarginMm = 2;

    // Rows of blocks that are worked on at once: 64 with those around them of 1500 columns are half a megabyte.
    private const int BandRows = 64;

    // An object covers no more than this share of the field; what does is a mask, a cast or the field itself.
    private const double MostShareOfField = 0.3;

    /// <summary>Finds the objects.</summary>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="scale">The attenuation scale.</param>
    /// <param name="span">The field.</param>
    /// <param name="scan">The image by block means.</param>
    /// <param name="map">Labels.</param>
    /// <param name="cellMm">Side of a block, in mm; 0.3 where spacing is unknown.</param>
    /// <param name="isCoarse">Whether pixels are so wide that thin things cannot be told from bone (<see cref="IsCoarse"/>).</param>
    public static List<DenseObject> Find(ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span, ArtifactScan scan, RegionMap map, double cellMm, bool isCoarse)
    {
        int rows = scan.ReducedRows, columns = scan.ReducedColumns;
        if (rows < 16 || columns < 16)
        {
            return [];
        }

        float[] values = scan.Reduced;
        bool[] inside = Inside(span, scan, (int)Math.Ceiling(EdgeMarginMm / cellMm));
        int fine = Math.Max(1, (int)Math.Round(FineMm / cellMm / 2)), reach = Math.Max(fine, (int)Math.Round(EdgeMm / cellMm / 2)), wide = Math.Max(2, (int)Math.Round(OpeningMm / cellMm / 2));
        int count = rows * columns;
        float[] thin = ArrayPool<float>.Shared.Rent(count), near = ArrayPool<float>.Shared.Rent(count), ridge = ArrayPool<float>.Shared.Rent(count);
        try
        {
            Contrasts(values, inside, rows, columns, fine, reach, wide, thin, near, ridge);
            double range = scale.DenseRange, usualThin = ThinOverUsual * Usual(thin, inside, scan, map), usualWide = WideOverUsual * Usual(near, inside, scan, map);
            float thinLimit = isCoarse ? float.PositiveInfinity : (float)Math.Max(usualThin, scale.IsLogarithm ? LeastThinLogarithm : ThinOfRange * range);
            float wideLimit = (float)(scale.IsLogarithm ? Math.Clamp(usualWide, LeastWideLogarithm, MostWideLogarithm) : Math.Max(usualWide, WideOfRange * range));
            bool[] mask = Grow(near, thin, ridge, inside, rows, columns, thinLimit, wideLimit);
            float[] thinAgain = thin.AsSpan(0, count).ToArray();
            List<DenseObject> found = Objects(pixels, values, scan, mask, thin, near, ridge, inside, 0.5f * Math.Min(thinLimit, wideLimit), cellMm, closed: false, isCoarse);
            float fainter = (float)(scale.IsLogarithm ? Math.Clamp(FaintOverUsual * usualWide / WideOverUsual, LeastFaintLogarithm, wideLimit) : Math.Max(FaintOverUsual * usualWide / WideOverUsual, FaintOfRange * range));
            for (int at = 0; at < count; at++)
            {
                thinAgain[at] = mask[at] ? 0 : thinAgain[at];
                inside[at] &= !mask[at];
            }

            bool[] again = Grow(near, thinAgain, ridge, inside, rows, columns, float.PositiveInfinity, fainter);
            found.AddRange(Objects(pixels, values, scan, again, thinAgain, near, ridge, inside, 0.5f * fainter, cellMm, closed: true, isCoarse).Where(one => !found.Exists(other => other.Center.DistancePixelsTo(one.Center) * cellMm / scan.Step < GapMm)));
            return found;
        }
        finally
        {
            ArrayPool<float>.Shared.Return(thin);
            ArrayPool<float>.Shared.Return(near);
            ArrayPool<float>.Shared.Return(ridge);
        }
    }

    private static bool[] Inside(FieldSpan span, ArtifactScan scan, int margin)
    {
        int rows = scan.ReducedRows, columns = scan.ReducedColumns, step = scan.Step;
        var inside = new bool[rows * columns];
        for (int row = 0; row < rows; row++)
        {
            int above = Math.Max(0, row - margin) * step, below = Math.Min(rows - 1, row + margin) * step;
            (int firstA, int endA) = span.Row(above);
            (int firstB, int endB) = span.Row(below);
            (int firstC, int endC) = span.Row(row * step);
            int first = Math.Max(Math.Max(firstA, firstB), firstC), end = Math.Min(Math.Min(endA, endB), endC);
            int from = Math.Max(margin, (first / step) + margin), to = Math.Min(columns - margin, (end / step) - margin);
            if (row < margin || row >= rows - margin)
            {
                continue;
            }

            for (int column = from; column < to; column++)
            {
                inside[(row * columns) + column] = true;
            }
        }

        return inside;
    }

    /// <summary>How much denser each block is than the least dense block within reach, and than an opening; 0 outside. Thin: the lesser of that over the finer reach and over the opening.</summary>
    private static void Contrasts(float[] values, bool[] inside, int rows, int columns, int fine, int reach, int wide, float[] thin, float[] near, float[] ridge)
    {
        // Bands with as many rows more on both sides as the windows reach: what is written once is read again while it is in the cache.
        int halo = 2 * wide, bands = (rows + BandRows - 1) / BandRows;
        Parallel.For(0, bands, () => (Block: new float[(BandRows + (2 * halo)) * columns], Line: new float[columns + (2 * halo)]), (band, _, own) =>
        {
            int first = band * BandRows, count = Math.Min(rows, first + BandRows) - first;

            // The least of a wide window is the least of narrower ones that lie in it: each goes on from the one before.
            int rowsLeft = count + (2 * halo), reached = 0;
            Load(values, rows, columns, first - halo, rowsLeft, own.Block);
            Least(fine);
            Above(thin);
            Least(reach);
            Above(near);
            Least(wide);
            for (int row = first - wide; row < first + count + wide; row++)
            {
                if (row < 0 || row >= rows)
                {
                    own.Block.AsSpan((row - first + wide) * columns, columns).Fill(float.NegativeInfinity);
                }
            }

            Extreme(own.Block, count + (2 * wide), columns, 0, wide, lowest: false, own.Line);
            reached = halo;
            Above(ridge);
            Span<float> thins = thin.AsSpan(first * columns, count * columns), ridges = ridge.AsSpan(first * columns, count * columns);
            Join(thins, ridges, lowest: true);
            return own;

            // Row k of the block then holds the window whose middle was row k + to.
            void Least(int to)
            {
                Extreme(own.Block, rowsLeft, columns, reached, to, lowest: true, own.Line);
                rowsLeft -= 2 * (to - reached);
                reached = to;
            }

            void Above(float[] contrast)
            {
                int start = first * columns, from = (halo - reached) * columns;
                for (int row = 0; row < count; row++)
                {
                    Span<float> line = contrast.AsSpan(start + (row * columns), columns);
                    ReadOnlySpan<bool> counts = inside.AsSpan(start + (row * columns), columns);
                    int left = counts.IndexOf(true), right = counts.LastIndexOf(true) + 1;
                    if (left < 0)
                    {
                        line.Clear();
                        continue;
                    }

                    // What lies inside is in one piece.
                    line[..left].Clear();
                    line[right..].Clear();
                    Subtract(values.AsSpan(start + (row * columns), columns), own.Block.AsSpan(from + (row * columns), columns), line, left, right);
                }
            }
        }, _ => { });
    }

    /// <summary>Copies rows into a block; rows beyond the frame are dense without end, so that nothing there is the least dense.</summary>
    private static void Load(float[] values, int rows, int columns, int first, int count, float[] block)
    {
        for (int row = 0; row < count; row++)
        {
            Span<float> to = block.AsSpan(row * columns, columns);
            if (first + row < 0 || first + row >= rows)
            {
                to.Fill(float.PositiveInfinity);
            }
            else
            {
                values.AsSpan((first + row) * columns, columns).CopyTo(to);
            }
        }
    }

    /// <summary>The least or greatest of square windows of 2·reach + 1 blocks, in place, from those of 2·reached + 1: row k then holds the window whose middle was row k + reach. Beyond the left and right end nothing counts.</summary>
    private static void Extreme(Span<float> block, int count, int columns, int reached, int reach, bool lowest, float[] line)
    {
        // By doubling: windows of 1, 2, 4 … blocks to the right, joined to the full width; then the same downward.
        int window = (2 * reach) + 1, more = reach - reached;
        Span<float> wider = line.AsSpan(0, columns + (2 * more));
        for (int row = 0; row < count; row++)
        {
            Span<float> own = block.Slice(row * columns, columns);
            wider[..more].Fill(lowest ? float.PositiveInfinity : float.NegativeInfinity);
            own.CopyTo(wider[more..]);
            wider[(more + columns)..].Fill(lowest ? float.PositiveInfinity : float.NegativeInfinity);
            for (int width = (2 * reached) + 1; width < window;)
            {
                int shift = Math.Min(width, window - width);
                Join(wider[..^shift], wider[shift..], lowest);
                width += shift;
            }

            wider[..columns].CopyTo(own);
        }

        for (int width = (2 * reached) + 1; width < window;)
        {
            int shift = Math.Min(width, window - width);
            Join(block[..((count - shift) * columns)], block.Slice(shift * columns, (count - shift) * columns), lowest);
            width += shift;
        }
    }

    private static void Subtract(ReadOnlySpan<float> from, ReadOnlySpan<float> what, Span<float> to, int first, int end)
    {
        int at = first;
        for (; at + Vector<float>.Count <= end; at += Vector<float>.Count)
        {
            (new Vector<float>(from[at..]) - new Vector<float>(what[at..])).CopyTo(to[at..]);
        }

        for (; at < end; at++)
        {
            to[at] = from[at] - what[at];
        }
    }

    private static void Join(Span<float> to, ReadOnlySpan<float> with, bool lowest)
    {
        int at = 0;
        for (; at + Vector<float>.Count <= to.Length; at += Vector<float>.Count)
        {
            var own = new Vector<float>(to[at..]);
            var other = new Vector<float>(with[at..]);
            (lowest ? Vector.Min(own, other) : Vector.Max(own, other)).CopyTo(to[at..]);
        }

        for (; at < to.Length; at++)
        {
            to[at] = lowest ? Math.Min(to[at], with[at]) : Math.Max(to[at], with[at]);
        }
    }

    /// <summary>The 90th percentile over the anatomy.</summary>
    private static double Usual(float[] contrast, bool[] inside, ArtifactScan scan, RegionMap map)
    {
        var usual = new List<float>(40_000);
        int stride = Math.Max(1, (int)Math.Sqrt(scan.ReducedRows * scan.ReducedColumns / 40_000.0));
        for (int row = stride / 2; row < scan.ReducedRows; row += stride)
        {
            for (int column = stride / 2; column < scan.ReducedColumns; column += stride)
            {
                int at = (row * scan.ReducedColumns) + column;
                if (inside[at] && RegionMap.IsAnatomy(map.At(row * scan.Step, column * scan.Step)))
                {
                    usual.Add(contrast[at]);
                }
            }
        }

        return usual.Count < 200 ? 0 : OrderStatistic.At(CollectionsMarshal.AsSpan(usual), (int)(0.9 * usual.Count));
    }

    /// <summary>From places above the limits over all that is connected and keeps a share of their contrast. Of every place of the mask, <paramref name="thin"/> then holds its strength: contrast over limit, 0 where it was grown to.</summary>
    private static bool[] Grow(float[] edge, float[] thin, float[] ridge, bool[] inside, int rows, int columns, float thinLimit, float wideLimit)
    {
        var mask = new bool[rows * columns];
        var queue = new Queue<(int At, float Least)>();
        Vector<float> mostThin = new(thinLimit), mostWide = new(wideLimit);
        for (int from = 0; from < mask.Length; from += Vector<float>.Count)
        {
            int end = Math.Min(mask.Length, from + Vector<float>.Count);
            if (end - from == Vector<float>.Count && !Vector.GreaterThanAny(new Vector<float>(thin, from), mostThin) && !Vector.GreaterThanAny(new Vector<float>(edge, from), mostWide))
            {
                continue;
            }

            for (int at = from; at < end; at++)
            {
                float own = Math.Max(thin[at] / thinLimit, edge[at] / wideLimit);
                if (own > 1)
                {
                    mask[at] = true;
                    thin[at] = own;
                    queue.Enqueue((at, GrowShare * Math.Max(ridge[at], edge[at])));
                }
            }
        }

        while (queue.Count > 0)
        {
            (int at, float least) = queue.Dequeue();
            int row = at / columns, column = at % columns;
            for (int dy = -1; dy <= 1; dy++)
            {
                for (int dx = -1; dx <= 1; dx++)
                {
                    int y = row + dy, x = column + dx, next = (y * columns) + x;
                    if (y >= 0 && x >= 0 && y < rows && x < columns && !mask[next] && inside[next] && Math.Max(ridge[next], edge[next]) > least)
                    {
                        mask[next] = true;
                        thin[next] = 0;
                        queue.Enqueue((next, least));
                    }
                }
            }
        }

        return mask;
    }

    private static List<DenseObject> Objects(ReadOnlyRaster<ushort> pixels, float[] values, ArtifactScan scan, bool[] mask, float[] strength, float[] edge, float[] ridge, bool[] inside, float sharp, double cellMm, bool closed, bool isCoarse)
    {
        int rows = scan.ReducedRows, columns = scan.ReducedColumns, gap = Math.Max(1, (int)Math.Round(GapMm / cellMm / 2));
        int fieldCells = inside.AsSpan().Count(true);
        var found = new List<DenseObject>();
        foreach (List<int> own in Parts(mask, rows, columns, gap))
        {
            // The rim of something that goes on to be dense and is not enclosed: the beam's edge where the field was found too large, a limb beside the field.
            int rim = own.Count;
            double ridges = own.Sum(at => (double)ridge[at]), rises = own.Sum(at => (double)edge[at]);
            FillDense(own);
            bool isThin = own.Count < ThinFilled * rim;
            if (isThin && (ridges < LeastRidgeOfEdge * rises || Lopsided(values, own, strength, rows, columns, (int)Math.Round(OpeningMm / cellMm)) > MostLopsided))
            {
                continue;
            }

if (closed && (own.Count < FilledOverRim * rim || own.Count * cellMm * cellMm > MostFaintMm2 || SharpBorder(own) < LeastSharpClosed))
            {
                continue;
            }

            if (own.Count(at => strength[at] > 0) * cellMm * cellMm < LeastClearMm2 || own.Count * cellMm * cellMm < LeastAreaMm2 || own.Count > MostShareOfField * fieldCells || SharpBorder(own) < LeastSharpBorder || Drawn(pixels, scan, own, isCoarse))
            {
                continue;
            }

            double x = 0, y = 0;
            var edges = new List<float>();
            var strengths = new List<float>();
            foreach (int at in own)
            {
                x += at % columns;
                y += at / columns;
                if (strength[at] > 0)
                {
                    edges.Add(edge[at]);
                    strengths.Add(strength[at]);
                }
            }

            edges.Sort();
            strengths.Sort();
            double half = (scan.Step - 1) / 2.0;
            found.Add(new DenseObject(
                new PixelPoint(X: (x / own.Count * scan.Step) + half, Y: (y / own.Count * scan.Step) + half),
                (double)own.Count * scan.Step * scan.Step,
                Hull([.. own.Select(at => new PixelPoint(X: (at % columns * scan.Step) + half, Y: (at / columns * scan.Step) + half))]),
                edges[edges.Count / 2],
                strengths[(int)(0.9 * (strengths.Count - 1))]));
        }

        return found;

        // The inside of a plate or a coin has no edge of its own: what the rim encloses and is as dense belongs to it. The inside of a ring is not.
        void FillDense(List<int> own)
        {
            int left = own.Min(at => at % columns) - 1, right = own.Max(at => at % columns) + 1, top = own.Min(at => at / columns) - 1, bottom = own.Max(at => at / columns) + 1;
            int width = right - left + 1, height = bottom - top + 1;
            var state = new byte[width * height];
            double level = 0, contrast = 0;
            foreach (int at in own)
            {
                state[((at / columns - top) * width) + (at % columns) - left] = 1;
                level += values[at] / own.Count;
                contrast += edge[at] / own.Count;
            }

            var queue = new Queue<int>();
            var hole = new List<int>();
            for (int start = 0; start < state.Length; start++)
            {
                if (state[start] != 0)
                {
                    continue;
                }

                hole.Clear();
                queue.Enqueue(start);
                state[start] = 2;
                bool open = false;
                double sum = 0;
                while (queue.Count > 0)
                {
                    int at = queue.Dequeue(), y = at / width, x = at % width;
                    hole.Add(at);
                    open |= y == 0 || x == 0 || y == height - 1 || x == width - 1;
                    int row = Math.Clamp(top + y, 0, rows - 1), column = Math.Clamp(left + x, 0, columns - 1);
                    sum += values[(row * columns) + column];
                    foreach ((int dy, int dx) in (ReadOnlySpan<(int, int)>)[(0, 1), (0, -1), (1, 0), (-1, 0)])
                    {
                        int next = ((y + dy) * width) + x + dx;
                        if (y + dy >= 0 && x + dx >= 0 && y + dy < height && x + dx < width && state[next] == 0)
                        {
                            state[next] = 2;
                            queue.Enqueue(next);
                        }
                    }
                }

                if (!open && sum / hole.Count > level - (0.5 * contrast))
                {
                    foreach (int at in hole)
                    {
                        int cell = ((top + (at / width)) * columns) + left + (at % width);
                        own.Add(cell);
                        strength[cell] = mask[cell] ? strength[cell] : 0;
                        mask[cell] = true;
                    }
                }
            }
        }

        double SharpBorder(List<int> own)
        {
            int border = 0, steep = 0, cut = 0;
            foreach (int at in own)
            {
                int row = at / columns, column = at % columns;
                if (row > 0 && column > 0 && row < rows - 1 && column < columns - 1 && !(mask[at - 1] && mask[at + 1] && mask[at - columns] && mask[at + columns]))
                {
                    border++;
                    steep += edge[at] >= sharp ? 1 : 0;
                    cut += inside[at - 1] && inside[at + 1] && inside[at - columns] && inside[at + columns] ? 0 : 1;
                }
            }

            return border == 0 || cut > MostCutBorder * border ? 0 : (double)steep / border;
        }
    }

    /// <summary>Whether pixels are too wide for thin things: than 0.4 mm, or, where spacing is unknown, fewer on the longer side than the shortest usual image of 240 mm would then have.</summary>
    /// <param name="pixelMm">Distance of pixel centres, in mm; not a number where unknown.</param>
    /// <param name="longerSide">Pixels of the longer side.</param>
    public static bool IsCoarse(double pixelMm, int longerSide) => double.IsNaN(pixelMm) ? longerSide < 240 / CoarsePixelMm : pixelMm > CoarsePixelMm;

    /// <summary>How unlike the two sides of a ridge are: the difference of its heights above both, over the greater, across it; the median over its clear places.</summary>
    private static double Lopsided(float[] values, List<int> own, float[] strength, int rows, int columns, int reach)
    {
        var shares = new List<double>();
        foreach (int at in own)
        {
            if (strength[at] <= 0)
            {
                continue;
            }

            int row = at / columns, column = at % columns;
            double best = double.NegativeInfinity, share = 0;
            foreach ((int dy, int dx) in (ReadOnlySpan<(int, int)>)[(0, 1), (1, 0), (1, 1), (1, -1)])
            {
                double ahead = Height(row, column, dy, dx), behind = Height(row, column, -dy, -dx);
                if (Math.Min(ahead, behind) > best)
                {
                    best = Math.Min(ahead, behind);
                    share = 1 - (best / Math.Max(Math.Max(ahead, behind), float.Epsilon));
                }
            }

            shares.Add(share);
        }

        shares.Sort();
        return shares.Count == 0 ? 0 : shares[shares.Count / 2];

        double Height(int row, int column, int dy, int dx)
        {
            float top = values[(row * columns) + column], least = top;
            for (int away = 1; away <= reach; away++)
            {
                int y = row + (dy * away), x = column + (dx * away);
                if (y < 0 || x < 0 || y >= rows || x >= columns)
                {
                    break;
                }

                least = Math.Min(least, values[(y * columns) + x]);
            }

            return top - least;
        }
    }

    /// <summary>Whether the object's pixels are of one value, or its edge is complete from one pixel to the next: drawn, not exposed. What was exposed has noise, and comes through the receptor's blur; of a picture made much smaller that blur is gone, and its edges say nothing.</summary>
    private static bool Drawn(ReadOnlyRaster<ushort> pixels, ArtifactScan scan, List<int> cells, bool isCoarse)
    {
        var counts = new Dictionary<ushort, int>();
        int total = 0;
        foreach (int at in cells)
        {
            int row = (at / scan.ReducedColumns * scan.Step) + (scan.Step / 2), column = (at % scan.ReducedColumns * scan.Step) + (scan.Step / 2);
            ushort value = pixels[row, column];
            counts[value] = counts.GetValueOrDefault(value) + 1;
            total++;
        }

        int left = cells.Min(at => at % scan.ReducedColumns) * scan.Step, right = (cells.Max(at => at % scan.ReducedColumns) + 1) * scan.Step;
        int top = cells.Min(at => at / scan.ReducedColumns) * scan.Step, bottom = (cells.Max(at => at / scan.ReducedColumns) + 1) * scan.Step;
        MarkerOrigin edge = MarkerOrigin.Examine(pixels, left, top, right, bottom);
        return counts.Values.Max() > 0.6 * total || (!isCoarse && edge.Pixels > 0 && edge.Hardness > DrawnHardness);
    }

    /// <summary>The places of the mask, put together where they are no farther apart than twice the gap; in the order in which they come row by row.</summary>
    private static List<List<int>> Parts(bool[] mask, int rows, int columns, int gap)
    {
        // All of it happens in the rectangle about the mask.
        int top = rows, bottom = -1, left = columns, right = -1;
        for (int row = 0; row < rows; row++)
        {
            int first = mask.AsSpan(row * columns, columns).IndexOf(true);
            if (first >= 0)
            {
                top = Math.Min(top, row);
                bottom = row;
                left = Math.Min(left, first);
                right = Math.Max(right, mask.AsSpan(row * columns, columns).LastIndexOf(true));
            }
        }

        if (bottom < 0)
        {
            return [];
        }

        top = Math.Max(0, top - gap);
        left = Math.Max(0, left - gap);
        int height = Math.Min(rows, bottom + gap + 1) - top, width = Math.Min(columns, right + gap + 1) - left;
        var cut = new bool[height * width];
        for (int row = 0; row < height; row++)
        {
            mask.AsSpan(((top + row) * columns) + left, width).CopyTo(cut.AsSpan(row * width));
        }

        int[] labels = Labels(cut, height, width, gap, out int count);
        var parts = new List<int>[count];
        for (int at = 0; at < cut.Length; at++)
        {
            if (cut[at])
            {
                (parts[labels[at] - 1] ??= []).Add(((top + (at / width)) * columns) + left + (at % width));
            }
        }

        return [.. parts];
    }

    private static int[] Labels(bool[] mask, int rows, int columns, int gap, out int count)
    {
        // Grown by half of the gap on all sides, connected, and read off where the mask itself is.
        bool[] grown = GrownCells.Of(mask, rows, columns, gap);
        var labels = new int[mask.Length];
        var queue = new Queue<int>();
        count = 0;
        for (int start = 0; start < grown.Length; start++)
        {
            if (!grown[start] || labels[start] != 0)
            {
                continue;
            }

            count++;
            labels[start] = count;
            queue.Enqueue(start);
            while (queue.Count > 0)
            {
                int at = queue.Dequeue(), row = at / columns, column = at % columns;
                for (int dy = -1; dy <= 1; dy++)
                {
                    for (int dx = -1; dx <= 1; dx++)
                    {
                        int y = row + dy, x = column + dx, next = (y * columns) + x;
                        if (y >= 0 && x >= 0 && y < rows && x < columns && grown[next] && labels[next] == 0)
                        {
                            labels[next] = count;
                            queue.Enqueue(next);
                        }
                    }
                }
            }
        }

        return labels;
    }

    /// <summary>Convex hull, clockwise on the image (Andrew's monotone chain).</summary>
    private static List<PixelPoint> Hull(List<PixelPoint> points)
    {
        points.Sort((a, b) => a.X != b.X ? a.X.CompareTo(b.X) : a.Y.CompareTo(b.Y));
        var hull = new List<PixelPoint>();
        for (int pass = 0; pass < 2; pass++)
        {
            int start = hull.Count;
            foreach (PixelPoint point in pass == 0 ? points : Enumerable.Reverse(points))
            {
                while (hull.Count >= start + 2 && Cross(hull[^2], hull[^1], point) <= 0)
                {
                    hull.RemoveAt(hull.Count - 1);
                }

                hull.Add(point);
            }

            hull.RemoveAt(hull.Count - 1);
        }

        return hull;

        static double Cross(PixelPoint o, PixelPoint a, PixelPoint b) => ((a.X - o.X) * (b.Y - o.Y)) - ((a.Y - o.Y) * (b.X - o.X));
    }
}
