using System.Runtime.InteropServices;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Sharpness;

/// <summary>Leaves out the edges of metal and other dense things: they may lie still while the part moves, and their edges are sharper than any bone's.</summary>
/// <remarks>An edge is a dense thing's when its attenuating side stands far above the anatomy around it and its slope is steeper than bone's, both in terms of the anatomy's own range of values; it is left out, with all edges near, where several such edges lie together.</remarks>
internal static class DenseObjects
{
    // In shares of the anatomy's range, and per mm: bone of the tuning exposures stays below one or the other, rings, pins and zips are above both.
    private const double LeastHeightShare = 0.45;
    private const double LeastSlopeSharePerMm = 2.5;

    // Around an edge, to either side, in mm: wider than a ring or a zip.
    private const double AroundMm = 8;
    private const double BlockMm = 4;
    private const int LeastTogether = 3;

    // Of the map's cells one in this many each way gives the range of values.
    private const int Stride = 3;

    /// <summary>The edges that are the anatomy's.</summary>
    internal static List<FittedEdge> Without(List<FittedEdge> edges, Radiograph radiograph, ImageScale scale, RegionMap map, int exposureSign)
    {
        if (edges.Count == 0 || Surroundings.Of(radiograph, scale, map, exposureSign, AroundMm) is not { } around)
        {
            return edges;
        }

        var dense = new Dictionary<(int X, int Y), int>();
        foreach (FittedEdge edge in edges)
        {
            double attenuated = exposureSign > 0 ? -edge.LowValue : edge.HighValue;
            if (attenuated - around.At(edge.X, edge.Y) > LeastHeightShare * around.Range
                && edge.Step / edge.SigmaMm > LeastSlopeSharePerMm * around.Range)
            {
                (int X, int Y) block = Block(edge, scale);
                dense[block] = dense.GetValueOrDefault(block) + 1;
            }
        }

        var left = new HashSet<(int, int)>();
        foreach (((int X, int Y) block, int count) in dense)
        {
            for (int step = 0; step < 9 && count >= LeastTogether; step++)
            {
                left.Add((block.X + (step % 3) - 1, block.Y + (step / 3) - 1));
            }
        }

        return left.Count == 0 ? edges : edges.FindAll(edge => !left.Contains(Block(edge, scale)));
    }

    private static (int X, int Y) Block(FittedEdge edge, ImageScale scale)
        => ((int)(edge.X * scale.ColumnSpacingMm / BlockMm), (int)(edge.Y * scale.RowSpacingMm / BlockMm));

    /// <summary>Attenuation (values, higher for less exposure) of the anatomy around each cell of the map.</summary>
    private sealed class Surroundings
    {
        private readonly RegionMap map;
        private readonly double[] sums;
        private readonly int[] counts;
        private readonly int reach;

        private Surroundings(RegionMap map, double[] sums, int[] counts, int reach, double range)
        {
            this.map = map;
            this.sums = sums;
            this.counts = counts;
            this.reach = reach;
            Range = range;
        }

        /// <summary>From the 2nd to the 98th percentile over the anatomy.</summary>
        internal double Range { get; }

        /// <summary>The mean over the anatomy in the square around a place, in pixels; positive infinity where it holds none.</summary>
        internal double At(double x, double y)
        {
            int rows = map.Labels.Rows, columns = map.Labels.Columns;
            int row = Math.Clamp((int)y / map.Step, 0, rows - 1), column = Math.Clamp((int)x / map.Step, 0, columns - 1);
            int top = Math.Max(0, row - reach) * (columns + 1), bottom = Math.Min(rows, row + reach + 1) * (columns + 1);
            int left = Math.Max(0, column - reach), right = Math.Min(columns, column + reach + 1);
            int count = counts[bottom + right] - counts[bottom + left] - counts[top + right] + counts[top + left];
            double sum = sums[bottom + right] - sums[bottom + left] - sums[top + right] + sums[top + left];
            return count > 0 ? sum / count : double.PositiveInfinity;
        }

        /// <summary>Summed areas, for means over squares; null where there is no anatomy.</summary>
        internal static Surroundings? Of(Radiograph radiograph, ImageScale scale, RegionMap map, int exposureSign, double aroundMm)
        {
            int rows = map.Labels.Rows, columns = map.Labels.Columns;
            var sums = new double[(rows + 1) * (columns + 1)];
            var counts = new int[(rows + 1) * (columns + 1)];
            var values = new List<float>();
            for (int row = 0; row < rows; row++)
            {
                ReadOnlySpan<byte> labels = map.Labels.Row(row);
                ReadOnlySpan<ushort> line = radiograph.Pixels.Row(Math.Min((row * map.Step) + (map.Step / 2), radiograph.Rows - 1));
                double sum = 0;
                int count = 0;
                for (int column = 0; column < columns; column++)
                {
                    if (RegionMap.IsAnatomy((RegionLabel)labels[column]))
                    {
                        float value = -exposureSign * scale.Values[line[Math.Min((column * map.Step) + (map.Step / 2), line.Length - 1)]];
                        if (row % Stride == 0 && column % Stride == 0)
                        {
                            values.Add(value);
                        }

                        sum += value;
                        count++;
                    }

                    int at = ((row + 1) * (columns + 1)) + column + 1;
                    sums[at] = sums[at - columns - 1] + sum;
                    counts[at] = counts[at - columns - 1] + count;
                }
            }

            if (values.Count < 50)
            {
                return null;
            }

            Span<float> order = CollectionsMarshal.AsSpan(values);
            double range = OrderStatistic.At(order, (int)(0.98 * (order.Length - 1))) - OrderStatistic.At(order, (int)(0.02 * (order.Length - 1)));
            int reach = Math.Max(1, (int)(aroundMm / scale.StepMm / map.Step));
            return new Surroundings(map, sums, counts, reach, range);
        }
    }
}
