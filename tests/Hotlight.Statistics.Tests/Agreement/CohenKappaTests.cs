using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Statistics.Agreement;

namespace Hotlight.Statistics.Tests.Agreement;

public sealed class CohenKappaTests
{
    // Tolerances are half of the last digit printed. Published tables with their printed kappa; the first and the third are well-known examples from memory.
    [Theory]
    [InlineData("20 5|10 15", 0.70, 0.50, 0.400, 1e-9)]
    [InlineData("12 2|4 2", 0.70, 0.62, 0.2105, 5e-5)]
    [InlineData("45 15|25 15", 0.60, 0.54, 0.1304, 5e-5)]
    [InlineData("25 35|5 35", 0.60, 0.46, 0.2593, 5e-5)]
    [InlineData("118 5|2 0", 0.944, 0.945280, -0.023392, 5e-7)]
    [InlineData("95 4|1 0", 0.95, 0.9508, -0.016260, 5e-7)]
    [InlineData("75 1 4|5 4 1|0 0 10", 0.89, 0.66, 0.676471, 5e-7)]
    [InlineData("0 4 1|0 8 0|0 1 5", 13.0 / 19, 0.387812, 0.4842, 5e-5)]
    [InlineData("7 7 2 3|2 8 3 7|1 5 4 9|2 8 9 14", 33.0 / 91, 0.267963, 0.129330, 5e-7)]
    [Trait("evidence", "published")]
    public void Of_PublishedTables_HavePrintedKappas(string table, double observed, double expected, double kappa, double tolerance)
    {
        AgreementEstimate estimate = Kappa(table).Value!;
        Assert.Equal(kappa, estimate.Value, tolerance);
        Assert.Equal(observed, estimate.Observed!.Value, 5e-4);
        Assert.Equal(expected, estimate.Expected!.Value, 5e-4);
    }

