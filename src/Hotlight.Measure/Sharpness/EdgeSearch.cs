using System.Buffers;
using System.Numerics;
using Hotlight.Core;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Sharpness;

/// <summary>Finds places of steep change in the anatomy, in every direction.</summary>
/// <remarks>The image is averaged to cells of about <see cref="CellMm"/> and smoothed, so that a blurred edge is found as well as a sharp one; ridges of the gradient are thinned to the steepest one a square and direction.</remarks>
internal sealed class EdgeSearch
{
    /// <summary>Directions a half turn is parted into.</summary>
    internal const int Directions = 12;

    /// <summary>Most candidates in one direction.</summary>
    internal const int MostPerDirection = 160;

    // Fine enough to part the two sides of a thin cortex, coarse enough that noise does not turn the gradient.
    private const double CellMm = 0.3;

    // One candidate a direction in each square of this side: neighbours along a contour say the same.
    private const double SquareMm = 1.5;

    // From the field's edge, masks, markers and metal: their own edges are no anatomy, and their blur reaches this far.
    private const double KeepOffMm = 3;

    // A binomial of order 8: variance 2 cells².
    private static readonly float[] Binomial = [1 / 256f, 8 / 256f, 28 / 256f, 56 / 256f, 70 / 256f, 56 / 256f, 28 / 256f, 8 / 256f, 1 / 256f];

    private readonly ReadOnlyRaster<ushort> pixels;
    private readonly ImageScale scale;
    private readonly int bin;
    private readonly int rows;
    private readonly int columns;

    private EdgeSearch(ReadOnlyRaster<ushort> pixels, ImageScale scale)
    {
        this.pixels = pixels;
        this.scale = scale;
        bin = Math.Max(1, (int)Math.Round(CellMm / scale.StepMm));
        rows = pixels.Rows / bin;
        columns = pixels.Columns / bin;
    }

    /// <summary>Finds candidates.</summary>
    /// <param name="pixels">Pixel values; borrowed.</param>
    /// <param name="scale">Their scale.</param>
    /// <param name="map">What each place shows.</param>
    /// <param name="excluded">Discs that are no anatomy: centre and radius in pixels.</param>
    /// <param name="smoothingMm">Sigma of the smoothing under the gradient, in mm.</param>
    internal static List<EdgeCandidate> Find(ReadOnlyRaster<ushort> pixels, ImageScale scale, RegionMap map, IReadOnlyList<(PixelPoint Centre, double RadiusPixels)> excluded, out double smoothingMm)
    {
        var search = new EdgeSearch(pixels, scale);

        // Binomial 2, cells 1/12 and the central difference 1/3, in cells².
        smoothingMm = search.bin * scale.StepMm * Math.Sqrt(2 + (1 / 12.0) + (1 / 3.0));
        return search.rows < 16 || search.columns < 16 ? [] : search.Run(map, excluded);
    }

    private List<EdgeCandidate> Run(RegionMap map, IReadOnlyList<(PixelPoint Centre, double RadiusPixels)> excluded)
    {
        bool[] allowed = Allowed(map, excluded);
        int count = rows * columns;
        float[] cells = ArrayPool<float>.Shared.Rent(count);
        float[] smooth = ArrayPool<float>.Shared.Rent(count);
        try
        {
            Average(cells);
            Smooth(cells, smooth);
            return Thin(smooth, map, allowed);
        }
        finally
        {
            ArrayPool<float>.Shared.Return(cells);
            ArrayPool<float>.Shared.Return(smooth);
        }
    }

    /// <summary>Cells of the map where an edge may be one of the anatomy's.</summary>
    private bool[] Allowed(RegionMap map, IReadOnlyList<(PixelPoint Centre, double RadiusPixels)> excluded)
    {
        int mapRows = map.Labels.Rows, mapColumns = map.Labels.Columns;
        var forbidden = new bool[mapRows * mapColumns];
        var anatomy = new bool[mapRows * mapColumns];
        for (int row = 0; row < mapRows; row++)
        {
            ReadOnlySpan<byte> labels = map.Labels.Row(row);
            for (int column = 0; column < mapColumns; column++)
            {
                var label = (RegionLabel)labels[column];
                forbidden[(row * mapColumns) + column] = label is RegionLabel.Outside or RegionLabel.Dense;
                anatomy[(row * mapColumns) + column] = RegionMap.IsAnatomy(label);
            }
        }

        foreach ((PixelPoint centre, double radius) in excluded)
        {
            double reach = radius / map.Step;
            double middleX = centre.X / map.Step, middleY = centre.Y / map.Step;
            for (int row = Math.Max(0, (int)(middleY - reach)); row <= Math.Min(mapRows - 1, middleY + reach); row++)
            {
                for (int column = Math.Max(0, (int)(middleX - reach)); column <= Math.Min(mapColumns - 1, middleX + reach); column++)
                {
                    forbidden[(row * mapColumns) + column] |= Math.Pow(column - middleX, 2) + Math.Pow(row - middleY, 2) <= reach * reach;
                }
            }
        }

        bool[] near = GrownCells.Of(forbidden, mapRows, mapColumns, (int)Math.Ceiling(KeepOffMm / scale.StepMm / map.Step), beyond: true);
        bool[] beside = GrownCells.Of(anatomy, mapRows, mapColumns, 1);
        for (int i = 0; i < near.Length; i++)
        {
            beside[i] &= !near[i];
        }

        return beside;
    }

