using System.Text.Json.Nodes;
using Hotlight.Statistics.Agreement;

namespace Hotlight.Statistics.Tests.Agreement;

public sealed class ReadersTests
{
    [Theory]
    [InlineData(59, 121, 21.3556, 20.6722)]
    [InlineData(12, 5, double.NaN, 2.1176)]
    [Trait("evidence", "published")]
    public void McNemar_PrintedStatistics_AreMet(long first, long second, double plain, double corrected)
    {
        McNemar test = McNemar.Of(first, second).Value!;
        Assert.Equal(corrected, test.Corrected.Statistic!.Value, 5e-5);
        if (!double.IsNaN(plain))
        {
            Assert.Equal(plain, test.ChiSquare.Statistic!.Value, 5e-5);
            Assert.InRange(test.ChiSquare.PValue, 3e-6, 5e-6);
        }
    }

    [Fact]
    [Trait("evidence", "published")]
    public void McNemar_PrintedPValues_AreMet()
    {
        McNemar twelve = McNemar.Of(12, 5).Value!;
        Assert.Equal(0.1456, twelve.Corrected.PValue, 5e-5);
        Assert.Equal(0.1435, twelve.Exact.PValue, 5e-5);
        Assert.Equal(0.096252, twelve.MidP.PValue, 5e-7);
        Assert.Equal(0.057373, McNemar.Of(11, 3).Value!.Exact.PValue, 5e-7);
        McNemar six = McNemar.Of(6, 16).Value!;
        Assert.Equal(2.132, Math.Sqrt(six.ChiSquare.Statistic!.Value), 5e-4);
        Assert.Equal(0.033006, six.ChiSquare.PValue, 5e-7);
        Assert.Equal(1.919, Math.Sqrt(six.Corrected.Statistic!.Value), 5e-4);
        Assert.Equal(0.055009, six.Corrected.PValue, 5e-7);
        Assert.Equal(0.052479, six.Exact.PValue, 5e-7);
        Assert.Equal(0.034690, six.MidP.PValue, 5e-7);
        McNemar even = McNemar.Of(4, 4).Value!;
        Assert.Equal([1, 1, 1, 1], new[] { even.ChiSquare, even.Corrected, even.Exact, even.MidP }.Select(test => Math.Round(test.PValue, 12)));
        Assert.Contains("no case", McNemar.Of(0, 0).Why, StringComparison.Ordinal);
    }

