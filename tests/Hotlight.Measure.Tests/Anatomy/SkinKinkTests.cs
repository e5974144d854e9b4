using Hotlight.Core;
using Hotlight.Measure.Anatomy;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Anatomy;

public sealed class SkinKinkTests
{
    private const int Columns = 120;
    private const int Skin = 60;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(120, true, true)]
    [InlineData(120, false, false)]
    [InlineData(40, false, true)]
    public void IsSeen_ByHowExposureFallsAtTheBorder(int rows, bool isRoundBody, bool isSeen)
    {
        // A round body's thickness goes with the root of the depth, so nothing is missing before it; a level within a body falls as much before a threshold as behind it.
        // In 40 rows the border has fewer than the 40 places that are needed to judge.
        float[] exposure = new float[rows * Columns], level = new float[rows * Columns];
        var direct = new bool[rows * Columns];
        for (int i = 0; i < exposure.Length; i++)
        {
            int depth = (i % Columns) - Skin;
            direct[i] = depth < 0;
            level[i] = 1;
            exposure[i] = isRoundBody ? 1 - (0.1f * MathF.Sqrt(Math.Max(0, depth + 1))) : 1 - (0.01f * Math.Max(0, depth + 20));
        }

        FieldCells cells = FieldCells.From(ReducedImage.From(new Raster<ushort>(rows, Columns).AsReadOnly()), FieldShape.From(rows, Columns, []));

        Assert.Equal(isSeen, SkinKink.IsSeen(exposure, level, direct, cells));
    }
}