    private void Average(float[] cells)
    {
        float[] values = scale.Values;
        int band = Math.Max(16, rows / 8), width = columns * bin;
        Parallel.For(0, (rows + band - 1) / band, part =>
        {
            var down = new uint[width];
            var sums = new uint[columns];
            float share = 1f / (bin * bin);
            for (int row = part * band; row < Math.Min(rows, (part + 1) * band); row++)
            {
                Array.Clear(down);
                for (int y = row * bin; y < (row + 1) * bin; y++)
                {
                    BlockSums.Add(pixels.Row(y)[..width], down);
                }

                BlockSums.Along(down, bin, sums);
                Span<float> to = cells.AsSpan(row * columns, columns);
                for (int column = 0; column < to.Length; column++)
                {
                    // Within a cell the scale is as good as straight: the value of the mean is the mean of the values.
                    float mean = sums[column] * share;
                    int below = (int)mean;
                    float low = values[below];
                    to[column] = low + ((mean - below) * (values[Math.Min(below + 1, values.Length - 1)] - low));
                }
            }
        });
    }

    private void Smooth(float[] cells, float[] smooth)
    {
        const int Reach = 4;
        int band = Math.Max(16, rows / 8);
        Parallel.For(0, (rows + band - 1) / band, part =>
        {
            var down = new float[columns + (2 * Reach)];
            Span<int> offsets = stackalloc int[(2 * Reach) + 1];
            for (int row = part * band; row < Math.Min(rows, (part + 1) * band); row++)
            {
                for (int k = -Reach; k <= Reach; k++)
                {
                    offsets[k + Reach] = Math.Clamp(row + k, 0, rows - 1) * columns;
                }

                Weighted(cells, offsets, down, Reach, columns);
                down.AsSpan(0, Reach).Fill(down[Reach]);
                down.AsSpan(Reach + columns).Fill(down[Reach + columns - 1]);
                for (int k = 0; k <= 2 * Reach; k++)
                {
                    offsets[k] = k;
                }

                Weighted(down, offsets, smooth, row * columns, columns);
            }
        });
    }

    /// <summary>The binomial's sum of nine rows of samples that begin at the offsets.</summary>
    private static void Weighted(float[] from, ReadOnlySpan<int> offsets, float[] to, int start, int count)
    {
        int a = offsets[0], b = offsets[1], c = offsets[2], d = offsets[3], e = offsets[4], f = offsets[5], g = offsets[6], h = offsets[7], j = offsets[8];
        int i = 0;
        for (; i <= count - Vector<float>.Count; i += Vector<float>.Count)
        {
            Vector<float> sum = (new Vector<float>(from, a + i) + new Vector<float>(from, j + i)) * Binomial[0];
            sum += (new Vector<float>(from, b + i) + new Vector<float>(from, h + i)) * Binomial[1];
            sum += (new Vector<float>(from, c + i) + new Vector<float>(from, g + i)) * Binomial[2];
            sum += (new Vector<float>(from, d + i) + new Vector<float>(from, f + i)) * Binomial[3];
            sum += new Vector<float>(from, e + i) * Binomial[4];
            sum.CopyTo(to, start + i);
        }

        for (; i < count; i++)
        {
            to[start + i] = ((from[a + i] + from[j + i]) * Binomial[0]) + ((from[b + i] + from[h + i]) * Binomial[1])
                + ((from[c + i] + from[g + i]) * Binomial[2]) + ((from[d + i] + from[f + i]) * Binomial[3]) + (from[e + i] * Binomial[4]);
        }
    }

