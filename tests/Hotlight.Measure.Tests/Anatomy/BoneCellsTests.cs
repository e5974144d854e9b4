using Hotlight.Core;
using Hotlight.Measure.Anatomy;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Anatomy;

public sealed class BoneCellsTests
{
    private const int Rows = 150;
    private const int Columns = 203;

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_StripeOfBoneInALimb_IsTheStripe()
    {
        (float[] smooth, bool[] anatomy) = Limb();

        bool[]? bone = BoneCells.Find(smooth, anatomy, Cells(), cellMm: 1);

        // The surroundings' weight reaches 36 cells: every cell of the limb sees the bone in its middle, so that tissue lies above its mean and bone below.
        Assert.NotNull(bone);
        for (int i = 0; i < bone.Length; i++)
        {
            Assert.Equal(i % Columns is >= 95 and < 105, bone[i]);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(2.66, true)]
    [InlineData(2.68, false)]
    public void Find_LimbSixtyCellsWide_IsToldWhereItsAxisLiesWithinEightyMillimetres(double cellMm, bool isTold)
    {
        // The axis lies 30 cells from what is not anatomy: 79.8 and 80.4 mm.
        (float[] smooth, bool[] anatomy) = Limb();

        Assert.Equal(isTold, BoneCells.Find(smooth, anatomy, Cells(), cellMm) is not null);
    }

    [Fact]
    public void Find_NoSpacing_IsNotTold()
    {
        (float[] smooth, bool[] anatomy) = Limb();

        Assert.Null(BoneCells.Find(smooth, anatomy, Cells(), cellMm: null));
    }

    private static (float[] Smooth, bool[] Anatomy) Limb()
    {
        var smooth = new float[Rows * Columns];
        var anatomy = new bool[Rows * Columns];
        for (int i = 0; i < smooth.Length; i++)
        {
            int column = i % Columns;
            anatomy[i] = column is >= 70 and < 130;
            smooth[i] = column is >= 95 and < 105 ? 0.3f : anatomy[i] ? 0.6f : 1;
        }

        return (smooth, anatomy);
    }

    private static FieldCells Cells() => FieldCells.From(ReducedImage.From(new Raster<ushort>(Rows, Columns).AsReadOnly()), FieldShape.From(Rows, Columns, []));
}
