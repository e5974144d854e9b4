using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Field;

namespace Hotlight.Measure.Tests.Field;

public sealed class MaskOpeningTests
{
    private const int Rows = 100;
    private const int Columns = 80;

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_RectangleInOneValue_HasSidesBetweenThePixels()
    {
        List<FoundSide> sides = MaskOpening.Find(Masked((row, column) => row is >= 10 and < 80 && column is >= 20 and < 70));

        Assert.Equal([FieldSide.Top, FieldSide.Bottom, FieldSide.Left, FieldSide.Right], sides.Select(side => side.Side));
        Assert.All(sides, side => Assert.Equal(FieldEdge.Mask, side.Edge));

        // Top and left by their outward normals: y = 9.5 is (0, −1)·p = −9.5.
        Assert.Equal([-9.5, 79.5, -19.5, 69.5], sides.Select(side => side.Refined.Line.Rho));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_OpeningThatReachesTheFrame_HasNoSideThere()
    {
        List<FoundSide> sides = MaskOpening.Find(Masked((row, column) => row >= 10 && column >= 20));

        Assert.Equal([FieldSide.Top, FieldSide.Left], sides.Select(side => side.Side));
    }

    [Fact]
    public void Find_TiltedOpening_GivesNone()
    {
        // A diamond touches each row and column of its bounds in a few pixels only.
        Assert.Empty(MaskOpening.Find(Masked((row, column) => Math.Abs(row - 50) + Math.Abs(column - 40) < 35)));
    }

    [Fact]
    public void Find_NoMask_GivesNone() => Assert.Empty(MaskOpening.Find(Masked((_, _) => true)));

    [Fact]
    public void Find_LossyFile_GivesNone()
        => Assert.Empty(MaskOpening.Find(Masked((row, column) => row is >= 10 and < 80 && column is >= 20 and < 70) with { LossyCompressed = true }));

    private static Radiograph Masked(Func<int, int, bool> isOpen)
    {
        var pixels = new Raster<ushort>(Rows, Columns);
        for (int row = 0; row < Rows; row++)
        {
            for (int column = 0; column < Columns; column++)
            {
                pixels[row, column] = (ushort)(isOpen(row, column) ? 100 + (((row * 7) + (column * 13)) % 50) : 7);
            }
        }

        return new Radiograph { FileName = "mask.dcm", Source = ImageSource.Dicom, Pixels = pixels, BitsStored = 12, HighIsShownDark = true, Encoding = "drawn" };
    }
}