    /// <summary>Ridges of the gradient, the steepest one a square and direction, the steepest of them in each direction.</summary>
    private List<EdgeCandidate> Thin(float[] smooth, RegionMap map, bool[] allowed)
    {
        double cellX = bin * scale.ColumnSpacingMm, cellY = bin * scale.RowSpacingMm;
        int side = Math.Max(1, (int)Math.Round(SquareMm / (bin * scale.StepMm)));
        int acrossSquares = (columns + side - 1) / side, downSquares = (rows + side - 1) / side;
        float least = MedianSize(smooth, map, allowed, (float)(0.5 / cellX), (float)(0.5 / cellY));
        var best = new List<EdgeCandidate>[downSquares];
        Parallel.For(
            0,
            downSquares,
            () => new EdgeCandidate[acrossSquares * Directions],
            (square, _, found) =>
            {
                Array.Clear(found);
                for (int row = Math.Max(2, square * side); row < Math.Min(rows - 2, (square + 1) * side); row++)
                {
                    RidgesOfRow(smooth, map, allowed, row, side, cellX, cellY, least, found);
                }

                var kept = new List<EdgeCandidate>();
                foreach (ref EdgeCandidate candidate in found.AsSpan())
                {
                    if (candidate.Gradient > 0)
                    {
                        kept.Add(candidate);
                    }
                }

                best[square] = kept;
                return found;
            },
            _ => { });
        var byDirection = new List<EdgeCandidate>[Directions];
        for (int direction = 0; direction < Directions; direction++)
        {
            byDirection[direction] = [];
        }

        foreach (List<EdgeCandidate> some in best)
        {
            foreach (EdgeCandidate candidate in some)
            {
                byDirection[DirectionOf(candidate)].Add(candidate);
            }
        }

        var all = new List<EdgeCandidate>();
        foreach (List<EdgeCandidate> some in byDirection)
        {
            some.Sort((a, b) => b.Gradient.CompareTo(a.Gradient));
            all.AddRange(some.Take(MostPerDirection));
        }

        return all;
    }

    private void RidgesOfRow(float[] smooth, RegionMap map, bool[] allowed, int row, int side, double cellX, double cellY, float least, EdgeCandidate[] found)
    {
        int mapRow = Math.Min((row * bin) / map.Step, map.Labels.Rows - 1) * map.Labels.Columns;
        float perX = (float)(0.5 / cellX), perY = (float)(0.5 / cellY);
        for (int column = 2, next = 0; column < columns - 2; column++)
        {
            if (column < next)
            {
                continue;
            }

            int cell = Math.Min((column * bin) / map.Step, map.Labels.Columns - 1);
            if (!allowed[mapRow + cell])
            {
                // On to the first column of the map's next cell.
                next = Math.Max(column + 1, ((((cell + 1) * map.Step) + bin - 1) / bin));
                continue;
            }

            int at = (row * columns) + column;
            float gx = (smooth[at + 1] - smooth[at - 1]) * perX;
            float gy = (smooth[at + columns] - smooth[at - columns]) * perY;
            float size = (gx * gx) + (gy * gy);
            if (size <= least)
            {
                continue;
            }

            // The neighbour along the normal, to the nearest eighth of a turn.
            float ax = Math.Abs(gx), ay = Math.Abs(gy);
            int stepX = ax > 0.4142f * ay ? Math.Sign(gx) : 0;
            int stepY = ay > 0.4142f * ax ? Math.Sign(gy) : 0;
            int step = (stepY * columns) + stepX;
            float before = Size(smooth, at - step, perX, perY), after = Size(smooth, at + step, perX, perY);
            if (size < before || size <= after)
            {
                continue;
            }

            float root = MathF.Sqrt(size), rootBefore = MathF.Sqrt(before), rootAfter = MathF.Sqrt(after);
            float bend = rootBefore - (2 * root) + rootAfter;
            float shift = bend < 0 ? 0.5f * (rootBefore - rootAfter) / bend : 0;
            var candidate = new EdgeCandidate(
                ((column + (shift * stepX)) * bin) + ((bin - 1) / 2.0),
                ((row + (shift * stepY)) * bin) + ((bin - 1) / 2.0),
                gx / root,
                gy / root,
                root);
            ref EdgeCandidate kept = ref found[((column / side) * Directions) + DirectionOf(candidate)];
            if (candidate.Gradient > kept.Gradient)
            {
                kept = candidate;
            }
        }
    }

    /// <summary>The middle of the squared gradient over the anatomy: half of it is noise and slopes, where no edge is sought.</summary>
    private float MedianSize(float[] smooth, RegionMap map, bool[] allowed, float perX, float perY)
    {
        const int Stride = 9;
        var sizes = new List<float>();
        for (int row = 2; row < rows - 2; row += Stride)
        {
            int mapRow = Math.Min((row * bin) / map.Step, map.Labels.Rows - 1) * map.Labels.Columns;
            for (int column = 2; column < columns - 2; column += Stride)
            {
                if (allowed[mapRow + Math.Min((column * bin) / map.Step, map.Labels.Columns - 1)])
                {
                    sizes.Add(Size(smooth, (row * columns) + column, perX, perY));
                }
            }
        }

        sizes.Sort();
        return sizes.Count == 0 ? 0 : sizes[sizes.Count / 2];
    }

    private float Size(float[] smooth, int at, float perX, float perY)
    {
        float gx = (smooth[at + 1] - smooth[at - 1]) * perX;
        float gy = (smooth[at + columns] - smooth[at - columns]) * perY;
        return (gx * gx) + (gy * gy);
    }

    private static int DirectionOf(EdgeCandidate candidate) => Math.Min(Directions - 1, (int)(candidate.DirectionDegrees * Directions / 180));
}
