using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Regions;

public sealed class GrownCellsTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1, 1, 0, false)]
    [InlineData(5, 90, 1, false)]
    [InlineData(40, 37, 4, true)]
    [InlineData(64, 65, 6, false)]
    [InlineData(3, 4, 9, false)]
    [InlineData(12, 80, 3, true)]
    public void Of_ScatteredCells_IsEveryCellWithinReachOfOne(int rows, int columns, int reach, bool beyond)
    {
        var random = new Random(rows + columns);
        var cells = new bool[rows * columns];
        for (int at = 0; at < cells.Length; at++)
        {
            cells[at] = random.Next(60) == 0;
        }

        var expected = new bool[cells.Length];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                for (int y = row - reach; y <= row + reach; y++)
                {
                    for (int x = column - reach; x <= column + reach; x++)
                    {
                        bool isInFrame = y >= 0 && x >= 0 && y < rows && x < columns;
                        expected[(row * columns) + column] |= isInFrame ? cells[(y * columns) + x] : beyond;
                    }
                }
            }
        }

        Assert.Equal(expected, GrownCells.Of(cells, rows, columns, reach, beyond));
    }
}
