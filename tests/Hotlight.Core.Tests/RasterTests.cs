using System.Text.Json;
using Hotlight.Core;

namespace Hotlight.Core.Tests;

public sealed class RasterTests
{
    [Fact]
    public void Row_OfARaster_IsTheRowAndNotTheColumn()
    {
        var raster = new Raster<int>(rows: 2, columns: 3, samples: [1, 2, 3, 4, 5, 6]);
        Assert.Equal([4, 5, 6], raster.Row(1).ToArray());
        Assert.Equal(3, raster[0, 2]);
    }

    [Theory]
    [InlineData(2, 0)]
    [InlineData(0, 3)]
    [InlineData(-1, 0)]
    [InlineData(0, -1)]
    public void Index_OutsideTheRaster_IsRefused(int row, int column)
        => Assert.Throws<ArgumentOutOfRangeException>(() => new Raster<int>(2, 3)[row, column]);

    [Fact]
    public void Raster_OverAShortBlock_IsRefused()
        => Assert.Throws<ArgumentException>(() => new Raster<byte>(2, 3, new byte[5]));

    [Fact]
    public void Raster_TooLargeForOneBlock_IsRefusedNotWrapped()
        => Assert.Throws<OverflowException>(() => new Raster<byte>(70_000, 70_000));

    [Fact]
    public void ReadOnlyView_OfARaster_SharesItsSamples()
    {
        var raster = new Raster<ushort>(1, 2);
        ReadOnlyRaster<ushort> view = raster;
        raster[0, 1] = 7;
        Assert.Equal(7, view[0, 1]);
        Assert.Equal(0, default(ReadOnlyRaster<ushort>).Rows);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(0)]
    [InlineData(-0.1)]
    public void PixelSpacing_NotAboveZero_IsRefused(double value)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new PixelSpacing(value, 0.1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new PixelSpacing(0.1, value));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void PixelPoint_InJson_IsXThenY()
    {
        string json = JsonSerializer.Serialize(new PixelPoint(X: 3.14159, Y: -2));
        Assert.Equal("[3.14,-2]", json);
        Assert.Equal(new PixelPoint(X: 3.14, Y: -2), JsonSerializer.Deserialize<PixelPoint>(json));
        Assert.Throws<JsonException>(() => JsonSerializer.Deserialize<PixelPoint>("[1,2,3]"));
    }

    // 3-4-5 triangle.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Distance_OfAThreeFourFiveTriangle_IsFive()
        => Assert.Equal(5, new PixelPoint(1, 1).DistancePixelsTo(new PixelPoint(4, 5)), 12);
}
