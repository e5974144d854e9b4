namespace Hotlight.Judgement.Tests;

public sealed class DeviationBandsTests
{
    // [aapm-116] table of deviation index and action; edges as printed: above +3.0, +1 to +3.0, -0.5 to +0.5, below -1.0, below -3.0.
    // The edges are quoted from memory of the report, as the register says.
    // Between 0.5 and 1 on either side the table names nothing.
    [Theory]
    [InlineData(-3.01, DeviationBand.SeverelyUnderexposed)]
    [InlineData(-3.0, DeviationBand.Underexposed)]
    [InlineData(-1.01, DeviationBand.Underexposed)]
    [InlineData(-1.0, DeviationBand.Unnamed)]
    [InlineData(-0.51, DeviationBand.Unnamed)]
    [InlineData(-0.5, DeviationBand.Target)]
    [InlineData(0.0, DeviationBand.Target)]
    [InlineData(0.5, DeviationBand.Target)]
    [InlineData(0.51, DeviationBand.Unnamed)]
    [InlineData(0.99, DeviationBand.Unnamed)]
    [InlineData(1.0, DeviationBand.Overexposed)]
    [InlineData(3.0, DeviationBand.Overexposed)]
    [InlineData(3.01, DeviationBand.ExcessivelyExposed)]
    [Trait("evidence", "published")]
    public void BandOf_EdgesOfTheFixedScheme_AreThoseOfTheTable(double deviationIndex, DeviationBand band)
        => Assert.Equal(band, DeviationBands.Fixed.BandOf(deviationIndex));

    // [aapm-232] example of an AAPM abstract: mean DI 0.85, SD 2.75, limits -1.90 to 3.60 and -4.65 to 6.35 (printed to 0.01).
    [Fact]
    [Trait("evidence", "published")]
    public void OfSite_ExampleOfMobileChests_GivesThePrintedLimits()
    {
        DeviationBands bands = DeviationBands.OfSite(mean: 0.85, standardDeviation: 2.75);
        Assert.Equal(-1.90, bands.TargetLow, 0.005);
        Assert.Equal(3.60, bands.TargetHigh, 0.005);
        Assert.Equal(-4.65, bands.SevereLow, 0.005);
        Assert.Equal(6.35, bands.SevereHigh, 0.005);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void BandOf_TheTwoSchemes_DisagreeAsTheReferenceSays()
    {
        DeviationBands site = DeviationBands.OfSite(mean: 0.85, standardDeviation: 2.75);
        Assert.Equal(DeviationBand.ExcessivelyExposed, DeviationBands.Fixed.BandOf(3.2));
        Assert.Equal(DeviationBand.Target, site.BandOf(3.2));
        Assert.NotEqual(DeviationBands.Fixed.Scheme, site.Scheme);
    }

    // [iec-62494-1] DI = 10·log10(EI / EI_T), so the factor is EI_T / EI; ratios printed to 4 digits for these DI:
    // -5: 0.3162, -3: 0.5012, -2: 0.6310, -1: 0.7943, +1: 1.2589, +2: 1.5849, +3: 1.9953, +5: 3.1623.
    [Theory]
    [InlineData(-5, 0.3162)]
    [InlineData(-3, 0.5012)]
    [InlineData(-2, 0.6310)]
    [InlineData(-1, 0.7943)]
    [InlineData(-0.5, 0.8913)]
    [InlineData(0, 1.0000)]
    [InlineData(0.5, 1.1220)]
    [InlineData(1, 1.2589)]
    [InlineData(2, 1.5849)]
    [InlineData(3, 1.9953)]
    [InlineData(5, 3.1623)]
    [Trait("evidence", "published")]
    public void MasFactor_OfADeviationIndex_IsTheInverseOfItsRatio(double deviationIndex, double ratio)
        => Assert.Equal(ratio, 1 / Technique.DeviationIndexLaw.MasFactor(deviationIndex), 0.00005);

    // The usual reading: DI -3 wants about twice the mAs, +3 about half.
    [Fact]
    [Trait("evidence", "published")]
    public void MasFactor_OfThree_DoublesOrHalves()
    {
        Assert.Equal(2, Technique.DeviationIndexLaw.MasFactor(-3), 0.01);
        Assert.Equal(0.5, Technique.DeviationIndexLaw.MasFactor(3), 0.005);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void MasFactor_OfNoNumber_IsRefused(double deviationIndex)
        => Assert.Throws<ArgumentOutOfRangeException>(() => Technique.DeviationIndexLaw.MasFactor(deviationIndex));

    [Fact]
    public void OfSite_WithoutSpread_IsRefused()
        => Assert.Throws<ArgumentOutOfRangeException>(() => DeviationBands.OfSite(mean: 0, standardDeviation: 0));
}
