using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Regions;

public sealed class BlockSumsTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1, 1)]
    [InlineData(7, 1)]
    [InlineData(100, 3)]
    [InlineData(101, 5)]
    [InlineData(640, 5)]
    [InlineData(33, 40)]
    [InlineData(259, 2)]
    public void AddAndAlong_RowsOfPixels_AreTheSumsOfEachBlock(int columns, int step)
    {
        var random = new Random(columns);
        int blocks = (columns + step - 1) / step;
        var columnSums = new uint[columns];
        var expected = new uint[blocks];
        for (int row = 0; row < step; row++)
        {
            var line = new ushort[columns];
            for (int column = 0; column < columns; column++)
            {
                line[column] = (ushort)random.Next(ushort.MaxValue + 1);
                expected[column / step] += line[column];
            }

            BlockSums.Add(line, columnSums);
        }

        var sums = new uint[blocks];
        BlockSums.Along(columnSums, step, sums);

        Assert.Equal(expected, sums);
    }
}
