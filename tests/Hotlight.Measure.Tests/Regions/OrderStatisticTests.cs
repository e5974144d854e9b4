using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Regions;

public sealed class OrderStatisticTests
{
    public static TheoryData<string, int> Sequences()
    {
        var data = new TheoryData<string, int>();
        foreach (string kind in (string[])["random", "rising", "falling", "equal", "two values", "organ pipe", "made against it"])
        {
            foreach (int count in (int[])[1, 2, 24, 25, 1000, 4097])
            {
                data.Add(kind, count);
            }
        }

        return data;
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [MemberData(nameof(Sequences))]
    public void At_EachPlace_IsThatOfTheSortedOrder(string kind, int count)
    {
        double[] values = Values(kind, count);
        double[] sorted = [.. values.Order()];

        foreach (int place in (int[])[0, count / 8, count / 2, (int)(count * 0.995), count - 1])
        {
            Assert.Equal(sorted[place], OrderStatistic.At(values.ToArray().AsSpan(), place));
        }
    }

    [Fact]
    public void At_NoSuchPlace_Throws()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => OrderStatistic.At(new float[3].AsSpan(), 3));
        Assert.Throws<ArgumentOutOfRangeException>(() => OrderStatistic.At(new float[3].AsSpan(), -1));
        Assert.Throws<ArgumentOutOfRangeException>(() => OrderStatistic.At(Span<float>.Empty, 0));
    }

    private static double[] Values(string kind, int count)
    {
        var random = new Random(7);
        var values = new double[count];
        for (int i = 0; i < count; i++)
        {
            values[i] = kind switch
            {
                "random" => random.NextDouble(),
                "rising" => i,
                "falling" => -i,
                "equal" => 3,
                "two values" => random.Next(2),
                "organ pipe" => Math.Min(i, count - i),

                // The least values stand where pivots are taken from: the ends and the middle.
                _ => i == 0 || i == count - 1 || i == count / 2 ? -1 : Math.Abs(i - (count / 2)),
            };
        }

        return values;
    }
}
