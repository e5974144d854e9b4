using Hotlight.Measure.Anatomy;

namespace Hotlight.Measure.Tests.Anatomy;

public sealed class CellRegionsTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_Drawing_NumbersRegionsByTheirFirstCell()
    {
        // The second region is a U whose arms meet in the last row only; corners do not touch.
        CellRegions regions = CellRegions.Of(Mask("""
            ##.#.#
            ...#.#
            #..###
            .#....
            """, out int rows, out int columns), rows, columns);

        Assert.Equal([0, 2, 7, 1, 1], regions.Sizes);
        Assert.Equal([1, 1, 0, 2, 0, 2, 0, 0, 0, 2, 0, 2, 3, 0, 0, 2, 2, 2, 0, 4, 0, 0, 0, 0], regions.Label);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.3)]
    [InlineData(0.59)]
    [InlineData(0.9)]
    public void Of_RandomMask_AgreesWithVisitingEveryNeighbour(double share)
    {
        // Near a share of 0.59 regions are most entangled (site percolation on a square lattice, 0.5927).
        const int Rows = 61, Columns = 83;
        var random = new Random(11);
        bool[] mask = [.. Enumerable.Range(0, Rows * Columns).Select(_ => random.NextDouble() < share)];

        CellRegions regions = CellRegions.Of(mask, Rows, Columns);

        int[] expected = ByVisiting(mask, Rows, Columns);
        Assert.Equal(expected, regions.Label);
        for (int k = 1; k < regions.Sizes.Count; k++)
        {
            Assert.Equal(expected.Count(label => label == k), regions.Sizes[k]);
        }
    }

    private static int[] ByVisiting(bool[] mask, int rows, int columns)
    {
        var label = new int[mask.Length];
        int count = 0;
        for (int start = 0; start < mask.Length; start++)
        {
            if (!mask[start] || label[start] > 0)
            {
                continue;
            }

            count++;
            var queue = new Queue<(int Row, int Column)>([(start / columns, start % columns)]);
            while (queue.TryDequeue(out (int Row, int Column) at))
            {
                if (at.Row < 0 || at.Column < 0 || at.Row >= rows || at.Column >= columns || !mask[(at.Row * columns) + at.Column] || label[(at.Row * columns) + at.Column] > 0)
                {
                    continue;
                }

                label[(at.Row * columns) + at.Column] = count;
                queue.Enqueue((at.Row - 1, at.Column));
                queue.Enqueue((at.Row + 1, at.Column));
                queue.Enqueue((at.Row, at.Column - 1));
                queue.Enqueue((at.Row, at.Column + 1));
            }
        }

        return label;
    }

    private static bool[] Mask(string drawing, out int rows, out int columns)
    {
        string[] lines = drawing.Split('\n', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
        rows = lines.Length;
        columns = lines[0].Length;
        return [.. string.Concat(lines).Select(c => c == '#')];
    }
}