    // The other library's corrected statistic has no floor at 0 where b = c; that row is left to the identity above.
    [Fact]
    [Trait("evidence", "independent")]
    public void McNemar_IsWhatAnotherLibraryMakesOfIt()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("mcnemar"))
        {
            long b = (long)row!["b"]!;
            long c = (long)row["c"]!;
            McNemar test = McNemar.Of(b, c).Value!;
            Assert.Equal(row["chiSquare"]![0].Number(), test.ChiSquare.Statistic!.Value, 1e-12);
            Assert.Equal(row["chiSquare"]![1].Number(), test.ChiSquare.PValue, 1e-12);
            Assert.Equal(row["exact"].Number(), test.Exact.PValue, 1e-12);
            if (b != c)
            {
                Assert.Equal(row["corrected"]![1].Number(), test.Corrected.PValue, 1e-12);
            }
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void CaseDivision_MostDividedFirst_ByHand()
    {
        IReadOnlyList<DividedCase> cases = CaseDivision.Of(Tables.Readers(3, "1 1 1 1", "1 2 3 *", "1 1 1 *", "1 2 3 *"));
        Assert.Equal(["3", "2", "1"], cases.Select(divided => divided.Case));

        // Two of each of four readings: four of six pairs differ; one bit.
        Assert.Equal(2 / 3.0, cases[0].PairwiseDisagreement, 1e-12);
        Assert.Equal(1, cases[0].EntropyBits, 1e-12);
        Assert.Equal(2, cases[0].WidestGap);
        Assert.Equal([2, 2, 0], cases[1].Counts);
        Assert.Equal((0, 0), (cases[2].PairwiseDisagreement, cases[2].EntropyBits));
    }

    // Reader C goes from the rest's answer on 9 of 10 to 3 of 10. Cochran-Armitage over two periods is Pearson's chi-square: 0.6² / (0.6·0.4·0.2) = 7.5.
    [Fact]
    [Trait("evidence", "analytic")]
    public void ReaderDrift_TwoPeriods_IsAChiSquare()
    {
        CaseReadings[] cases = [.. Enumerable.Range(0, 20).Select(index => new CaseReadings($"{index}", [0, 0, (index < 10 ? index < 9 : index < 13) ? 0 : 1, 0]))];
        ReadingTable table = new(Tables.Scale(2), ["A", "B", "C", "D"], cases);
        IReadOnlyList<ReaderDrift> drift = ReaderDrift.Of(table, [.. Enumerable.Range(0, 20).Select(index => index / 10)], ["spring", "autumn"]);
        Assert.Equal([(9L, 10L), (3L, 10L)], drift[2].Periods.Select(period => (period.Agreement.Value!.Count.Events, period.Agreement.Value.Count.Total)));
        Assert.Equal(7.5, Math.Pow(drift[2].Trend.Value!.Statistic!.Value, 2), 1e-9);
        Assert.Equal(-0.6, drift[2].FirstToLast.Value!.Difference, 1e-12);

        // The others always give the rest's answer: nothing to test, and no adjustment for them.
        Assert.False(drift[0].Trend.IsMeasured);
        Assert.Equal(drift[2].Trend.Value!.PValue, drift[2].AdjustedPValue!.Value, 1e-12);
        Assert.Throws<ArgumentException>(() => ReaderDrift.Of(table, [0], ["spring"]));
    }

    [Fact]
    public void ReaderDrift_WithoutAMajority_LeavesTheCaseOut()
    {
        ReadingTable table = Tables.Readers(2, "1 1 1", "1 2 *", "2 1 *");
        IReadOnlyList<ReaderDrift> drift = ReaderDrift.Of(table, [0, 0, 1], ["one", "two"]);
        Assert.Equal(2, drift[0].Periods[0].WithoutMajority);
        Assert.False(drift[0].Periods[0].Agreement.IsMeasured);
        Assert.False(drift[0].FirstToLast.IsMeasured);
    }

    // No drift: 6 readers of 60 cases in three periods; the chance that any adjusted p is below 0.05 is at most 0.05, but for the normal tail and readers who hang together: 300 trials, 4·√(0.05·0.95/300) = 0.05.
    [Fact]
    [Trait("evidence", "analytic")]
    public void ReaderDrift_NobodyDrifts_SeldomCalls()
    {
        Random random = new(23);
        int called = 0;
        int found = 0;
        for (int trial = 0; trial < 300; trial++)
        {
            foreach (bool drifts in new[] { false, true })
            {
                CaseReadings[] cases = [.. Enumerable.Range(0, 60).Select(index =>
                {
                    int truth = random.Next(2);
                    return new CaseReadings($"{index}", [.. Enumerable.Range(0, 6).Select(reader => (int?)(random.NextDouble() < (drifts && reader == 0 && index >= 40 ? 0.3 : 0.9) ? truth : 1 - truth))]);
                })];
                IReadOnlyList<ReaderDrift> all = ReaderDrift.Of(new ReadingTable(Tables.Scale(2), ["a", "b", "c", "d", "e", "f"], cases), [.. Enumerable.Range(0, 60).Select(index => index / 20)], ["1", "2", "3"]);
                called += !drifts && all.Any(reader => reader.AdjustedPValue < 0.05) ? 1 : 0;
                found += drifts && all[0].AdjustedPValue < 0.05 ? 1 : 0;
            }
        }

        Assert.InRange(called / 300.0, 0, 0.10);

        // From 0.9, 0.9 to 0.3 over 20 cases each: z is about −4.4, Holm's first step asks for 2.64.
        Assert.True(found / 300.0 > 0.85, $"{found} of 300");
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Bands_AreNamedAsConventions()
    {
        Assert.Equal(["poor", "slight", "fair", "moderate", "substantial", "almost perfect"], new[] { -0.1, 0.2, 0.21, 0.6, 0.61, 0.81 }.Select(kappa => AgreementBands.LandisKoch(kappa).Word));
        Assert.Equal(["poor", "fair to good", "excellent"], new[] { 0.39, 0.75, 0.76 }.Select(kappa => AgreementBands.Fleiss(kappa).Word));
        Assert.Equal(["reliable", "tentative only", "not to be relied on"], new[] { 0.8, 0.667, 0.66 }.Select(alpha => AgreementBands.Krippendorff(alpha).Word));
        Assert.StartsWith("convention", AgreementBands.LandisKoch(0.5).Convention, StringComparison.Ordinal);
    }
}
