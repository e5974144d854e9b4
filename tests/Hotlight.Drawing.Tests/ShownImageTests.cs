using Hotlight.Core;

namespace Hotlight.Drawing.Tests;

public sealed class ShownImageTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Resample_ToHalf_IsTheMeanOfFour()
    {
        var grey = new Raster<byte>(2, 4, [10, 30, 100, 200, 20, 40, 0, 100]);
        Raster<byte> half = ShownImage.Resample(grey, rows: 1, columns: 2);
        Assert.Equal([(byte)25, (byte)100], half.Samples.ToArray()); // (10+30+20+40)/4, (100+200+0+100)/4
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Resample_ThreeToTwo_WeighsTheSharedPixelByHalf()
    {
        var grey = new Raster<byte>(1, 3, [0, 90, 210]);
        Raster<byte> drawn = ShownImage.Resample(grey, rows: 1, columns: 2);
        Assert.Equal([(byte)30, (byte)170], drawn.Samples.ToArray()); // (0 + 90/2) / 1.5, (90/2 + 210) / 1.5
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Resample_ToTwice_IsLinearBetweenCenters()
    {
        var grey = new Raster<byte>(1, 2, [0, 100]);
        Raster<byte> drawn = ShownImage.Resample(grey, rows: 1, columns: 4);
        Assert.Equal([(byte)0, (byte)25, (byte)75, (byte)100], drawn.Samples.ToArray()); // centres at -0.25 (held), 0.25, 0.75, 1.25 (held)
    }

    [Theory]
    [InlineData(1000, 700, 333, 251)]
    [InlineData(31, 17, 93, 51)]
    [InlineData(1, 1, 5, 5)]
    [InlineData(5000, 3, 1600, 1)]
    [Trait("evidence", "invariant")]
    public void Resample_OfASolid_StaysSolid(int columns, int rows, int drawnColumns, int drawnRows)
    {
        var grey = new Raster<byte>(rows, columns);
        grey.Samples.Fill(137);
        Assert.All(ShownImage.Resample(grey, drawnRows, drawnColumns).Samples.ToArray(), value => Assert.Equal(137, value));
    }
}
