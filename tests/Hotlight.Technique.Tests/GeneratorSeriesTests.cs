namespace Hotlight.Technique.Tests;

public sealed class GeneratorSeriesTests
{
    // [preferred-numbers] read in another author's library of ISO 3 series.
    [Fact]
    [Trait("evidence", "published")]
    public void R10AndR20_AreThePreferredNumbers()
    {
        Assert.Equal([1.00, 1.25, 1.60, 2.00, 2.50, 3.15, 4.00, 5.00, 6.30, 8.00], GeneratorSeries.R10.Decade);
        Assert.Equal([1.00, 1.12, 1.25, 1.40, 1.60, 1.80, 2.00, 2.24, 2.50, 2.80, 3.15, 3.55, 4.00, 4.50, 5.00, 5.60, 6.30, 7.10, 8.00, 9.00], GeneratorSeries.R20.Decade);
    }

    // Preferred numbers are rounded powers of the tenth and twentieth root of ten. The standard's rounding is at most 1.26 % (R5 to R40); R'10 rounds 3.1623 to 3.2, 1.2 %.
    [Fact]
    [Trait("evidence", "analytic")]
    public void EverySeries_IsGeometricWithinItsRounding()
    {
        foreach (GeneratorSeries series in GeneratorSeries.All)
        {
            for (int index = 0; index < series.Decade.Count; index++)
            {
                double exact = Math.Pow(10, (double)index / series.Decade.Count);
                Assert.InRange(series.Decade[index] / exact, 1 - 0.0127, 1 + 0.0127);
            }
        }
    }

    // One step of R10 is one deviation index: rounding moves it by half a step at most, and by what the printed numbers are off (twice 1.26 %, 0.11).
    [Fact]
    [Trait("evidence", "invariant")]
    public void NearestMas_AnyMas_MovesTheIndexByHalfAStepAtMost()
    {
        var random = new Random(20261126);
        for (int count = 0; count < 20_000; count++)
        {
            double mas = Math.Pow(10, (random.NextDouble() * 7) - 3);
            foreach (GeneratorSeries series in GeneratorSeries.All)
            {
                double step = series.NearestMas(mas);
                Assert.InRange(Math.Abs(DeviationIndexLaw.ShiftOf(step / mas)), 0, (5.0 / series.Decade.Count) + 0.11);
                Assert.Equal(step, series.NearestMas(step));
                Assert.Contains(series.Decade, value => Enumerable.Range(-4, 10).Any(decade => Math.Abs((value * Math.Pow(10, decade) / step) - 1) < 1e-9));
            }
        }
    }

    [Theory]
    [InlineData(13.225, 12.5)]
    [InlineData(32.4, 31.5)]
    [InlineData(9.99, 10)]
    [InlineData(0.0316, 0.0315)]
    [InlineData(0.31, 0.315)]
    [InlineData(9.2, 10)]
    [InlineData(1150, 1250)]
    public void NearestMas_AcrossDecades_IsTheNearestInRatio(double mas, double step) => Assert.Equal(step, GeneratorSeries.R10.NearestMas(mas));

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(0)]
    [InlineData(-1)]
    public void NearestMas_OfNoMas_IsRefused(double mas) => Assert.Throws<ArgumentOutOfRangeException>(() => GeneratorSeries.R10.NearestMas(mas));
}
