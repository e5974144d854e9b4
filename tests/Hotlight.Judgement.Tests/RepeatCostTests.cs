namespace Hotlight.Judgement.Tests;

public sealed class RepeatCostTests
{
    private static readonly Answers PalmLifted = Cases.AllMet(Cases.WristPa).With("position.palm-flat", new Answer(ChecklistState.NotMet, "thumb-side-raised"));

    // Kerma-area product goes with mAs and area: 0.2 dGy·cm² · 10^0.30103 = 0.4; with 38 % less area 0.248.
    [Theory]
    [InlineData(0, 5, 0.2)]
    [InlineData(-3.0103, 5, 0.4)]
    [InlineData(3.0103, 5, 0.1)]
    [InlineData(0, 38, 0.124)]
    [InlineData(-3.0103, 38, 0.248)]
    [Trait("evidence", "analytic")]
    public void Tell_WithAKermaAreaProduct_ScalesItWithMasAndField(double deviationIndex, double reductionPercent, double expectedDgyCm2)
    {
        RepeatCost cost = Cases.Judge(Cases.Measured(deviationIndex, reductionPercent: reductionPercent), PalmLifted).Cost;
        Assert.Equal(CostBasis.KermaAreaProduct, cost.Basis);
        Assert.Equal(0.2, cost.ThisExposureDgyCm2);
        Assert.Equal(expectedDgyCm2, cost.RepeatDgyCm2!.Value, 0.00005);
        Assert.Contains("dGy·cm²", cost.Sentence, StringComparison.Ordinal);
        Assert.Equal("A good repeat would give a reader the gaps between the carpal bones free of overlap.", cost.Gain);
    }

    [Fact]
    public void Tell_FieldThatMustBeOpened_GivesNoFigureForTheRepeat()
    {
        RepeatCost cost = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With("anatomy.forearm", new Answer(ChecklistState.NotMet, "cut"))).Cost;
        Assert.Null(cost.RepeatDgyCm2);
        Assert.Null(cost.RelativeToThisExposure);
        Assert.EndsWith("and more where the field is opened.", cost.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Tell_EntranceDoseOnly_ScalesItWithMasAlone()
    {
        RepeatCost cost = Cases.Judge(Cases.Measured(-3.0103, reductionPercent: 38), PalmLifted, Cases.WristHeader with { KermaAreaProductDgyCm2 = null, EntranceDoseMgy = 0.1 }).Cost;
        Assert.Equal(CostBasis.EntranceDose, cost.Basis);
        Assert.Equal("The header records an entrance dose of 0.1 mGy; a repeat adds about 0.2 mGy, with mAs changed as said.", cost.Sentence);
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(-1.0)]
    [InlineData(double.NaN)]
    public void Tell_AProductThatIsNone_IsToldInRelationOnly(double product)
    {
        RepeatCost cost = Cases.Judge(Cases.Measured(-3.0103), PalmLifted, Cases.WristHeader with { KermaAreaProductDgyCm2 = product }).Cost;
        Assert.Equal(CostBasis.Relative, cost.Basis);
        Assert.Equal("A repeat costs the patient about 2.0 times this exposure, with mAs changed as said. The file records no dose quantity.", cost.Sentence);
    }

    [Fact]
    public void Tell_AnyImage_NamesNoEffectiveDoseAndNoRisk()
    {
        foreach (string word in new[] { "Sv", "sievert", "risk", "cancer" })
        {
            Assert.DoesNotContain(word, Cases.Judge(Cases.Measured(), PalmLifted).Cost.Sentence, StringComparison.OrdinalIgnoreCase);
        }
    }
}