    [Theory]
    [InlineData("0 4 1|0 8 0|0 1 5", 0.4842, 0.4701, 0.4502, 5e-5)]
    [InlineData("7 7 2 3|2 8 3 7|1 5 4 9|2 8 9 14", 0.129330, 0.237381, 0.332046, 5e-7)]
    [InlineData("38 5 0 1|33 11 3 0|10 14 5 6|3 7 3 10", 0.207942, 0.379731, 0.524576, 5e-7)]
    [InlineData("5 3 0 0|3 11 4 0|2 13 3 4|1 2 4 14", 0.296517, 0.477273, 0.625581, 5e-7)]
    [InlineData("13 0 0|0 20 7|0 4 56", 0.796409, 0.842902, 0.892157, 5e-7)]
    [Trait("evidence", "published")]
    public void Of_Weighted_HasPrintedKappas(string table, double plain, double linear, double quadratic, double tolerance)
    {
        Assert.Equal(plain, Kappa(table).Value!.Value, tolerance);
        Assert.Equal(linear, Kappa(table, KappaWeights.Linear).Value!.Value, tolerance);
        Assert.Equal(quadratic, Kappa(table, KappaWeights.Quadratic).Value!.Value, tolerance);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Of_StandardErrors_ArePrintedOnes()
    {
        AgreementEstimate plain = Kappa("0 4 1|0 8 0|0 1 5").Value!;
        Assert.Equal(0.1380, plain.StandardError!.Value, 5e-5);
        Assert.Equal(0.2137, plain.Interval.Value!.Lower, 5e-5);
        Assert.Equal(0.7547, plain.Interval.Value!.Upper, 5e-5);
        Assert.Equal(3.2626, plain.AgainstZero.Value!.Statistic!.Value, 5e-5);
        Assert.Equal(0.1484, plain.Value / plain.AgainstZero.Value!.Statistic!.Value, 5e-5);
        AgreementEstimate linear = Kappa("0 4 1|0 8 0|0 1 5", KappaWeights.Linear).Value!;
        Assert.Equal(0.1457, linear.StandardError!.Value, 5e-5);
        Assert.Equal(0.1845, linear.Interval.Value!.Lower, 5e-5);
        Assert.Equal(0.7558, linear.Interval.Value!.Upper, 5.1e-5);
        Assert.Equal(3.2971, linear.AgainstZero.Value!.Statistic!.Value, 5e-5);
        Assert.Equal(0.068599, Kappa("7 7 2 3|2 8 3 7|1 5 4 9|2 8 9 14").Value!.StandardError!.Value, 5e-7);
        Assert.Equal(0.078316, Kappa("7 7 2 3|2 8 3 7|1 5 4 9|2 8 9 14", KappaWeights.Linear).Value!.StandardError!.Value, 5e-7);
        Assert.Equal(0.035352, Kappa("13 0 0|0 20 7|0 4 56", KappaWeights.Quadratic).Value!.StandardError!.Value, 5e-7);
    }

    // Twenty subjects, scores 1 to 6; nobody gave a 5. Printed values are of the scale without 5, in ranks; the whole scale's were worked out from the formula.
    [Fact]
    [Trait("evidence", "published")]
    public void Of_AnUnusedCategory_CountsForTheWeights()
    {
        const string Second = "3 6 4 6 2 4 2 4 3 3 2 3 3 3 2 2 1 3 3 4";
        const string Third = "2 1 4 4 3 2 1 6 1 1 1 2 3 3 1 1 3 3 2 2";
        ReadingTable whole = Tables.Readers(6, Second, Third);
        Assert.Equal(-0.006289308, CohenKappa.Of(whole.Pair(0, 1), whole.Scale).Value!.Value, 5e-10);
        Assert.Equal(0.126214, CohenKappa.Of(whole.Pair(0, 1), whole.Scale, KappaWeights.Linear).Value!.Value, 5e-7);
        Assert.Equal(0.229798, CohenKappa.Of(whole.Pair(0, 1), whole.Scale, KappaWeights.Quadratic).Value!.Value, 5e-7);
        ReadingTable ranks = Tables.Readers(5, Second.Replace('6', '5'), Third.Replace('6', '5'));
        Assert.Equal(0.1459075, CohenKappa.Of(ranks.Pair(0, 1), ranks.Scale, KappaWeights.Linear).Value!.Value, 5e-8);
        Assert.Equal(0.2520325, CohenKappa.Of(ranks.Pair(0, 1), ranks.Scale, KappaWeights.Quadratic).Value!.Value, 5e-8);

        // The same through the values of the categories: 1 2 3 4 6 without the 5 is the whole scale again.
        CategoryScale gaps = new(["1", "2", "3", "4", "6"], [1, 2, 3, 4, 6]);
        Assert.Equal(0.126214, CohenKappa.Of(ranks.Pair(0, 1), gaps, KappaWeights.Linear).Value!.Value, 5e-7);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Of_IsWhatOtherLibrariesMakeOfIt()
    {
        foreach (JsonNode? row in OtherLibraries.Rows("kappas"))
        {
            long[][] cells = [.. row!["table"]!.AsArray().Select(line => line!.AsArray().Select(cell => (long)cell!).ToArray())];
            string table = string.Join('|', cells.Select(line => string.Join(' ', line)));
            foreach ((KappaWeights weights, string name) in new[] { (KappaWeights.None, "none"), (KappaWeights.Linear, "linear"), (KappaWeights.Quadratic, "quadratic") })
            {
                AgreementEstimate ours = Kappa(table, weights).Value!;
                JsonNode theirs = row[name]!;
                Assert.Equal(theirs["kappa"].Number(), ours.Value, 1e-12);
                Assert.Equal(theirs["learned"].Number(), ours.Value, 1e-12);
                Assert.Equal(theirs["error"].Number(), ours.StandardError!.Value, 1e-12);
                Assert.Equal(theirs["z"].Number(), ours.AgainstZero.Value!.Statistic!.Value, 1e-10);
                Assert.Equal(Math.Min(1, theirs["upper"].Number()), ours.Interval.Value!.Upper, 1e-9);
            }
        }
    }

    // Two readers who agree by a planted kappa of 0.5 on two equally common answers: 150 cases, 2000 trials. Coverage within 4·√(0.95·0.05/2000) = 0.0195, and a point for the large-sample error at n = 150.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Interval_OfAPlantedKappa_CoversAsPromised()
    {
        Random random = new(13);
        int held = 0;
        int rejected = 0;
        for (int trial = 0; trial < 2000; trial++)
        {
            long[,] table = new long[2, 2];
            long[,] chance = new long[2, 2];
            for (int index = 0; index < 150; index++)
            {
                int first = random.Next(2);
                table[first, random.NextDouble() < 0.75 ? first : 1 - first]++;
                chance[first, random.Next(2)]++;
            }

            held += CohenKappa.Of(table, Tables.Scale(2)).Value!.Interval.Value!.Contains(0.5) ? 1 : 0;
            rejected += CohenKappa.Of(chance, Tables.Scale(2)).Value!.AgainstZero.Value!.PValue < 0.05 ? 1 : 0;
        }

        Assert.InRange(held / 2000.0, 0.95 - 0.03, 0.95 + 0.03);
        Assert.Equal(0.05, rejected / 2000.0, 0.0195);
    }

    [Fact]
    public void Of_WhatCannotBeTold_SaysWhy()
    {
        Assert.Contains("No case", Kappa("0 0|0 0").Why, StringComparison.Ordinal);
        Assert.Contains("one answer", Kappa("12 0|0 0").Why, StringComparison.Ordinal);
        AgreementEstimate full = Kappa("5 0|0 7").Value!;
        Assert.Equal(1, full.Value, 1e-12);
        Assert.False(full.Interval.IsMeasured);
        AgreementEstimate half = Kappa("5 0|7 0").Value!;
        Assert.Equal(0, half.Value, 1e-12);
        Assert.False(half.AgainstZero.IsMeasured);
        Assert.Throws<ArgumentException>(() => CohenKappa.Of(new long[2, 2], Tables.Scale(3)));
        Assert.Throws<ArgumentException>(() => new CategoryScale(["a", "b"], [2, 1]));
    }

    private static Figure<AgreementEstimate> Kappa(string table, KappaWeights weights = KappaWeights.None)
    {
        long[,] cells = Tables.Of(table);
        return CohenKappa.Of(cells, Tables.Scale(cells.GetLength(0)), weights);
    }
}
