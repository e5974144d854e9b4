namespace Hotlight.Records.Tests;

/// <summary>Bins of the deviation index.</summary>
public sealed class IndexSpreadTests
{
    [Theory]
    [InlineData(0, 0)]
    [InlineData(0.049, 0)]
    [InlineData(0.051, 1)]
    [InlineData(-0.051, -1)]
    [InlineData(1.0, 10)]
    [InlineData(-3.02, -30)]
    [InlineData(20, 200)]
    [InlineData(35, 200)]
    [InlineData(-35, -200)]
    public void BinOf_AnIndex_HoldsIt(double index, int bin)
        => Assert.Equal(bin, IndexSpread.BinOf(index));
}
