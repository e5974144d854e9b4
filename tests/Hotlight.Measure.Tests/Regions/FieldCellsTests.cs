using Hotlight.Core;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Regions;

public sealed class FieldCellsTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(100, 100)]
    [InlineData(97, 131)]
    public void From_WholeImage_KindsGoByTheDistanceFromItsFrame(int rows, int columns)
    {
        ReducedImage image = ReducedImage.From(new Raster<ushort>(rows, columns).AsReadOnly());

        FieldCells cells = FieldCells.From(image, FieldShape.From(rows, columns, []));

        // The frame lies half a pixel beyond the first and last pixel; the outer part is a seventh of the root of the area.
        double near = Math.Sqrt((double)rows * columns) / 7;
        Assert.Equal(rows * columns, cells.Count);
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                double distance = 0.5 + Math.Min(Math.Min(row, rows - 1 - row), Math.Min(column, columns - 1 - column));
                Assert.Equal(distance < 3 ? 2 : distance < near ? 3 : 4, cells.Kind[(row * columns) + column]);
            }
        }
    }
}
