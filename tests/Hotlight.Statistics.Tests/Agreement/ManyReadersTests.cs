using Hotlight.Statistics.Agreement;

namespace Hotlight.Statistics.Tests.Agreement;

public sealed class ManyReadersTests
{
    private const string Fourteen = "0 0 0 0 14|0 2 6 4 2|0 0 3 5 6|0 3 9 2 0|2 2 8 1 1|7 7 0 0 0|3 2 6 3 0|2 5 3 2 2|6 5 2 1 0|0 2 2 3 7";

    // Fleiss, Psychol Bull 1971;76:378: 30 patients, 6 raters, 5 diagnoses.
    private const string Diagnoses = "00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031 00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006";

    [Fact]
    [Trait("evidence", "published")]
    public void Fleiss_FourteenRaters_IsThePublishedExample()
    {
        long[,] counts = Tables.Of(Fourteen);
        AgreementEstimate estimate = FleissKappa.Of(counts).Value!;
        Assert.Equal(0.20993, estimate.Value, 5e-6);
        Assert.Equal(0.378, estimate.Observed!.Value, 5e-4);
        Assert.Equal(0.213, estimate.Expected!.Value, 5e-4);
        Assert.Equal((10, 140), (estimate.Cases, estimate.Readings));
        double[] shares = [.. FleissKappa.ByCategory(counts, Tables.Scale(5)).Select(category => category.Share)];
        Assert.Equal([0.143, 0.200, 0.279, 0.150, 0.229], shares.Select(share => Math.Round(share, 3)));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Fleiss_Diagnoses_AreThePublishedExample()
    {
        long[,] counts = Tables.Of(string.Join('|', Diagnoses.Split(' ').Select(digits => string.Join(' ', digits.ToCharArray()))));
        AgreementEstimate estimate = FleissKappa.Of(counts).Value!;
        Assert.Equal(0.430245, estimate.Value, 5e-7);
        Assert.Equal(0.5556, estimate.Observed!.Value, 5e-5);
        Assert.Equal(0.2199, estimate.Expected!.Value, 5e-5);
        IReadOnlyList<CategoryKappa> categories = FleissKappa.ByCategory(counts, Tables.Scale(5));
        Assert.Equal([0.1444, 0.1444, 0.1667, 0.3056, 0.2389], categories.Select(category => Math.Round(category.Share, 4)));
        Assert.Equal([0.245, 0.245, 0.520, 0.471, 0.566], categories.Select(category => Math.Round(category.Kappa.Value!.Value, 3)));

        // Each category's error under chance is √(2/(N·m(m − 1))) = √(2/900), the same for all.
        Assert.All(categories, category => Assert.Equal(Math.Sqrt(2 / 900.0), category.Kappa.Value!.Value / category.Kappa.Value.AgainstZero.Value!.Statistic!.Value, 1e-9));
    }

    [Theory]
    [InlineData("7 1|3 5", 0.161905)]
    [InlineData("6 1 0|0 7 0", 0.708333)]
    [Trait("evidence", "published")]
    public void Fleiss_SmallTables_ArePrintedOnes(string table, double printed)
        => Assert.Equal(printed, FleissKappa.Of(Tables.Of(table)).Value!.Value, 5e-7);

    // Two pairs with their printed free-marginal kappa: eight readers of two cases, seven of two; and 0.90 for 95 of 100 alike.
    [Fact]
    [Trait("evidence", "published")]
    public void FreeMarginal_PrintedKappas_AreMet()
    {
        Assert.Equal(0.214286, FreeMarginalKappa.Of(Tables.Readers(2, "1 1", "1 1", "1 1", "1 2", "1 2", "1 2", "1 2", "2 2")).Value!.Value, 5e-7);
        Assert.Equal(0.785714, FreeMarginalKappa.Of(Tables.Readers(3, "1 2", "1 2", "1 2", "1 2", "1 2", "1 2", "2 2")).Value!.Value, 5e-7);
        AgreementEstimate pair = FreeMarginalKappa.Of(Tables.Unrolled(Tables.Of("95 4|1 0"))).Value!;
        Assert.Equal(0.90, pair.Value, 1e-12);
        Assert.Equal(2 * Math.Sqrt(0.95 * 0.05 / 99), pair.StandardError!.Value, 1e-12);
        Assert.False(FreeMarginalKappa.Of(Tables.Readers(2, "1 2")).IsMeasured);
    }

    [Fact]
    public void Fleiss_WhatCannotBeTold_SaysWhy()
    {
        Assert.Contains("as many readers", FleissKappa.Of(Tables.Of("2 1|1 1")).Why, StringComparison.Ordinal);
        Assert.Contains("fewer than two", FleissKappa.Of(Tables.Of("1 0|0 1")).Why, StringComparison.Ordinal);
        Assert.Contains("one category", FleissKappa.Of(Tables.Of("3 0|3 0")).Why, StringComparison.Ordinal);
        Assert.Contains("Nobody", FleissKappa.ByCategory(Tables.Of("3 1 0|2 2 0"), Tables.Scale(3))[2].Kappa.Why, StringComparison.Ordinal);
    }

    // Krippendorff's "C" data, four observers; 0.743, 0.815, 0.849, 0.797 printed, more digits from two other authors' programs.
    [Theory]
    [InlineData(AlphaMetric.Nominal, 0.743421)]
    [InlineData(AlphaMetric.Ordinal, 0.815388)]
    [InlineData(AlphaMetric.Interval, 0.849107)]
    [InlineData(AlphaMetric.Ratio, 0.797403)]
    [Trait("evidence", "published")]
    public void Alpha_FourObservers_IsThePublishedExample(AlphaMetric metric, double printed)
    {
        ReadingTable table = Tables.Readers(5, "1 2 3 3 2 1 4 1 2 * * *", "1 2 3 3 2 2 4 1 2 5 * *", "* 3 3 3 2 3 4 2 2 5 1 3", "1 2 3 3 2 4 4 1 2 5 1 *");
        AgreementEstimate estimate = KrippendorffAlpha.Of(table, metric).Value!;
        Assert.Equal(printed, estimate.Value, 5e-7);
        Assert.Equal((11, 40), (estimate.Cases, estimate.Readings));
        Assert.True(estimate.Interval.Value!.Contains(estimate.Value));
        Assert.Equal(estimate.Interval.Value, KrippendorffAlpha.Of(table, metric).Value!.Interval.Value);
    }

    [Theory]
    [InlineData(AlphaMetric.Nominal, 0.691358)]
    [InlineData(AlphaMetric.Interval, 0.810845)]
    [InlineData(AlphaMetric.Ordinal, 0.806721)]
    [InlineData(AlphaMetric.Ratio, 0.808944)]
    [Trait("evidence", "published")]
    public void Alpha_ThreeCoders_IsThePublishedExample(AlphaMetric metric, double printed)
    {
        ReadingTable table = Tables.Readers(4, "* * * * * 3 4 1 2 1 1 3 3 * 3", "1 * 2 1 3 3 4 3 * * * * * * *", "* * 2 1 3 4 4 * 2 1 1 3 3 * 4");
        AgreementEstimate estimate = KrippendorffAlpha.Of(table, metric).Value!;
        Assert.Equal(printed, estimate.Value, 5e-7);
        Assert.Equal(26, estimate.Readings);
    }

    [Theory]
    [InlineData("10 4|4 2", 0, 0)]
    [InlineData("118 5|2 0", -0.024691, 0.940776)]
    [InlineData("75 1 4|5 4 1|0 0 10", 0.676900, 0.867570)]
    [Trait("evidence", "published")]
    public void AlphaAndAc1_OfPairs_ArePrintedOnes(string table, double alpha, double ac1)
    {
        if (ac1 == 0)
        {
            // Two coders, ten units: A 0 1 0 0 0 0 0 0 1 0, B 1 1 1 0 0 1 0 0 0 0; alpha 0.095238.
            Assert.Equal(0.095238, KrippendorffAlpha.Of(Tables.Readers(2, "1 2 1 1 1 1 1 1 2 1", "2 2 2 1 1 2 1 1 1 1"), AlphaMetric.Nominal).Value!.Value, 5e-7);
            return;
        }

        ReadingTable readings = Tables.Unrolled(Tables.Of(table));
        Assert.Equal(alpha, KrippendorffAlpha.Of(readings, AlphaMetric.Nominal).Value!.Value, 5e-7);
        Assert.Equal(ac1, GwetCoefficient.Of(readings).Value!.Value, 5e-7);
    }

    // Many cases: alpha nominal and Fleiss' kappa differ by the factor (1 − 1/n) alone: α = 1 − (1 − κ)(n − 1)/n, n readings.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Alpha_WithoutGaps_IsFleissBarOneReading()
    {
        Random random = new(2);
        ReadingTable table = Planted(random, 40, 3, 4, 0.6);
        AgreementEstimate fleiss = FleissKappa.Of(table.Counts()).Value!;
        double alpha = KrippendorffAlpha.Of(table, AlphaMetric.Nominal).Value!.Value;
        Assert.Equal(1 - ((1 - fleiss.Value) * (fleiss.Readings - 1) / fleiss.Readings), alpha, 1e-12);
    }

    // Readers who give the true answer with chance 0.7 and else any of the three: pairs agree by 0.49 + 0.51/3, truths equally common, so all coefficients are 0.49. 100 cases, 4 readers, 600 trials; within 4·√(0.95·0.05/600) = 0.036, and a point for the large-sample errors.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Intervals_OfPlantedAgreement_CoverAsPromised()
    {
        Random random = new(17);
        int fleiss = 0;
        int gwet = 0;
        int alpha = 0;
        const int Trials = 600;
        for (int trial = 0; trial < Trials; trial++)
        {
            ReadingTable table = Planted(random, 100, 3, 4, 0.7);
            fleiss += FleissKappa.Of(table.Counts()).Value!.Interval.Value!.Contains(0.49) ? 1 : 0;
            gwet += GwetCoefficient.Of(table).Value!.Interval.Value!.Contains(0.49) ? 1 : 0;
            alpha += KrippendorffAlpha.Of(table, AlphaMetric.Nominal, trial, 200).Value!.Interval.Value!.Contains(0.49) ? 1 : 0;
        }

        Assert.Equal(0.95, fleiss / (double)Trials, 0.046);
        Assert.Equal(0.95, gwet / (double)Trials, 0.046);
        Assert.Equal(0.95, alpha / (double)Trials, 0.046);
    }

    // AC2 by hand, two cases, two readers, three categories, linear weights 1 ½ 0: case 1 (1, 2), case 2 (3, 3): p_a = (½ + 1)/2 = 0.75; π = ¼ ¼ ½; Σπ(1 − π) = 5/8; T = 3 + 4·½ = 5; p_e = 5·(5/8)/6 = 0.520833.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Ac2_ByHand_CreditsANearMiss()
    {
        AgreementEstimate estimate = GwetCoefficient.Of(Tables.Readers(3, "1 3", "2 3"), KappaWeights.Linear).Value!;
        Assert.Equal(0.75, estimate.Observed!.Value, 1e-12);
        Assert.Equal(25 / 48.0, estimate.Expected!.Value, 1e-12);
        Assert.Equal((0.75 - (25 / 48.0)) / (1 - (25 / 48.0)), estimate.Value, 1e-12);
    }

    [Fact]
    public void Coefficients_WhatCannotBeTold_SaysWhy()
    {
        ReadingTable lone = Tables.Readers(2, "1 2 1");
        Assert.Contains("two readers", KrippendorffAlpha.Of(lone, AlphaMetric.Nominal).Why, StringComparison.Ordinal);
        Assert.Contains("two readers", GwetCoefficient.Of(lone).Why, StringComparison.Ordinal);
        Assert.Contains("two readers", PercentAgreement.OfAll(lone).Why, StringComparison.Ordinal);
        ReadingTable same = Tables.Readers(2, "1 1 1", "1 1 *");
        Assert.Contains("one category", KrippendorffAlpha.Of(same, AlphaMetric.Ordinal).Why, StringComparison.Ordinal);
        AgreementEstimate gwet = GwetCoefficient.Of(Tables.Readers(2, "1 1 1", "1 1 1")).Value!;
        Assert.Equal(1, gwet.Value);
        Assert.False(gwet.Interval.IsMeasured);
        Assert.False(KrippendorffAlpha.Of(Tables.Readers(2, "1", "2"), AlphaMetric.Nominal).Value!.Interval.IsMeasured);
        Assert.Throws<ArgumentException>(() => new ReadingTable(Tables.Scale(2), ["a"], [new CaseReadings("x", [2])]));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void PercentAgreement_OfTwoAndOfMany_IsTheShareOfPairs()
    {
        Assert.Equal((35, 50), (PercentAgreement.OfPair(Tables.Of("20 5|10 15")).Value!.Count.Events, PercentAgreement.OfPair(Tables.Of("20 5|10 15")).Value!.Count.Total));
        AgreementEstimate estimate = PercentAgreement.OfAll(Tables.Readers(2, "1 1 2 1", "1 2 2 *", "1 1 1 *")).Value!;

        // Cases 1, 1/3 and 1/3; the last has one reading.
        Assert.Equal(5 / 9.0, estimate.Value, 1e-12);
        Assert.Equal(3, estimate.Cases);
        Assert.Equal(2 / 9.0, estimate.StandardError!.Value, 1e-12);
    }

    private static ReadingTable Planted(Random random, int cases, int categories, int readers, double knows)
        => new(Tables.Scale(categories), [.. Enumerable.Range(0, readers).Select(reader => $"{reader}")], [.. Enumerable.Range(0, cases).Select(index =>
        {
            int truth = random.Next(categories);
            return new CaseReadings($"{index}", [.. Enumerable.Range(0, readers).Select(_ => (int?)(random.NextDouble() < knows ? truth : random.Next(categories)))]);
        })]);
}
