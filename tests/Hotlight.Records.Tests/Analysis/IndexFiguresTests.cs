using Hotlight.Records.Analysis;
using Hotlight.Statistics.Distributions;

namespace Hotlight.Records.Tests.Analysis;

public sealed class IndexFiguresTests
{
    // The median from counts is that of all the values written out, each bin's evenly spread over it: the same arithmetic, so to the last digit.
    [Theory]
    [InlineData(1, 1)]
    [InlineData(2, 7)]
    [InlineData(3, 400)]
    [InlineData(4, 60_000)]
    public void Median_OfASpread_IsThatOfItsValuesWrittenOut(int seed, int entries)
    {
        Random random = new(seed);
        Dictionary<int, long> bins = [];
        for (int entry = 0; entry < entries; entry++)
        {
            int bin = random.Next(-30, 40) - random.Next(20);
            bins[bin] = bins.GetValueOrDefault(bin) + 1;
        }

        bins[77] = 0;
        double[] values = [.. bins.SelectMany(bin => Enumerable.Range(0, (int)bin.Value).Select(each => (bin.Key - 0.5 + ((each + 0.5) / bin.Value)) * IndexSpread.BinWidth))];

        IndexFigures figures = IndexFigures.Of(new IndexSpread { Key = null, Exposures = entries, Bins = bins });

        QuantileEstimate expected = QuantileIntervals.Of(values, 0.5).Value!;
        QuantileEstimate found = figures.Median.Value!;
        Assert.Equal((expected.Value, expected.Count, expected.Interval.IsMeasured), (found.Value, found.Count, found.Interval.IsMeasured));
        Assert.Equal(expected.Interval.Value, found.Interval.Value);
    }
}
